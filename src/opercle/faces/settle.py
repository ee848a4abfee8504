"""``opercle settle`` for a terminal: its options, and how far it has got.

Knows: flags, a bar with rate and time left, plain lines where there is no terminal.
Refuses to know: how a row is settled.
"""

import argparse
import sys
import time

from opercle.answers import Answer
from opercle.knowledge import Knowledge

ROLES = (
    "name",
    "scientific",
    "authorship",
    "water",
    "state",
    "country",
    "date",
    "year",
    "huc",
    "coast",
    "length",
    "weight",
    "authority",
)

_WIDE = 30


def options(sub: argparse.ArgumentParser) -> None:
    """Add the options of ``settle``."""
    sub.add_argument(
        "files", nargs="*", metavar="FILE", help="CSV, TSV, gzip, Excel, Parquet, DwC-A"
    )
    sub.add_argument(
        "-o", dest="out", metavar="DIR", default="settled", help="folder to write into"
    )
    sub.add_argument("--to", choices=("csv", "parquet", "dwca"), help="kind of table to write")
    sub.add_argument("--engine", choices=("duckdb", "spark"), default="duckdb")
    sub.add_argument("--master", metavar="URL", help="where Spark runs, such as local[2]")
    for role in ROLES:
        sub.add_argument(f"--{role}-column", metavar="HEADING", help=f"the column of the {role}")
    sub.add_argument(
        "--coast", choices=("coast", "inland"), help="where all rows are from that do not say it"
    )
    sub.add_argument("--length-unit", metavar="UNIT", help="mm, cm, in …")
    sub.add_argument("--weight-unit", metavar="UNIT", help="g, kg, lb, oz")
    sub.add_argument("--encoding", metavar="NAME", help="such as utf-8 or cp1252")
    sub.add_argument("--delimiter", metavar="MARK", help="what stands between fields")
    sub.add_argument("--sheet", metavar="NAME", help="the sheet of a workbook")
    sub.add_argument(
        "--names-by", metavar="LIST|YEAR", help="also write the names of an older list"
    )
    sub.add_argument("--decisions", metavar="FILE.csv", help="a decisions file that you filled in")
    sub.add_argument(
        "--spreadsheet-safe",
        action="store_true",
        help="put an apostrophe before text that a spreadsheet would run as a formula",
    )
    sub.add_argument("--quiet", action="store_true", help="say nothing on the way")


def run(know: Knowledge, args: argparse.Namespace) -> Answer:
    """Settle as the command line says."""
    columns = {
        role: getattr(args, f"{role}_column") for role in ROLES if getattr(args, f"{role}_column")
    }
    progress = Progress(quiet=args.quiet)
    try:
        return know.settle(
            args.files,
            args.out,
            heard=progress.heard,
            engine=args.engine,
            master=args.master,
            to=args.to,
            columns=columns,
            coast=args.coast,
            length_unit=args.length_unit,
            weight_unit=args.weight_unit,
            encoding=args.encoding,
            delimiter={"tab": "\t", "\\t": "\t"}.get(args.delimiter, args.delimiter),
            sheet=args.sheet,
            names_by=args.names_by,
            decisions=args.decisions,
            spreadsheet_safe=args.spreadsheet_safe,
        )
    finally:
        progress.end()


def show(answer: Answer) -> None:
    """Print what became of the rows, which columns were read, and what was written."""
    from opercle.faces import text

    fields = answer.fields
    print(answer.answer)
    shares = [
        [outcome, f"{n:,}", f"{n / fields['rows_out']:.1%}" if fields["rows_out"] else ""]
        for outcome, n in fields["by_outcome"].items()
    ]
    text.table(
        ("rows", "number", "share"), [*shares, ["refused", f"{fields['rows_rejected']:,}", ""]]
    )
    if fields["by_doubt"]:
        text.table(("doubt", "rows"), [[k, f"{n:,}"] for k, n in fields["by_doubt"].items()])
    read = [
        [c["file"], r["holds"], r["column"], r["how"]] for c in fields["columns"] for r in c["read"]
    ]
    text.table(("file", "holds", "column", ""), read)
    for each in fields["columns"]:
        for note in each["notes"]:
            print(f"{each['file']}: {note}")
    if fields["decisions_unused"]:
        print(f"{fields['decisions_unused']} of your decisions met no row.")
    for path in fields["files"]:
        print(f"written: {path}")


class Progress:
    """Tells on standard error how far each stage has got."""

    def __init__(self, quiet: bool) -> None:
        self.quiet = quiet
        self.bar = sys.stderr.isatty()
        self.stage = ""
        self.begun = self.told = 0.0
        self.drawn = False

    def heard(self, stage: str, done: int, of: int) -> None:
        """A stage has got so far."""
        if self.quiet:
            return
        now = time.monotonic()
        if stage != self.stage:
            self._line_end()
            self.stage, self.begun, self.told = stage, now, 0.0
        pause = 0.2 if self.bar else 10.0
        if now - (self.told or self.begun) < (pause if self.told else pause / 5):
            return
        self.told = now
        self._show(done, of, now - self.begun)

    def _show(self, done: int, of: int, spent: float) -> None:
        share = min(1.0, done / of) if of else 0.0
        text = f"{self.stage} {share:4.0%}"
        if spent > 1 and done:
            unit = " MB" if self.stage == "reading" and of > 1 << 20 else ""
            rate = done / spent / (1 << 20 if unit else 1)
            left = (of - done) * spent / done
            text += f", {rate:,.0f}{unit} a second, {_span(left)} left"
        if self.bar:
            filled = int(share * _WIDE)
            bar = "█" * filled + "░" * (_WIDE - filled)
            print(f"\r\x1b[K{bar} {text}", end="", file=sys.stderr, flush=True)
            self.drawn = True
        else:
            print(f"opercle: {text}", file=sys.stderr, flush=True)

    def _line_end(self) -> None:
        if self.drawn:
            print("\r\x1b[K", end="", file=sys.stderr, flush=True)
            self.drawn = False

    def end(self) -> None:
        """Leave the terminal clean."""
        self._line_end()


def _span(seconds: float) -> str:
    minutes, rest = divmod(int(seconds + 0.5), 60)
    return f"{minutes} min {rest} s" if minutes else f"{rest} s"
