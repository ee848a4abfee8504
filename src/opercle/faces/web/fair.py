"""A fair share for every client: so many requests a second, and so many at once.

Knows: clients by the address they come from, and how much of its share each has left.
Refuses to know: who a client is, and headers that say so; anybody can write those.
"""

import time
from collections import Counter, OrderedDict
from typing import NamedTuple

from starlette.responses import PlainTextResponse
from starlette.types import ASGIApp, Receive, Scope, Send

_CLIENTS = 10_000
_FREE = ("/health", "/static/")


class Share(NamedTuple):
    """What one client may ask of one server process: a second, in a burst, and at once.

    ``per_second`` 0 sets no limit.
    """

    per_second: float = 100.0
    burst: float = 600.0
    at_once: int = 60


def share(per_second: float) -> Share:
    """The share for so many requests a second: six seconds' worth may come in a burst."""
    return Share(per_second, max(1.0, per_second * 6))


class Fair:
    """Refuses with 429 what is more than a client's share; it may come again soon."""

    def __init__(self, app: ASGIApp, share: Share) -> None:
        self.app, self.share = app, share
        self._left: OrderedDict[str, tuple[float, float]] = OrderedDict()
        self._open: Counter[str] = Counter()

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """One request."""
        client = scope.get("client")
        free = scope["type"] != "http" or scope["path"].startswith(_FREE)
        if free or client is None or not self.share.per_second:
            await self.app(scope, receive, send)
            return
        host = client[0]
        if self._open[host] >= self.share.at_once or not self._taken(host, time.monotonic()):
            says = "More was asked than one client may ask at a time; ask again in a moment.\n"
            await PlainTextResponse(says, 429, {"Retry-After": "1"})(scope, receive, send)
            return
        self._open[host] += 1
        try:
            await self.app(scope, receive, send)
        finally:
            self._open[host] -= 1
            if not self._open[host]:
                del self._open[host]

    def _taken(self, host: str, now: float) -> bool:
        """Take one request from what a client has left; False if nothing is left."""
        left, then = self._left.pop(host, (self.share.burst, now))
        left = min(self.share.burst, left + (now - then) * self.share.per_second)
        enough = left >= 1
        self._left[host] = (left - 1 if enough else left, now)
        if len(self._left) > _CLIENTS:
            self._left.popitem(last=False)
        return enough
