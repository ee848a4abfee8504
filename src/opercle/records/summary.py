"""The summary page: what a steward would send to a colleague; one file, printable.

Knows: which sums to draw and how large.
Refuses to know: how the sums came about.
"""

import os
from collections import Counter
from collections.abc import Sequence
from typing import Any

from opercle.records.advice import Adviser
from opercle.records.deciding import Decider
from opercle.records.digest import Digest, NameTold, table
from opercle.records.job import OUTCOMES, Done

_OPEN = 25
_WATERS = 15
_NAMES = 1500
_REJECTS = 25
_FAMILIES = 14


def page(decider: Decider, done: Sequence[Done], facts: dict[str, Any], counted: Digest) -> str:
    """The whole page as HTML."""
    import jinja2

    folder = os.path.dirname(__file__)
    engine = jinja2.Environment(
        loader=jinja2.FileSystemLoader(folder),
        autoescape=True,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    engine.filters["number"] = lambda n: f"{n:,}"
    engine.filters["share"] = _share
    return engine.get_template("summary.html.j2").render(
        facts=facts,
        outcomes=OUTCOMES,
        files=[_file(o) for o in done],
        families=counted.families.most_common(_FAMILIES),
        more_families=_rest(counted.families, _FAMILIES),
        by=counted.by.most_common(),
        doubts=counted.doubts.most_common(),
        years=_years(counted.years),
        opened=_opened(decider, done, counted, "open"),
        unknown=_opened(decider, done, counted, "unknown"),
        more_open=_more(counted, "open"),
        more_unknown=_more(counted, "unknown"),
        waters=_waters(counted),
        names=[_name(t) for t in counted.told[:_NAMES]],
        more_names=max(0, counted.names - _NAMES),
        rejects=[r for o in done for r in o.staged.rejects][:_REJECTS],
    )


def _share(part: int, whole: int) -> str:
    """A percentage as a person writes it; never 0% for some or 100% for not all."""
    if not whole:
        return "–"
    value = 100 * part / whole
    if 0 < value < 0.1:
        return "<0.1%"
    if 99.9 < value < 100:
        return ">99.9%"
    return f"{value:.0f}%" if value in (0, 100) or value >= 10 else f"{value:.1f}%"


def _file(one: Done) -> dict[str, Any]:
    return {
        "name": os.path.basename(one.source.path),
        "rows": one.staged.rows_in,
        "sha256": one.staged.sha256,
        "read": one.columns.told(),
        "notes": [*one.source.notes, *one.columns.report],
    }


def _rest(sums: Counter[str], most: int) -> tuple[str, int] | None:
    """What stands behind those shown, told and not drawn: its bar would dwarf theirs."""
    left = sums.most_common()[most:]
    return (f"{len(left)} more", sum(n for _, n in left)) if left else None


def _years(years: dict[int, Counter[str]]) -> list[dict[str, Any]]:
    """Rows by year and outcome; by five or ten years where there are many."""
    if not years:
        return []
    span = max(years) - min(years) + 1
    step = 1 if span <= 40 else 5 if span <= 200 else 10
    bins: dict[int, Counter[str]] = {}
    for year, sums in years.items():
        bins.setdefault(year - year % step, Counter()).update(sums)
    first, last = min(bins), max(bins)
    tallest = max(sum(b.values()) for b in bins.values())
    width = min(900 / ((last - first) // step + 1), 46)
    every = max(1, -int(-40 // width))
    return [
        {
            "year": year,
            "told": ((year - first) // step) % every == 0,
            "sums": bins.get(year, Counter()),
            "rows": sum(bins.get(year, Counter()).values()),
            "tallest": tallest,
            "step": step,
        }
        for year in range(first, last + 1, step)
    ]


def _opened(
    decider: Decider, done: Sequence[Done], counted: Digest, outcome: str
) -> list[dict[str, Any]]:
    """The open or unknown names with most rows."""
    ranked = sorted(
        (t for t in counted.told if t.outcomes[outcome]), key=lambda t: -t.outcomes[outcome]
    )
    adviser = Adviser(decider)
    places: dict[int, dict[int, str]] = {}
    rows = []
    for told in ranked[:_OPEN]:
        if told.input not in places:
            held = table(done[told.input], "places")
            pairs = zip(held.column("p").to_pylist(), held.column("meant").to_pylist(), strict=True)
            places[told.input] = dict(pairs)
        where = [p for p in places[told.input][told.place].split("|") if p]
        rows.append(_open_row(told, outcome, adviser, where))
    return rows


def _more(counted: Digest, outcome: str) -> int:
    """How many open or unknown names are not shown."""
    return max(0, sum(1 for t in counted.told if t.outcomes[outcome]) - _OPEN)


def _open_row(told: NameTold, outcome: str, adviser: Adviser, where: list[str]) -> dict[str, Any]:
    example = told.example
    row = {
        "name": told.name or told.written or "(no name)",
        "rows": told.outcomes[outcome],
        "candidates": [c for c in (example["candidates"] or "").split("|") if c],
        "doubts": [d for d in (example["doubts"] or "").split("|") if d],
        "says": example["identificationRemarks"] or "",
        "advice": "",
    }
    if outcome == "open":
        row["advice"] = adviser.settles(told, where)
    elif not row["doubts"] and told.name:
        row["advice"] = adviser.nearest(told.name)
    return row


def _waters(counted: Digest) -> list[dict[str, Any]]:
    """The waters with most rows that did not settle."""
    rows: list[dict[str, Any]] = [
        {
            "water": water,
            "state": state,
            "rows": sum(sums.values()),
            "left": sums["open"] + sums["unknown"],
            "sums": sums,
        }
        for (water, state), sums in counted.waters.items()
    ]
    worst = sorted((r for r in rows if r["left"]), key=lambda r: (-int(r["left"]), r["water"]))
    return worst[:_WATERS]


def _name(told: NameTold) -> dict[str, Any]:
    return {
        "name": told.name or told.written or "(no name)",
        "beside": told.written if told.name and told.written else "",
        "rows": told.rows,
        "sums": told.outcomes,
        "as": told.settled_as.most_common(3),
        "more": max(0, len(told.settled_as) - 3),
        "by": [b for b, _ in told.by.most_common(2)],
        "doubts": [d for d, _ in told.doubts.most_common(3)],
        "candidates": [c for c in (told.example["candidates"] or "").split("|") if c][:4],
    }
