"""The command ``prove``: a proof as text, as JSON or as a picture.

Knows: its arguments; that a picture is written whole or not at all.
Refuses to know: how anything is proved or drawn.
"""

import argparse
import json
import sys
from collections.abc import Callable
from typing import TYPE_CHECKING

from opercle.errors import UsageError

if TYPE_CHECKING:
    from opercle.knowledge import Knowledge

FORMS = ("text", "json", "svg")


def arguments(add: Callable[[str, str, str], argparse.ArgumentParser]) -> None:
    """Add the command to the grammar."""
    prove = add(
        "prove",
        "from a triple down to the cited facts it rests on",
        "prove t:Ambloplites-rupestris op:inFamily t:Centrarchidae -o tree.svg",
    )
    for part in ("subject", "predicate", "object"):
        prove.add_argument(part)
    prove.add_argument("--to", choices=FORMS, metavar="FORM", help=", ".join(FORMS))
    prove.add_argument(
        "-o", dest="out", metavar="FILE.svg", help="write the tree as a picture here"
    )


def run(know: "Knowledge", args: argparse.Namespace) -> int:
    """Prove; returns the exit status. Nothing is written where nothing was proved."""
    form = args.to or ("svg" if args.out else "json" if args.json else "text")
    if args.out and form != "svg":
        raise UsageError(
            f"-o writes a picture, not {form}.", "prove", "Leave out --to, or say --to svg."
        )
    answer = know.prove(args.subject, args.predicate, args.object, drawn=form == "svg")
    svg = answer.fields.get("svg")
    if svg and args.out:
        from opercle.faces import drawing

        drawing.write(args.out, svg)
        answer = answer._replace(fields={**answer.fields, "file": args.out})
    if args.json or form == "json":
        print(json.dumps(answer.to_dict(), ensure_ascii=False))
    elif form == "text":
        from opercle.faces import text

        text.show("prove", answer)
    elif svg and not args.out:
        sys.stdout.write(svg)
    else:
        print(answer.answer)
        if svg:
            print(f"written: {args.out}")
    return 0
