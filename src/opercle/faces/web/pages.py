"""The pages: what a visitor asks, put to the one door, and shown with its reasons.

Knows: which page takes which parameters, and how an error is told.
Refuses to know: any answer. Layout is the templates'.
"""

import os
import time
from typing import Any

from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import JSONResponse, RedirectResponse, Response
from starlette.routing import Route

from opercle.errors import OpercleError, UnknownError, UsageError
from opercle.faces.web import negotiate, paths, pictures
from opercle.faces.web.api import problem
from opercle.faces.web.asking import Asking, clipped
from opercle.faces.web.showing import asked_of, page, param


def home(request: Request) -> Response:
    """The search box and what can be asked; what is held is told once it has been counted."""
    asking: Asking = request.app.state.asking
    return page(request, "home.html", {"title": "Opercle", "status": asking.soon("status")})


def account(request: Request) -> Response:
    """Lead from a name to the account of the fish; show the choice where it means several."""
    name = param(request, "taxon")
    if name is None:
        families = request.app.state.lists.families()
        return page(request, "families.html", {"title": "Accounts", "families": families})
    answer = asked_of(request, "account", name)
    if answer.outcome == "open":
        return page(request, "open.html", {"title": answer.answer, "answer": answer})
    return RedirectResponse(paths.path_of(answer.fields["taxon"]) or "/", 303)


def compare(request: Request) -> Response:
    """Two to six fishes side by side."""
    taxa = [t for v in request.query_params.getlist("taxon") if (t := clipped(v))]
    taxa += [t for k in ("a", "b") if (t := param(request, k))]
    answer = asked_of(request, "compare", *taxa) if len(taxa) > 1 else None
    told: dict[str, Any] = {"title": "Compare", "answer": answer, "taxa": taxa[:6], "figures": []}
    if answer is not None and answer.outcome == "compared":
        told["figures"] = pictures.of_compare(answer.fields["taxa"])
    return page(request, "compare.html", told)


def key(request: Request) -> Response:
    """A key for a group, for all waters or one."""
    taxon, water = param(request, "taxon"), param(request, "water")
    answer = asked_of(request, "key", taxon, water=water) if taxon else None
    return page(
        request, "key.html", {"title": "Key", "answer": answer, "taxon": taxon, "water": water}
    )


def waters(request: Request) -> Response:
    """The tree of waters; a name leads to its page, or to the choice."""
    from opercle.draw import water as chart

    name = param(request, "water")
    look = request.app.state.lists
    if name is not None:
        found = request.app.state.know.desk.water(name)
        if len(found) == 1:
            return RedirectResponse(paths.path_of(found[0]) or "/", 303)
        return page(request, "which_water.html", {"title": name, "found": found, "written": name})
    told = {"title": "Waters", "roots": look.roots(), "look": look}
    told["map"] = chart.every(look.desk, paths.path_of)
    return page(request, "waters.html", told)


def words(request: Request) -> Response:
    """The group words."""
    rows = request.app.state.lists.words()
    return page(request, "words.html", {"title": "Words", "words": rows})


def sources(request: Request) -> Response:
    """The sources, each with how much rests on it."""
    told = {"title": "Sources", "sources": request.app.state.lists.sources}
    return page(request, "sources.html", told)


def characters(request: Request) -> Response:
    """The characters, how they are looked at, and how far they are to be trusted."""
    rows = request.app.state.lists.characters
    return page(request, "characters.html", {"title": "Characters", "rows": rows})


def query(request: Request) -> Response:
    """SPARQL: a text area, the examples, and the result as a table."""
    from opercle.faces.web import workbench

    return workbench.shown(request)


def suggest(request: Request) -> Response:
    """Names for what is being typed, as JSON."""
    found = request.app.state.lists.suggest(param(request, "q") or "")
    return JSONResponse(found, headers={"Cache-Control": "no-cache"})


def api_docs(request: Request) -> Response:
    """The HTTP API told from its own description, offline."""
    return page(request, "api.html", {"title": "HTTP API", "spec": request.app.state.openapi()})


def health(request: Request) -> Response:
    """Whether the server can answer: as JSON, or as a page where that is liked better."""
    state = request.app.state
    alive = state.lists.alive()
    told = {"status": "ready" if alive else "empty", "snapshot": state.hash, "process": os.getpid()}
    told |= {"seconds": int(time.monotonic() - state.begun)}
    told |= {"queries_at_once": state.pool.limits.workers}
    status, headers = (200 if alive else 503), {"Cache-Control": "no-store", **negotiate.VARY}
    accept = request.headers.get("accept")
    if negotiate.choose(accept, ("application/json", "text/html")) == "text/html":
        return page(request, "health.html", {"title": "Health", "told": told}, status, headers)
    return JSONResponse(told, status, headers=headers)


async def on_error(request: Request, error: Exception) -> Response:
    """An error as a page: what is wrong, where, and what to do next."""
    assert isinstance(error, OpercleError)
    status = 500
    if isinstance(error, UnknownError):
        status = 404
    elif isinstance(error, UsageError):
        status = 400
    near = error.nearest if isinstance(error, UnknownError) else ()
    told = {"title": error.what, "error": error, "near": near, "q": param(request, "q") or ""}
    return page(request, "error.html", told, status)


async def on_http(request: Request, error: Exception) -> Response:
    """A path that leads nowhere, as a page."""
    assert isinstance(error, HTTPException)
    says = str(error.detail)
    if error.status_code == 404 and says == "Not Found":
        says = "There is no page at this address."
    shown = OpercleError(says, "", "Ask by name in the box above, or go back.")
    if request.url.path.startswith("/api/"):
        return problem(error.status_code, says)
    told = {"title": says, "error": shown, "near": ()}
    return page(request, "error.html", told, error.status_code, error.headers)


HANDLERS: Any = {OpercleError: on_error, HTTPException: on_http}
ROUTES = [
    Route("/", home),
    Route("/account", account),
    Route("/compare", compare),
    Route("/key", key),
    Route("/waters", waters),
    Route("/words", words),
    Route("/sources", sources),
    Route("/characters", characters),
    Route("/query", query),
    Route("/suggest", suggest),
    Route("/api/docs", api_docs),
    Route("/health", health),
]
