"""A class sheet on a set of fishes, or on a question about them.

Knows: which fishes a sheet is on, the few characters worth a place in its table, what sources say
of telling them apart, cautions, and a quiz.
Refuses to know: paper. A question that it cannot read as one of its own heads the sheet as it was
written and is not answered; no fish is taken from it that it does not name.
"""

from collections import Counter
from collections.abc import Sequence
from itertools import combinations
from typing import Any, NamedTuple

from opercle.answers import Answer, Reason, listed
from opercle.errors import UsageError
from opercle.questions import compare, handout_asked, quiz, subjects
from opercle.questions.account_facts import Bibliography
from opercle.questions.compare import Compared
from opercle.questions.desk import Desk, node
from opercle.questions.features import HABITS, features
from opercle.questions.values import DECIDES, EASE, LEANS, Values, by_use

MADE = "made"
MANY = 20
"""More fishes than this make no sheet for a class."""
WIDE = 6
"""Up to so many fishes stand as columns of the table; more stand as its rows."""
_ROWS, _COLUMNS = 9, 5
_ALIKE = 2
"""Look-alikes put beside a fish that is named alone."""
_FEWEST = 0
_LINES = 12
"""Lines of why on the sheet; the answer has them all."""


class Party(NamedTuple):
    """The fishes of a sheet: the group they were named by, if one; the look-alikes added."""

    taxa: tuple[str, ...]
    group: str | None
    added: tuple[str, ...]
    beside: str
    written: tuple[str, ...]
    named: tuple[str, ...]


def ask(
    desk: Desk,
    names: Sequence[str],
    question: str | None = None,
    seed: int = 1,
    most: int = 8,
) -> Answer:
    """Answer ``handout``: made, with what the sheet holds; open where a name means several.

    Raises UnknownError; UsageError where no fish is named, too many are, or the quiz is too long.
    """
    told: dict[str, Any] = {"taxa": list(names), "question": question, "seed": seed, "quiz": most}
    if not _FEWEST <= most <= quiz.MOST:
        raise UsageError(
            f"A quiz of {most} questions cannot be made.",
            "--quiz",
            f"Ask for {_FEWEST} to {quiz.MOST}.",
        )
    asked = " ".join((question or "").split())
    written = compare.split(desk, [n for n in names if n.strip()])
    if not written and asked:
        meant, unclear = handout_asked.fishes(desk, asked)
        if unclear:
            return subjects.several(desk, told, *unclear, {"files": []})
        written, taxa = list(meant.values()), list(meant)
    else:
        taxa = []
        for name in written:
            found = subjects.meant(desk, name)
            if len(found) > 1:
                return subjects.several(desk, told, name, found, {"files": []})
            taxa += found
    if not taxa:
        raise UsageError(
            "No fish is named." if not asked else f"No fish is named in “{asked}”.",
            "handout",
            "Name one or more fishes, each in quotation marks.",
        )
    party = _party(desk, asked, written, list(dict.fromkeys(taxa)))
    return _made(desk, told, asked, party, seed, most)


def _party(desk: Desk, asked: str, written: Sequence[str], taxa: list[str]) -> Party:
    """A group alone becomes its species, or its genera; a fish alone gets its look-alikes."""
    named = tuple(taxa)
    group = None
    if len(taxa) == 1 and desk.rank(taxa[0]) not in ("species", "subspecies", "hybrid"):
        group = taxa[0]
        taxa = [r["t"] for r in subjects.species(desk, group)]
        if len(taxa) > MANY:
            genera = [t for t in _genera(desk, taxa) if group in desk.lineage(t)]
            taxa = genera or taxa
    if not taxa:
        raise UsageError(
            f"No species is known under {desk.label(named[0])}.", written[0], "Name a larger group."
        )
    if len(taxa) > MANY:
        raise UsageError(
            f"{len(taxa)} fishes are too many for one sheet.",
            listed(list(written)),
            f"Name a smaller group, or at most {MANY} fishes.",
        )
    added, why = _added(desk, asked, taxa[0]) if len(taxa) == 1 else ([], "")
    return Party((*taxa, *added), group, tuple(added), why, tuple(written), named)


def _added(desk: Desk, asked: str, taxon: str) -> tuple[list[str], str]:
    """What is put beside a fish that is named alone, and why."""
    strict = handout_asked.beside(desk, asked, [taxon]) if asked else None
    if strict is not None:
        return [strict], "the group that the word strictly means"
    return _look_alikes(desk, taxon), "from which sources tell it apart most often"


def _genera(desk: Desk, taxa: Sequence[str]) -> list[str]:
    above = (u for t in taxa for u in desk.lineage(t) if desk.rank(u) == "genus")
    return sorted(dict.fromkeys(above))


def _look_alikes(desk: Desk, taxon: str) -> list[str]:
    """The species from which sources tell a fish most often."""
    rows = desk.query("told_apart", t=node(taxon))
    others = [r["from"] if r["about"] == taxon else r["about"] for r in rows]
    often = Counter(o for o in others if desk.rank(o) == "species" and o != taxon)
    ranked = sorted(often, key=lambda o: (-often[o], o))
    return ranked[:_ALIKE]


def _made(
    desk: Desk, told: dict[str, Any], asked: str, party: Party, seed: int, most: int
) -> Answer:
    values, books = Values(desk), Bibliography(desk)
    taxa = party.taxa
    rows = [r for r in compare.compared(values, taxa) if r.character.key not in HABITS]
    telling = _telling(rows, len(taxa))
    known = features(desk, values)
    table = [compare.row_told(desk, books, values, known, taxa, r) for r in telling]
    contrasts = compare.contrasts(desk, books, taxa) if len(taxa) <= WIDE else []
    answered = handout_asked.answered(desk, asked, party.named) if asked else None
    stock = quiz.Stock(desk, values, taxa)
    items = quiz.made(stock, seed, most)
    shown = quiz.told(desk, books, items)
    because = [] if answered is None else list(answered.because)
    because += [r for row in telling for r in _reasons(desk, row)]
    because += list(quiz.reasons(desk, items))
    return Answer(
        question={**told, "taxa": list(party.written)},
        outcome=MADE,
        answer=_sentence(desk, party, telling, items),
        because=list(dict.fromkeys(because)),
        cautions=_cautions(desk, party, rows),
        fields={
            "title": asked or _title(desk, party),
            "asked": _asked(answered, books),
            "group": subjects.brief(desk, party.group) if party.group else None,
            "taxa": [subjects.brief(desk, t) for t in taxa],
            "added": [subjects.brief(desk, t) for t in party.added],
            "added_why": party.beside,
            "says": _says(desk, values, taxa, rows, contrasts),
            "rows": table,
            "more": [r.character.label for r in rows if r.tells and r not in telling],
            "contrasts": contrasts,
            "quiz": shown,
            "quiz_wanted": most,
            "seed": seed,
            "names": _names(desk, stock),
            "sources": books.sources(),
            "files": [],
        },
    )


def _telling(rows: Sequence[Compared], fishes: int) -> list[Compared]:
    """The characters for the table: as many as fit; each must part fishes the others do not yet.

    With two fishes all that decide or lean; with one, what is known of it.
    """
    if fishes == 1:
        seen = [r for r in rows if r.character.trust == "dependable"]
        return sorted(seen, key=lambda r: by_use(r.character))[:_ROWS]
    most = _ROWS if fishes <= WIDE else _COLUMNS
    useful = [r for r in rows if r.tells and r.character.trust != "misleading"]
    if fishes <= 2:
        return useful[:most]
    chosen: list[Compared] = []
    parted: Counter[tuple[int, int]] = Counter()
    while useful and len(chosen) < most:
        best = max(useful, key=lambda r: (_gain(r, parted), -useful.index(r)))
        useful.remove(best)
        chosen.append(best)
        parted.update((i, j) for i, j, v in best.pairs if v == DECIDES)
    return [r for r in rows if r in chosen]


def _gain(row: Compared, parted: Counter[tuple[int, int]]) -> float:
    """How much a character adds: pairs not parted yet count whole, others little."""
    fresh = {DECIDES: 1.0, LEANS: 0.25}
    gain = sum(fresh.get(v, 0.0) / (1 + 3 * parted[i, j]) for i, j, v in row.pairs)
    return gain - 0.01 * EASE.index(row.character.seen)


def _reasons(desk: Desk, row: Compared) -> list[Reason]:
    return [desk.words.reason(s) for v in row.values if v for s in v.statements]


def _says(
    desk: Desk,
    values: Values,
    taxa: Sequence[str],
    rows: Sequence[Compared],
    contrasts: Sequence[dict[str, Any]],
) -> str:
    """The sentence under the title."""
    if len(taxa) == 1:
        return f"{subjects.upper(desk.label(taxa[0]))}: what is known of it here."
    if len(taxa) <= WIDE:
        return compare.sentence(desk, values, taxa, rows, contrasts)
    total = list(combinations(range(len(taxa)), 2))
    parted = {(i, j) for r in rows for i, j, v in r.pairs if v == DECIDES}
    told = f"Of the {len(total)} pairs of these {len(taxa)} fishes, {len(parted)} are told apart "
    return told + "by a dependable character known here."


def _title(desk: Desk, party: Party) -> str:
    if party.group:
        return subjects.upper(desk.label(party.group))
    names = [_short(desk, t) for t in party.taxa if t not in party.added]
    return subjects.upper(listed(names))


def _short(desk: Desk, taxon: str) -> str:
    about = desk.about(taxon)
    return str(about.get("common") or about.get("name", taxon))


def _sentence(
    desk: Desk, party: Party, telling: Sequence[Compared], items: Sequence[quiz.Item]
) -> str:
    what = f"{len(party.taxa)} fish{'es' if len(party.taxa) != 1 else ''}"
    told = f"Made a class sheet on {what}: {len(telling)} characters in its table"
    if items:
        many = f"{len(items)} questions with their answers"
        told += f", {many}" if len(items) > 1 else ", one question with its answer"
    if party.added:
        names = listed([desk.label(t) for t in party.added])
        told += f". Beside it: {names}, {party.beside}"
    if not items:
        told += ". Too little is known here of these fishes to make a quiz"
    return told + "."


def _asked(answered: Answer | None, books: Bibliography) -> dict[str, Any] | None:
    if answered is None:
        return None
    lines = [
        {"says": r.says, "basis": r.basis, "ref": books.by_reason(r)}
        for r in answered.because[:_LINES]
    ]
    return {"outcome": answered.outcome, "answer": answered.answer, "because": lines}


def _cautions(desk: Desk, party: Party, rows: Sequence[Compared]) -> list[str]:
    told = [c for w, t in zip(party.written, party.named, strict=False)
            for c in desk.passed_over(w, t)]  # fmt: skip
    if any(r.character.trust == "misleading" for r in rows):
        told.append("Colour never decides: it shifts with stress, light and water.")
    return told + desk.cautions(party.taxa)


def _names(desk: Desk, stock: quiz.Stock) -> list[str]:
    """Scientific names that the sheet may print in its sentences, to be set in italics."""
    ranks = ("genus", "species", "subspecies", "hybrid")
    around = {u for t in stock.taxa for u in (t, *desk.lineage(t))}
    found = {str(desk.about(t).get("name")) for t in around if desk.rank(t) in ranks}
    for taxon in stock.kin:
        name = str(desk.about(taxon).get("name"))
        found |= {name, name.split()[0]}
    return sorted(found, key=lambda n: (-len(n), n))
