"""The HTTP API: the answers of the contract as JSON, with OpenAPI.

Knows: paths, parameters, statuses and caching.
Refuses to know: any answer; and nothing is changed through it.
"""

import json
import zlib
from collections.abc import Callable
from typing import Annotated, Any, TypeVar

from fastapi import FastAPI, Path, Query, Request
from fastapi.exceptions import RequestValidationError
from fastapi.responses import Response
from starlette.exceptions import HTTPException
from starlette.middleware.cors import CORSMiddleware

from opercle.answers import Answer
from opercle.errors import OpercleError, UnknownError, UsageError
from opercle.faces.web.asking import LONGEST, Asking
from opercle.faces.web.guard import BROKEN
from opercle.terms import PREFIXES

Handler = TypeVar("Handler", bound=Callable[..., Any])
Text = Annotated[str, Query(min_length=1, max_length=LONGEST)]
Maybe = Annotated[str | None, Query(max_length=LONGEST)]
Year = Annotated[str | None, Query(pattern=r"^(1[5-9][0-9]{2}|20[0-9]{2}|2100)$")]
Seen = Annotated[str, Query(pattern=r"^[^=]+=[^=]*$", max_length=LONGEST)]
Node = Annotated[
    str, Query(pattern=f"^({'|'.join(PREFIXES)}):[A-Za-z0-9_.:-]+$", max_length=LONGEST)
]
Segment = Annotated[str, Path(min_length=1, max_length=LONGEST)]
_PROBLEM: dict[str, Any] = {
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
        "application/json": {
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
    },
}
_SAID: dict[int | str, dict[str, Any]] = {200: _ANSWER, 400: _PROBLEM, 404: _PROBLEM, 422: _PROBLEM}


def make(asking: Asking) -> FastAPI:
    """The API over one door."""
    app = FastAPI(
        title="Opercle",
        version="0.1.0",
        description="What a fish really is, and why, down to a cited fact. Read-only.",
        docs_url=None,
        redoc_url=None,
        openapi_url="/openapi.json",
    )
    app.add_middleware(CORSMiddleware, allow_origins=["*"], allow_methods=["GET"])
    app.add_exception_handler(OpercleError, _told)
    app.add_exception_handler(RequestValidationError, _unfit)
    app.add_exception_handler(HTTPException, _http)
    app.add_exception_handler(Exception, _broken)
    _questions(app, asking)
    _sheets(app, asking)
    return app


def _get(app: FastAPI, path: str) -> Callable[[Handler], Handler]:
    return app.get(path, responses=_SAID, response_class=Response)


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
        other: Annotated[str, Query(alias="not", min_length=1, max_length=LONGEST)],
    ) -> Response:
        """Why a fish belongs where it is placed, and not to the other."""
        return _sent(request, asking.ask("why", taxon, rather_than=other))

    @_get(app, "/prove")
    def prove(request: Request, subject: Node, predicate: Node, object: Text) -> Response:
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
    ) -> Response:
        """Which fish this is; repeat ``see`` as ``anal-spines=6``."""
        seen = dict.fromkeys(see)
        return _sent(
            request, asking.ask("identify", tuple(seen), water=water, state=state, within=within)
        )

    @_get(app, "/key/{taxon}")
    def key(request: Request, taxon: Segment, water: Maybe = None) -> Response:
        """A dichotomous key for a group, or for its fishes of one water."""
        return _sent(request, asking.ask("key", taxon, water=water))


def _sent(request: Request, answer: Answer) -> Response:
    body = json.dumps(answer.to_dict(), ensure_ascii=False).encode()
    tag = f'"{zlib.crc32(body):08x}-{len(body):x}"'
    headers = {"ETag": tag, "Cache-Control": "no-cache"}
    if tag in request.headers.get("if-none-match", ""):
        return Response(status_code=304, headers=headers)
    return Response(body, media_type="application/json", headers=headers)


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
    return problem(400 if isinstance(error, UsageError) else 500, error.what, **more)


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
