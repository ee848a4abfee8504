"""The command ``draw``: writes the picture to a file or to standard output.

Knows: its arguments; that a picture is written whole or not at all.
Refuses to know: what is drawn.
"""

import argparse
import json
import os
import sys
from collections.abc import Callable
from typing import TYPE_CHECKING

from opercle.answers import Answer
from opercle.errors import FileError

if TYPE_CHECKING:
    from opercle.knowledge import Knowledge


def arguments(add: Callable[[str, str, str], argparse.ArgumentParser]) -> None:
    """Add the command to the grammar."""
    draw = add(
        "draw",
        "draw a fish, two beside each other, a family tree, or a map of waters",
        'draw "largemouth bass" --beside "striped bass" -o two.svg',
    )
    draw.add_argument("taxon", nargs="+", metavar="TAXON")
    kinds = draw.add_mutually_exclusive_group()
    kinds.add_argument("--beside", metavar="TAXON2", help="draw another fish beside it")
    kinds.add_argument(
        "--tree", dest="kind", action="store_const", const="tree", help="draw its family tree"
    )
    kinds.add_argument(
        "--map", dest="kind", action="store_const", const="map", help="draw a map of its waters"
    )
    draw.add_argument("-o", dest="out", metavar="FILE.svg", help="write the picture here")


def run(know: "Knowledge", args: argparse.Namespace) -> int:
    """Draw; the picture goes to ``-o``, else to standard output; returns the exit status."""
    answer = know.draw(" ".join(args.taxon), beside=args.beside, kind=args.kind or "fish")
    svg = answer.fields.get("svg")
    if svg is not None and args.out is not None:
        write(args.out, svg)
        answer = answer._replace(fields={**answer.fields, "file": args.out})
    if args.json:
        print(json.dumps(answer.to_dict(), ensure_ascii=False))
    elif svg is None or args.out is not None:
        _told(answer, args.out)
    else:
        sys.stdout.write(svg)
    return 0


def _told(answer: Answer, out: str | None) -> None:
    from opercle.faces import text

    text.show("draw", answer)
    for line in answer.fields.get("not_known", ()):
        text.console().print(f"  ? {line}", markup=False)
    if out is not None and answer.fields.get("svg") is not None:
        print(f"written: {out}")


def write(path: str, said: str | bytes, what: str = "picture") -> None:
    """Write a file whole: beside it first, then in its place; ``what`` it is. Raises FileError."""
    data = said.encode("utf-8") if isinstance(said, str) else said
    folder = os.path.dirname(path) or "."
    try:
        import tempfile

        handle, beside = tempfile.mkstemp(dir=folder, prefix=".draw-")
        try:
            with os.fdopen(handle, "wb") as file:
                file.write(data)
                file.flush()
                os.fsync(file.fileno())
            mask = os.umask(0)
            os.umask(mask)
            os.chmod(beside, 0o666 & ~mask)
            os.replace(beside, path)
        except OSError:
            os.unlink(beside)
            raise
    except OSError as error:
        raise FileError(
            f"The {what} cannot be written: {error.strerror}", path, "Name a folder that is there."
        ) from None
