"""Answers of the API kept as bytes for those who ask the same again, with their tag.

Knows: that an answer changes only with the knowledge, so that a tag needs no answer; how many
bytes are kept; who may read (everybody: nothing here is secret and nothing can be changed).
Refuses to know: what is answered.
"""

import zlib
from collections import OrderedDict
from typing import Any

from starlette.datastructures import Headers, MutableHeaders
from starlette.types import ASGIApp, Message, Receive, Scope, Send

from opercle.faces.web import negotiate

JSON, LINKED = "application/json", "application/ld+json"
MOST = 64_000_000
_LARGEST = 4_000_000
_OPEN = (
    (b"access-control-allow-origin", b"*"),
    (b"access-control-expose-headers", b"ETag, Link"),
)
_ASKED = (
    (b"access-control-allow-methods", b"GET, HEAD, OPTIONS"),
    (b"access-control-allow-headers", b"*"),
    (b"access-control-max-age", b"86400"),
)
_Kept = tuple[list[tuple[bytes, bytes]], bytes]


class Kept:
    """The API with its answers kept; ``snapshot`` is the hash of the knowledge."""

    def __init__(self, app: ASGIApp, snapshot: str, most: int = MOST) -> None:
        self.app, self.snapshot, self.most = app, snapshot, most
        self.size = 0
        self._held: OrderedDict[str, _Kept] = OrderedDict()

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """One request."""
        if scope["type"] != "http":
            await self.app(scope, receive, send)
            return
        headers = Headers(scope=scope)
        if scope["method"] == "OPTIONS" and "access-control-request-method" in headers:
            start = {"status": 204, "headers": [*_OPEN, *_ASKED]}
            await send({"type": "http.response.start", **start})
            await send({"type": "http.response.body", "body": b""})
            return
        media = negotiate.choose(headers.get("accept"), (JSON, LINKED)) or JSON
        key = f"{scope['path']}?{scope.get('query_string', b'').decode('latin-1')} {media}"
        tag = f'"{self.snapshot}-{zlib.crc32(key.encode()):08x}"'
        scope.setdefault("state", {})["media"] = media
        head = scope["method"] == "HEAD"
        if head:
            scope, send = {**scope, "method": "GET"}, _bodiless(send)
        if scope["method"] != "GET":
            await self.app(scope, receive, self._opened(send))
        elif key in self._held and tag in headers.get("if-none-match", ""):
            await _reply(send, 304, [(b"etag", tag.encode())], b"")
        elif key in self._held:
            self._held.move_to_end(key)
            kept, body = self._held[key]
            await _reply(send, 200, list(kept), body)  # a copy: others add headers to it
        else:
            await self.app(scope, receive, self._noted(send, key, tag, headers))

    @staticmethod
    def _opened(send: Send) -> Send:
        async def opened(message: Message) -> None:
            if message["type"] == "http.response.start":
                message = {**message, "headers": [*message.get("headers", []), *_OPEN]}
            await send(message)

        return opened

    def _noted(self, send: Send, key: str, tag: str, asked: Headers) -> Send:
        """Send on with a tag, and keep what was a whole answer."""
        parts: list[bytes] = []
        start: dict[str, Any] = {}

        async def noted(message: Message) -> None:
            if message["type"] == "http.response.start":
                start.update(message)
                headers = MutableHeaders(raw=[*message.get("headers", []), *_OPEN])
                headers.append("vary", "Accept")
                if message["status"] == 200:
                    headers["etag"] = tag
                    headers["cache-control"] = "no-cache"
                start["headers"] = headers.raw
                return
            parts.append(message.get("body", b""))
            if message.get("more_body"):
                return
            body = b"".join(parts)
            if start["status"] == 200:
                self._keep(key, start["headers"], body)
                if tag in asked.get("if-none-match", ""):
                    await _reply(send, 304, [(b"etag", tag.encode())], b"")
                    return
            await send(start)
            await send({"type": "http.response.body", "body": body})

        return noted

    def _keep(self, key: str, headers: list[tuple[bytes, bytes]], body: bytes) -> None:
        if len(body) > _LARGEST:
            return
        _, before = self._held.pop(key, ([], b""))
        self.size -= len(before)
        self._held[key] = (list(headers), body)
        self.size += len(body)
        while self.size > self.most:
            _, (_, old) = self._held.popitem(last=False)
            self.size -= len(old)


def _bodiless(send: Send) -> Send:
    async def bodiless(message: Message) -> None:
        if message["type"] == "http.response.body":
            message = {**message, "body": b""}
        await send(message)

    return bodiless


async def _reply(send: Send, status: int, headers: list[tuple[bytes, bytes]], body: bytes) -> None:
    if status == 304:
        headers = [*headers, *_OPEN, (b"vary", b"Accept"), (b"cache-control", b"no-cache")]
    await send({"type": "http.response.start", "status": status, "headers": headers})
    await send({"type": "http.response.body", "body": body})
