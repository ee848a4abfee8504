"""How two to six fishes are told apart.

Knows: which characters part them, by how far they can be trusted and how easily they are seen;
what sources say of telling them apart.
Refuses to know: a difference that colour alone makes.
"""

from collections.abc import Sequence
from itertools import combinations
from typing import Any, NamedTuple

from opercle import reading
from opercle.answers import Answer, Reason, listed
from opercle.counts import CountRange
from opercle.errors import UnknownError, UsageError
from opercle.questions import subjects
from opercle.questions.account_facts import Bibliography
from opercle.questions.desk import Desk, key_of, node
from opercle.questions.features import Feature, features
from opercle.questions.values import (
    DECIDES,
    LEANS,
    VERDICTS,
    Character,
    Value,
    Values,
    by_use,
)

COMPARED = "compared"
_LEAST, _MOST = 2, 6
_TOLD = 3
_LINKS = {"and", "or", "vs", "vs.", "with", "versus", ","}


class Compared(NamedTuple):
    """One character over all the fishes: its best verdict and the pairs it parts."""

    character: Character
    values: tuple[Value | None, ...]
    verdict: str
    pairs: tuple[tuple[int, int, str], ...]

    @property
    def tells(self) -> bool:
        """True if it decides or leans between some two of them."""
        return self.verdict in (DECIDES, LEANS)


def ask(desk: Desk, names: Sequence[str]) -> Answer:
    """Answer ``compare``. Raises UnknownError, UsageError unless two to six fishes are named."""
    written = split(desk, names)
    question: dict[str, Any] = {"taxa": written}
    if not _LEAST <= len(written) <= _MOST:
        raise UsageError(
            f"{len(written)} {'name was' if len(written) == 1 else 'names were'} given.",
            "compare",
            "Name two to six fishes, each in quotation marks.",
        )
    taxa = []
    for name in written:
        meant = subjects.meant(desk, name)
        if len(meant) > 1:
            return subjects.several(desk, question, name, meant, {"rows": []})
        taxa.append(meant[0])
    twice = [n for n, t in zip(written, taxa, strict=True) if taxa.count(t) > 1]
    if twice:
        raise UsageError(f"{listed(twice)} mean the same fish.", "compare", "Name each fish once.")
    return _answer(desk, question, written, taxa)


def split(desk: Desk, names: Sequence[str]) -> list[str]:
    """The names as given or, where all came unquoted, cut where the longest known names end."""
    words = [n for n in names if n.lower().strip() not in _LINKS]
    parts = [p.strip() for name in words for p in name.split(",") if p.strip()]
    if len(parts) < _LEAST or any(" " in part for part in parts):
        return parts
    return _cut(desk, " ".join(parts).split()) or parts


def _known(desk: Desk, name: str) -> bool:
    if reading.key_of(name) in desk.words_known():
        return True
    if "." in name:
        try:
            return bool(desk.find(name).uses)
        except UnknownError:
            return False
    return any(desk.query("uses", key=key_of(f)) for f in reading.singulars(reading.normal(name)))


def _cut(desk: Desk, words: Sequence[str]) -> list[str]:
    """Words into known names, the longest first; empty where they do not come out."""
    if not words:
        return []
    for end in range(min(len(words), 5), 0, -1):
        name = " ".join(words[:end])
        if _known(desk, name):
            rest = _cut(desk, words[end:])
            if rest or end == len(words):
                return [name, *rest]
    return []


def _answer(desk: Desk, question: dict[str, Any], written: list[str], taxa: list[str]) -> Answer:
    values = Values(desk)
    books = Bibliography(desk)
    rows = compared(values, taxa)
    taken = [c for n, t in zip(written, taxa, strict=True) for c in desk.passed_over(n, t)]
    how = features(desk, values)
    told = [row_told(desk, books, values, how, taxa, r) for r in rows]
    said = contrasts(desk, books, taxa)
    return Answer(
        question=question,
        outcome=COMPARED,
        answer=sentence(desk, values, taxa, rows, said),
        because=_because(desk, values, taxa, rows, said),
        cautions=taken + _cautions(desk, taxa, rows) + desk.cautions(taxa),
        fields={
            "taxa": [subjects.brief(desk, t) for t in taxa],
            "rows": told,
            "contrasts": said,
            "water_alone": [c for c in said if c["by_water_alone"]],
            "sources": books.sources(),
        },
    )


def compared(values: Values, taxa: Sequence[str]) -> list[Compared]:
    """Every character known of any of the taxa, those that tell them apart first."""
    rows = []
    for key, character in values.characters.items():
        mine = tuple(values.of(t).get(key) for t in taxa)
        if not any(mine):
            continue
        pairs = tuple(
            (i, j, values.verdict(key, None, mine[i], mine[j]))
            for i, j in combinations(range(len(taxa)), 2)
        )
        verdict = min((p[2] for p in pairs), key=VERDICTS.index)
        rows.append(Compared(character, mine, verdict, pairs))
    return sorted(rows, key=_first)


def _first(row: Compared) -> tuple[Any, ...]:
    parted = sum(1 for p in row.pairs if p[2] == row.verdict)
    if row.tells:
        return (
            0,
            VERDICTS.index(row.verdict),
            *by_use(row.character)[:2],
            -parted,
            _shared(row),
            row.character.order,
        )
    return (1, VERDICTS.index(row.verdict), *by_use(row.character))


def _shared(row: Compared) -> float:
    """How much of their ranges two fishes share, 0 to 1: the less, the better a leaning tells."""
    ranges = [v.range for v in row.values if v and v.range is not None and v.range.most is not None]
    if len(row.values) != _LEAST or len(ranges) != _LEAST:
        return 0.0
    one, two = ranges
    low, high = max(one.least, two.least), min(_most(one), _most(two))
    whole = max(_most(one), _most(two)) - min(one.least, two.least) + 1
    return max(0.0, high - low + 1) / whole


def _most(reach: CountRange) -> float:
    return reach.least if reach.most is None else reach.most


def row_told(
    desk: Desk,
    books: Bibliography,
    values: Values,
    how: dict[str, Feature],
    taxa: Sequence[str],
    row: Compared,
) -> dict[str, Any]:
    """A row as the answer writes it: a cell a taxon with its state, whose it is, and sources."""
    cells = [_cell(desk, books, values, t, v) for t, v in zip(taxa, row.values, strict=True)]
    names = [str(desk.about(t).get("name", t)) for t in taxa]
    return {
        "character": row.character.key,
        "label": row.character.label,
        **{name: cell["state"] for name, cell in zip(names, cells, strict=True)},
        "cells": cells,
        "tells_apart": row.tells,
        "verdict": row.verdict,
        "trust": row.character.trust,
        "seen": row.character.seen,
        "how": f"{row.character.asks} {how[row.character.key].how}",
        "pairs": [{"of": [names[i], names[j]], "verdict": v} for i, j, v in row.pairs],
    }


def _cell(
    desk: Desk, books: Bibliography, values: Values, taxon: str, value: Value | None
) -> dict[str, Any]:
    cited = [books.cite(s) for s in value.statements] if value else []
    first = cited[0] if cited else {"source": None, "page": None}
    inherited = value is not None and value.holder != taxon
    return {
        "taxon": taxon,
        "scientificName": desk.about(taxon).get("name"),
        "state": values.told(value),
        "of": desk.about(value.holder).get("name") if value and inherited else None,
        "source": first["source"],
        "page": first["page"],
        "basis": _basis(cited),
        "statements": cited,
    }


def _basis(cited: Sequence[dict[str, Any]]) -> str | None:
    """Read if any statement was read, else recalled."""
    if not cited:
        return None
    return "read" if any(c["basis"] == "read" for c in cited) else "recalled"


def contrasts(desk: Desk, books: Bibliography, taxa: Sequence[str]) -> list[dict[str, Any]]:
    """What sources say of telling any two of them, or the groups they stand in, apart."""
    found: dict[str, dict[str, Any]] = {}
    for one, two in combinations(taxa, 2):
        theirs = {two, *desk.lineage(two)}
        for mine in (one, *desk.lineage(one)):
            if mine in theirs:
                break
            for row in desk.query("told_apart", t=node(mine)):
                if row["other"] in theirs:
                    found.setdefault(row["s"], row)
    return [_contrast(desk, books, row) for row in found.values()]


def _contrast(desk: Desk, books: Bibliography, row: dict[str, Any]) -> dict[str, Any]:
    return {
        "of": [desk.label(row["about"]), desk.label(row["from"])],
        "pair": f"{_short(desk, row['about'])} and {_short(desk, row['from'])}",
        "says": row["text"],
        "by_water_alone": row["alone"],
        **books.cite(row["s"]),
    }


def sentence(
    desk: Desk,
    values: Values,
    taxa: Sequence[str],
    rows: Sequence[Compared],
    said: Sequence[dict[str, Any]],
) -> str:
    """What tells the fishes apart, in a sentence or two; ``said`` are the contrasts of sources."""
    names = listed([_short(desk, t) for t in taxa])
    deciding = [r for r in rows if r.verdict == DECIDES]
    leaning = [r.character.label for r in rows if r.verdict == LEANS]
    alone = [c for c in said if c["by_water_alone"]]
    if deciding:
        first = [_deciding(values, r) for r in deciding[:_TOLD]]
        told = f"{names} are told apart by {listed(first)}"
        more = len(deciding) - _TOLD
        told += f"; {more} more decide" if more > 1 else "; one more decides" if more == 1 else ""
        left = _not_parted(desk, taxa, rows)
        told += f". No dependable character known here parts {left}" if left else ""
    else:
        told = f"No dependable character known here parts {names}"
        told += f"; {listed(leaning[:_TOLD])} only lean that way" if leaning else ""
    if alone:
        told += f". A source says the water tells: {alone[0]['says'].rstrip('.')}"
    return subjects.upper(told) + "."


def _deciding(values: Values, row: Compared) -> str:
    """The character, with its two values where only two fishes are compared."""
    if len(row.values) > _LEAST:
        return row.character.label
    one, two = (values.told(v) or "not known" for v in row.values)
    return f"{row.character.label} ({one} against {two})"


def _short(desk: Desk, taxon: str) -> str:
    about = desk.about(taxon)
    return str(about.get("common") or about.get("name", taxon))


def _not_parted(desk: Desk, taxa: Sequence[str], rows: Sequence[Compared]) -> str:
    parted = {(i, j) for r in rows for i, j, v in r.pairs if v == DECIDES}
    left = [p for p in combinations(range(len(taxa)), 2) if p not in parted]
    pairs = [f"{_short(desk, taxa[i])} from {_short(desk, taxa[j])}" for i, j in left]
    return listed(pairs, "or")


def _because(
    desk: Desk,
    values: Values,
    taxa: Sequence[str],
    rows: Sequence[Compared],
    said: Sequence[dict[str, Any]],
) -> list[Reason]:
    lines = [desk.words.reason(c["statement"]) for c in said]
    for row in rows:
        if not row.tells:
            continue
        told = "; ".join(
            f"{desk.about(t).get('name')} {values.told(v) or 'not known'}"
            for t, v in zip(taxa, row.values, strict=True)
        )
        lines.append(Reason(f"{row.character.label} {row.verdict}: {told}", "inferred"))
        lines += [desk.words.reason(s) for v in row.values if v for s in v.statements]
    return list(dict.fromkeys(lines))


def _cautions(desk: Desk, taxa: Sequence[str], rows: Sequence[Compared]) -> list[str]:
    told = []
    for one, two in combinations(taxa, 2):
        if one in desk.lineage(two) or two in desk.lineage(one):
            told.append(f"Of {desk.label(one)} and {desk.label(two)} one is a member of the other.")
    if any(r.character.trust == "misleading" for r in rows):
        told.append("Colour is listed but never tells: it shifts with stress, light and water.")
    return told
