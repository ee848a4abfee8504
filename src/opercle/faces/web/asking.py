"""The one door, with its answers kept for those who ask the same again.

Knows: how many answers are kept, and that knowledge is opened once and read by many threads.
Refuses to know: any answer.
"""

import threading
from collections import OrderedDict
from collections.abc import Callable
from typing import Any

from opercle.answers import Answer
from opercle.knowledge import Knowledge

_KEPT = 512
LONGEST = 200
"""No name is longer, in characters."""
_EVERY = ("name", "really", "why", "account", "compare", "identify", "key", "prove", "status",
          "draw")  # fmt: skip


class Asking:
    """Asks one Knowledge; equal questions are answered from what is kept."""

    def __init__(self, know: Knowledge) -> None:
        self.know = know
        self._kept: OrderedDict[Any, Answer] = OrderedDict()
        self._lock = threading.Lock()
        self._soon: dict[str, Answer | None] = {}

    def ask(self, command: str, *args: Any, **options: Any) -> Answer:
        """The answer of the door's method ``command``; raises OpercleError as it does."""
        if command not in _EVERY:
            raise ValueError(command)
        key = (command, args, tuple(sorted((k, _fixed(v)) for k, v in options.items())))
        with self._lock:
            if key in self._kept:
                self._kept.move_to_end(key)
                return self._kept[key]
        method: Callable[..., Answer] = getattr(self.know, command)
        found = method(*args, **options)
        with self._lock:
            self._kept[key] = found
            if len(self._kept) > _KEPT:
                self._kept.popitem(last=False)
        return found

    def soon(self, command: str) -> Answer | None:
        """The answer once it is known; else None, and it is being found out meanwhile."""
        with self._lock:
            first = command not in self._soon
            kept = self._soon.setdefault(command, None)
        if first:
            threading.Thread(target=self._find, args=(command,), daemon=True).start()
        return kept

    def _find(self, command: str) -> None:
        self._soon[command] = self.ask(command)


def _fixed(value: Any) -> Any:
    return tuple(sorted(value.items())) if isinstance(value, dict) else value


def clipped(text: str | None) -> str | None:
    """What a visitor wrote, without space round it and no longer than any name; None if empty."""
    plain = (text or "").strip()[:LONGEST]
    return plain or None
