"""Answers for a terminal: one sentence, then why as a table, then sources, then cautions.

Knows: layout in columns, colour where the terminal has it.
Refuses to know: what the answers mean.
"""

import os
from collections.abc import Sequence
from typing import Any

from rich.box import SIMPLE_HEAD
from rich.console import Console
from rich.table import Table
from rich.text import Text

from opercle.answers import Answer
from opercle.faces.tables import tables

_WIDE = 100
_FEW = 4


def console() -> Console:
    """A console as wide as the terminal, or 100 columns where there is none."""
    plain = Console(highlight=False)
    if plain.is_terminal or "COLUMNS" in os.environ:
        return plain
    return Console(highlight=False, width=_WIDE)


def table(names: Sequence[str], rows: Sequence[Sequence[str]]) -> None:
    """Print a table with a heading."""
    console().print(_table(names, rows))


def _table(names: Sequence[str], rows: Sequence[Sequence[str]]) -> Table:
    made = Table(box=SIMPLE_HEAD, pad_edge=False, header_style="bold")
    for name in names:
        made.add_column(name, overflow="fold")
    for row in rows:
        made.add_row(*(Text(cell) for cell in row))
    return made


def show(command: str, answer: Answer) -> None:
    """Print one answer."""
    out = console()
    out.print(Text(answer.answer, style="bold"))
    for heading, names, rows in _tables(command, answer):
        if rows:
            out.print()
            if heading:
                out.print(Text(heading, style="underline"))
            out.print(_table(names, rows))
    if command == "prove" and answer.fields.get("tree"):
        out.print()
        _tree(out, answer.fields["tree"], 0)
    _asks(out, answer)
    if answer.cautions:
        out.print(Text("Take care", style="underline"))
        for line in answer.cautions:
            out.print(Text(f"  ! {line}"))


Rows = list[list[str]]


def _tables(command: str, answer: Answer) -> list[tuple[str, Sequence[str], Rows]]:
    fields = answer.fields
    made: list[tuple[str, Sequence[str], Rows]] = []
    if command == "why" and fields.get("characters"):
        made.append(_characters(fields))
    if command == "check":
        names = ("", "file", "line", "subject", "says")
        made.append(("", names, [_finding(f) for f in fields["findings"]]))
    if command == "status":
        return [*made, *_status(fields)]
    own = tables(command, answer)
    if own:
        return [*made, *own]
    if command != "prove":
        made.append(_reasons(answer))
    if fields.get("set_aside"):
        made.append(_set_aside(fields["set_aside"]))
    return made


def _finding(found: Any) -> list[str]:
    severity = "warning" if found["severity"] == "warning" else "fault"
    return [severity, *(str(found[n] or "") for n in ("file", "line", "subject", "says"))]


def _reasons(answer: Answer) -> tuple[str, Sequence[str], Rows]:
    """The lines of why; what was set aside has a table of its own."""
    aside = {row["says"] for row in answer.fields.get("set_aside") or []}
    rows = [
        [r.says, _whose(r.source, r.page), r.basis]
        for r in answer.because
        if not any(r.says.startswith("set aside") and says in r.says for says in aside)
    ]
    return "Because", ("", "source", "basis"), rows


def _set_aside(aside: Any) -> tuple[str, Sequence[str], Rows]:
    rows = [
        [
            str(row["vernacularName"] or row["scientificName"]),
            row["says"],
            _whose(row["source"], row["page"]),
            str(row["basis"] or ""),
        ]
        for row in aside
    ]
    return "Set aside", ("", "why", "source", "basis"), rows


def _whose(source: str | None, page: str | None) -> str:
    return ", ".join(part for part in (source, page) if part)


def _characters(fields: Any) -> tuple[str, Sequence[str], Rows]:
    names = (
        "character",
        str(fields["subject"]),
        str(fields["placed_in"]),
        str(fields["rather_than"]),
        "verdict",
        "seen",
    )
    rows = []
    for row in fields["characters"]:
        if row["verdict"] == "silent":
            continue
        states = [row[k] or "" for k in ("subject_state", "placed_in_state", "rather_than_state")]
        trust = "" if row["trust"] == "dependable" else f" ({row['trust']})"
        rows.append(
            [row["character"].replace("-", " "), *states, row["verdict"] + trust, row["seen"]]
        )
    return "Characters", names, rows


def _status(fields: Any) -> list[tuple[str, Sequence[str], Rows]]:
    counts = [[k, str(n)] for k, n in fields["counts"].items()]
    kinds = [
        [kind, str(n["read"]), str(n["recalled"])]
        for kind, n in fields["statements"]["by_kind"].items()
    ]
    rules = [[rule, str(n)] for rule, n in sorted(fields["rules"].items(), key=lambda r: -r[1])]
    version = [["version", fields["version"]], ["snapshot", str(fields["snapshot"])]]
    return [
        ("", ("what", "number"), version + counts),
        ("Statements", ("kind", "read", "recalled"), kinds),
        ("Rules", ("rule", "facts derived"), rules),
    ]


def _asks(out: Console, answer: Answer) -> None:
    asks = answer.fields.get("ask") or answer.fields.get("next") or []
    if not asks:
        return
    out.print(Text("What would settle it", style="underline"))
    for row in asks:
        out.print(Text(f"  ? {row['how']}"))
        tells = row.get("tells", {})
        for taxon, state in tells.items() if len(tells) <= _FEW else ():
            out.print(Text(f"      {taxon}: {state}"))
    out.print()


def _tree(out: Console, step: Any, depth: int) -> None:
    pad = "  " * depth
    if step["rule"]:
        out.print(Text(f"{pad}{step['says']}  [rule {step['rule']}]"))
        for line in step["unless"]:
            out.print(Text(f"{pad}  looked for and not found: {line}", style="dim"))
    else:
        cited = step["citation"]
        whose = (
            _whose(cited["source"], cited["page"]) + f", {cited['basis']}" if cited else "stated"
        )
        out.print(Text(f"{pad}{step['says']}  [{whose}]"))
    for premise in step["premises"]:
        _tree(out, premise, depth + 1)
