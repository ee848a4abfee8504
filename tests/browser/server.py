"""A real server on a free loopback port, for tests that ask as clients do."""

import socket
import threading
import time
from contextlib import contextmanager

import uvicorn

from opercle.faces.web.app import make
from opercle.faces.web.fair import Share
from opercle.faces.web.pool import Limits
from opercle.faces.web.visits import Bounds

TIGHT = Limits(seconds=1.5, memory=400_000_000, result=2_000_000, query=100_000, workers=3)
SMALL = Bounds(size=1_000_000, rows=5_000, seconds=60, of_client=3)
NO_LIMIT = Share(per_second=0)


@contextmanager
def serving(know, limits=TIGHT, bounds=SMALL, share=NO_LIMIT):
    """The address of a server over the knowledge, for as long as the block runs."""
    with socket.socket() as trial:
        trial.bind(("127.0.0.1", 0))
        port = trial.getsockname()[1]
    config = uvicorn.Config(
        make(know, limits, bounds, share=share),
        host="127.0.0.1",
        port=port,
        log_level="error",
        ws="none",
    )
    server = uvicorn.Server(config)
    thread = threading.Thread(target=server.run, daemon=True)
    thread.start()
    until = time.monotonic() + 30
    while not server.started:
        assert thread.is_alive(), "the server did not start"
        assert time.monotonic() < until, "the server did not start within 30 seconds"
        time.sleep(0.02)
    yield f"http://127.0.0.1:{port}"
    server.should_exit = True
    thread.join(20)
