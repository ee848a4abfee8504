"""Writes files so that a half file never stands under a final name.

Knows: write beside, flush to the disk, rename; and how to tell how far it has got.
Refuses to know: what is written.
"""

import os
import shutil
from collections.abc import Callable, Iterable, Iterator
from contextlib import contextmanager
from typing import BinaryIO, TypeVar

from opercle.errors import FileError

Heard = Callable[[str, int, int], None]
T = TypeVar("T")
_STEP = 5000


def counted(things: Iterable[T], stage: str, of: int, heard: Heard) -> Iterator[T]:
    """The same things, telling ``heard`` the stage, how many are done and how many there are."""
    for number, thing in enumerate(things, 1):
        yield thing
        if number % _STEP == 0:
            heard(stage, number, of)
    heard(stage, of, of)


@contextmanager
def whole(path: str) -> Iterator[BinaryIO]:
    """A file open for writing that appears under its name only when it is complete.

    Raises FileError where it cannot be written; what stood there before is then left as it was.
    """
    part = f"{path}.{os.getpid()}.part"
    try:
        os.makedirs(os.path.dirname(path) or ".", exist_ok=True)
        with open(part, "wb") as file:
            yield file
            file.flush()
            os.fsync(file.fileno())
        os.replace(part, path)
    except OSError as error:
        raise _unwritable(path, error) from None
    finally:
        if os.path.exists(part):
            os.unlink(part)


@contextmanager
def whole_folder(path: str) -> Iterator[str]:
    """A folder to fill; its files go to ``path`` only when all are written.

    Files of other names that stand in ``path`` are left alone. Raises FileError.
    """
    part = f"{path.rstrip('/' + os.sep)}.{os.getpid()}.part"
    try:
        os.makedirs(part)
        yield part
        os.makedirs(path, exist_ok=True)
        for name in sorted(os.listdir(part)):
            with open(os.path.join(part, name), "rb") as file:
                os.fsync(file.fileno())
            os.replace(os.path.join(part, name), os.path.join(path, name))
    except OSError as error:
        raise _unwritable(path, error) from None
    finally:
        shutil.rmtree(part, ignore_errors=True)


def _unwritable(path: str, error: OSError) -> FileError:
    return FileError(
        f"The export cannot be written: {error.strerror or error}.",
        path,
        "Name another place with -o, or make room there.",
    )
