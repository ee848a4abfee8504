"""The whole web face as one application, and its server.

Knows: which part answers which path, and what starts and ends with the server.
Refuses to know: what the parts answer.
"""

import json
import os
from collections.abc import AsyncIterator, Sequence
from contextlib import asynccontextmanager
from typing import Any

from starlette.applications import Starlette
from starlette.middleware import Middleware
from starlette.middleware.gzip import GZipMiddleware
from starlette.routing import Mount, Route
from starlette.staticfiles import StaticFiles

from opercle.errors import UsageError
from opercle.faces.web import api, identifying, pages, sparql, things
from opercle.faces.web.asking import Asking
from opercle.faces.web.guard import Guard
from opercle.faces.web.lookups import Lookups
from opercle.faces.web.pool import Limits, Pool
from opercle.knowledge import Knowledge

HERE = os.path.dirname(os.path.abspath(__file__))
_PACKS = "OPERCLE_SERVE_PACKS"


def make(know: Knowledge, limits: Limits | None = None) -> Starlette:
    """The application over an opened knowledge; ``limits`` bound each SPARQL query."""
    snapshot = know.desk.snapshot
    folder = None
    if snapshot.place is None:
        folder, place = _laid_down(snapshot)
    else:
        place = os.path.join(snapshot.place, "store")
    pool = Pool(place, limits or Limits())

    @asynccontextmanager
    async def life(app: Starlette) -> AsyncIterator[None]:
        yield
        pool.close()
        if folder is not None:
            folder.cleanup()

    asking = Asking(know)
    static = StaticFiles(directory=os.path.join(HERE, "static"))
    app = Starlette(
        routes=[
            *pages.ROUTES,
            *identifying.ROUTES,
            *things.ROUTES,
            Route("/sparql", sparql.endpoint, methods=["GET", "POST", "OPTIONS"]),
            Mount("/static", static, name="static"),
            Mount("/api", api.make(asking)),
        ],
        middleware=[Middleware(Guard), Middleware(GZipMiddleware, minimum_size=1000)],
        exception_handlers=pages.HANDLERS,
        lifespan=life,
    )
    state = app.state
    state.know, state.asking, state.pool, state.snapshot = know, asking, pool, snapshot
    state.lookups = Lookups(know.desk)
    state.hash = str(snapshot.facts.get("hash") or "")
    return app


def _laid_down(snapshot: Any) -> tuple[Any, str]:
    """A knowledge kept in memory only is laid down in a folder of its own for the workers."""
    import tempfile

    import pyoxigraph as ox

    folder = tempfile.TemporaryDirectory(prefix="opercle-")
    place = os.path.join(folder.name, "store")
    store = ox.Store(place)
    store.bulk_extend(snapshot.store)
    store.flush()
    del store
    return folder, place


def served() -> Starlette:
    """The application of one server process, with the packs that ``serve`` was given."""
    return make(Knowledge(json.loads(os.environ.get(_PACKS, "[]"))))


def serve(host: str, port: int, workers: int, packs: Sequence[str]) -> int:
    """Serve until stopped; UsageError for a port or a number of workers that cannot be."""
    import uvicorn

    if not 0 <= port <= 65535:
        raise UsageError(f"{port} is no port.", "--port", "Use 0 to 65535; 0 takes a free one.")
    if not 1 <= workers <= 64:
        raise UsageError(f"{workers} workers cannot be.", "--workers", "Use 1 to 64.")
    _free(host, port)
    os.environ[_PACKS] = json.dumps([os.path.abspath(p) for p in packs])
    Knowledge(packs).status()  # compiled once, before any worker starts
    uvicorn.run(
        "opercle.faces.web.app:served",
        factory=True,
        host=host,
        port=port,
        workers=workers,
        log_level="warning" if workers > 1 else "info",
        access_log=False,
        server_header=False,
        limit_concurrency=200,
        timeout_keep_alive=10,
    )
    return 0


def _free(host: str, port: int) -> None:
    """UsageError where the address cannot be bound: said before anything starts."""
    import socket

    try:
        family = socket.getaddrinfo(host, port, type=socket.SOCK_STREAM)[0]
        with socket.socket(family[0], socket.SOCK_STREAM) as trial:
            trial.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
            trial.bind(family[4])
    except OSError as error:
        raise UsageError(
            f"{host} port {port} cannot be served: {error.strerror or error}.",
            "--host, --port",
            "Choose another port, or end what holds it.",
        ) from None
