"""Identifies a fish on a terminal, one question at a time.

Knows: prompts, skip, undo, quit.
Refuses to know: which question is best; ``next[]`` of the answer says it.
"""

from collections.abc import Callable
from typing import TYPE_CHECKING, Any, NamedTuple

from opercle.answers import Answer
from opercle.errors import OpercleError, UnknownError

if TYPE_CHECKING:
    from opercle.knowledge import Knowledge

_HELP = "Enter or s: not seen, skip.  u: undo.  h: how to look.  q: stop and show what is left."
_NAMED = 6
NOT_SEEN = "not-seen"
_PLACES = ("water", "state")


class Said(NamedTuple):
    """One answer given: the question, and the value or ``not-seen``."""

    ask: str
    value: str


class Talk:
    """A conversation: what was said so far, and how to speak and listen."""

    def __init__(
        self,
        know: "Knowledge",
        places: dict[str, str | None],
        listen: Callable[[str], str] = input,
        speak: Callable[[str], None] = print,
    ) -> None:
        self.know = know
        self.places = places
        self.listen = listen
        self.speak = speak
        self.said: list[Said] = []

    def answer(self) -> Answer:
        """The identification from all that was said so far."""
        seen = {s.ask: s.value for s in self.said if s.ask not in _PLACES}
        places = dict(self.places)
        for said in self.said:
            if said.ask in _PLACES and said.value != NOT_SEEN:
                places[said.ask] = said.value
        return self.know.identify(
            seen,
            water=places.get("water"),
            state=places.get("state"),
            within=places.get("within"),
        )

    def next(self, answer: Answer) -> dict[str, Any] | None:
        """The best question not yet asked."""
        asked = {"water" if s.ask in _PLACES else s.ask for s in self.said}
        rows: list[dict[str, Any]] = answer.fields["next"]
        return next((r for r in rows if r["ask"] not in asked), None)

    def run(self) -> Answer:
        """Ask until one fish is left, nothing more would help, or the person stops."""
        self.speak(_HELP)
        answer = self.answer()
        while True:
            if answer.outcome == "none" and self._back(answer):
                answer = self.answer()
                continue
            row = self.next(answer) if answer.outcome == "open" else None
            if row is None or not self._ask(row, answer):
                return answer
            answer = self.answer()

    def _back(self, answer: Answer) -> bool:
        """Where nothing fits any more, offer to take the last answer back."""
        self.speak("")
        self.speak(answer.answer)
        try:
            text = self.listen("u takes the last answer back, Enter leaves it so.\n> ").strip()
        except EOFError:
            return False
        return text.lower() in ("u", "undo") and bool(self.said) and self._undo()

    def _ask(self, row: dict[str, Any], answer: Answer) -> bool:
        """Put one question; False if the person wants to stop."""
        self.speak("")
        self.speak(_left(answer))
        while True:
            try:
                text = self.listen(_prompt(row)).strip()
            except EOFError:
                return False
            word = text.lower()
            if word in ("q", "quit", "exit"):
                return False
            if word in ("u", "undo"):
                return self._undo()
            if word in ("h", "?", "how", "help"):
                self.speak(row["how"])
                self.speak(_HELP)
                continue
            if self._take(row, text):
                return True

    def _undo(self) -> bool:
        if self.said:
            gone = self.said.pop()
            self.speak(f"Taken back: {gone.ask.replace('-', ' ')}.")
        else:
            self.speak("There is nothing to take back.")
        return True

    def _take(self, row: dict[str, Any], text: str) -> bool:
        """Keep the answer if it can be right; else say what is wrong and ask again."""
        value = NOT_SEEN if text.lower() in ("", "s", "skip") else _chosen(row, text)
        if row["ask"] == "water":
            return self._kept(Said("water", value), quiet=True) or self._kept(Said("state", value))
        return self._kept(Said(row["ask"], value))

    def _kept(self, said: Said, quiet: bool = False) -> bool:
        """True if the answer can be right; else it is dropped, and unless quiet told why."""
        self.said.append(said)
        try:
            answer = self.answer()
        except OpercleError as error:
            self.said.pop()
            near = error.nearest if isinstance(error, UnknownError) else ()
            if not quiet:
                self.speak(str(error) + (f"\n  nearest: {', '.join(near)}" if near else ""))
            return False
        if answer.fields.get("waters"):
            self.said.pop()
            self.speak(answer.answer)
            return False
        return True


def _chosen(row: dict[str, Any], text: str) -> str:
    """A state by its number in the list, or the text itself."""
    states: list[str] = row["states"]
    if states and text.isdigit() and 1 <= int(text) <= len(states):
        return states[int(text) - 1]
    return text


def _prompt(row: dict[str, Any]) -> str:
    lines = [row["how"].split("?")[0] + "?"]
    lines += [f"  {i}. {label}" for i, label in enumerate(row["states"], 1)]
    return "\n".join(lines) + "\n> "


def _left(answer: Answer) -> str:
    kept = [c for c in answer.fields["candidates"] if c["standing"] != "against"]
    names = [c["vernacularName"] or c["scientificName"] for c in kept]
    if len(names) <= _NAMED:
        return f"{len(names)} left: {', '.join(names)}."
    return f"{len(names)} fishes are left."


def run(
    know: "Knowledge",
    *,
    water: str | None = None,
    state: str | None = None,
    within: str | None = None,
) -> int:
    """Ask on the terminal, then show the answer; returns the exit status."""
    from opercle.faces import text

    talk = Talk(know, {"water": water, "state": state, "within": within})
    answer = talk.run()
    print()
    text.show("identify", answer)
    return 0
