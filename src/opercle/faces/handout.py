"""The command ``handout``: writes a class sheet as a page to print, or as PDF.

Knows: its arguments, what the file is called, that it is written whole or not at all.
Refuses to know: what is on the sheet.
"""

import argparse
import json
import os
import re
from collections.abc import Callable
from typing import TYPE_CHECKING

from opercle.answers import Answer
from opercle.errors import UsageError

if TYPE_CHECKING:
    from opercle.knowledge import Knowledge

FORMS = ("html", "pdf")
PAPERS = ("a4", "letter")
_LONGEST = 60


def arguments(add: Callable[[str, str, str], argparse.ArgumentParser]) -> None:
    """Add the command to the grammar."""
    handout = add(
        "handout",
        "a class sheet with drawings, a table and a quiz with its answers",
        'handout "rock bass" warmouth "green sunfish" -o sheet.html',
    )
    handout.add_argument("taxa", nargs="*", metavar="TAXON", help="fishes, or one group of them")
    handout.add_argument(
        "--question", metavar="TEXT", help="heads the sheet; names the fishes where none is given"
    )
    handout.add_argument(
        "--to", choices=FORMS, default=None, help="html (default), or pdf with the extra pdf"
    )
    handout.add_argument("--paper", choices=PAPERS, default=None, help="of a PDF; default: a4")
    handout.add_argument(
        "--quiz", type=int, default=8, metavar="N", help="how many questions; default: 8"
    )
    handout.add_argument(
        "--seed", type=int, default=1, metavar="N", help="another number, another quiz; default: 1"
    )
    handout.add_argument(
        "-o", dest="out", metavar="FILE", help="write here; default: handout-NAME.html"
    )


def run(know: "Knowledge", args: argparse.Namespace) -> int:
    """Make the sheet and write it; returns the exit status."""
    form = _form(args)
    answer = know.handout(*args.taxa, question=args.question, seed=args.seed, quiz=args.quiz)
    if answer.outcome != "open":
        answer = written(know, answer, form, args.out, args.paper or "a4")
    if args.json:
        print(json.dumps(answer.to_dict(), ensure_ascii=False))
        return 0
    show(answer)
    return 0


def show(answer: Answer) -> None:
    """Tell what was made and where; the reasons are on the sheet, and in the JSON answer."""
    from opercle.faces import text

    if answer.outcome == "open":
        text.show("handout", answer)
        return
    out = text.console()
    out.print(answer.answer, style="bold", markup=False)
    if answer.fields["asked"]:
        out.print(answer.fields["asked"]["answer"], markup=False)
    for path in answer.fields["files"]:
        print(f"written: {path}")


def _form(args: argparse.Namespace) -> str:
    """The form asked for, or the one that the file's ending says; UsageError where they differ."""
    ending = os.path.splitext(args.out or "")[1].lower().removeprefix(".")
    says = {"htm": "html"}.get(ending, ending)
    form = args.to or (says if says in FORMS else "html")
    if says in FORMS and says != form:
        raise UsageError(
            f"The file ends in .{ending}, but {form} is asked for.", "-o", "Name one form."
        )
    if args.paper is not None and form != "pdf":
        raise UsageError(
            "A page is printed on the paper of the printer.", "--paper", "Use it with --to pdf."
        )
    return form


def written(
    know: "Knowledge", answer: Answer, form: str, out: str | None, paper: str = "a4"
) -> Answer:
    """The answer with its file written: into ``out``, a file or a folder that is there."""
    from opercle.faces import drawing
    from opercle.faces.sheets import render

    path = _path(answer, form, out)
    html = render(know, "handout", answer, "html")
    if form == "pdf":
        from opercle.faces.sheets import pdf

        drawing.write(path, pdf.made(html, paper), "sheet")
    else:
        drawing.write(path, html, "sheet")
    question = {**answer.question, "to": form}
    return answer._replace(question=question, fields={**answer.fields, "files": [path]})


def _path(answer: Answer, form: str, out: str | None) -> str:
    if out is not None and not os.path.isdir(out):
        return out
    name = re.sub(r"[^a-z0-9]+", "-", str(answer.fields["title"]).lower()).strip("-")
    return os.path.join(out or "", f"handout-{name[:_LONGEST].strip('-')}.{form}")
