"""Which column holds what: guessed from its heading, told to the user, and overridable.

Knows: the headings in use, Darwin Core's own among them, and units written in headings.
Refuses to know: the values.
"""

import re
from collections.abc import Mapping, Sequence
from typing import NamedTuple

from opercle.errors import UsageError

_HEADINGS: dict[str, tuple[str, ...]] = {
    "name": (
        "verbatimidentification", "vernacularname", "commonname", "fishname", "speciescommonname",
        "speciesname", "species", "fish", "fishspecies", "name", "nmfsname", "common", "taxon",
        "taxonname", "spp", "speciescommon", "catch", "kind", "commonnm", "speciesnm", "spec",
        "kindoffish", "fishkind", "whatcaught",
    ),
    "scientific": (
        "scientificname", "verbatimscientificname", "sciname", "latinname", "scientific",
        "speciesscientificname", "binomial", "latin", "scientificnm", "speciesscientific",
        "acceptedscientificname", "taxonscientificname",
    ),
    "authorship": ("scientificnameauthorship", "author", "authorship"),
    "water": (
        "waterbody", "water", "waterbodyname", "lake", "lakename", "river", "rivername", "stream",
        "streamname", "waters", "watername", "lakepond", "lakeorstream", "verbatimlocality",
        "locality", "drainage", "basin", "riverorlake", "wherecaught", "waterfished",
    ),
    "state": (
        "state", "stateprovince", "province", "stateabbr", "statename", "stateabbreviation",
        "stateorprovince", "st", "statecode", "prov",
    ),
    "country": ("country", "countrycode", "nation"),
    "year": ("year", "surveyyear", "yr", "yearcollected", "sampleyear", "stockyear"),
    "date": (
        "eventdate", "date", "surveydate", "datecollected", "collectiondate", "sampledate", "day",
        "catchdate", "datestocked", "obsdate", "observationdate", "verbatimeventdate",
        "datecaught", "tripdate",
    ),
    "huc": ("huc", "huc2", "huc4", "huc6", "huc8", "huc10", "huc12", "hucid", "huccode",
            "hydrologicunit", "hydrologicunitcode", "huceightdigitcode"),
    "coast": ("coast", "coastorinland", "inlandorcoast", "coastinland", "marineorfreshwater",
              "freshormarine", "saltorfresh", "freshorsalt", "watertype"),
    "length": (
        "length", "totallength", "tl", "lengthmm", "lengthcm", "lengthin", "lengthinches", "tlmm",
        "tlcm", "tlin", "forklength", "fl", "flmm", "len", "fishlength", "lengthtotal",
        "totallengthmm", "totallengthcm", "totallengthin", "lengthtlmm", "lengthtlin",
    ),
    "weight": (
        "weight", "weightg", "weightkg", "weightlb", "weightlbs", "wt", "wtg", "wtkg", "wtlb",
        "mass", "massg", "masskg", "fishweight", "weightpounds", "weightgrams", "weightoz",
    ),
    "authority": (
        "authority", "namesaccordingto", "nameaccordingto", "nameslist", "namelist",
        "nomenclature", "taxonomicauthority", "accordingto", "taxonomy", "namesfollow",
    ),
}  # fmt: skip
ROLES = tuple(_HEADINGS)

_UNITS = {
    "mm": 0.1, "millimetres": 0.1, "millimeters": 0.1, "cm": 1.0, "centimetres": 1.0,
    "centimeters": 1.0, "m": 100.0, "in": 2.54, "inch": 2.54, "inches": 2.54,
    "ft": 30.48, "feet": 30.48,
}  # fmt: skip
_WEIGHTS = {
    "g": 0.001, "gram": 0.001, "grams": 0.001, "kg": 1.0, "kilograms": 1.0, "lb": 0.45359237,
    "lbs": 0.45359237, "pound": 0.45359237, "pounds": 0.45359237, "oz": 0.028349523125,
    "ounces": 0.028349523125,
}  # fmt: skip


class Columns(NamedTuple):
    """The headings and, by role, the place of the column that holds it; units as factors."""

    headings: tuple[str, ...]
    by_role: Mapping[str, int]
    chosen: frozenset[str]
    to_cm: float | None
    to_kg: float | None
    report: tuple[str, ...]

    def told(self) -> list[dict[str, str]]:
        """What each role was read from and whether it was guessed, for answers and pages."""
        return [
            {
                "holds": role,
                "column": self.headings[at],
                "how": "given" if role in self.chosen else "guessed",
            }
            for role, at in self.by_role.items()
        ]


def plain(heading: str) -> str:
    """A heading in bare lower-case letters and figures."""
    return re.sub(r"[^a-z0-9]+", "", heading.rsplit("/", 1)[-1].casefold())


def find(
    headings: Sequence[str],
    given: Mapping[str, str],
    length_unit: str | None = None,
    weight_unit: str | None = None,
) -> Columns:
    """Guess the columns. UsageError where one named is not there, or no column holds names."""
    roles: dict[str, int] = {}
    for role, wanted in given.items():
        roles[role] = _named(headings, role, wanted)
    bare = [plain(re.sub(r"\(.*?\)", "", h)) for h in headings]
    for role, known in _HEADINGS.items():
        if role not in roles:
            at = _guess(bare, known, set(roles.values()))
            if at is not None:
                roles[role] = at
    _mend(headings, roles, set(given))
    if "name" not in roles and "scientific" not in roles:
        raise UsageError(
            "No column looks as if it held names of fishes.",
            "columns: " + ", ".join(headings[:30]),
            "Name it with --name-column.",
        )
    report: list[str] = []
    doubled = sorted({h for h in headings if h and list(headings).count(h) > 1})
    if doubled:
        report.append("Headings that stand twice, the first one taken: " + ", ".join(doubled))
    to_cm = _unit("length", roles, headings, length_unit, _UNITS, report)
    to_kg = _unit("weight", roles, headings, weight_unit, _WEIGHTS, report)
    order = {r: roles[r] for r in ROLES if r in roles}
    return Columns(tuple(headings), order, frozenset(given), to_cm, to_kg, tuple(report))


def _named(headings: Sequence[str], role: str, wanted: str) -> int:
    for test in (lambda h: h == wanted, lambda h: plain(h) == plain(wanted)):
        found = [i for i, h in enumerate(headings) if test(h)]
        if found:
            return found[0]
    raise UsageError(
        f"There is no column “{wanted}”.",
        "columns: " + ", ".join(headings[:30]),
        f"Give --{role}-column one of these.",
    )


def _guess(bare: Sequence[str], known: Sequence[str], taken: set[int]) -> int | None:
    for word in known:
        for at, heading in enumerate(bare):
            if at not in taken and heading == word:
                return at
    return None


def _mend(headings: Sequence[str], roles: dict[str, int], given: set[str]) -> None:
    """A lone scientific name column is the name; a Darwin Core name column stands first."""
    if "name" in roles and "scientific" in roles and roles["name"] == roles["scientific"]:
        del roles["scientific"]
    if "name" not in roles and "scientific" in roles and "name" not in given:
        roles["name"] = roles.pop("scientific")


def _unit(
    role: str,
    roles: Mapping[str, int],
    headings: Sequence[str],
    given: str | None,
    units: Mapping[str, float],
    report: list[str],
) -> float | None:
    if role not in roles:
        return None
    if given is not None:
        if given.casefold() not in units:
            raise UsageError(
                f"“{given}” is not a unit of {role} known here.",
                f"--{role}-unit",
                "Use one of " + ", ".join(units) + ".",
            )
        return units[given.casefold()]
    heading = headings[roles[role]]
    words = re.findall(r"[a-z]+", heading.casefold())
    for word in reversed(words):
        if word in units and (len(words) > 1):
            return units[word]
    for unit in sorted(units, key=len, reverse=True):
        if plain(heading).endswith(unit) and plain(heading) not in ("length", "weight"):
            return units[unit]
    report.append(
        f"The unit of the column “{heading}” is not said, so no {role} is judged: "
        f"give --{role}-unit."
    )
    return None
