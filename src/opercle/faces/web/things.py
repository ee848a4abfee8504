"""Linked data: the address of every thing answers as a page, as Turtle or as JSON-LD.

Knows: which form is asked for, and the page that suits each kind of thing.
Refuses to know: how the lists are made; that is ``questions``.
"""

from typing import Any

from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from opercle.faces.web import negotiate, paths, pictures, showing
from opercle.questions import described
from opercle.questions.browse import Lists

FORMS = ("text/html", "text/turtle", "application/ld+json")
_SPECIAL = {"water": "water", "place": "water", "word": "word", "source": "source"}
_SPECIAL |= {"statement": "statement", "character": "character", "taxon": "account"}


def thing(request: Request) -> Response:
    """Answer ``/taxon/…`` and its like by Accept; 404 where nothing is said of it."""
    kind, local = request.path_params["kind"], request.path_params["local"]
    name = paths.name_of(kind, local)
    desk = request.app.state.know.desk
    if not described.held(desk, name):
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
        body = paths.written(described.triples(desk, name), media)
        return Response(body, media_type=media, headers=headers)
    return showing.page(request, *_told(request, kind, name), headers=headers)


def _told(request: Request, kind: str, name: str) -> tuple[str, dict[str, Any]]:
    """The template of a thing and what it is filled with."""
    look: Lists = request.app.state.lists
    told: dict[str, Any] = {
        "x": name,
        "label": look.desk.label(name),
        "here": request.url.path,
        "kind": kind,
    }
    told["title"] = told["label"]
    template = _SPECIAL.get(kind, "thing")
    return f"{template}.html", {**told, **_MORE.get(template, _plain)(request, look, name)}


def _plain(request: Request, look: Lists, name: str) -> dict[str, Any]:
    return {
        "properties": described.properties(look.desk, name),
        "naming": described.naming(look.desk, name),
    }


def _water(request: Request, look: Lists, name: str) -> dict[str, Any]:
    from opercle.draw import water as chart

    groups = look.fishes(name)
    return {
        "map": chart.one(look.desk, name, paths.path_of),
        "groups": groups,
        "fishes": sum(len(g["fishes"]) for g in groups),
        "parts": look.parts(name),
        "whole": look.whole(name),
        "properties": described.properties(look.desk, name),
    }


def _word(request: Request, look: Lists, name: str) -> dict[str, Any]:
    return {
        "meanings": look.meanings(name),
        "groups": look.carriers(name),
        "told": described.word_history(look.desk, name),
        "cautions": _of_families(look, name),
    }


def _of_families(look: Lists, word: str) -> list[str]:
    """What to beware of in the families whose fishes carry the word."""
    families = [g["family"] for g in look.carriers(word) if g["family"]]
    return look.desk.cautions(families)


def _source(request: Request, look: Lists, name: str) -> dict[str, Any]:
    return {"supported": look.supported(name), "properties": described.properties(look.desk, name)}


def _statement(request: Request, look: Lists, name: str) -> dict[str, Any]:
    cited = look.desk.words.citation(name)
    return {
        "says": look.says(name),
        "cited": cited,
        "properties": described.properties(look.desk, name),
    }


def _character(request: Request, look: Lists, name: str) -> dict[str, Any]:
    row = next((r for r in look.characters if r["x"] == name), None)
    return {"c": row, "values": look.stated_of(name), **_plain(request, look, name)}


def _account(request: Request, look: Lists, name: str) -> dict[str, Any]:
    answer = request.app.state.asking.ask("account", name)
    return {"answer": answer, "f": answer.fields, "figures": pictures.of_account(answer)}


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


ROUTES = [_route(kind) for kind in paths.KINDS]
