"""Drawings as pages need them: which are shown beside an answer, and each at an address of its own.

Knows: which drawing suits which answer, and that a drawing may load nothing.
Refuses to know: how anything is drawn.
"""

from collections.abc import Mapping, Sequence
from functools import partial
from typing import Any
from urllib.parse import urlencode

from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from opercle.answers import Answer
from opercle.errors import UsageError
from opercle.faces.web import paths, showing
from opercle.faces.web.asking import Asking
from opercle.faces.web.guard import PICTURE_POLICY

_KINDS = ("fish", "tree", "map")
_FEW = 8


def address(kind: str, of: str, beside: str | None = None, *, bare: bool = False) -> str:
    """Where a drawing of a taxon is; ``bare`` leaves out its labels."""
    pairs = {"of": of, "beside": beside or "", "bare": "1" if bare else ""}
    return f"/picture/{kind}.svg?" + urlencode({k: v for k, v in pairs.items() if v})


def figure(kind: str, of: str, caption: str, beside: str | None = None) -> dict[str, str]:
    """A drawing with its caption, as the templates show it."""
    return {"src": address(kind, of, beside), "caption": caption}


def of_name(answer: Answer) -> tuple[list[dict[str, str]], list[Mapping[str, Any]]]:
    """For what a name means: the one fish labelled, or all that it can mean, bare."""
    bearers = answer.fields.get("bearers") or []
    if answer.outcome == "settled" and len(bearers) == 1:
        name = bearers[0]["scientificName"]
        return [figure("fish", name, _told(bearers[0]))], []
    return [], bearers[:_FEW] if len(bearers) > 1 else []


def of_really(answer: Answer) -> tuple[list[dict[str, str]], list[Mapping[str, Any]]]:
    """For whether a fish is what it is called: beside the family strictly meant, or all bearers."""
    bearers, strict = answer.fields.get("bearers") or [], answer.fields.get("word_family")
    if not (answer.outcome == "no" and bearers and strict):
        return of_name(answer._replace(outcome="settled" if len(bearers) == 1 else answer.outcome))
    first = bearers[0]
    says = f"{_told(first)} beside {strict}, which the word strictly means."
    made = [figure("fish", first["scientificName"], says, strict)]
    made.append(figure("tree", first["scientificName"], f"Where {_told(first)} stands."))
    return made, bearers[1 : _FEW + 1]


def of_why(answer: Answer) -> tuple[list[dict[str, str]], list[Mapping[str, Any]]]:
    """For why it stands here and not there: both, with what tells them apart marked."""
    one, two = answer.fields.get("subject"), answer.fields.get("rather_than")
    if not (isinstance(one, str) and isinstance(two, str)) or one == two:
        return [], []
    return [
        figure("fish", one, f"{one} beside {two}, with what tells them apart marked.", two),
        figure("tree", one, f"Where {one} stands."),
    ], []


def of_candidates(left: Sequence[Mapping[str, Any]]) -> list[dict[str, str]]:
    """For what a fish can still be: the last one left."""
    return [figure("fish", c["scientificName"], f"{_told(c)}.") for c in left[:1]]


def _told(bearer: Mapping[str, Any]) -> str:
    common = bearer.get("vernacularName")
    return f"{common} ({bearer['scientificName']})" if common else str(bearer["scientificName"])


def of_compare(taxa: Sequence[Mapping[str, Any]]) -> list[dict[str, str]]:
    """For fishes side by side: the first beside each of the others."""
    first, rest = taxa[0], taxa[1:]
    return [
        figure(
            "fish", first["scientificName"], f"{_told(first)} beside {_told(t)}.",
            t["scientificName"],
        )
        for t in rest[:2]
    ]  # fmt: skip


_DRAWN = ("species", "subspecies", "hybrid", "genus", "family")


def of_account(answer: Answer) -> list[dict[str, str]]:
    """For an account: the fish, where it stands with what stands under it, and its waters."""
    name, rank = answer.fields.get("scientificName"), answer.fields.get("taxonRank")
    if answer.outcome != "found" or not name:
        return []
    made = []
    if rank in _DRAWN:
        says = f"{_told(answer.fields)}, drawn from the figures held here; markings are hints only."
        made.append(figure("fish", name, says))
    made.append(figure("tree", name, f"Where {name} stands, and what stands under it."))
    if any((answer.fields.get("waters") or {}).values()):
        made.append(figure("map", name, f"Waters in which {name} is said to live."))
    return made


def picture(request: Request) -> Response:
    """A drawing of a taxon as SVG: fish, tree or map; 404 where there is none."""
    kind, local = request.path_params["kind"], request.path_params.get("local")
    of = f"t:{local}" if local else showing.param(request, "of")
    if of is None:
        raise UsageError("“of” is missing.", request.url.path, "Name a taxon.")
    if kind not in _KINDS:
        raise HTTPException(400, f"“{kind[:40]}” is no kind of drawing.")
    beside, bare = showing.param(request, "beside"), "bare" in request.query_params
    asking: Asking = request.app.state.asking
    options = {"beside": beside, "kind": kind, "notes": False}
    if bare and kind == "fish" and not beside:
        options["labels"] = False
    return _sent(request, partial(_svg, asking, "draw", of, **options))


def proof(request: Request) -> Response:
    """The tree of a proof as SVG; 404 where nothing is proved."""
    parts = [showing.param(request, k) for k in ("subject", "predicate", "object")]
    if not all(parts):
        raise UsageError("A triple has three parts.", request.url.path, "Give all three.")
    return _sent(request, partial(_svg, request.app.state.asking, "prove", *parts, drawn=True))


def water(request: Request) -> Response:
    """The map of one water as SVG; 404 where it has no place on the base map."""
    from opercle.draw import water as chart

    name = paths.name_of("water", request.path_params["local"])
    return _sent(request, partial(chart.one, request.app.state.know.desk, name, paths.path_of))


def _svg(asking: Asking, command: str, *args: Any, **options: Any) -> str | None:
    svg: str | None = asking.ask(command, *args, **options).fields.get("svg")
    return svg


def _sent(request: Request, make: Any) -> Response:
    """A drawing changes only with the knowledge."""
    tag = f'"{request.app.state.hash}"'
    headers = {"Content-Security-Policy": PICTURE_POLICY, "Cache-Control": "no-cache", "ETag": tag}
    if tag in request.headers.get("if-none-match", ""):
        return Response(status_code=304, headers=headers)
    svg = make()
    if not svg:
        raise HTTPException(404, "There is no drawing of it.")
    return Response(svg, media_type="image/svg+xml", headers=headers)


ROUTES = [
    Route("/picture/proof.svg", proof),
    Route("/picture/water/{local:path}.svg", water),
    Route("/picture/{kind:str}.svg", picture),
    Route("/picture/{kind:str}/{local:path}.svg", picture),
]
