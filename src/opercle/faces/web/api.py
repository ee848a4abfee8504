"""The HTTP API: the answers of the contract as JSON, with OpenAPI.

Knows: paths, parameters, statuses and caching.
Refuses to know: any answer; and nothing is changed through it.
"""

import json
from collections.abc import Callable, Sequence
from typing import Annotated, Any, TypeVar
from urllib.parse import urlencode

from fastapi import FastAPI, Path, Query, Request
from fastapi.exceptions import RequestValidationError
from fastapi.responses import Response
from starlette.exceptions import HTTPException

from opercle.answers import Answer
from opercle.errors import OpercleError, UnknownError, UsageError
from opercle.exports import context
from opercle.faces.web.asking import LONGEST, Asking
from opercle.faces.web.guard import BROKEN
from opercle.faces.web.kept import JSON, LINKED
from opercle.questions.browse import Lists
from opercle.terms import PREFIXES

Handler = TypeVar("Handler", bound=Callable[..., Any])
_PLAIN = r"^[^\x00-\x1f\x7f-\x9f\u2028\u2029]*$"
"""Text without control characters: nothing is called by them."""
Text = Annotated[
    str, Query(min_length=1, max_length=LONGEST, pattern=_PLAIN, examples=["rock bass"])
]
Other = Annotated[
    str,
    Query(alias="not", min_length=1, max_length=LONGEST, pattern=_PLAIN, examples=["Moronidae"]),
]
Value = Annotated[
    str, Query(min_length=1, max_length=LONGEST, pattern=_PLAIN, examples=["t:Centrarchidae"])
]
Maybe = Annotated[str | None, Query(max_length=LONGEST, pattern=_PLAIN)]
Year = Annotated[str | None, Query(pattern=r"^(1[5-9][0-9]{2}|20[0-9]{2}|2100)$")]
Seen = Annotated[
    str,
    Query(
        pattern=r"^[a-z-]+=[^=\x00-\x1f\x7f-\x9f]*$",
        max_length=LONGEST,
        examples=["anal-spines=6"],
    ),
]
Node = Annotated[
    str, Query(pattern=f"^({'|'.join(PREFIXES)}):[A-Za-z0-9_.:-]+$", max_length=LONGEST)
]
MOST, FARTHEST = 500, 1_000_000
"""The longest part of a list, and the farthest start of one."""
Segment = Annotated[
    str, Path(min_length=1, max_length=LONGEST, pattern=_PLAIN, examples=["Ambloplites"])
]
PROBLEM: dict[str, Any] = {
    "description": "A problem (RFC 9457)",
    "content": {
        "application/problem+json": {
            "schema": {
                "type": "object",
                "required": ["title", "status"],
                "properties": {
                    "title": {"type": "string"},
                    "status": {"type": "integer"},
                    "detail": {"type": "string"},
                    "where": {"type": "string"},
                    "remedy": {"type": "string"},
                    "outcome": {"type": "string"},
                    "nearest": {"type": "array", "items": {"type": "string"}},
                },
            }
        }
    },
}
_ANSWER: dict[str, Any] = {
    "description": "The answer with its reasons",
    "content": {
        media: {
            "schema": {
                "type": "object",
                "required": ["question", "outcome", "answer", "because", "cautions"],
                "properties": {
                    "question": {"type": "object"},
                    "outcome": {"type": "string"},
                    "answer": {"type": "string"},
                    "because": {"type": "array", "items": {"type": "object"}},
                    "cautions": {"type": "array", "items": {"type": "string"}},
                },
            }
        }
        for media in (JSON, LINKED)
    },
}
SAID: dict[int | str, dict[str, Any]] = {
    200: _ANSWER,
    **dict.fromkeys((400, 404, 409, 422, 429, 500), PROBLEM),
}


def make(asking: Asking, lists: Lists) -> FastAPI:
    """The API over one door."""
    from opercle.faces.web import listing

    app = FastAPI(
        title="Opercle",
        version="0.1.0",
        description="What a fish really is, and why, down to a cited fact. Read-only.",
        docs_url=None,
        redoc_url=None,
        openapi_url="/openapi.json",
    )
    app.add_exception_handler(OpercleError, _told)
    app.add_exception_handler(RequestValidationError, _unfit)
    app.add_exception_handler(HTTPException, _http)
    app.add_exception_handler(Exception, _broken)
    _questions(app, asking)
    _sheets(app, asking)
    listing.add(app, lists)
    return app


def _get(app: FastAPI, path: str) -> Callable[[Handler], Handler]:
    return app.get(path, responses=SAID, response_class=Response)


def _questions(app: FastAPI, asking: Asking) -> None:
    @_get(app, "/name")
    def name(
        request: Request, name: Text, water: Maybe = None, state: Maybe = None, year: Year = None
    ) -> Response:
        """What a name means, here and then."""
        return _sent(request, asking.ask("name", name, water=water, state=state, year=year))

    @_get(app, "/really")
    def really(request: Request, name: Text, word: Maybe = None) -> Response:
        """Whether a fish is really what its name says."""
        return _sent(request, asking.ask("really", name, word=word))

    @_get(app, "/why")
    def why(
        request: Request,
        taxon: Text,
        other: Other,
    ) -> Response:
        """Why a fish belongs where it is placed, and not to the other."""
        return _sent(request, asking.ask("why", taxon, rather_than=other))

    @_get(app, "/prove")
    def prove(request: Request, subject: Node, predicate: Node, object: Value) -> Response:
        """Whether a triple is stated, derived or neither, with its tree."""
        return _sent(request, asking.ask("prove", subject, predicate, object))

    @_get(app, "/status")
    def status(request: Request) -> Response:
        """What the knowledge holds and how much of it was read."""
        return _sent(request, asking.ask("status"))


def _sheets(app: FastAPI, asking: Asking) -> None:
    @_get(app, "/account/{taxon}")
    def account(request: Request, taxon: Segment) -> Response:
        """All that is known of a fish or group."""
        return _sent(request, asking.ask("account", taxon))

    @_get(app, "/compare")
    def compare(
        request: Request, taxon: Annotated[list[Text], Query(min_length=2, max_length=6)]
    ) -> Response:
        """How two to six fishes are told apart; repeat ``taxon``."""
        return _sent(request, asking.ask("compare", *taxon))

    @_get(app, "/identify")
    def identify(
        request: Request,
        see: Annotated[list[Seen], Query(max_length=60)] = [],  # noqa: B006
        water: Maybe = None,
        state: Maybe = None,
        within: Maybe = None,
        limit: Annotated[int | None, Query(ge=1, le=MOST)] = None,
        offset: Annotated[int, Query(ge=0, le=FARTHEST)] = 0,
    ) -> Response:
        """Which fish this is; repeat ``see`` as ``anal-spines=6``.

        ``limit`` and ``offset`` choose a part of the candidates; ``total`` is how many there are.
        """
        seen = tuple(dict.fromkeys(see))
        answer = asking.ask("identify", seen, water=water, state=state, within=within)
        told = answer.to_dict()
        every = told.get("candidates") or []
        if limit is None:
            limit = max(1, len(every))
        told |= {"candidates": every[offset : offset + limit], "total": len(every)}
        return sent(request, told, pages(request, len(every), limit, offset))

    @_get(app, "/key/{taxon}")
    def key(request: Request, taxon: Segment, water: Maybe = None) -> Response:
        """A dichotomous key for a group, or for its fishes of one water."""
        return _sent(request, asking.ask("key", taxon, water=water))


def _sent(request: Request, answer: Answer) -> Response:
    return sent(request, answer.to_dict())


def sent(request: Request, told: dict[str, Any], links: Sequence[str] = ()) -> Response:
    """An object as JSON, or as JSON-LD with its context where that is liked better."""
    media = request.scope.get("state", {}).get("media", JSON)
    if media == LINKED:
        told = context.linked(told)
    else:
        links = (*links, _CONTEXT)
    body = json.dumps(told, ensure_ascii=False).encode()
    headers = {"Link": ", ".join(links)} if links else {}
    return Response(body, media_type=media, headers=headers)


_CONTEXT = (
    f'<{context.SERVED}>; rel="http://www.w3.org/ns/json-ld#context"; type="application/ld+json"'
)


def pages(request: Request, total: int, limit: int, offset: int) -> list[str]:
    """Links to the next and previous part of a list (RFC 8288), as relative references."""
    pairs = [(k, v) for k, v in request.query_params.multi_items() if k not in _PAGED]
    found = []
    for rel, start in (("next", offset + limit), ("prev", max(0, offset - limit))):
        if start != offset and start < max(total, 1):
            there = urlencode([*pairs, ("limit", limit), ("offset", start)])
            found.append(f'<?{there}>; rel="{rel}"')
    return found


_PAGED = ("limit", "offset")


def problem(status: int, title: str, **more: Any) -> Response:
    """A problem as RFC 9457 writes it."""
    told = {"title": title, "status": status, **{k: v for k, v in more.items() if v}}
    body = json.dumps(told, ensure_ascii=False)
    return Response(body, status_code=status, media_type="application/problem+json")


async def _told(request: Request, error: Exception) -> Response:
    assert isinstance(error, OpercleError)
    more: dict[str, Any] = {"where": error.where, "remedy": error.remedy}
    if isinstance(error, UnknownError):
        return problem(404, error.what, outcome="unknown", nearest=list(error.nearest), **more)
    # Well formed, so no 400 or 422: what is asked cannot be, such as a fish beside itself.
    return problem(409 if isinstance(error, UsageError) else 500, error.what, **more)


async def _unfit(request: Request, error: Exception) -> Response:
    assert isinstance(error, RequestValidationError)
    lines = [f"{'.'.join(str(p) for p in e['loc'][1:])}: {e['msg']}" for e in error.errors()]
    return problem(422, "The parameters do not fit.", detail="; ".join(lines)[:2000])


async def _http(request: Request, error: Exception) -> Response:
    assert isinstance(error, HTTPException)
    reply = problem(error.status_code, str(error.detail))
    reply.headers.update(error.headers or {})
    return reply


async def _broken(request: Request, error: Exception) -> Response:
    return problem(500, BROKEN.strip())


def contexts(request: Request) -> Response:
    """The one JSON-LD context."""
    headers = {"Access-Control-Allow-Origin": "*", "Cache-Control": "max-age=3600"}
    return Response(context.text(), media_type=LINKED, headers=headers)
