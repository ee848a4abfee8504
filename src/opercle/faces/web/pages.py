"""The pages: what a visitor asks, put to the one door, and shown with its reasons.

Knows: which page takes which parameters, and how an error is told.
Refuses to know: any answer. Layout is the templates'.
"""

import os
import re
from collections.abc import Mapping
from functools import cache
from typing import Any
from urllib.parse import urlencode

import jinja2
from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import HTMLResponse, JSONResponse, RedirectResponse, Response
from starlette.routing import Route

from opercle.answers import Answer, Reason
from opercle.errors import OpercleError, UnknownError, UsageError
from opercle.faces.web import asked, lookups
from opercle.faces.web.asking import clipped

HERE = os.path.dirname(os.path.abspath(__file__))
_PROVED = 12
_SPAN = re.compile(r"(?<=\d)-(?=\d)")


@cache
def environment() -> jinja2.Environment:
    """The templates: escaped everywhere, a missing field is an error."""
    made = jinja2.Environment(
        loader=jinja2.FileSystemLoader(os.path.join(HERE, "templates")),
        autoescape=True,
        undefined=jinja2.StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    made.filters |= {
        "path": lookups.path_of,
        "upper_first": lambda text: text[:1].upper() + text[1:],
        "dash": lambda text: _SPAN.sub("–", str(text)),
        "spaced": lambda text: str(text).replace("-", " "),
        "query": lambda pairs: urlencode(pairs, doseq=True),
    }
    made.tests["reading"] = lambda line: "” is taken as the name of" in line
    return made


def page(
    request: Request,
    template: str,
    told: Mapping[str, Any],
    status: int = 200,
    headers: Mapping[str, str] | None = None,
) -> Response:
    """One page from its template."""
    look = request.app.state.lookups
    base = {"here": request.url.path, "name_of": look.label, "q": "", "nav": template}
    text = environment().get_template(template).render({**base, **told})
    return HTMLResponse(text, status, headers=dict(headers or {}))


def param(request: Request, name: str) -> str | None:
    """One parameter of the address; None if missing or empty."""
    return clipped(request.query_params.get(name))


def home(request: Request) -> Response:
    """The search box and what can be asked."""
    return page(request, "home.html", {"title": "Opercle", "status": asked_of(request, "status")})


def asked_of(request: Request, command: str, *args: Any, **options: Any) -> Answer:
    """What the one door answers."""
    answer: Answer = request.app.state.asking.ask(command, *args, **options)
    return answer


def ask(request: Request) -> Response:
    """Read a plain question and lead to its answer; say so where it is not understood."""
    text = param(request, "q")
    if text is None:
        return RedirectResponse("/", 303)
    read = asked.read(text)
    if read is None:
        return page(request, "not_read.html", {"title": "Not understood", "q": text})
    parts = dict(read.parts)
    if read.kind == "name" and "where" in parts:
        parts |= _where(request, parts.pop("where"))
    return RedirectResponse(asked.Read(read.kind, {**parts, "q": text}, "").path, 303)


def _where(request: Request, written: str) -> dict[str, str]:
    """A place as a water if one is called so, else as a state."""
    desk = request.app.state.know.desk
    for kind, find in (("water", desk.water), ("state", desk.state)):
        try:
            find(written)
            return {kind: written}
        except UnknownError:
            continue
    return {"water": written}


def answer_name(request: Request) -> Response:
    """What a name means."""
    name = _need(request, "name")
    options = {k: param(request, k) for k in ("water", "state", "year")}
    answer = asked_of(request, "name", name, **options)
    where = [f"in {v}" for v in (options["water"], options["state"], options["year"]) if v]
    says = f"Which fish does the name “{' '.join([name + '”', *where])} mean?"
    labels = {"water": "Water", "state": "State or place", "year": "Year"}
    fields = [("name", name, "Name"), *[(k, options[k], label) for k, label in labels.items()]]
    return _answered(request, answer, says, fields)


def answer_really(request: Request) -> Response:
    """Whether a fish is what its name says."""
    name, word = _need(request, "name"), param(request, "word")
    answer = asked_of(request, "really", name, word=word)
    says = f"Is “{name}” really what the word “{answer.fields.get('word') or word}” means?"
    fields = [("name", name, "Name"), ("word", word, "Group word, such as bass")]
    return _answered(request, answer, says, fields)


def answer_why(request: Request) -> Response:
    """Why a fish stands here and not there."""
    taxon, other = _need(request, "taxon"), _need(request, "not")
    answer = asked_of(request, "why", taxon, rather_than=other)
    says = f"Why is “{taxon}” placed where it is, and not with “{other}”?"
    return _answered(request, answer, says, [("taxon", taxon, "Fish"), ("not", other, "Not to")])


def _need(request: Request, name: str) -> str:
    value = param(request, name)
    if value is None:
        raise UsageError(f"“{name}” is missing.", request.url.path, "Fill in the form.")
    return value


def _answered(
    request: Request, answer: Answer, says: str, fields: list[tuple[str, str | None, str]]
) -> Response:
    told = {
        "title": says,
        "says": says,
        "answer": answer,
        "f": answer.fields,
        "reasons": reasons(request, answer),
        "fields": fields,
        "q": param(request, "q") or "",
    }
    return page(request, "answer.html", told)


def reasons(request: Request, answer: Answer) -> list[dict[str, Any]]:
    """The lines of why; derived ones with the tree of their proof, the first of them at once."""
    told: list[dict[str, Any]] = []
    aside = {row["says"] for row in answer.fields.get("set_aside") or []}
    proved = 0
    for reason in answer.because:
        if any(reason.says.startswith("set aside") and says in reason.says for says in aside):
            continue
        line: dict[str, Any] = {"r": reason, "tree": None, "prove": None}
        if reason.triple and reason.basis == "inferred":
            names = ("subject", "predicate", "object")
            line["prove"] = "/prove?" + urlencode(dict(zip(names, reason.triple, strict=True)))
            if proved < _PROVED:
                line["tree"] = _tree(request, reason)
                proved += 1
        told.append(line)
    return told


def _tree(request: Request, reason: Reason) -> Any:
    try:
        return asked_of(request, "prove", *(reason.triple or ())).fields.get("tree")
    except OpercleError:
        return None


def prove(request: Request) -> Response:
    """One proof by itself."""
    parts = [param(request, k) for k in ("subject", "predicate", "object")]
    answer = asked_of(request, "prove", *[p for p in parts if p]) if all(parts) else None
    told = {"title": "Proof", "answer": answer, "parts": [p or "" for p in parts]}
    return page(request, "prove.html", told)


def account(request: Request) -> Response:
    """Lead from a name to the account of the fish; show the choice where it means several."""
    name = param(request, "taxon")
    if name is None:
        families = request.app.state.lookups.rows("top_taxa")
        return page(request, "families.html", {"title": "Accounts", "families": families})
    answer = asked_of(request, "account", name)
    if answer.outcome == "open":
        return page(request, "open.html", {"title": answer.answer, "answer": answer})
    return RedirectResponse(lookups.path_of(answer.fields["taxon"]) or "/", 303)


def compare(request: Request) -> Response:
    """Two to six fishes side by side."""
    taxa = [t for v in request.query_params.getlist("taxon") if (t := clipped(v))]
    taxa += [t for k in ("a", "b") if (t := param(request, k))]
    answer = asked_of(request, "compare", *taxa) if len(taxa) > 1 else None
    told = {"title": "Compare", "answer": answer, "taxa": taxa[:6]}
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
    name = param(request, "water")
    look = request.app.state.lookups
    if name is not None:
        found = request.app.state.know.desk.water(name)
        if len(found) == 1:
            return RedirectResponse(lookups.path_of(found[0]) or "/", 303)
        return page(request, "which_water.html", {"title": name, "found": found, "written": name})
    told = {"title": "Waters", "roots": look.roots(), "look": look}
    return page(request, "waters.html", told)


def words(request: Request) -> Response:
    """The group words."""
    rows = request.app.state.lookups.rows("word_list")
    return page(request, "words.html", {"title": "Words", "words": rows})


def sources(request: Request) -> Response:
    """The sources, each with how much rests on it."""
    told = {"title": "Sources", "sources": request.app.state.lookups.sources}
    return page(request, "sources.html", told)


def characters(request: Request) -> Response:
    """The characters, how they are looked at, and how far they are to be trusted."""
    rows = request.app.state.lookups.rows("character_list")
    return page(request, "characters.html", {"title": "Characters", "rows": rows})


def query(request: Request) -> Response:
    """SPARQL: a text area, the examples, and the result as a table."""
    from opercle.faces.web import workbench

    return workbench.shown(request)


def suggest(request: Request) -> Response:
    """Names for what is being typed, as JSON."""
    found = request.app.state.lookups.suggest(param(request, "q") or "")
    return JSONResponse(found, headers={"Cache-Control": "no-cache"})


def picture(request: Request) -> Response:
    """A drawing as SVG: fish, tree or map; 404 where there is none."""
    from opercle.faces.web.guard import PICTURE_POLICY

    kind, local = request.path_params["kind"], request.path_params["local"]
    answer = asked_of(request, "draw", f"t:{local}", kind=kind)
    svg = answer.fields.get("svg")
    if not svg:
        raise HTTPException(404, "There is no drawing of it.")
    headers = {"Content-Security-Policy": PICTURE_POLICY, "Cache-Control": "no-cache"}
    return Response(svg, media_type="image/svg+xml", headers=headers)


def api_docs(request: Request) -> Response:
    """The HTTP API told from its own description, offline."""
    from starlette.routing import Mount

    mounted = next(r for r in request.app.routes if isinstance(r, Mount) and r.path == "/api")
    told: Any = mounted.app
    return page(request, "api.html", {"title": "HTTP API", "spec": told.openapi()})


def health(request: Request) -> Response:
    """Whether the server can answer."""
    state = request.app.state
    told = {"status": "ready", "snapshot": state.hash, "workers": state.pool.limits.workers}
    if not state.snapshot.ask("ASK { ?s ?p ?o }"):
        return JSONResponse({**told, "status": "empty"}, 503)
    return JSONResponse(told, headers={"Cache-Control": "no-store"})


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
    told = {"title": says, "error": shown, "near": ()}
    return page(request, "error.html", told, error.status_code, error.headers)


HANDLERS: Any = {OpercleError: on_error, HTTPException: on_http}
ROUTES = [
    Route("/", home),
    Route("/ask", ask),
    Route("/answer/name", answer_name),
    Route("/answer/really", answer_really),
    Route("/answer/why", answer_why),
    Route("/prove", prove),
    Route("/account", account),
    Route("/compare", compare),
    Route("/key", key),
    Route("/waters", waters),
    Route("/words", words),
    Route("/sources", sources),
    Route("/characters", characters),
    Route("/query", query),
    Route("/suggest", suggest),
    Route("/picture/{kind:str}/{local:path}.svg", picture),
    Route("/api/docs", api_docs),
    Route("/health", health),
]
