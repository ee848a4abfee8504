"""Settles one distinct name x place x year, by the rules of ``opercle name``.

Knows: how two names of one row are taken together, and how crosses and several fishes stand.
Refuses to know: rules of its own. Weighing bearers is the question ``name``'s business alone.
"""

from collections.abc import Sequence

from opercle.questions.authorities import Authorities, Authority
from opercle.questions.bearers import Bearer, Judge
from opercle.questions.desk import Desk, Found
from opercle.questions.name import Settled, settle
from opercle.questions.places import APART
from opercle.records import cells
from opercle.records.cells import Reading
from opercle.records.decisions import (
    OPEN,
    SETTLED,
    UNKNOWN,
    Decision,
    Side,
    head_of,
    meant_by,
    sentence,
)
from opercle.records.finding import Finder
from opercle.records.whereabouts import Where, Whereabouts

_MOST_TOLD = 8
_OWN = ("op:standard", "op:scientific", "op:synonym", "op:group")


class _Judge(Judge):
    """A judge whose look-ups are shared by all judges of one run."""

    def __init__(
        self,
        decider: "Decider",
        where: Where,
        year: int | None,
        authority: Authority | None,
    ) -> None:
        super().__init__(decider.desk, where.places, year, authority, where.inland)
        self.places = decider.where.relations
        self.authorities = decider.authorities
        self._kept = decider.kept
        self._known_there = decider.known_there
        self._ranges = decider.ranges
        self._limits = decider.limits

    def bearers(self, found: Found) -> list[Bearer]:
        """The uses of a name with their places, looked up once a run."""
        if found.written not in self._kept:
            self._kept[found.written] = super().bearers(found)
        return self._kept[found.written]


class Decider(Finder):
    """Decides over one snapshot; what was read once is kept."""

    def __init__(self, desk: Desk) -> None:
        super().__init__(desk)
        self.where = Whereabouts(desk)
        self.authorities = Authorities(desk)
        self._meanings: dict[str, str | None] = {}
        self.kept: dict[str, list[Bearer]] = {}
        self.known_there: dict[tuple[str, str], tuple[str | None, str | None, str | None]] = {}
        self.ranges: dict[str, list[dict[str, object]]] = {}
        self.limits: dict[str, dict[str, list[str]]] = {}

    # ---- deciding --------------------------------------------------------------------------

    def decide(
        self,
        name: Reading,
        scientific: Reading | None,
        where: Where,
        year: int | None,
        authority: str = "",
    ) -> Decision:
        """The decision on a row's name, its scientific name where there is one, place and year.

        ``authority`` is the work whose names the row follows, as written.
        """
        followed = self.authorities.read(authority)
        judge = _Judge(self, where, year, followed)
        made = self._decided(name, scientific, judge)
        notes = list(where.notes if made.outcome != SETTLED else ())
        if followed and not followed.known:
            notes.append(f"the authority “{followed.written}” is not known here")
        return made._replace(remarks=sentence(made.remarks, *notes)) if notes else made

    def _decided(self, name: Reading, scientific: Reading | None, judge: Judge) -> Decision:
        one = self._side(name, judge)
        if scientific is None or scientific.kind == cells.NOTHING:
            return self._alone(one, judge)
        two = self._side(scientific, judge)
        if name.kind == cells.NOTHING:
            return self._alone(two, judge)
        return self._together(one, two, judge)

    def _side(self, reading: Reading, judge: Judge) -> Side:
        if reading.kind in (cells.NOTHING, cells.NOT_FISH, cells.UNFOUND):
            return Side(reading)
        founds = [f for f in map(self.found, reading.texts) if f is not None]
        if reading.kind == cells.CROSS:
            return self._cross(reading, founds, judge)
        if not founds:
            return Side(reading)
        parts = [settle(self.desk, judge, f) for f in founds]
        if len(parts) > 1:
            left = [b.taxon for p in parts for b in p.left]
            taxa = tuple(dict.fromkeys(left))
            heads = [head_of(p) for p in parts]
            if reading.kind == cells.EITHER and len(taxa) == 1 and len(set(heads) - {None}) == 1:
                return Side(reading, taxa, taxa[0], self._by(parts), known=True)
            chosen = tuple(dict.fromkeys(t for p in parts for t in meant_by(p)))
            return Side(reading, chosen, known=True)
        part, found = parts[0], founds[0]
        aside = tuple((b.taxon, b.says, b.by) for b in part.aside)
        read_as = found.read_as["name"] if found.read_as else None
        taxa = tuple(b.taxon for b in part.left)
        by = tuple(part.by)
        return Side(reading, taxa, head_of(part), by, (), aside, read_as, known=True)

    @staticmethod
    def _by(parts: Sequence[Settled]) -> tuple[str, ...]:
        return tuple(dict.fromkeys(b for p in parts if p.left for b in p.by))

    def _cross(self, reading: Reading, founds: Sequence[Found], judge: Judge) -> Side:
        if len(founds) != 2:
            return Side(reading)
        sides = [
            [t for t in meant_by(settle(self.desk, judge, f)) if self.desk.rank(t) == "species"]
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
            return Side(reading, taxa, taxa[0], ("name",), known=True)
        if taxa:
            says = ("which of the two was the mother is not said",)
            return Side(reading, taxa, None, (), says, known=True)
        says = ("no such cross is recorded here; its parents are the candidates",)
        both = tuple(dict.fromkeys(t for side in sides for t in side))
        return Side(reading, both, None, (), says, known=bool(both))

    # ---- one name alone --------------------------------------------------------------------

    def _alone(self, side: Side, judge: Judge) -> Decision:
        doubts = self._doubts(side, judge)
        told = self._how(side)
        if side.reading.kind == cells.NOTHING:
            why = side.reading.how[0] if side.reading.how else "no name is written"
            return Decision(UNKNOWN, None, sentence(why), doubts=doubts)
        if side.reading.kind == cells.NOT_FISH:
            told += [f"“{side.reading.texts[0]}” names no fish"]
            return Decision(UNKNOWN, None, sentence(*told), doubts=doubts)
        if not side.known:
            told += ["nothing is known by this name"]
            return Decision(UNKNOWN, None, sentence(*told), doubts=doubts)
        wider = self._wider(side)
        if side.head and wider:
            told += [f"here it is known only as a nickname of {self.desk.label(side.head)}"]
            told += [f"but its usual meaning is {wider}, which this knowledge does not hold"]
            return Decision(OPEN, None, sentence(*told), (), (side.head,), doubts)
        if side.head:
            told += self._settled(side)
            doubts += self._range_doubt(side.head, judge)
            return Decision(
                SETTLED, side.head, sentence(*told), side.by or ("name",), doubts=doubts
            )
        if not side.taxa:
            candidates = tuple(t for t, _, _ in side.aside)
            told += [f"no fish that bears the name “{self._name(side)}” is known there or then"]
            told += self._aside(side)
            return Decision(OPEN, None, sentence(*told), (), candidates, doubts)
        told += [self._can_mean(side), *side.says, *self._aside(side)]
        return Decision(OPEN, None, sentence(*told), (), side.taxa, doubts)

    def _wider(self, side: Side) -> str | None:
        """The usual meaning of a name that the knowledge has only as a nickname of another."""
        if side.reading.kind != cells.NAME:
            return None
        meaning = self._usual(side.reading.texts[0], side.read_as)
        if meaning is None:
            return None
        held = {str(self.desk.about(t).get("name")) for t in self._at_or_above(side.taxa)}
        return None if held & set(meaning.split(" and ")) | held & {meaning} else meaning

    def _usual(self, text: str, read_as: str | None) -> str | None:
        """What a mere nickname usually means, be it another fish or no fish at all."""
        if text not in self._meanings:
            name = read_as or text
            meaning = self.lexicon.elsewhere(name) or self.lexicon.no_fish(name)
            found = self.found(text) if meaning else None
            own = {"op:standard", "op:scientific", "op:synonym"}
            mere = found is not None and not own & {u["kind"] for u in found.uses}
            self._meanings[text] = meaning if mere else None
        return self._meanings[text]

    def _at_or_above(self, taxa: Sequence[str]) -> set[str]:
        return {u for t in taxa for u in (t, *self.desk.lineage(t))}

    def _name(self, side: Side) -> str:
        return side.read_as or ", ".join(side.reading.texts)

    def _how(self, side: Side) -> list[str]:
        told = list(side.reading.how)
        if side.read_as:
            told.append(f"“{side.reading.texts[0]}” read as “{side.read_as}”, spelt most like it")
        if side.reading.unsure:
            told.append("its writer was not sure")
        return told

    def _settled(self, side: Side) -> list[str]:
        assert side.head is not None
        label = self.desk.label(side.head)
        group = len(side.taxa) > 1
        told = f"“{self._name(side)}” means {'the whole group ' if group else ''}{label}"
        return [told, *self._aside(side)]

    def _aside(self, side: Side) -> list[str]:
        told = [f"{self.desk.label(taxon)} set aside, {says}" for taxon, says, _ in side.aside[:3]]
        more = len(side.aside) - 3
        return [*told, f"{more} more set aside"] if more > 0 else told

    def _can_mean(self, side: Side) -> str:
        labels = [self.desk.label(t) for t in side.taxa]
        if len(labels) > _MOST_TOLD:
            labels = [*labels[:_MOST_TOLD], f"{len(labels) - _MOST_TOLD} more"]
        several = side.reading.kind == cells.SEVERAL
        verb = "names" if several else "can mean"
        link = " and " if several else " or "
        listed = ", ".join(labels[:-1]) + link + labels[-1] if len(labels) > 1 else labels[0]
        return f"“{self._name(side)}” {verb} {listed}"

    # ---- two names of one row --------------------------------------------------------------

    def _together(self, one: Side, two: Side, judge: Judge) -> Decision:
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
                    by=("scientific-name",), remarks=sentence(alone.remarks, extra)
                )
            return alone._replace(remarks=sentence(alone.remarks, extra))
        if one.reading.kind == cells.SEVERAL or two.reading.kind == cells.SEVERAL:
            chosen = one if one.reading.kind == cells.SEVERAL else two
            return self._alone(chosen, judge)
        shared = self._shared(one.meant, two.meant)
        if not shared:
            return self._apart(one, two, judge)
        if len(shared) == 1 and self._only_nickname(one, two, shared[0]):
            return self._group_kept(one, two, shared[0], judge)
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

    def _only_nickname(self, one: Side, two: Side, taxon: str) -> bool:
        """True where a nickname would narrow the group that the scientific name means."""
        if two.head is None or two.head not in self.desk.lineage(taxon):
            return False
        founds = [f for f in map(self.found, one.reading.texts) if f is not None]
        return not any(u["t"] == taxon and u["kind"] in _OWN for f in founds for u in f.uses)

    def _group_kept(self, one: Side, two: Side, taxon: str, judge: Judge) -> Decision:
        """The group: a fish's nickname (kingfishes, garfishes) is used for its kin as well."""
        assert two.head is not None
        told = [*self._how(one), *self._how(two)]
        told += [f"“{self._name(two)}” means {self.desk.label(two.head)}"]
        told += [
            f"“{self._name(one)}” is a nickname of {self.desk.label(taxon)} and does not narrow it"
        ]
        doubts = tuple(dict.fromkeys(self._doubts(one, judge) + self._doubts(two, judge)))
        return Decision(SETTLED, two.head, sentence(*told), ("scientific-name",), doubts=doubts)

    def _agreed(self, one: Side, two: Side, taxon: str, judge: Judge) -> Decision:
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
        return Decision(SETTLED, taxon, sentence(*told), by, doubts=doubts)

    def _apart(self, one: Side, two: Side, judge: Judge) -> Decision:
        told = [*self._how(one), *self._how(two)]
        told.append(f"“{self._name(one)}” and “{self._name(two)}” have no fish in common")
        doubts = (*self._doubts(one, judge), "name-and-scientific-name-disagree")
        both = tuple(dict.fromkeys([*one.meant, *two.meant]))
        return Decision(OPEN, None, sentence(*told), (), both, doubts)

    def _unsupported(self, one: Side, two: Side, judge: Judge) -> Decision:
        """The scientific name is not known here: the common name alone would be a guess."""
        alone = self._alone(one, judge)
        if two.reading.kind == cells.NOT_FISH or alone.outcome == UNKNOWN:
            return alone
        extra = "the scientific name beside it is not known here, so it is left open"
        meant = one.meant or alone.candidates
        doubts = tuple(d for d in alone.doubts if d != "not-known-there")
        doubts += ("scientific-name-not-known",)
        return Decision(OPEN, None, sentence(alone.remarks, extra), (), meant, doubts)

    def _elsewhere(self, one: Side, two: Side, judge: Judge) -> Decision:
        """What the scientific name means is set aside by place or year."""
        told = [*self._how(one), *self._how(two), *self._aside(two)]
        aside = [t for t, _, _ in two.aside]
        both = tuple(dict.fromkeys([*one.meant, *aside]))
        doubts = dict.fromkeys(self._doubts(one, judge) + self._doubts(two, judge))
        return Decision(OPEN, None, sentence(*told), (), both, tuple(doubts))

    # ---- doubts ----------------------------------------------------------------------------

    def _doubts(self, side: Side, judge: Judge) -> tuple[str, ...]:
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
        if judge.only_in_the_sea(taxon) and judge.inland:
            return ("not-known-there",)
        held = [r for r in judge.ranges(taxon) if r["presence"] in ("op:native", "op:introduced")]
        apart = all(
            judge.places.relation(place, str(r["where"])) == APART
            for r in held
            for place in judge.asked
        )
        return ("not-known-there",) if held and judge.asked and apart else ()
