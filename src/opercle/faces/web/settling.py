"""One process that settles one visitor's file, within its limits, and tells how far it is.

Knows: how to wait for a turn, its time and room, and where the state is told.
Refuses to know: HTTP, and how a row is settled; that is one call of the same door as the command's.
"""

import fcntl
import json
import os
import resource
import shutil
import signal
import sys
import time
from typing import Any

from opercle.errors import OpercleError
from opercle.faces.web import visits

_TOLD = 0.3


def main(folder: str) -> None:
    """Settle what lies in the folder; the end, good or bad, is told in its state."""
    visit = visits.Visit(folder)
    with open(visit.path(visits.ASKED), encoding="utf-8") as file:
        asked = json.load(file)
    bounds = visits.Bounds(**asked["bounds"])
    turn = _turn(os.path.dirname(folder), bounds.at_once)
    signal.alarm(bounds.seconds)
    resource.setrlimit(resource.RLIMIT_AS, (bounds.memory, bounds.memory))
    resource.setrlimit(resource.RLIMIT_FSIZE, (bounds.size * 40, bounds.size * 40))
    try:
        visit.tell(_settled(visit, asked, bounds))
    except OpercleError as error:
        visit.tell({"how": visits.FAILED, "says": error.what, "remedy": _plain(error.remedy)})
    except MemoryError:
        says = "It needs more memory than one file may have."
        visit.tell({"how": visits.FAILED, "says": says, "remedy": "Split the file."})
    finally:
        os.close(turn)


def _turn(root: str, at_once: int) -> int:
    """Wait for one of a few locks that all processes share; the open file is the turn."""
    while True:
        for number in range(at_once):
            held = os.open(os.path.join(root, f"turn-{number}"), os.O_CREAT | os.O_RDWR, 0o600)
            try:
                fcntl.flock(held, fcntl.LOCK_EX | fcntl.LOCK_NB)
                return held
            except OSError:
                os.close(held)
        time.sleep(0.1)


def _settled(visit: visits.Visit, asked: dict[str, Any], bounds: visits.Bounds) -> dict[str, Any]:
    from opercle import build
    from opercle.knowledge import Knowledge
    from opercle.questions.desk import Desk

    told = [0.0]

    def heard(stage: str, done: int, of: int) -> None:
        now = time.monotonic()
        if now - told[0] > _TOLD:
            told[0] = now
            visit.tell({"how": visits.RUNNING, "stage": stage, "done": done, "of": of})

    heard("opening", 0, 0)
    options = dict(asked["options"])
    if os.path.exists(visits.DECISIONS):
        options["decisions"] = visits.DECISIONS
    know = Knowledge(asked["packs"], tell=lambda _: None)
    if asked["place"]:  # the very knowledge that is served
        know.desk = Desk(build.reopen(asked["place"]))
    answer = know.settle([visits.UPLOAD], visits.OUT, heard=heard, most_rows=bounds.rows, **options)
    files = [_whole(path) for path in answer.fields["files"]]
    return {"how": visits.DONE, "answer": answer.to_dict(), "files": files}


def _whole(path: str) -> str:
    """A file to take away; a folder of parts as one zip."""
    if not os.path.isdir(path):
        return path
    return shutil.make_archive(path, "zip", path)


def _plain(remedy: str) -> str:
    """A remedy for the command line, for one who has none."""
    return remedy.replace("--names-by", "Names of an older list").replace(" with -o", "")


if __name__ == "__main__":
    main(sys.argv[1])
