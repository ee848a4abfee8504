"""Lists of the HTTP API, in parts: taxa, waters and their fishes, words, sources, characters.

Knows: paths and parameters of lists, and how a part of a list is told.
Refuses to know: how lists are made; that is ``questions.browse``.
"""

from collections.abc import Callable, Sequence
from typing import Annotated, Any

from fastapi import FastAPI, Path, Query, Request
from fastapi.responses import Response

from opercle.errors import UnknownError
from opercle.faces.web import api
from opercle.faces.web.kept import JSON, LINKED
from opercle.questions import described
from opercle.questions.browse import RANKS, Lists

_LIST: dict[str, Any] = {
    "description": "A part of a list; links lead to the next and previous part (RFC 8288)",
    "content": {
        media: {
            "schema": {
                "type": "object",
                "required": ["total", "limit", "offset", "items"],
                "properties": {
                    "total": {"type": "integer", "minimum": 0},
                    "limit": {"type": "integer"},
                    "offset": {"type": "integer"},
                    "items": {"type": "array", "items": {"type": "object"}},
                },
            }
        }
        for media in (JSON, LINKED)
    },
}
_SAID: dict[int | str, dict[str, Any]] = {**api.SAID, 200: _LIST}
Limit = Annotated[int, Query(ge=1, le=api.MOST)]
Offset = Annotated[int, Query(ge=0, le=api.FARTHEST)]
Rank = Annotated[str | None, Query(pattern=f"^({'|'.join(RANKS)})$")]


def _local(example: str) -> Any:
    prefix = example.partition(":")[0]
    return Path(pattern=f"^{prefix}:[A-Za-z0-9_.-]+$", max_length=200, examples=[example])


def add(app: FastAPI, lists: Lists) -> None:
    """Add the lists to the API."""

    def get(path: str) -> Callable[[api.Handler], api.Handler]:
        return app.get(path, responses=_SAID, response_class=Response)

    @get("/taxa")
    def taxa(
        request: Request, rank: Rank = None, limit: Limit = 100, offset: Offset = 0
    ) -> Response:
        """Every taxon, or those of one rank."""
        return _part(request, lists.taxa(rank), limit, offset)

    @get("/waters")
    def waters(request: Request, limit: Limit = 100, offset: Offset = 0) -> Response:
        """Every water."""
        return _part(request, lists.waters, limit, offset)

    @get("/waters/{water}/fishes")
    def fishes(
        request: Request,
        water: Annotated[str, _local("w:Coosa-River")],
        limit: Limit = 100,
        offset: Offset = 0,
    ) -> Response:
        """The fishes of a water, such as ``w:Coosa-River``, each with its presence."""
        _known(lists, water)
        return _part(request, _flat(lists.fishes(water)), limit, offset)

    @get("/words")
    def words(request: Request, limit: Limit = 100, offset: Offset = 0) -> Response:
        """Every group word with what it strictly means."""
        return _part(request, lists.words(), limit, offset)

    @get("/words/{word}/fishes")
    def carriers(
        request: Request,
        word: Annotated[str, _local("word:perch")],
        limit: Limit = 100,
        offset: Offset = 0,
    ) -> Response:
        """The fishes that carry a group word, such as ``word:perch``."""
        _known(lists, word)
        return _part(request, _flat(lists.carriers(word)), limit, offset)

    @get("/sources")
    def sources(request: Request, limit: Limit = 100, offset: Offset = 0) -> Response:
        """Every source with the number of facts that rest on it."""
        return _part(request, lists.sources, limit, offset)

    @get("/sources/{source}/facts")
    def facts(
        request: Request,
        source: Annotated[str, _local("src:becker-1983")],
        limit: Limit = 100,
        offset: Offset = 0,
    ) -> Response:
        """What rests on a source, such as ``src:becker-1983``."""
        _known(lists, source)
        return _part(request, lists.supported(source), limit, offset)

    @get("/characters")
    def characters(request: Request, limit: Limit = 100, offset: Offset = 0) -> Response:
        """Every character: how it is looked at and how far it is to be trusted."""
        return _part(request, lists.characters, limit, offset)


def _known(lists: Lists, name: str) -> None:
    if not described.held(lists.desk, name):
        raise UnknownError(f"Nothing is known as “{name}”.", "", "Take a name from the list.")


def _flat(groups: Sequence[dict[str, Any]]) -> list[dict[str, Any]]:
    return [{"family": g["name"], **fish} for g in groups for fish in g["fishes"]]


def _part(request: Request, every: Sequence[dict[str, Any]], limit: int, offset: int) -> Response:
    items = list(every[offset : offset + limit])
    told = {"total": len(every), "limit": limit, "offset": offset, "items": items}
    return api.sent(request, told, api.pages(request, len(every), limit, offset))
