"""Linked data: the address of every thing answers as a page, as Turtle or as JSON-LD.

Knows: which form is asked for, and the page that suits each kind of thing.
Refuses to know: how the lists are made; that is ``lookups``.
"""

from typing import Any

from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from opercle.faces.web import lookups, negotiate, pages

FORMS = ("text/html", "text/turtle", "application/ld+json")
_SPECIAL = {"water": "water", "place": "water", "word": "word", "source": "source"}
_SPECIAL |= {"statement": "statement", "character": "character", "taxon": "account"}


def thing(request: Request) -> Response:
    """Answer ``/taxon/…`` and its like by Accept; 404 where nothing is said of it."""
    kind, local = request.path_params["kind"], request.path_params["local"]
    name = lookups.address(kind, local)
    look: lookups.Lookups = request.app.state.lookups
    if not look.held(name):
        raise HTTPException(404, f"Nothing is known here at the address /{kind}/{local[:200]}.")
    media = negotiate.choose(request.headers.get("accept"), FORMS)
    if media is None:
        raise HTTPException(406, f"This can be had as {', '.join(FORMS)}.")
    headers = {**negotiate.VARY, "Cache-Control": "no-cache"}
    headers["ETag"] = f'"{request.app.state.hash}-{FORMS.index(media)}"'
    if headers["ETag"] in request.headers.get("if-none-match", ""):
        return Response(status_code=304, headers=headers)
    if media != "text/html":
        headers["Access-Control-Allow-Origin"] = "*"
        body = lookups.written(look.triples(name), media)
        return Response(body, media_type=media, headers=headers)
    return pages.page(request, *_told(request, kind, name), headers=headers)


def _told(request: Request, kind: str, name: str) -> tuple[str, dict[str, Any]]:
    """The template of a thing and what it is filled with."""
    look: lookups.Lookups = request.app.state.lookups
    told: dict[str, Any] = {
        "x": name,
        "label": look.label(name),
        "here": request.url.path,
        "kind": kind,
    }
    told["title"] = told["label"]
    template = _SPECIAL.get(kind, "thing")
    return f"{template}.html", {**told, **_MORE.get(template, _plain)(request, look, name)}


def _plain(request: Request, look: lookups.Lookups, name: str) -> dict[str, Any]:
    return {"properties": look.properties(name), "naming": look.naming(name)}


def _water(request: Request, look: lookups.Lookups, name: str) -> dict[str, Any]:
    groups = look.fishes(name)
    return {
        "groups": groups,
        "fishes": sum(len(g["fishes"]) for g in groups),
        "parts": look.parts(name),
        "whole": look.whole(name),
        "properties": look.properties(name),
    }


def _word(request: Request, look: lookups.Lookups, name: str) -> dict[str, Any]:
    from opercle.questions.desk import node

    meanings = [
        {**row, "reason": look.desk.words.reason(row["s"])}
        for row in look.desk.query("meanings", w=node(name))
    ]
    told = [look.desk.words.reason(r["x"]) for r in look.naming(name) if "rd:" in r["x"]]
    return {"meanings": meanings, "groups": look.carriers(name), "told": told}


def _source(request: Request, look: lookups.Lookups, name: str) -> dict[str, Any]:
    return {"supported": look.supported(name), "properties": look.properties(name)}


def _statement(request: Request, look: lookups.Lookups, name: str) -> dict[str, Any]:
    cited = look.desk.words.citation(name)
    return {"says": look.says(name), "cited": cited, "properties": look.properties(name)}


def _character(request: Request, look: lookups.Lookups, name: str) -> dict[str, Any]:
    from opercle.questions.desk import node

    rows = [r for r in look.rows("character_list") if r["x"] == name]
    values = [
        {"x": r["s"], "says": look.says(r["s"])} for r in look.rows("values_of", c=node(name))
    ]
    return {"c": rows[0] if rows else None, "values": values, **_plain(request, look, name)}


def _account(request: Request, look: lookups.Lookups, name: str) -> dict[str, Any]:
    answer = request.app.state.asking.ask("account", name)
    own = [line for line in answer.cautions if not line.startswith(f"“{name}”")]
    answer = answer._replace(cautions=own)
    return {"answer": answer, "f": answer.fields}


_MORE = {
    "water": _water,
    "word": _word,
    "source": _source,
    "statement": _statement,
    "character": _character,
    "account": _account,
}


def _route(kind: str) -> Route:
    def one(request: Request) -> Response:
        request.path_params["kind"] = kind
        return thing(request)

    return Route(f"/{kind}/{{local:path}}", one)


ROUTES = [_route(kind) for kind in lookups.KINDS]
