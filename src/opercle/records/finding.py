"""Finds what a cell's name is in use for, and refuses spellings that are no slips.

Knows: the desk's own look-up, kept so that a name is looked up once; where a likeness misleads.
Refuses to know: which use is meant.
"""

from rapidfuzz.distance import Levenshtein

from opercle import reading as spelling
from opercle.errors import OpercleError
from opercle.questions.desk import Desk, Found
from opercle.records import cells
from opercle.records.cells import Reader, Reading
from opercle.records.lexicon import Lexicon

_SAME_LETTERS = 0.95
_WORD_ALIKE = 0.8
_MOST_KEPT = 100_000


class Finder:
    """Reads cells and finds the uses of names in one snapshot."""

    def __init__(self, desk: Desk) -> None:
        self.desk = desk
        self.lexicon = Lexicon(desk)
        self.reader = Reader(self.lexicon)
        self._found: dict[str, Found | None] = {}
        self._years: dict[Reading, tuple[int, ...]] = {}

    def found(self, text: str) -> Found | None:
        """The uses of a name, as ``opercle name`` finds them; None where there are none."""
        if text in self._found:
            return self._found[text]
        found: Found | None = None
        if self.lexicon.known(text) or self.lexicon.near_enough(text):
            try:
                found = self.desk.find(text)
            except OpercleError:
                found = None
            if found is not None and found.read_as and not self._may_be(text, found):
                found = None
        if found is not None or len(self._found) < _MOST_KEPT:
            self._found[text] = found
        return found

    def _may_be(self, text: str, found: Found) -> bool:
        """False where a spelling is no slip: a real word of another fish, or another real name.

        Families and genera differ by few letters (Sphyrnidae, Sphyraenidae), so a scientific
        name is read as another only where its genus or its epithet is right.
        """
        assert found.read_as is not None
        written, read = spelling.normal(text).split(), found.key.split()
        scientific = any(u["kind"] in ("op:scientific", "op:synonym") for u in found.uses)
        if scientific:
            pairs = list(zip(written, read, strict=False))
            return len(written) == len(read) > 1 and (
                any(a == b for a, b in pairs)
                and all(spelling.likeness(a, b) >= _WORD_ALIKE for a, b in pairs)
            )
        changed = [w for w in written if w not in read]
        if any(self.lexicon.elsewhere(w) or w in self.lexicon.not_fish for w in changed):
            return False
        if len(written) == len(read) or float(found.read_as["score"]) >= _SAME_LETTERS:
            return True
        # one letter beside a space put in or left out: pumkinseed, pumpkin seed
        return Levenshtein.distance("".join(written), "".join(read)) == 1

    def years(self, reading: Reading) -> tuple[int, ...]:
        """The years at which what a reading can mean may change."""
        if reading.kind in (cells.NOTHING, cells.NOT_FISH, cells.UNFOUND):
            return ()
        if reading not in self._years:
            turns: set[int] = set()
            for text in reading.texts:
                found = self.found(text)
                for use in found.uses if found else ():
                    turns |= {use[k] for k in ("from", "published") if k in use}
                    turns |= {use["until"] + 1} if "until" in use else set()
            self._years[reading] = tuple(sorted(turns))
        return self._years[reading]

    def read(self, cell: str) -> Reading:
        """What a cell holds; all names under which nothing is known come out alike."""
        reading = self.reader.read(cell)
        if reading.kind == cells.NAME and self.found(reading.texts[0]) is None:
            return Reading(cells.UNFOUND, (), (), reading.unsure)
        return reading
