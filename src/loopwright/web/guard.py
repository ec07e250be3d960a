"""What stands in front of every request: who may speak to us, how much they may send, what the page may load.

The program listens on the person's own machine, yet any page open in the same browser can send it requests. So every
request, sockets included, must name a host that is ours; one that says where it comes from must come from ourselves;
one that changes something must be JSON from our own page or a plain program; bodies are counted as they arrive.
Not covered: who the person is (`sign_in`).
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping

from starlette.datastructures import Headers, MutableHeaders
from starlette.exceptions import HTTPException
from starlette.responses import PlainTextResponse
from starlette.types import ASGIApp, Message, Receive, Scope, Send

from loopwright.store.photos import MOST_BYTES as MOST_OF_A_PHOTO

MOST_BYTES = 32_000_000  # a backup of a large shelf; everything else is far smaller
PHOTOS = re.compile(r"/api/items/[0-9]{1,10}/photos")
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
        send = _with_headers(send)
        refusal = self.refusal(scope)
        if refusal is not None:
            await _refuse(refusal, scope, receive, send)
            return
        counted = _Counted(receive, self.most_at(scope))
        try:
            await self.app(scope, counted if scope["type"] == "http" else receive, send)
        except TooLarge as large:
            await _refuse((large.status_code, large.detail), scope, receive, send)

    def refusal(self, scope: Scope) -> tuple[int, str] | None:
        """Status and words when a request is not ours to answer."""
        headers = Headers(scope=scope)
        host = ", ".join(headers.getlist("host"))
        if _name_of(host) not in self.hosts:
            return 403, f"This workroom does not answer to the name “{host[:100]}”."
        if any(not _is_from(host, origin) for origin in headers.getlist("origin")):
            return 403, "A page from elsewhere may not speak to this workroom."
        changes = scope["type"] == "http" and scope["method"] in CHANGING and not scope["path"].startswith("/_nicegui")
        if changes and headers.get("sec-fetch-site", "same-origin") not in ("same-origin", "none"):
            return 403, "A page from elsewhere may not change anything here."
        if changes and headers.get("content-type", "").partition(";")[0].strip().casefold() not in PLAIN_TYPES:
            return 415, "Changes are sent as JSON, files as application/octet-stream."
        most_bytes = self.most_at(scope)
        if any(not _is_at_most(most_bytes, length) for length in headers.getlist("content-length")):
            return 413, _too_large(most_bytes)
        return None

    def most_at(self, scope: Scope) -> int:
        """The longest body at an address: only the door of pictures takes more than the rest."""
        is_photo = PHOTOS.fullmatch(scope.get("path", "")) is not None
        return max(self.most_bytes, MOST_OF_A_PHOTO) if is_photo else self.most_bytes


PLAIN_TYPES = frozenset({"application/json", "application/octet-stream"})


class TooLarge(HTTPException):
    """A body ran past the limit while it was read; an HTTP answer, so that no reader takes it for a torn body."""


class _Counted:
    """Counts what is received, whatever the length header said."""

    def __init__(self, receive: Receive, most_bytes: int) -> None:
        self.receive, self.most_bytes, self.left = receive, most_bytes, most_bytes

    async def __call__(self) -> Message:
        message = await self.receive()
        self.left -= len(message.get("body", b""))
        if self.left < 0:
            raise TooLarge(413, _too_large(self.most_bytes))
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


_HOST = re.compile(r"(?:([a-z0-9._-]+)|\[([0-9a-f:.]+)\])(?::[0-9]{1,5})?", re.ASCII | re.IGNORECASE)
_LENGTH = re.compile(r"[0-9]{1,18}", re.ASCII)


def _name_of(host: str) -> str:
    """The name of a Host header without its port; empty when it is anything but a name and a port."""
    read = _HOST.fullmatch(host)
    return (read[1] or read[2]).casefold() if read else ""


def _is_from(host: str, origin: str) -> bool:
    """Whether a page's origin is the host that it speaks to."""
    return origin.casefold() in (f"http://{host}".casefold(), f"https://{host}".casefold())


def _is_at_most(most_bytes: int, length: str) -> bool:
    """Whether a stated length is a number within the limit."""
    return _LENGTH.fullmatch(length) is not None and int(length) <= most_bytes


def _too_large(most_bytes: int) -> str:
    return f"That is larger than {most_bytes / 1_000_000:g} MB, more than anything here needs."
