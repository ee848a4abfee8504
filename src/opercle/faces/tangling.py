"""The command ``tangles``: which names tangle which fishes, as text, JSON or a picture.

Knows: its arguments; which columns a tangle is shown in.
Refuses to know: which names are shared, and how they are drawn.
"""

import argparse
import json
from collections.abc import Callable, Mapping
from typing import TYPE_CHECKING, Any

from opercle.answers import Answer

if TYPE_CHECKING:
    from opercle.knowledge import Knowledge

_FEW = 6


def arguments(add: Callable[[str, str, str], argparse.ArgumentParser]) -> None:
    """Add the command to the grammar."""
    tangles = add(
        "tangles",
        "which names tangle which fishes: the worst twenty, or what hangs on one name or fish",
        "tangles redeye bass -o redeye.svg",
    )
    tangles.add_argument("name", nargs="*", metavar="NAME|TAXON")
    tangles.add_argument("-o", dest="out", metavar="FILE.svg", help="write the picture here")


def run(know: "Knowledge", args: argparse.Namespace) -> int:
    """Answer and show it; the picture goes to ``-o``; returns the exit status."""
    answer = know.tangles(" ".join(args.name) or None, drawn=args.out is not None)
    svg = answer.fields.get("svg")
    if svg and args.out:
        from opercle.faces import drawing

        drawing.write(args.out, svg)
        answer = answer._replace(fields={**answer.fields, "file": args.out})
    if args.json:
        print(json.dumps(answer.to_dict(), ensure_ascii=False))
        return 0
    _show(answer)
    if svg and args.out:
        print(f"written: {args.out}")
    return 0


def _show(answer: Answer) -> None:
    from opercle.faces import text

    text.console().print(answer.answer, markup=False, style="bold")
    fields = answer.fields
    if fields["worst"]:
        rows = [_worst(row) for row in fields["worst"]]
        text.table(("the worst names", "species", "part at", "families"), rows)
    if fields["tangle"]:
        labels = {f["taxon"]: f["label"] for f in fields["tangle"]["fishes"]}
        rows = [_name(row, labels) for row in fields["tangle"]["names"]]
        text.table(("name", "species", "part at", "borne by"), rows)
    if fields.get("bearers"):
        text.table(("",), [[b["scientificName"]] for b in fields["bearers"]])


def _worst(row: Mapping[str, Any]) -> list[str]:
    families = [f"{name or 'no family known'} {k}" for name, k in row["families"].items()]
    more = f" and {len(families) - _FEW} more" if len(families) > _FEW else ""
    told = ", ".join(families[:_FEW]) + more
    return [row["name"], str(row["species"]), row["parts_at"], told]


def _name(row: Mapping[str, Any], labels: Mapping[str, str]) -> list[str]:
    told = "; ".join(labels[t] for t in row["bearers"])
    more = row["species"] - len(row["bearers"])
    told += f"; and {more} more" if more else ""
    return [row["name"], str(row["species"]), row["parts_at"], told]
