"""The command line: reads the arguments, asks the one door, prints.

Knows: commands, options, exit statuses.
Refuses to know: any answer. It formats; it never queries or decides.
"""

import argparse
import json
import os
import sys
from collections.abc import Callable, Sequence
from typing import Any, NoReturn

from opercle.answers import Answer
from opercle.errors import FileError, OpercleError, UnknownError, UsageError
from opercle.knowledge import Knowledge

FAULTS = 1
_HERE_ONLY = ("demo", "check", "serve", "settle", "export")
_FORMS = ("table", "json", "csv", "tsv", "xml", "turtle", "nt", "jsonld")


class _Help(argparse.HelpFormatter):
    """As wide as the terminal, told without the module that argparse would load to learn it."""

    def __init__(self, prog: str) -> None:
        super().__init__(prog, width=int(os.environ.get("COLUMNS") or 0) or _width())


def _width() -> int:
    try:
        return os.get_terminal_size().columns - 2
    except OSError:
        return 78


class Parser(argparse.ArgumentParser):
    """Tells what is wrong with a command line in the same form as every other error."""

    def __init__(self, **told: Any) -> None:
        super().__init__(**{"formatter_class": _Help, **told})

    def error(self, message: str) -> NoReturn:
        """Raise UsageError in place of printing and leaving."""
        raise UsageError(
            f"The command line is wrong: {message}.", self.prog, f"See {self.prog} --help."
        )


class _Unbuilt:
    """Stands for a sub-command that was not asked for, so that its options cost no time."""

    def __getattr__(self, name: str) -> Callable[..., "_Unbuilt"]:
        return lambda *_, **__: self


def parser(only: str | None = None) -> Parser:
    """The grammar of the command line: whole, or of the one sub-command ``only``."""
    top = Parser(
        prog="opercle",
        description="What the fish in your hand really is, and why, down to a cited fact.",
        epilog='example: opercle really "white perch"',
    )
    commands = top.add_subparsers(dest="command", metavar="COMMAND", prog="opercle")

    def add(name: str, told: str, example: str) -> Any:
        if only not in (None, name):
            return _Unbuilt()
        sub = commands.add_parser(
            name, help=told, description=told, epilog=f"example: opercle {example}"
        )
        sub.add_argument("--json", action="store_true", help="print one JSON object")
        sub.add_argument(
            "--with",
            dest="packs",
            action="append",
            default=[],
            metavar="FILE.ttl",
            help="lay a local pack over the knowledge for this command",
        )
        if name not in _HERE_ONLY:
            sub.add_argument(
                "--endpoint",
                metavar="URL",
                help="ask the knowledge behind this SPARQL 1.1 server, not the one here",
            )
        return sub

    demo = add("demo", "three questions, a table settled, a class sheet", "demo -o opercle-demo")
    demo.add_argument(
        "-o", dest="out", metavar="DIR", help="write into this folder; default: opercle-demo"
    )

    name = add("name", "what a name means, here and then", "name redeye bass --water Coosa")
    name.add_argument("name", nargs="*", metavar="NAME")
    name.add_argument("--water", metavar="W", help="river, lake or sea")
    name.add_argument("--state", metavar="S", help="state, province or country, or its ISO code")
    name.add_argument("--year", metavar="Y", help="the year of the record")
    name.add_argument("--coast", choices=("coast", "inland"), help="taken on the coast or inland")
    name.add_argument(
        "--according-to", metavar="WHO", help="the list or work whose names the record follows"
    )

    really = add("really", "is a fish really what its name says", "really rock bass")
    really.add_argument("name", nargs="*", metavar="NAME")
    really.add_argument("--word", metavar="WORD", help="the group word to judge by")

    why = add(
        "why",
        "why a fish belongs here and not there",
        'why "largemouth bass" --not Moronidae',
    )
    why.add_argument("taxon", nargs="*", metavar="TAXON")
    why.add_argument("--not", dest="other", metavar="TAXON2", required=True)

    if only not in {*_ANSWERS, *_ALONE}:
        _grow(add)

    proofread = add(
        "proofread",
        "what is wrong with the fishes in a lesson, captions or an article",
        "proofread lesson.md",
    )
    proofread.add_argument("file", metavar="FILE", help="plain text, Markdown or SubRip")

    if only in (None, "prove"):
        from opercle.faces import proving

        proving.arguments(add)

    if only in (None, "export"):
        from opercle.faces import exporting

        exporting.options(
            add("export", "write the knowledge out for others", "export --to dwca -o fishes.zip")
        )
    if only in (None, "tangles"):
        from opercle.faces import tangling

        tangling.arguments(add)

    query = add("query", "ask in SPARQL", "query -f examples/queries/shared-names.rq --to csv")
    query.add_argument("sparql", nargs="?", metavar="SPARQL")
    query.add_argument("-f", dest="file", metavar="FILE.rq")
    query.add_argument("--to", choices=_FORMS, default=None, metavar="FORM", help=", ".join(_FORMS))

    check = add("check", "does the knowledge keep the shapes", "check")
    check.add_argument("files", nargs="*", metavar="FILE.ttl")
    check.add_argument("--logic", action="store_true", help="let HermiT judge it as OWL 2 DL too")

    add("status", "what the knowledge holds and how much of it was read", "status")

    serve = add("serve", "pages, HTTP API and SPARQL endpoint on this machine", "serve --port 8000")
    serve.add_argument("--host", default="127.0.0.1", metavar="H", help="default: 127.0.0.1")
    serve.add_argument("--port", type=int, default=8000, metavar="P", help="default: 8000")
    serve.add_argument("--workers", type=int, default=1, metavar="N", help="server processes")
    serve.add_argument(
        "--per-client", type=float, default=100.0, metavar="N",
        help="requests a second from one address to one process; 0: no limit; default: 100",
    )  # fmt: skip

    completion = commands.add_parser(
        "completion",
        help="print a completion script for a shell",
        epilog="example: opercle completion bash >> ~/.bashrc",
    )
    completion.add_argument("shell", choices=("bash", "zsh", "tcsh"))
    return top


def _grow(add: Callable[[str, str, str], Any]) -> None:
    """The sub-commands with faces of their own, loaded only where one of them is asked for."""
    from opercle.faces import drawing, educator, settle

    educator.arguments(add)
    drawing.arguments(add)
    settle.options(add("settle", "settle tables of records, row by row", "settle log.csv -o done"))


def _joined(words: Sequence[str]) -> str:
    return " ".join(words)


def _name(know: Knowledge, args: argparse.Namespace) -> Answer:
    return know.name(
        _joined(args.name),
        water=args.water,
        state=args.state,
        year=args.year,
        according_to=args.according_to,
        coast=args.coast,
    )


def _really(know: Knowledge, args: argparse.Namespace) -> Answer:
    return know.really(_joined(args.name), word=args.word)


def _why(know: Knowledge, args: argparse.Namespace) -> Answer:
    return know.why(_joined(args.taxon), rather_than=args.other)


def _proofread(know: Knowledge, args: argparse.Namespace) -> Answer:
    return know.proofread(args.file)


def _check(know: Knowledge, args: argparse.Namespace) -> Answer:
    return know.check(args.files, logic=args.logic)


def _status(know: Knowledge, args: argparse.Namespace) -> Answer:
    return know.status()


_ANSWERS: dict[str, Callable[[Knowledge, argparse.Namespace], Answer]] = {
    "name": _name,
    "really": _really,
    "why": _why,
    "proofread": _proofread,
    "check": _check,
    "status": _status,
}


_ALONE = ("prove", "tangles")
"""Sub-commands with a face of their own that is loaded alone."""


def _parsed(argv: list[str]) -> argparse.Namespace:
    """The arguments, by the grammar of the one command named first, or by the whole."""
    first = argv[0] if argv else ""
    if first not in {*_ANSWERS, *_ALONE}:
        from opercle.faces import educator

        if first not in {*educator.COMMANDS, "draw", "demo", "query", "settle", "serve", "export"}:
            return parser().parse_args(argv)
    return parser(first).parse_args(argv)


def main(argv: Sequence[str] | None = None) -> int:
    """Run one command; returns the exit status of the contract."""
    args = argparse.Namespace(json=False)
    try:
        args = _parsed(sys.argv[1:] if argv is None else list(argv))
        if args.command is None:
            parser().print_help()
            return UsageError.status
        return _run(args)
    except OpercleError as error:
        return _told(error, args)
    except BrokenPipeError:
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        return 0
    except KeyboardInterrupt:
        print("opercle: stopped", file=sys.stderr)
        return 130


def _run(args: argparse.Namespace) -> int:
    if args.command == "completion":
        import shtab

        print(shtab.complete(parser(), args.shell))
        return 0
    if args.command == "serve":
        from opercle.faces.web import app as web

        return web.serve(args.host, args.port, args.workers, args.packs, args.per_client)
    know = Knowledge(args.packs, endpoint=getattr(args, "endpoint", None))
    if args.command in _ANSWERS:
        answer = _ANSWERS[args.command](know, args)
        _show(args, answer)
        return FAULTS if answer.outcome == "faults" else 0
    if args.command == "prove":
        from opercle.faces import proving

        return proving.run(know, args)
    if args.command == "tangles":
        from opercle.faces import tangling

        return tangling.run(know, args)
    return _run_grown(know, args)


def _run_grown(know: Knowledge, args: argparse.Namespace) -> int:
    from opercle.faces import drawing, educator

    if args.command in educator.COMMANDS:
        return educator.run(know, args)
    if args.command == "draw":
        return drawing.run(know, args)
    if args.command == "query":
        return _query(know, args)
    if args.command == "export":
        from opercle.faces import exporting

        answer = exporting.run(know, args)
        if args.json:
            _show(args, answer)
        else:
            exporting.show(answer)
        return 0
    if args.command == "settle":
        from opercle.faces import settle as settle_face

        answer = settle_face.run(know, args)
        if args.json:
            _show(args, answer)
        else:
            settle_face.show(answer)
        return 0
    from opercle.faces import demo

    return demo.run(know, args.out, args.json)


def _show(args: argparse.Namespace, answer: Answer) -> None:
    if args.json:
        print(json.dumps(answer.to_dict(), ensure_ascii=False))
        return
    from opercle.faces import text

    text.show(args.command, answer)


def _told(error: OpercleError, args: argparse.Namespace) -> int:
    print(f"opercle: {error}", file=sys.stderr)
    near = error.nearest if isinstance(error, UnknownError) else ()
    if near:
        print(f"  nearest: {', '.join(near)}", file=sys.stderr)
    if isinstance(error, UnknownError) and args.json:
        asked = {
            k: _joined(v) if isinstance(v, list) else v
            for k, v in vars(args).items()
            if k not in ("json", "packs", "command", "endpoint") and v
        }
        told: dict[str, Any] = {
            "question": asked,
            "outcome": "unknown",
            "answer": error.what,
            "because": [],
            "cautions": [],
            "bearers": [],
            "nearest": list(near),
        }
        print(json.dumps(told, ensure_ascii=False))
    return error.status


def _query(know: Knowledge, args: argparse.Namespace) -> int:
    if (args.sparql is None) == (args.file is None):
        raise UsageError(
            "The query is missing, or given twice.", "query", "Give SPARQL, or -f FILE.rq."
        )
    sparql = args.sparql
    if args.file is not None:
        try:
            with open(args.file, encoding="utf-8") as file:
                sparql = file.read()
        except (OSError, UnicodeDecodeError) as error:
            raise FileError(f"The query file cannot be read: {error}", args.file) from None
    from opercle.faces import results

    results.show(know.query(sparql), args.to)
    return 0


if __name__ == "__main__":
    sys.exit(main())
