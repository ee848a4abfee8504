"""The names of an older list, written beside the names followed here.

Knows: which name a list gave a taxon, and which scientific name was in use in a year.
Refuses to know: names that no source here gives; such cells stay empty.
"""

from typing import Any

from opercle.answers import listed
from opercle.errors import UnknownError
from opercle.questions.desk import FIRST_YEAR, Desk, node

_LISTS = """SELECT ?list ?title ?date { ?list a op:NamesList ; dcterms:title ?title ;
  dcterms:date ?date } ORDER BY ?date"""
_USES = """SELECT ?t ?form ?kind ?from ?until ?list ?followed ?published {
  ?use op:means ?t ; op:name ?n ; op:kind ?kind . ?n skosxl:literalForm ?form .
  OPTIONAL { ?use op:from ?from } OPTIONAL { ?use op:until ?until }
  OPTIONAL { ?use op:inList ?list } OPTIONAL { ?use op:followed ?followed }
  OPTIONAL { ?n op:year ?published }
  MINUS { ?use op:doubted ?doubt } } ORDER BY ?form"""


class Older:
    """Names by one list or one year. ``year`` is the list's own year, or the year asked for."""

    def __init__(self, desk: Desk, wanted: str) -> None:
        self.desk = desk
        self.year, self.title, self.source = self._meant(wanted)

    def _meant(self, wanted: str) -> tuple[int, str, str | None]:
        lists = self.desk.snapshot.rows(_LISTS)
        if wanted.isdigit() and FIRST_YEAR <= int(wanted) <= 2100:
            year = int(wanted)
            by_then = [r for r in lists if int(str(r["date"])[:4]) <= year]
            source = by_then[-1]["list"] if by_then else None
            return year, f"the year {year}", source
        key = wanted.casefold().replace(" ", "-").removeprefix("src:")
        for row in lists:
            if key in (row["list"].removeprefix("src:"), str(row["title"]).casefold()):
                return int(str(row["date"])[:4]), str(row["title"]), row["list"]
        known = listed([r["list"].removeprefix("src:") for r in lists], "or")
        raise UnknownError(
            f"No names list “{wanted}” is known.", "--names-by", f"Use {known}, or a year."
        )

    def names(self, taxon: str) -> tuple[str | None, str | None]:
        """The taxon's scientific and common name then; None where no source says."""
        uses = self.desk.snapshot.rows(_USES, t=node(taxon))
        return self._pick(uses, ("op:scientific", "op:synonym")), self._pick(uses, ("op:standard",))

    def _pick(self, uses: list[dict[str, Any]], kinds: tuple[str, ...]) -> str | None:
        mine = [u for u in uses if u["kind"] in kinds]
        listed_so = [u for u in mine if self.source is not None and u.get("list") == self.source]
        held = [u for u in mine if self._held(u)]
        if listed_so:
            return str(listed_so[0]["form"])
        ended = [u for u in held if "until" in u]
        if ended:
            return str(min(ended, key=lambda u: u["until"])["form"])
        current = [u for u in held if u.get("followed") or u["kind"] == "op:scientific"]
        return str(current[0]["form"]) if current else None

    def _held(self, use: dict[str, Any]) -> bool:
        """True if the use is not known to have begun later or ended before."""
        if use.get("from", self.year) > self.year or use.get("published", self.year) > self.year:
            return False
        return bool(use.get("until", self.year) >= self.year)
