"""The processes that answer SPARQL: a few, each killed and replaced where a query overstays.

Knows: how to start, ask, time and end them, and how many one client may hold at once.
Refuses to know: SPARQL and HTTP.
"""

import json
import os
import select
import struct
import subprocess
import sys
import tempfile
import threading
import time
from collections import Counter
from typing import Any, NamedTuple

_HEAD = struct.Struct(">I")
SLOW, BUSY, DIED = "slow", "busy", "died"


class Limits(NamedTuple):
    """What one query may take: seconds, bytes of memory, of its result and of its text."""

    seconds: float = 10.0
    memory: int = 1_000_000_000
    result: int = 50_000_000
    query: int = 256_000
    workers: int = max(2, min(4, os.cpu_count() or 2))


class Told(NamedTuple):
    """How a query ended (``ok``, ``bad``, ``large``, ``full``, ``slow``, ``busy``, ``died``)."""

    how: str
    body: bytes


class _Ended(Exception):
    """The process closed its end."""


class Worker:
    """One process with its pipes."""

    def __init__(self, place: str, limits: Limits) -> None:
        self.limits = limits
        self.stderr = tempfile.TemporaryFile()  # noqa: SIM115
        self.process = subprocess.Popen(
            [sys.executable, "-m", "opercle.faces.web.worker", place, str(limits.memory)],
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            stderr=self.stderr,
            bufsize=0,
        )
        self._hear(time.monotonic() + 30)

    def ask(self, ask: dict[str, Any]) -> Told:
        """Put a query; the worker is to be dropped where the answer is ``slow`` or ``died``."""
        until = time.monotonic() + self.limits.seconds
        data = json.dumps(ask).encode()
        try:
            self._send(_HEAD.pack(len(data)) + data)
            return self._hear(until)
        except TimeoutError:
            says = f"The query took longer than {self.limits.seconds:g} seconds and was ended."
            return Told(SLOW, says.encode())
        except (_Ended, OSError):
            return self._death()

    def end(self) -> None:
        """Kill the process and close what belongs to it."""
        self.process.kill()
        self.process.wait()
        for pipe in (self.process.stdin, self.process.stdout, self.stderr):
            if pipe is not None:
                pipe.close()

    def _send(self, data: bytes) -> None:
        assert self.process.stdin is not None
        view = memoryview(data)
        while view:
            view = view[self.process.stdin.write(view) or 0 :]

    def _hear(self, until: float) -> Told:
        size = _HEAD.unpack(self._take(_HEAD.size, until))[0]
        head = json.loads(self._take(size, until))
        return Told(head["how"], self._take(head["size"], until))

    def _take(self, size: int, until: float) -> bytes:
        assert self.process.stdout is not None
        pipe, parts = self.process.stdout.fileno(), []
        while size > 0:
            ready, _, _ = select.select([pipe], [], [], max(0.0, until - time.monotonic()))
            if not ready:
                raise TimeoutError
            part = os.read(pipe, min(size, 1 << 20))
            if not part:
                raise _Ended
            parts.append(part)
            size -= len(part)
        return b"".join(parts)

    def _death(self) -> Told:
        self.process.wait()
        self.stderr.seek(0)
        said = self.stderr.read(4000).decode("utf-8", "replace")
        if "memory allocation" in said or "MemoryError" in said:
            return Told("full", b"The query needs more memory than one query may have.")
        return Told(DIED, b"The query is nested too deeply to be read.")


class Pool:
    """Workers started when first needed; ``ask`` may be called from many threads."""

    def __init__(self, place: str, limits: Limits) -> None:
        self.place = place
        self.limits = limits
        self._free: list[Worker] = []
        self._all: set[Worker] = set()
        self._turn = threading.Condition()
        self._running = 0
        self._by_client: Counter[str] = Counter()
        self._closed = False

    def ask(self, ask: dict[str, Any], client: str = "") -> Told:
        """Put a query to a free worker; ``busy`` where none is free within the time of a query."""
        if not self._enter(client):
            return Told(BUSY, b"All workers are busy; ask again in a moment.")
        worker = None
        try:
            worker = self._take()
            told = worker.ask({**ask, "most": self.limits.result})
            if told.how in (SLOW, DIED, "full"):
                self._drop(worker)
                worker = None
            return told
        finally:
            self._leave(client, worker)

    def close(self) -> None:
        """End all workers."""
        with self._turn:
            self._closed = True
            every, self._all, self._free = list(self._all), set(), []
        for worker in every:
            worker.end()

    def _enter(self, client: str) -> bool:
        """Wait for a place; one client never holds them all."""
        most = max(1, self.limits.workers - 1)
        with self._turn:
            entered = self._turn.wait_for(
                lambda: self._running < self.limits.workers and self._by_client[client] < most,
                timeout=self.limits.seconds + 2,
            )
            if entered and not self._closed:
                self._running += 1
                self._by_client[client] += 1
                return True
        return False

    def _leave(self, client: str, worker: Worker | None) -> None:
        with self._turn:
            self._running -= 1
            self._by_client[client] -= 1
            if not self._by_client[client]:
                del self._by_client[client]
            if worker is not None and not self._closed:
                self._free.append(worker)
            self._turn.notify_all()

    def _take(self) -> Worker:
        with self._turn:
            if self._free:
                return self._free.pop()
        worker = Worker(self.place, self.limits)
        with self._turn:
            self._all.add(worker)
        return worker

    def _drop(self, worker: Worker) -> None:
        with self._turn:
            self._all.discard(worker)
        worker.end()
