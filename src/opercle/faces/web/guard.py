"""What every response carries and every request must keep to.

Knows: security headers and the largest request.
Refuses to know: pages and answers.
"""

import logging

from starlette.datastructures import MutableHeaders
from starlette.responses import PlainTextResponse
from starlette.types import ASGIApp, Message, Receive, Scope, Send

POLICY = (
    "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self'; font-src 'self'; "
    "connect-src 'self'; form-action 'self'; base-uri 'none'; frame-ancestors 'none'"
)
PICTURE_POLICY = "default-src 'none'; sandbox"
_HEADERS = {
    "Content-Security-Policy": POLICY,
    "X-Content-Type-Options": "nosniff",
    "Referrer-Policy": "same-origin",
    "X-Frame-Options": "DENY",
    "Cross-Origin-Opener-Policy": "same-origin",
    "Permissions-Policy": "camera=(), geolocation=(), microphone=()",
}
LONGEST_ADDRESS = 64_000
BROKEN = "Something is wrong in the server; the question was not answered.\n"
_log = logging.getLogger("uvicorn.error")


class Guard:
    """Adds the headers that a response lacks, refuses long addresses, ends a fault quietly."""

    def __init__(self, app: ASGIApp) -> None:
        self.app = app

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """One request."""
        if scope["type"] != "http":
            await self.app(scope, receive, send)
            return

        begun = False

        async def guarded(message: Message) -> None:
            nonlocal begun
            if message["type"] == "http.response.start":
                begun = True
                headers = MutableHeaders(scope=message)
                for name, value in _HEADERS.items():
                    headers.setdefault(name, value)
            await send(message)

        long = len(scope.get("query_string", b"")) + len(scope.get("raw_path") or b"")
        if long > LONGEST_ADDRESS:
            says = f"The address is longer than {LONGEST_ADDRESS} bytes; post the query instead.\n"
            await PlainTextResponse(says, 414)(scope, receive, guarded)
            return
        try:
            await self.app(scope, receive, guarded)
        except Exception as error:
            _log.error("%s: %s: %s", scope["path"][:200], type(error).__name__, error)
            if not begun:
                await PlainTextResponse(BROKEN, 500)(scope, receive, guarded)
