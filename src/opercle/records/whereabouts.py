"""Where a row was: water, hydrologic unit, state or province and country, as places known here.

Knows: how waters and states are written in tables, and unit codes by their prefix.
Refuses to know: which of several waters of one name is meant, where the state does not say.
"""

import re
from collections.abc import Sequence
from functools import cached_property
from typing import NamedTuple

from opercle import reading
from opercle.errors import OpercleError
from opercle.questions.desk import Desk
from opercle.questions.places import Places

_UNITS = "SELECT ?w ?code { ?w op:unitCode ?code }"
_KEYS = "SELECT DISTINCT ?key { ?x op:waterKind ?kind ; op:key ?key }"
_ENDS = {
    "r": "river", "riv": "river", "l": "lake", "lk": "lake", "p": "pond", "pd": "pond",
    "b": "brook", "bk": "brook", "cr": "creek", "crk": "creek", "ck": "creek", "str": "stream",
    "res": "reservoir", "rsvr": "reservoir", "br": "branch",
}  # fmt: skip
_STARTS = {"l": "lake", "lk": "lake", "ft": "fort", "st": "saint", "mt": "mount"}
_COAST = frozenset(
    ("coast", "coastal", "sea", "marine", "ocean", "salt", "saltwater", "salt water", "estuary",
     "estuarine", "brackish", "offshore", "inshore")
)  # fmt: skip
_INLAND = frozenset(("inland", "fresh", "freshwater", "fresh water"))
_SPLIT_STATE = re.compile(r"\s*[-,/(]\s*(?:east|west|north|south|central|atlantic|gulf)\b.*$", re.I)


class Where(NamedTuple):
    """The places a row lies in (prefixed names), and what was said of those left out.

    ``inland`` is True where the row says that it was taken in fresh water.
    """

    places: tuple[str, ...]
    notes: tuple[str, ...]
    inland: bool = False


class Whereabouts:
    """Reads places of one snapshot, each once."""

    def __init__(self, desk: Desk) -> None:
        self.desk = desk
        self.relations = Places(desk)
        self._lands: dict[str, str | None] = {}
        self._waters: dict[str, tuple[str, ...]] = {}

    def read(self, water: str, state: str, country: str, huc: str, coast: str = "") -> Where:
        """The places that the cells of one row name; ``notes`` tell what was not understood."""
        notes: list[str] = []
        lands: list[str] = []
        nation = self._nation(country) if country.strip() else None
        if country.strip() and nation is None:
            notes.append(f"no country “{country.strip()}” is known")
        region = self._region(state, nation) if state.strip() else None
        if state.strip() and region is None:
            notes.append(f"no state “{state.strip()}” is known")
        if nation and (region is None or nation not in self.relations.inside(region)):
            lands.append(nation)
        if region:
            lands.append(region)
        found = self._of_unit(huc, notes) if huc.strip() else None
        if found is None and water.strip():
            found = self._of_name(water, lands, notes)
        on_coast = self._coast(coast, notes)
        if found is None and on_coast:
            found = self._sea(lands, notes)
        places = [*([found] if found else []), *lands]
        return Where(tuple(places), tuple(notes), on_coast is False)

    # ---- coast -----------------------------------------------------------------------------

    def _coast(self, written: str, notes: list[str]) -> bool | None:
        """True for the coast, False for inland, None where nothing is said."""
        word = reading.normal(written)
        if not word:
            return None
        if word in _COAST or word in _INLAND:
            return word in _COAST
        notes.append(f"“{written.strip()}” says neither coast nor inland")
        return None

    def _sea(self, lands: Sequence[str], notes: list[str]) -> str | None:
        sea = self.relations.coast(lands)
        if sea is None and lands:
            where = ", ".join(self.desk.label(p) for p in lands)
            seas = any(self.relations.coasts(p) for p in lands)
            what = "lies on several seas" if seas else "has no coast that is known here"
            notes.append(f"{where} {what}")
        return sea

    # ---- land ------------------------------------------------------------------------------

    def _land(self, written: str) -> str | None:
        key = " ".join(written.split())
        if key not in self._lands:
            self._lands[key] = self._look_land(key)
        return self._lands[key]

    def _look_land(self, written: str) -> str | None:
        for form in (written, _SPLIT_STATE.sub("", written), written.replace(".", "")):
            try:
                meant = self.desk.state(form)
            except OpercleError:
                continue
            if len(meant) == 1:
                return meant[0]
        return None

    def _nation(self, country: str) -> str | None:
        """A country; two letters are its ISO code, not a state's (CA is Canada, not California)."""
        code = country.strip().upper()
        if re.fullmatch(r"[A-Z]{2}", code) and self.desk.label(f"pl:{code}") != f"pl:{code}":
            return f"pl:{code}"
        return self._land(country)

    def _region(self, state: str, nation: str | None) -> str | None:
        """A state; a two-letter code is a state of the country named, of the United States else."""
        code = state.strip().upper()
        if nation and re.fullmatch(r"[A-Z]{2,3}", code):
            found = self._land(f"{nation.removeprefix('pl:')}-{code}")
            if found:
                return found
        return self._land(state)

    # ---- waters ----------------------------------------------------------------------------

    def _of_name(self, written: str, lands: Sequence[str], notes: list[str]) -> str | None:
        meant = self._named(written)
        told = " ".join(written.split())
        if not meant:
            notes.append(f"the water “{told}” is not known here")
            return None
        there = [w for w in meant if self._may_lie(w, lands)]
        if not there:
            where = ", ".join(self.desk.label(p) for p in lands)
            notes.append(f"no “{told}” is known in {where}")
            return None
        if len(there) > 1:
            names = ", ".join(sorted(self.desk.label(w) for w in there))
            notes.append(f"“{told}” is the name of several waters ({names})")
            return None
        return there[0]

    def _may_lie(self, water: str, lands: Sequence[str]) -> bool:
        """True unless the water is known to reach other states than the one given."""
        reached = self.relations.reaches(water)
        return all(
            not reached
            or land in reached
            or any(land in self.relations.inside(r) for r in reached)
            or self.relations.relation(water, land) != "apart"
            for land in lands
        )

    def _named(self, written: str) -> tuple[str, ...]:
        key = reading.normal(written)
        if key not in self._waters:
            self._waters[key] = self._look_water(written)
        return self._waters[key]

    @cached_property
    def _keys(self) -> frozenset[str]:
        return frozenset(r["key"] for r in self.desk.snapshot.rows(_KEYS))

    def _is_water(self, form: str) -> bool:
        """True if the desk would find a water; asked first, since its refusal is slow."""
        key = reading.normal(form).removeprefix("the ")
        forms = (key, f"{key} river", f"{key} creek", f"lake {key}")
        return any(f.replace(" ", "") in self._keys for f in forms)

    def _look_water(self, written: str) -> tuple[str, ...]:
        for form in _forms(written):
            if not self._is_water(form):
                continue
            try:
                return tuple(self.desk.water(form))
            except OpercleError:
                continue
        return ()

    # ---- hydrologic units ------------------------------------------------------------------

    @cached_property
    def _units(self) -> dict[str, list[str]]:
        found: dict[str, list[str]] = {}
        for row in self.desk.snapshot.rows(_UNITS):
            found.setdefault(str(row["code"]), []).append(row["w"])
        return found

    def _of_unit(self, written: str, notes: list[str]) -> str | None:
        """The water of the longest known code that begins the one written.

        A code shorter than any known means the water that holds all whose codes it begins.
        """
        code = re.sub(r"\D", "", written.split(".")[0])
        if len(code) % 2:
            code = "0" + code
        for size in range(min(len(code), 12), 1, -1):
            waters = self._units.get(code[:size])
            if waters:
                held = self._largest(waters)
                if held is None:
                    notes.append(f"the unit {code} lies in several waters")
                return held
        under = [
            w for known, ws in self._units.items() if code and known.startswith(code) for w in ws
        ]
        held = self._largest(under) if under else None
        what = "takes in several waters" if under else "is that of no water known here"
        if held is None:
            notes.append(f"the unit “{written.strip()}” {what}")
        return held

    def _largest(self, waters: Sequence[str]) -> str | None:
        """The one that holds all the others; None if there is none."""
        for water in waters:
            if all(water == w or water in self.relations.inside(w) for w in waters):
                return water
        return None


def _forms(written: str) -> list[str]:
    """A water as written, then its words in full and turned round."""
    text = " ".join(written.split())
    forms = [text]
    inner = re.match(r"^(.*?)\s*\(([^)]*)\)\s*$", text)
    if inner:
        forms += [f"{inner.group(2)} {inner.group(1)}"]
    if "," in text:
        first, _, rest = text.partition(",")
        forms += [f"{rest.strip()} {first.strip()}"]
    more = []
    for form in forms:
        words = form.split()
        if len(words) > 1:
            last = words[-1].rstrip(".").lower()
            first = words[0].rstrip(".").lower()
            if last in _ENDS:
                more.append(" ".join([*words[:-1], _ENDS[last]]))
            if first in _STARTS:
                more.append(" ".join([_STARTS[first], *words[1:]]))
    return list(dict.fromkeys([*forms, *more]))
