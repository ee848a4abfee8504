"""What would settle an open name: the water, the year, a character, or a word from its writer.

Knows: the question ``name``'s own advice, asked again for one example of each open name.
Refuses to know: whether anybody can still look at the fish.
"""

from typing import Any

from opercle import reading as spelling
from opercle.questions.bearers import Judge
from opercle.questions.name import asks, settle
from opercle.records import cells
from opercle.records.deciding import Decider
from opercle.records.digest import NameTold


class Adviser:
    """Gives advice on open and unknown names, the weightiest ones only: each costs a question."""

    def __init__(self, decider: Decider) -> None:
        self.desk = decider.desk
        self.decider = decider

    def settles(self, told: NameTold, places: list[str]) -> str:
        """One sentence on what would settle an open name; empty where nothing is known."""
        doubts = set(told.example["doubts"].split("|")) if told.example["doubts"] else set()
        if "several-fishes" in doubts:
            return "One row for each fish."
        if "scientific-name-not-known" in doubts:
            return "The scientific name in a local pack of names."
        if "name-and-scientific-name-disagree" in doubts:
            return "Whoever wrote the row: which of the two names is meant?"
        reading = self.decider.read(told.name or told.written)
        if reading.kind == cells.EITHER:
            return "The key to the short forms of this table, in a local pack of names."
        found = self.decider.found(reading.texts[0]) if reading.texts else None
        if found is None:
            return ""
        judge = Judge(self.desk, places, told.year or None)
        steps = asks(self.desk, settle(self.desk, judge, found).left, judge)
        return " ".join(self._told(step) for step in steps[:2])

    @staticmethod
    def _told(step: dict[str, Any]) -> str:
        tells = step.get("tells")
        if not tells:
            return str(step["how"])
        states = "; ".join(
            f"{taxon.split(' (')[0]}: {state}" for taxon, state in list(tells.items())[:3]
        )
        return f"{step['how']} ({states})"

    def nearest(self, name: str) -> str:
        """The known names spelt most like an unknown one."""
        near = spelling.nearest(spelling.normal(name)[:80], self.desk.keys, most=3)
        return ", ".join(n.key for n in near if n.score > 0.6)
