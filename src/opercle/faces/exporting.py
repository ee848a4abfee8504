"""The export command: options, progress, what was written.

Knows: how it is asked for on the command line.
Refuses to know: how any form is written.
"""

import argparse
from typing import Any

from opercle.answers import Answer
from opercle.exports import FORMS
from opercle.knowledge import Knowledge


def options(sub: Any) -> None:
    """The options of ``export``."""
    sub.add_argument(
        "--to", choices=tuple(FORMS), required=True, metavar="FORM", help=", ".join(FORMS)
    )
    sub.add_argument(
        "-o",
        dest="out",
        metavar="PATH",
        help="file, or folder for it (default: a name of its own, here)",
    )
    sub.add_argument(
        "--inferred",
        action="store_true",
        help="with what the rules derived (turtle, jsonld, nquads)",
    )
    sub.add_argument(
        "--form",
        choices=("parquet", "csv"),
        default="parquet",
        metavar="KIND",
        help="of tables: parquet (default) or csv",
    )
    sub.add_argument("--quiet", action="store_true", help="no progress on standard error")


def run(know: Knowledge, args: argparse.Namespace) -> Answer:
    """Write, telling how far it has got."""
    from opercle.faces.settle import Progress

    progress = Progress(quiet=args.quiet)
    try:
        return know.export(
            args.to,
            args.out,
            inferred=args.inferred,
            table_form=args.form,
            heard=progress.heard,
        )
    finally:
        progress.end()


def show(answer: Answer) -> None:
    """Say what was written, for a person."""
    print(answer.answer)
    for path in answer.fields["files"]:
        print(f"written: {path}")
