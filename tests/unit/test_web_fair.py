"""One client's share, several server processes behind one port, and the health page."""

import asyncio
import os
import signal
import socket
import subprocess
import sys
import time

import httpx
import pytest
from starlette.applications import Starlette
from starlette.middleware import Middleware
from starlette.responses import PlainTextResponse
from starlette.routing import Route

from opercle.errors import UsageError
from opercle.faces.web import app
from opercle.faces.web.fair import Fair, Share, share


def _made(each):
    routes = [Route(p, lambda r: PlainTextResponse("yes")) for p in ("/", "/health")]
    return Starlette(routes=routes, middleware=[Middleware(Fair, share=each)])


def _told(made, host="192.0.2.1", path="/", **headers):
    """The reply to one request from an address."""

    async def asked():
        transport = httpx.ASGITransport(made, client=(host, 1))
        async with httpx.AsyncClient(transport=transport, base_url="http://test") as one:
            return await one.get(path, headers=headers)

    return asyncio.run(asked())


def test_a_client_gets_its_share_and_then_429_with_a_time_to_come_back():
    made = _made(Share(per_second=0.001, burst=3))
    assert [_told(made).status_code for _ in range(4)] == [200, 200, 200, 429]
    assert _told(made).headers["retry-after"] == "1"
    assert _told(made, path="/health").status_code == 200


def test_what_one_client_has_used_up_is_not_taken_from_another():
    made = _made(Share(per_second=0.001, burst=1))
    assert [_told(made).status_code, _told(made).status_code] == [200, 429]
    assert _told(made, "192.0.2.2").status_code == 200
    # A header that claims to be somebody else is not believed.
    assert _told(made, **{"X-Forwarded-For": "192.0.2.3"}).status_code == 429


def test_a_share_comes_back_with_time_and_none_means_no_limit():
    made = _made(Share(per_second=20, burst=1))
    assert [_told(made).status_code, _told(made).status_code] == [200, 429]
    time.sleep(0.1)
    assert _told(made).status_code == 200
    free = _made(share(0))
    assert {_told(free).status_code for _ in range(50)} == {200}


@pytest.mark.parametrize("each", [-1, 1e9])
def test_a_share_that_cannot_be_is_told(each):
    with pytest.raises(UsageError):
        app.serve("127.0.0.1", 0, 1, [], each)


@pytest.mark.parametrize("workers", [1, 2])
def test_processes_behind_one_port_share_the_visits_and_leave_nothing(
    know, cache, tmp_path, workers
):
    know.status()  # compiled before
    with socket.socket() as trial:
        trial.bind(("127.0.0.1", 0))
        port = trial.getsockname()[1]
    command = [sys.executable, "-m", "opercle.faces.cli", "serve", "--port", str(port)]
    process = subprocess.Popen(
        [*command, "--workers", str(workers), "--per-client", "0"],
        env={**os.environ, "OPERCLE_CACHE": str(cache), "TMPDIR": str(tmp_path)},
        stdout=subprocess.DEVNULL,
        stderr=subprocess.DEVNULL,
    )
    base = f"http://127.0.0.1:{port}"
    try:
        ids, until = set(), time.monotonic() + 60
        while len(ids) < workers and time.monotonic() < until:
            try:
                ids.add(httpx.get(f"{base}/health").json()["process"])
            except httpx.TransportError:
                time.sleep(0.2)
        assert len(ids) == workers
        assert (process.pid in ids) is (workers == 1)
        sent = {"file": ("log.csv", b"fish,water\nbluegill,Coosa River\n")}
        place = httpx.post(f"{base}/records", files=sent).headers["location"]
        seen = {httpx.get(f"{base}{place}").status_code for _ in range(12)}
        assert seen == {200}
        answer = httpx.get(f"{base}/api/really", params={"name": "white perch"}).json()
        assert answer["outcome"] == "no"
    finally:
        process.send_signal(signal.SIGTERM)
        assert process.wait(30) == 0
    assert [n for n in os.listdir(tmp_path) if n.startswith("opercle-visits-")] == []
