"""What can be seen on a fish: the characters with their kinds, states and ways of looking.

Knows: counts, proportions and states; how each is made; which ones are habits.
Refuses to know: the fishes.
"""

from typing import NamedTuple

from opercle.questions.desk import Desk
from opercle.questions.values import Character, Values

COUNT, RATIO, STATE = "count", "ratio", "state"
HABITS = ("nest-guarding", "birth")
"""Characters of behaviour: true of the fish, but not to be seen on the fish in the hand."""

SPINES = ("anal-spines", "dorsal-spines", "pelvic-spines", "opercle-spines")


class Feature(NamedTuple):
    """A character with its kind, its states (address and label, in order) and how to judge it."""

    character: Character
    kind: str
    how: str
    states: tuple[tuple[str, str], ...]

    @property
    def key(self) -> str:
        """The hyphenated key."""
        return self.character.key

    @property
    def counts(self) -> bool:
        """True where misleading does not bar it from deciding."""
        return self.character.trust != "misleading"

    @property
    def dependable(self) -> bool:
        """True where it may rule out."""
        return self.character.trust == "dependable"


def features(desk: Desk, values: Values) -> dict[str, Feature]:
    """Every feature by key, in reading order."""
    kinds: dict[str, str] = {}
    how: dict[str, str] = {}
    states: dict[str, list[tuple[str, str]]] = {}
    for row in desk.query("features"):
        key = row["c"].removeprefix("c:")
        kinds[key] = row["kind"].removeprefix("op:").removesuffix("Character").lower()
        how[key] = row["how"]
        if "state" in row:
            states.setdefault(key, []).append((row["state"], row["stateLabel"]))
    return {
        key: Feature(character, kinds[key], how[key], tuple(states.get(key, ())))
        for key, character in values.characters.items()
        if key in kinds
    }
