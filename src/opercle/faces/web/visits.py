"""What a visitor brings and takes away: a folder for each file of records, gone after the visit.

Knows: how many files may be held and for how long, which process works on which, and how a visit
is found again by its secret.
Refuses to know: records. No part of a request ever becomes part of a path: files have fixed names,
folders are named by us, and a secret is compared with the folders that there are.
"""

import json
import os
import secrets
import shutil
import subprocess
import sys
import tempfile
import threading
import time
from collections.abc import Iterator, Mapping, Sequence
from typing import Any, NamedTuple

UPLOAD, DECISIONS, OUT, STATE, ASKED = "records", "decisions.csv", "out", "state.json", "asked.json"
WAITING, RUNNING, DONE, FAILED = "waiting", "running", "done", "failed"
_SWEPT, _DAY = 20.0, 86_400.0
PREFIX = "opercle-visits-"


class Bounds(NamedTuple):
    """What one visit may take: bytes, rows, seconds; and how long results are kept unvisited.

    ``at_once`` files are settled at the same time over all server processes, ``waiting`` may be
    held, and ``of_client`` of them from one address.
    """

    size: int = 50_000_000
    rows: int = 300_000
    seconds: int = 300
    kept: int = 900
    at_once: int = 1
    waiting: int = 40
    of_client: int = 6
    memory: int = 6_000_000_000


class Full(Exception):
    """No more files are taken now."""


class Visit:
    """One folder; its state is a small file written by the process that settles."""

    def __init__(self, folder: str) -> None:
        self.folder = folder
        self.token = os.path.basename(folder)

    def path(self, *names: str) -> str:
        """A path inside the folder, of fixed names."""
        return os.path.join(self.folder, *names)

    def state(self) -> dict[str, Any]:
        """``how`` it stands (waiting, running, done, failed) with ``stage``, ``done`` and ``of``.

        A visit that ended has ``answer`` and ``files``, or ``says`` and ``remedy``.
        """
        try:
            with open(self.path(STATE), encoding="utf-8") as file:
                told: dict[str, Any] = json.load(file)
        except (OSError, ValueError):
            return {"how": WAITING, "stage": "", "done": 0, "of": 0}
        return told

    def tell(self, state: Mapping[str, Any]) -> None:
        """Write the state beside its place and rename it there."""
        write(self.path(STATE), state)

    def seen(self) -> None:
        """The visitor is still there."""
        os.utime(self.folder)

    def end(self) -> None:
        """Delete all of it; a process that works on it finds its folder gone and ends."""
        shutil.rmtree(self.folder, ignore_errors=True)


def write(path: str, told: Mapping[str, Any]) -> None:
    """A small JSON file, whole or not at all. OSError where its folder is gone."""
    beside = f"{path}.{os.getpid()}"
    with open(beside, "w", encoding="utf-8") as file:
        json.dump(told, file)
    os.replace(beside, path)


def cleared() -> None:
    """Delete what a server that was killed left a day ago or longer."""
    with os.scandir(tempfile.gettempdir()) as found:
        for entry in found:
            if entry.name.startswith(PREFIX) and entry.is_dir(follow_symlinks=False):
                told = entry.stat(follow_symlinks=False)
                if told.st_uid == os.getuid() and time.time() - told.st_mtime > _DAY:
                    shutil.rmtree(entry.path, ignore_errors=True)


class Visits:
    """All visits of a server; several processes share one root."""

    def __init__(
        self,
        root: str | None,
        packs: Sequence[str] = (),
        bounds: Bounds | None = None,
        place: str | None = None,
    ) -> None:
        self._own = tempfile.TemporaryDirectory(prefix=PREFIX) if root is None else None
        self.root = root or (self._own.name if self._own else "")
        self.packs = [os.path.abspath(p) for p in packs]
        self.bounds = bounds or Bounds()
        self.place = place
        self._ended = threading.Event()
        threading.Thread(target=self._sweep, daemon=True).start()

    def every(self) -> Iterator[Visit]:
        """The visits that there are."""
        with os.scandir(self.root) as found:
            folders = [e.path for e in found if e.is_dir()]
        return (Visit(f) for f in folders)

    def find(self, token: str) -> Visit | None:
        """The visit of that secret."""
        for visit in self.every():
            if secrets.compare_digest(visit.token.encode(), token.encode()):
                visit.seen()
                return visit
        return None

    def begin(self, client: str) -> Visit:
        """A new folder; Full where too many are held."""
        held = [self._asker(v) for v in self.every()]
        if len(held) >= self.bounds.waiting or held.count(client) >= self.bounds.of_client:
            raise Full
        visit = Visit(os.path.join(self.root, secrets.token_urlsafe(24)))
        os.mkdir(visit.folder, 0o700)
        write(visit.path(ASKED), {"client": client})
        return visit

    @staticmethod
    def _asker(visit: Visit) -> str:
        try:
            with open(visit.path(ASKED), encoding="utf-8") as file:
                return str(json.load(file).get("client"))
        except (OSError, ValueError):
            return ""

    def settle(self, visit: Visit, client: str, options: Mapping[str, Any]) -> None:
        """Start the process that settles what was uploaded, and watch over it."""
        asked: dict[str, Any] = {"client": client, "packs": self.packs, "place": self.place}
        asked["options"] = dict(options)
        write(visit.path(ASKED), {**asked, "bounds": self.bounds._asdict()})
        visit.tell({"how": WAITING, "stage": "", "done": 0, "of": 0})
        process = subprocess.Popen(
            [sys.executable, "-m", "opercle.faces.web.settling", visit.folder],
            stdin=subprocess.DEVNULL,
            stdout=subprocess.DEVNULL,
            stderr=subprocess.DEVNULL,
            cwd=visit.folder,
        )
        threading.Thread(target=self._watch, args=(visit, process), daemon=True).start()

    def _watch(self, visit: Visit, process: "subprocess.Popen[bytes]") -> None:
        """Tell the end of a process that could not tell it itself."""
        while process.poll() is None:
            if self._ended.wait(0.2) or not os.path.isdir(visit.folder):
                process.kill()
        for name in (UPLOAD, DECISIONS):
            if os.path.exists(visit.path(name)):
                os.unlink(visit.path(name))
        if os.path.isdir(visit.folder) and visit.state()["how"] in (WAITING, RUNNING):
            slow = f"It took longer than {self.bounds.seconds} seconds, or more room than there is."
            visit.tell({"how": FAILED, "says": slow, "remedy": "Split the file, and try again."})

    def _sweep(self) -> None:
        while not self._ended.wait(min(_SWEPT, self.bounds.kept / 2)):
            self.swept()

    def swept(self) -> None:
        """Delete what nobody has looked at for as long as results are kept."""
        for visit in self.every():
            try:
                idle = time.time() - os.stat(visit.folder).st_mtime
            except OSError:
                continue
            if idle > self.bounds.kept and visit.state()["how"] != RUNNING:
                visit.end()

    def close(self) -> None:
        """End what is under way and delete what this process alone held."""
        self._ended.set()
        if self._own is not None:
            time.sleep(0.3 if any(v.state()["how"] == RUNNING for v in self.every()) else 0)
            self._own.cleanup()
