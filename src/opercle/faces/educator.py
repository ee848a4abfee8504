"""The educator's commands: account, compare, identify, key, handout.

Knows: their arguments and which rendering goes where.
Refuses to know: any answer, and how a sheet looks.
"""

import argparse
import json
import sys
from collections.abc import Callable
from typing import TYPE_CHECKING

from opercle.answers import Answer
from opercle.errors import FileError
from opercle.faces import handout

if TYPE_CHECKING:
    from opercle.knowledge import Knowledge

COMMANDS = ("account", "compare", "identify", "key", "handout")
FORMS = ("text", "md", "html", "json")

Add = Callable[[str, str, str], argparse.ArgumentParser]


def arguments(add: Add) -> None:
    """Add the commands to the grammar; ``add`` makes a sub-command with the common options."""
    account = add("account", "all that is known of a fish or group", "account rock bass --to html")
    account.add_argument("taxon", nargs="+", metavar="TAXON")
    _forms(account)

    compare = add("compare", "how fishes are told apart", 'compare "black crappie" "white crappie"')
    compare.add_argument("taxa", nargs="+", metavar="TAXON")
    _forms(compare)

    identify = add(
        "identify",
        "which fish this is, from what can be seen; asks where nothing is given",
        "identify anal-spines=6 dorsal-spines=11-12 tongue-teeth=not-seen --within Centrarchidae",
    )
    identify.add_argument("observations", nargs="*", metavar="CHARACTER=VALUE")
    identify.add_argument("--water", metavar="W", help="river, lake or sea")
    identify.add_argument("--state", metavar="S", help="state, province or country")
    identify.add_argument("--within", metavar="TAXON", help="seek only in this group")
    identify.add_argument(
        "--logic", action="store_true", help="show beside the rules' reasons those of HermiT"
    )

    key = add("key", "a dichotomous key for a group", "key Lepomis --water 'Lake Erie' --to html")
    key.add_argument("taxon", nargs="+", metavar="TAXON")
    key.add_argument("--water", metavar="W", help="only the fishes known from this water")
    _forms(key)

    handout.arguments(add)


def _forms(sub: argparse.ArgumentParser) -> None:
    sub.add_argument("--to", choices=FORMS, default="text", help="text (default), md, html, json")
    sub.add_argument("-o", dest="out", metavar="FILE", help="write here, not to the screen")


def run(know: "Knowledge", args: argparse.Namespace) -> int:
    """Answer one of the commands and show it; returns the exit status."""
    if args.command == "identify":
        return _identify(know, args)
    if args.command == "handout":
        return handout.run(know, args)
    answer = _ask(know, args)
    form = "json" if args.json else args.to
    if form == "text" and args.out is None:
        _text(args.command, answer)
        return 0
    _write(_rendered(know, args.command, answer, form), args.out)
    return 0


def _ask(know: "Knowledge", args: argparse.Namespace) -> Answer:
    if args.command == "compare":
        return know.compare(*args.taxa)
    taxon = " ".join(args.taxon)
    return know.key(taxon, water=args.water) if args.command == "key" else know.account(taxon)


def _identify(know: "Knowledge", args: argparse.Namespace) -> int:
    places = {"water": args.water, "state": args.state, "within": args.within}
    if not args.observations and not args.json and sys.stdin.isatty():
        from opercle.faces import asking

        return asking.run(know, **places)
    answer = know.identify(args.observations, logic=args.logic, **places)
    if args.json:
        print(json.dumps(answer.to_dict(), ensure_ascii=False))
        return 0
    _text("identify", answer)
    return 0


def _text(command: str, answer: Answer) -> None:
    from opercle.faces import text

    text.show(command, answer)


def _rendered(know: "Knowledge", command: str, answer: Answer, form: str) -> str:
    if form == "json":
        return json.dumps(answer.to_dict(), ensure_ascii=False)
    from opercle.faces.sheets import render

    return render(know, command, answer, "md" if form == "text" else form)


def _write(text: str, path: str | None) -> None:
    if path is None:
        print(text)
        return
    try:
        with open(path, "w", encoding="utf-8") as file:
            file.write(text)
    except OSError as error:
        raise FileError(
            f"The file cannot be written: {error.strerror}", path, "Name a folder that is there."
        ) from None
    print(f"written: {path}", file=sys.stderr)
