"""Settles one distinct name x place x year, by the rules of ``opercle name``.

Knows: how two names of one row are taken together, and how crosses and several fishes stand.
Refuses to know: rules of its own. Weighing bearers is the question ``name``'s business alone.
"""

from collections.abc import Sequence
from typing import NamedTuple

from opercle.questions.bearers import Judge
from opercle.questions.desk import Desk, Found
from opercle.questions.name import Settled, settle
from opercle.records import cells
from opercle.records.cells import Reading
from opercle.records.finding import Finder
from opercle.records.whereabouts import Whereabouts

SETTLED, OPEN, UNKNOWN = "settled", "open", "unknown"
_MOST_TOLD = 8


class Decision(NamedTuple):
    """What became of one name in one place and year. ``taxon`` is set where it is settled."""

    outcome: str
    taxon: str | None
    remarks: str
    by: tuple[str, ...] = ()
    candidates: tuple[str, ...] = ()
    doubts: tuple[str, ...] = ()


class _Side(NamedTuple):
    """What one cell of the row can mean."""

    reading: Reading
    taxa: tuple[str, ...] = ()
    head: str | None = None
    by: tuple[str, ...] = ()
    says: tuple[str, ...] = ()
    aside: tuple[tuple[str, str, str], ...] = ()
    read_as: str | None = None
    known: bool = False

    @property
    def meant(self) -> tuple[str, ...]:
        """The taxon it settles as, or all that it can be."""
        return (self.head,) if self.head else self.taxa


class _Judge(Judge):
    """A judge whose look-ups are shared by all judges of one run."""

    def __init__(
        self, desk: Desk, asked: Sequence[str], year: int | None, decider: "Decider"
    ) -> None:
        super().__init__(desk, asked, year)
        self.places = decider.where.relations
        self._ranges = decider.ranges
        self._limits = decider.limits


class Decider(Finder):
    """Decides over one snapshot; what was read once is kept."""

    def __init__(self, desk: Desk) -> None:
        super().__init__(desk)
        self.where = Whereabouts(desk)
        self.ranges: dict[str, list[dict[str, object]]] = {}
        self.limits: dict[str, dict[str, list[str]]] = {}

    # ---- deciding --------------------------------------------------------------------------

    def decide(
        self, name: Reading, scientific: Reading | None, places: Sequence[str], year: int | None
    ) -> Decision:
        """The decision on a row's name, its scientific name where there is one, place and year."""
        judge = _Judge(self.desk, places, year, self)
        one = self._side(name, judge)
        if scientific is None or scientific.kind == cells.NOTHING:
            return self._alone(one, judge)
        two = self._side(scientific, judge)
        if name.kind == cells.NOTHING:
            return self._alone(two, judge)
        return self._together(one, two, judge)

    def _side(self, reading: Reading, judge: Judge) -> _Side:
        if reading.kind in (cells.NOTHING, cells.NOT_FISH, cells.UNFOUND):
            return _Side(reading)
        founds = [f for f in map(self.found, reading.texts) if f is not None]
        if reading.kind == cells.CROSS:
            return self._cross(reading, founds, judge)
        if not founds:
            return _Side(reading)
        parts = [settle(self.desk, judge, f) for f in founds]
        if len(parts) > 1:
            left = [b.taxon for p in parts for b in p.left]
            taxa = tuple(dict.fromkeys(left))
            heads = [_head(p) for p in parts]
            if reading.kind == cells.EITHER and len(taxa) == 1 and len(set(heads) - {None}) == 1:
                return _Side(reading, taxa, taxa[0], self._by(parts), known=True)
            chosen = tuple(dict.fromkeys(t for p in parts for t in _meant(p)))
            return _Side(reading, chosen, known=True)
        part, found = parts[0], founds[0]
        aside = tuple((b.taxon, b.says, b.by) for b in part.aside)
        read_as = found.read_as["name"] if found.read_as else None
        taxa = tuple(b.taxon for b in part.left)
        by = tuple(part.by)
        return _Side(reading, taxa, _head(part), by, (), aside, read_as, known=True)

    @staticmethod
    def _by(parts: Sequence[Settled]) -> tuple[str, ...]:
        return tuple(dict.fromkeys(b for p in parts if p.left for b in p.by))

    def _cross(self, reading: Reading, founds: Sequence[Found], judge: Judge) -> _Side:
        if len(founds) != 2:
            return _Side(reading)
        sides = [
            [t for t in _meant(settle(self.desk, judge, f)) if self.desk.rank(t) == "species"]
            for f in founds
        ]
        meant: dict[str, str | None] = {}
        for a in sides[0]:
            for b in sides[1]:
                for hybrid, mother in self.lexicon.crosses.get(frozenset((a, b)), ()):
                    if not reading.mother_first or mother in (None, a):
                        meant[hybrid] = mother
        taxa = tuple(meant)
        if len(taxa) == 1:
            return _Side(reading, taxa, taxa[0], ("name",), known=True)
        if taxa:
            says = ("which of the two was the mother is not said",)
            return _Side(reading, taxa, None, (), says, known=True)
        says = ("no such cross is recorded here; its parents are the candidates",)
        both = tuple(dict.fromkeys(t for side in sides for t in side))
        return _Side(reading, both, None, (), says, known=bool(both))

    # ---- one name alone --------------------------------------------------------------------

    def _alone(self, side: _Side, judge: Judge) -> Decision:
        doubts = self._doubts(side, judge)
        told = self._how(side)
        if side.reading.kind == cells.NOTHING:
            why = side.reading.how[0] if side.reading.how else "no name is written"
            return Decision(UNKNOWN, None, _sentence(why), doubts=doubts)
        if side.reading.kind == cells.NOT_FISH:
            told += [f"“{side.reading.texts[0]}” names no fish"]
            return Decision(UNKNOWN, None, _sentence(*told), doubts=doubts)
        if not side.known:
            told += ["nothing is known by this name"]
            return Decision(UNKNOWN, None, _sentence(*told), doubts=doubts)
        wider = self._wider(side)
        if side.head and wider:
            told += [f"here it is known only as a nickname of {self.desk.label(side.head)}"]
            told += [f"but its usual meaning is {wider}, which this knowledge does not hold"]
            return Decision(OPEN, None, _sentence(*told), (), (side.head,), doubts)
        if side.head:
            told += self._settled(side)
            doubts += self._range_doubt(side.head, judge)
            return Decision(
                SETTLED, side.head, _sentence(*told), side.by or ("name",), doubts=doubts
            )
        if not side.taxa:
            candidates = tuple(t for t, _, _ in side.aside)
            told += [f"no fish that bears the name “{self._name(side)}” is known there or then"]
            told += self._aside(side)
            return Decision(OPEN, None, _sentence(*told), (), candidates, doubts)
        told += [self._can_mean(side), *side.says, *self._aside(side)]
        return Decision(OPEN, None, _sentence(*told), (), side.taxa, doubts)

    def _wider(self, side: _Side) -> str | None:
        """The usual meaning of a name that the knowledge has only as a nickname of another."""
        if side.reading.kind != cells.NAME:
            return None
        meaning = self.lexicon.elsewhere(side.read_as or side.reading.texts[0])
        found = self.found(side.reading.texts[0])
        if meaning is None or found is None:
            return None
        if any(u["kind"] in ("op:standard", "op:scientific", "op:synonym") for u in found.uses):
            return None
        held = {str(self.desk.about(t).get("name")) for t in self._at_or_above(side.taxa)}
        return None if held & set(meaning.split(" and ")) | held & {meaning} else meaning

    def _at_or_above(self, taxa: Sequence[str]) -> set[str]:
        return {u for t in taxa for u in (t, *self.desk.lineage(t))}

    def _name(self, side: _Side) -> str:
        return side.read_as or ", ".join(side.reading.texts)

    def _how(self, side: _Side) -> list[str]:
        told = list(side.reading.how)
        if side.read_as:
            told.append(f"“{side.reading.texts[0]}” read as “{side.read_as}”, spelt most like it")
        if side.reading.unsure:
            told.append("its writer was not sure")
        return told

    def _settled(self, side: _Side) -> list[str]:
        assert side.head is not None
        label = self.desk.label(side.head)
        group = len(side.taxa) > 1
        told = f"“{self._name(side)}” means {'the whole group ' if group else ''}{label}"
        return [told, *self._aside(side)]

    def _aside(self, side: _Side) -> list[str]:
        told = [f"{self.desk.label(taxon)} set aside, {says}" for taxon, says, _ in side.aside[:3]]
        more = len(side.aside) - 3
        return [*told, f"{more} more set aside"] if more > 0 else told

    def _can_mean(self, side: _Side) -> str:
        labels = [self.desk.label(t) for t in side.taxa]
        if len(labels) > _MOST_TOLD:
            labels = [*labels[:_MOST_TOLD], f"{len(labels) - _MOST_TOLD} more"]
        several = side.reading.kind == cells.SEVERAL
        verb = "names" if several else "can mean"
        link = " and " if several else " or "
        listed = ", ".join(labels[:-1]) + link + labels[-1] if len(labels) > 1 else labels[0]
        return f"“{self._name(side)}” {verb} {listed}"

    # ---- two names of one row --------------------------------------------------------------

    def _together(self, one: _Side, two: _Side, judge: Judge) -> Decision:
        """A common and a scientific name: what both can mean, or a doubt where nothing is."""
        if not two.known:
            return self._unsupported(one, two, judge)
        if not two.meant:
            return self._elsewhere(one, two, judge)
        if not one.known or not one.meant or self._wider(one):
            if one.reading.kind == cells.NOT_FISH:
                return self._apart(one, two, judge)
            alone = self._alone(two, judge)
            extra = "the common name is not known here"
            if alone.outcome == SETTLED:
                return alone._replace(
                    by=("scientific-name",), remarks=_sentence(alone.remarks, extra)
                )
            return alone._replace(remarks=_sentence(alone.remarks, extra))
        if one.reading.kind == cells.SEVERAL or two.reading.kind == cells.SEVERAL:
            chosen = one if one.reading.kind == cells.SEVERAL else two
            return self._alone(chosen, judge)
        shared = self._shared(one.meant, two.meant)
        if not shared:
            return self._apart(one, two, judge)
        if len(shared) == 1:
            return self._agreed(one, two, shared[0], judge)
        both = one._replace(taxa=tuple(shared), head=None)
        return self._alone(both, judge)

    def _shared(self, one: Sequence[str], two: Sequence[str]) -> list[str]:
        """The lower of every pair of which one stands at or under the other."""
        lineage = self.desk.lineage
        kept: list[str] = []
        for a in one:
            for b in two:
                if a == b or b in lineage(a):
                    kept.append(a)
                elif a in lineage(b):
                    kept.append(b)
        kept = list(dict.fromkeys(kept))
        exact = [t for t in kept if t in one and t in two]
        if exact:
            return exact
        return [t for t in kept if not any(t != o and t in lineage(o) for o in kept)] or kept

    def _agreed(self, one: _Side, two: _Side, taxon: str, judge: Judge) -> Decision:
        told = [*self._how(one), *self._how(two)]
        label = self.desk.label(taxon)
        if one.head == taxon:
            by, says = one.by or ("name",), f"“{self._name(one)}” means {label}"
            says += f", and so does “{self._name(two)}”"
        else:
            by = ("scientific-name",)
            says = f"“{self._name(one)}” and “{self._name(two)}” both can mean only {label}"
        told += [says, *self._aside(one)]
        doubts = tuple(dict.fromkeys(self._doubts(one, judge) + self._doubts(two, judge)))
        doubts += self._range_doubt(taxon, judge)
        return Decision(SETTLED, taxon, _sentence(*told), by, doubts=doubts)

    def _apart(self, one: _Side, two: _Side, judge: Judge) -> Decision:
        told = [*self._how(one), *self._how(two)]
        told.append(f"“{self._name(one)}” and “{self._name(two)}” have no fish in common")
        doubts = (*self._doubts(one, judge), "name-and-scientific-name-disagree")
        both = tuple(dict.fromkeys([*one.meant, *two.meant]))
        return Decision(OPEN, None, _sentence(*told), (), both, doubts)

    def _unsupported(self, one: _Side, two: _Side, judge: Judge) -> Decision:
        """The scientific name is not known here: the common name alone would be a guess."""
        alone = self._alone(one, judge)
        if two.reading.kind == cells.NOT_FISH or alone.outcome == UNKNOWN:
            return alone
        extra = "the scientific name beside it is not known here, so it is left open"
        meant = one.meant or alone.candidates
        doubts = tuple(d for d in alone.doubts if d != "not-known-there")
        doubts += ("scientific-name-not-known",)
        return Decision(OPEN, None, _sentence(alone.remarks, extra), (), meant, doubts)

    def _elsewhere(self, one: _Side, two: _Side, judge: Judge) -> Decision:
        """What the scientific name means is set aside by place or year."""
        told = [*self._how(one), *self._how(two), *self._aside(two)]
        aside = [t for t, _, _ in two.aside]
        both = tuple(dict.fromkeys([*one.meant, *aside]))
        doubts = dict.fromkeys(self._doubts(one, judge) + self._doubts(two, judge))
        return Decision(OPEN, None, _sentence(*told), (), both, tuple(doubts))

    # ---- doubts ----------------------------------------------------------------------------

    def _doubts(self, side: _Side, judge: Judge) -> tuple[str, ...]:
        found: list[str] = []
        if side.reading.kind == cells.SEVERAL:
            found.append("several-fishes")
        if side.reading.kind == cells.NOT_FISH:
            found.append("not-a-fish")
        if side.reading.unsure:
            found.append("writer-not-sure")
        if side.known and not side.taxa and side.aside:
            years = all(by == "year" for _, _, by in side.aside)
            found.append("before-the-name-existed" if years else "not-known-there")
        return tuple(found)

    def _range_doubt(self, taxon: str, judge: Judge) -> tuple[str, ...]:
        """Doubt where the fish is recorded, but from nowhere that meets the place."""
        held = [r for r in judge.ranges(taxon) if r["presence"] in ("op:native", "op:introduced")]
        relations = {
            judge.places.relation(place, str(r["where"])) for r in held for place in judge.asked
        }
        return ("not-known-there",) if relations == {"apart"} else ()


def _head(part: Settled) -> str | None:
    if part.group:
        return part.group
    taxa = {b.taxon for b in part.left}
    return next(iter(taxa)) if len(taxa) == 1 else None


def _meant(part: Settled) -> list[str]:
    head = _head(part)
    return [head] if head else [b.taxon for b in part.left]


def _sentence(*clauses: str) -> str:
    told = "; ".join(c for c in clauses if c)
    return told[:1].upper() + told[1:]
