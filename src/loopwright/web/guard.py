"""What stands in front of every request: who may speak to us, how much they may send, what the page may load.

The program listens on the person's own machine, yet any page open in the same browser can send it requests. So every
request, sockets included, must name a host that is ours; one that says where it comes from must come from ourselves;
one that changes something must be JSON from our own page or a plain program; bodies are counted as they arrive.
Not covered: who the person is (`sign_in`).
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from urllib.parse import urlsplit

from starlette.datastructures import Headers, MutableHeaders
from starlette.responses import PlainTextResponse
from starlette.types import ASGIApp, Message, Receive, Scope, Send

MOST_BYTES = 32_000_000  # a backup of a large shelf; everything else is far smaller
OWN_NAMES = frozenset({"localhost", "127.0.0.1", "::1"})
CHANGING = frozenset({"POST", "PUT", "PATCH", "DELETE"})

# The page's framework compiles its templates in the page, which needs the two unsafe words; nothing comes from outside.
POLICY = (
    "default-src 'self'; script-src 'self' 'unsafe-inline' 'unsafe-eval'; style-src 'self' 'unsafe-inline'; "
    "img-src 'self' data: blob:; font-src 'self' data:; connect-src 'self' ws: wss:; object-src 'none'; "
    "base-uri 'self'; form-action 'self'; frame-ancestors 'none'"
)
HEADERS: Mapping[str, str] = {
    "content-security-policy": POLICY,
    "x-content-type-options": "nosniff",
    "referrer-policy": "same-origin",
    "cross-origin-opener-policy": "same-origin",
    "cross-origin-resource-policy": "same-origin",
}


class Guard:
    """Refuses foreign hosts, foreign origins, disguised forms and bodies beyond the limit; adds the page's policy."""

    def __init__(self, app: ASGIApp, *, hosts: Iterable[str] = (), most_bytes: int = MOST_BYTES) -> None:
        self.app = app
        self.hosts = OWN_NAMES | {host.casefold() for host in hosts}
        self.most_bytes = most_bytes

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """One request or socket."""
        if scope["type"] not in ("http", "websocket"):
            await self.app(scope, receive, send)
            return
        refusal = self.refusal(scope)
        if refusal is not None:
            await _refuse(refusal, scope, receive, send)
            return
        counted = _Counted(receive, self.most_bytes)
        try:
            await self.app(scope, counted if scope["type"] == "http" else receive, _with_headers(send))
        except TooLarge:
            await _refuse(self._too_large(), scope, receive, send)

    def refusal(self, scope: Scope) -> tuple[int, str] | None:
        """Status and words when a request is not ours to answer."""
        headers = Headers(scope=scope)
        host = headers.get("host", "")
        if _name_of(host) not in self.hosts:
            return 403, f"This workroom does not answer to the name “{host[:100]}”."
        origin = headers.get("origin")
        if origin is not None and urlsplit(origin).netloc.casefold() != host.casefold():
            return 403, "A page from elsewhere may not speak to this workroom."
        changes = scope["type"] == "http" and scope["method"] in CHANGING and not scope["path"].startswith("/_nicegui")
        if changes and headers.get("sec-fetch-site", "same-origin") not in ("same-origin", "none"):
            return 403, "A page from elsewhere may not change anything here."
        if changes and headers.get("content-type", "").partition(";")[0].strip() not in PLAIN_TYPES:
            return 415, "Changes are sent as JSON, files as application/octet-stream."
        length = headers.get("content-length", "0")
        if not length.isdigit() or int(length) > self.most_bytes:
            return self._too_large()
        return None

    def _too_large(self) -> tuple[int, str]:
        return 413, f"That is larger than {self.most_bytes // 1_000_000} MB, more than anything here needs."


PLAIN_TYPES = frozenset({"application/json", "application/octet-stream"})


class TooLarge(Exception):
    """A body ran past the limit while it was read."""


class _Counted:
    """Counts what is received, whatever the length header said."""

    def __init__(self, receive: Receive, most_bytes: int) -> None:
        self.receive, self.left = receive, most_bytes

    async def __call__(self) -> Message:
        message = await self.receive()
        self.left -= len(message.get("body", b""))
        if self.left < 0:
            raise TooLarge
        return message


def _with_headers(send: Send) -> Send:
    async def sending(message: Message) -> None:
        if message["type"] == "http.response.start":
            headers = MutableHeaders(scope=message)
            for name, value in HEADERS.items():
                headers.setdefault(name, value)
        await send(message)

    return sending


async def _refuse(refusal: tuple[int, str], scope: Scope, receive: Receive, send: Send) -> None:
    status, words = refusal
    if scope["type"] == "websocket":
        await receive()
        await send({"type": "websocket.close", "code": 1008})
        return
    await PlainTextResponse(words, status)(scope, receive, send)


def _name_of(host: str) -> str:
    """The name of a Host header without its port; empty when it cannot be read."""
    try:
        return (urlsplit(f"//{host}").hostname or "").casefold()
    except ValueError:
        return ""
