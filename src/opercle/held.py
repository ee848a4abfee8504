"""Which compiled snapshots are in use, and which old ones may go.

Knows: locks on a snapshot's own file, and how many snapshots are kept.
Refuses to know: what a snapshot holds.
"""

import os

KEPT = 4
"""So many snapshots are kept, the newest, and every one in use."""


class Held:
    """A file kept open under a lock, so that who prunes sees the snapshot in use.

    Raises OSError where the file is not there. Where the system has no such locks (Windows) its
    open files cannot be deleted anyway.
    """

    def __init__(self, path: str) -> None:
        self.path = path
        self.file = os.open(path, os.O_RDONLY)
        self.lock(alone=False)

    def lock(self, alone: bool) -> bool:
        """Take the lock, with others or alone; False where it is not to be had."""
        try:
            import fcntl

            fcntl.flock(self.file, (fcntl.LOCK_EX if alone else fcntl.LOCK_SH) | fcntl.LOCK_NB)
        except ImportError:
            return True
        except OSError:
            return False
        return True

    def __del__(self) -> None:
        file = getattr(self, "file", None)
        if file is not None:
            os.close(file)


def prune(folder: str, place: str) -> None:
    """Leave the newest snapshots and those in use, and drop older ones."""
    import shutil

    every = [os.path.join(folder, n) for n in os.listdir(folder) if len(n) == 32]
    every.sort(key=os.path.getmtime, reverse=True)
    for old in every[KEPT:]:
        if old != place and not _in_use(old):
            shutil.rmtree(old, ignore_errors=True)


def _in_use(place: str) -> bool:
    """True if a process, this one too, has the snapshot open."""
    try:
        return not Held(os.path.join(place, "facts.json")).lock(alone=True)
    except OSError:
        return False
