"""The whole web face as one application, and its server.

Knows: which part answers which path, and what starts and ends with the server.
Refuses to know: what the parts answer.
"""

import json
import os
import time
from collections.abc import AsyncIterator, Sequence
from contextlib import asynccontextmanager
from typing import Any

from starlette.applications import Starlette
from starlette.middleware import Middleware
from starlette.middleware.gzip import GZipMiddleware
from starlette.routing import Mount, Route
from starlette.staticfiles import StaticFiles

from opercle.errors import UsageError
from opercle.exports import context
from opercle.faces.web import (
    answering,
    api,
    dataset,
    fair,
    identifying,
    pages,
    pictures,
    records,
    sparql,
    things,
    visits,
)
from opercle.faces.web.asking import Asking
from opercle.faces.web.fair import Fair, Share
from opercle.faces.web.guard import Guard
from opercle.faces.web.kept import Kept
from opercle.faces.web.pool import Limits, Pool
from opercle.faces.web.visits import Bounds, Visits
from opercle.knowledge import Knowledge
from opercle.questions.browse import Lists

HERE = os.path.dirname(os.path.abspath(__file__))
_PACKS, _VISITS = "OPERCLE_SERVE_PACKS", "OPERCLE_SERVE_VISITS"
_SHARE = "OPERCLE_SERVE_PER_CLIENT"


def make(
    know: Knowledge,
    limits: Limits | None = None,
    bounds: Bounds | None = None,
    packs: Sequence[str] = (),
    root: str | None = None,
    share: Share | None = None,
) -> Starlette:
    """The application over an opened knowledge.

    ``limits`` bound each SPARQL query and ``bounds`` each file of records; ``packs`` are those of
    the knowledge, and ``root`` is a folder for uploads that several processes share; ``share`` is
    what one client may ask.
    """
    snapshot = know.desk.snapshot
    folder = None
    if snapshot.place is None:
        folder, place = _laid_down(snapshot)
    else:
        place = os.path.join(snapshot.place, "store")
    pool = Pool(place, limits or Limits())
    held = Visits(root, packs, bounds, snapshot.place)

    @asynccontextmanager
    async def life(app: Starlette) -> AsyncIterator[None]:
        yield
        pool.close()
        held.close()
        if folder is not None:
            folder.cleanup()

    asking, lists = Asking(know), Lists(know.desk)
    http = api.make(asking, lists)
    digest = str(snapshot.facts.get("hash") or "")
    static = StaticFiles(directory=os.path.join(HERE, "static"))
    app = Starlette(
        routes=[
            *pages.ROUTES,
            *answering.ROUTES,
            *identifying.ROUTES,
            *records.ROUTES,
            *pictures.ROUTES,
            *things.ROUTES,
            *dataset.ROUTES,
            Route("/sparql", sparql.endpoint, methods=["GET", "POST", "OPTIONS"]),
            Mount("/static", static, name="static"),
            Mount("/api", Kept(http, digest)),
            Route(context.SERVED, api.contexts),
        ],
        middleware=[
            Middleware(Guard),
            Middleware(Fair, share=share or Share()),
            Middleware(GZipMiddleware, minimum_size=1000, compresslevel=5),
        ],
        exception_handlers=pages.HANDLERS,
        lifespan=life,
    )
    state = app.state
    state.know, state.asking, state.pool, state.snapshot = know, asking, pool, snapshot
    state.lists, state.visits = lists, held
    state.hash, state.openapi, state.begun = digest, http.openapi, time.monotonic()
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
    packs = json.loads(os.environ.get(_PACKS, "[]"))
    each = fair.share(float(os.environ.get(_SHARE, "100")))
    return make(Knowledge(packs), packs=packs, root=os.environ.get(_VISITS), share=each)


def serve(
    host: str, port: int, workers: int, packs: Sequence[str], per_client: float = 100.0
) -> int:
    """Serve until stopped; UsageError for a port or a number of workers that cannot be.

    ``per_client`` is how many requests a second one client may send to one process; 0 is no limit.
    """
    import signal
    import sys
    import tempfile

    import uvicorn

    if not 0 <= port <= 65535:
        raise UsageError(f"{port} is no port.", "--port", "Use 0 to 65535; 0 takes a free one.")
    if not 1 <= workers <= 64:
        raise UsageError(f"{workers} workers cannot be.", "--workers", "Use 1 to 64.")
    if not 0 <= per_client <= 1_000_000:
        raise UsageError(f"{per_client} a second cannot be.", "--per-client", "Use 0 for no limit.")
    _free(host, port)
    os.environ[_SHARE] = str(per_client)
    os.environ[_PACKS] = json.dumps([os.path.abspath(p) for p in packs])
    Knowledge(packs).desk  # compiled once, before any worker starts  # noqa: B018
    visits.cleared()
    # The server ends by sending itself the signal once more; what is held is deleted first.
    signal.signal(signal.SIGTERM, lambda *_: sys.exit(0))
    with tempfile.TemporaryDirectory(prefix=visits.PREFIX) as root:
        os.environ[_VISITS] = root
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
