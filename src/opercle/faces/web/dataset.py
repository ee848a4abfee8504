"""What the dataset is, at the address where it is looked for.

Knows: ``/.well-known/void`` (VoID note of 3 March 2011, section 7.2) as Turtle, N-Triples or
JSON-LD.
Refuses to know: what it says; that is ``exports.void``.
"""

import pyoxigraph as ox
from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from opercle.exports import void
from opercle.faces.web import negotiate

FORMS = ("text/turtle", "application/n-triples", "application/ld+json")
_OPEN = {"Access-Control-Allow-Origin": "*", "Cache-Control": "no-cache"}


def described(request: Request) -> Response:
    """The description of the dataset in the form that Accept likes best."""
    media = negotiate.choose(request.headers.get("accept"), FORMS)
    if media is None:
        raise HTTPException(406, f"This can be had as {', '.join(FORMS)}.")
    state = request.app.state
    headers = {**_OPEN, **negotiate.VARY, "ETag": f'"{state.hash}-void-{FORMS.index(media)}"'}
    if headers["ETag"] in request.headers.get("if-none-match", ""):
        return Response(status_code=304, headers=headers)
    body = void.turtle(state.know.desk, str(request.base_url))
    if media != FORMS[0]:
        triples = (quad.triple for quad in ox.parse(body, format=ox.RdfFormat.TURTLE))
        form = ox.RdfFormat.from_media_type(media)
        body = bytes(ox.serialize(triples, format=form) or b"")
    return Response(body, media_type=media, headers=headers)


ROUTES = [Route("/.well-known/void", described)]
