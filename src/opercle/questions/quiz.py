"""A short quiz made from the facts: questions with one right answer and answers that are wrong.

Knows: how questions are chosen by a seed, one kind after another, and how an answer is told.
Refuses to know: an answer that is wrong only because nothing is known. Every wrong answer is
contradicted by a recorded fact: a value that cannot meet the right one, another family, another
recorded meaning, a water to which the fish is native. Each says why, and cites it.
"""

from collections.abc import Iterator, Sequence
from random import Random
from typing import Any, NamedTuple

from opercle.answers import Reason
from opercle.questions.account_facts import Bibliography
from opercle.questions.desk import Desk, node
from opercle.questions.features import Feature, features
from opercle.questions.values import Value, Values

MOST = 20
"""The longest quiz."""
OPTIONS = 4
LETTERS = "abcdefgh"


class Option(NamedTuple):
    """One answer to choose: whether it is right, why, and the statements that say so."""

    says: str
    right: bool
    why: str
    statements: tuple[str, ...]


class Item(NamedTuple):
    """A question of one kind; ``about`` names what it asks of, so that nothing is asked twice."""

    kind: str
    taxon: str
    about: str
    asks: str
    options: tuple[Option, ...]


class Stock:
    """What questions are made from: the fishes of the sheet, then their kin of the same family."""

    def __init__(self, desk: Desk, values: Values, taxa: Sequence[str]) -> None:
        self.desk = desk
        self.values = values
        self.taxa = tuple(taxa)
        self.known: dict[str, Feature] = features(desk, values)
        self.kin = self._kin()
        self._read: dict[str, bool] = {}

    def _kin(self) -> tuple[str, ...]:
        """Species of the same families that are none of the sheet's own, and of none of these."""
        known = set(self.values.load_species())
        families = sorted({str(f) for t in self.taxa if (f := self.desk.about(t).get("family"))})
        near = [r["t"] for f in families for r in self.desk.query("species_under", group=node(f))]
        own = set(self.taxa)
        return tuple(t for t in near if t in known and not own & {t, *self.desk.lineage(t)})

    def of(self, taxon: str) -> dict[str, Value]:
        """The values of a taxon by character."""
        return self.values.of(taxon)

    def read(self, statement: str) -> bool:
        """True if the statement was read in its source."""
        if statement not in self._read:
            found = self.desk.words.citation(statement)
            self._read[statement] = found is not None and found.basis == "read"
        return self._read[statement]

    def name(self, taxon: str) -> str:
        """The short name of a fish within a sentence: ``the rock bass``, ``Lepomis``."""
        about = self.desk.about(taxon)
        common = about.get("common")
        return f"the {common}" if common else str(about.get("name", taxon))

    def bare(self, taxon: str) -> str:
        """The same without an article, for an answer to choose."""
        return self.name(taxon).removeprefix("the ")


def made(stock: Stock, seed: int, most: int) -> list[Item]:
    """At most ``most`` questions, the kinds in turn; the same seed gives the same quiz."""
    rng = Random(f"{seed} {' '.join(sorted(stock.taxa))}")
    piles = [list(kind(stock, rng)) for kind in _kinds()]
    for pile in piles:
        rng.shuffle(pile)
    chosen: list[Item] = []
    while len(chosen) < most and any(piles):
        for pile in piles:
            item = _next(pile, chosen)
            if item is not None and len(chosen) < most:
                chosen.append(item)
    return [_mixed(item, rng) for item in chosen]


def _kinds() -> tuple[Any, ...]:
    from opercle.questions import quiz_body, quiz_names

    return (
        quiz_body.count,
        quiz_names.family,
        quiz_body.which,
        quiz_names.meaning,
        quiz_body.sure,
        quiz_names.brought,
        quiz_body.state,
        quiz_names.really,
    )


def _next(pile: list[Item], chosen: Sequence[Item]) -> Item | None:
    """The question of a pile whose fish and subject have been asked about least."""
    if not pile:
        return None
    asked = {c.about for c in chosen}
    often = [c.taxon for c in chosen]
    pile[:] = [i for i in pile if i.about not in asked]
    if not pile:
        return None
    best = min(pile, key=lambda i: (sum(c.kind == i.kind and c.taxon == i.taxon for c in chosen),
                                    often.count(i.taxon)))  # fmt: skip
    pile.remove(best)
    return best


def _mixed(item: Item, rng: Random) -> Item:
    """The options in no telling order: numbers rise, yes stands before no, others are shuffled."""
    options = list(item.options)
    if item.kind == "count":
        options.sort(key=lambda o: [float(n) for n in o.says.split()[0].split("-")])
    elif item.kind != "really":
        rng.shuffle(options)
    return item._replace(options=tuple(options))


def cited(stock: Stock, value: Value) -> tuple[str, ...]:
    """A few statements of a value, those read first, those that set bounds before others."""
    ranked = sorted(
        value.statements,
        key=lambda s: (s not in value.firm, not stock.read(s), s),
    )
    return tuple(ranked[:2])


def told(desk: Desk, books: Bibliography, items: Sequence[Item]) -> list[dict[str, Any]]:
    """The quiz as the answer writes it: options with letter, verdict and numbered sources."""
    return [
        {
            "number": i,
            "kind": item.kind,
            "asks": item.asks,
            "options": [
                {
                    "letter": LETTERS[j],
                    "says": option.says,
                    "right": option.right,
                    "why": option.why,
                    "refs": _refs(books, option.statements),
                    "statements": list(option.statements),
                }
                for j, option in enumerate(item.options)
            ],
            "answer": LETTERS[[o.right for o in item.options].index(True)],
        }
        for i, item in enumerate(items, 1)
    ]


def _refs(books: Bibliography, statements: Sequence[str]) -> list[dict[str, Any]]:
    found: dict[int, str] = {}
    for statement in statements:
        one = books.cite(statement)
        if one["ref"] and found.get(one["ref"]) != "read":
            found[one["ref"]] = str(one["basis"])
    return [{"n": n, "basis": found[n]} for n in sorted(found)]


def reasons(desk: Desk, items: Sequence[Item]) -> Iterator[Reason]:
    """Why each right answer is right, then the facts that make the others wrong."""
    for i, item in enumerate(items, 1):
        right = next(o for o in item.options if o.right)
        yield Reason(f"question {i}: {right.says}: {right.why}", "inferred")
        for option in sorted(item.options, key=lambda o: not o.right):
            for statement in option.statements:
                yield desk.words.reason(statement)


__all__ = ["MOST", "OPTIONS", "Item", "Option", "Stock", "cited", "made", "reasons", "told"]
