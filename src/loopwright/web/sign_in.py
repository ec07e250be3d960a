"""Signing in, for a team that shares one workroom: who a request comes from, and what they may do.

Passwords are kept as argon2 hashes; a session is a random word in a cookie that scripts cannot read. Wrong passwords
are counted by name and by address, and past the limit both wait. Everything but the sign-in page and the framework's
own files needs a session; whoever may only look cannot change.
Not covered: transport (put a server with TLS in front for anything but a trusted network).
"""

from __future__ import annotations

import secrets
import time
from collections import defaultdict, deque
from collections.abc import Callable
from dataclasses import dataclass, field
from http.cookies import CookieError, SimpleCookie

from argon2 import PasswordHasher
from argon2.exceptions import InvalidHashError, VerifyMismatchError
from starlette.datastructures import Headers
from starlette.requests import HTTPConnection
from starlette.responses import PlainTextResponse, RedirectResponse
from starlette.types import ASGIApp, Receive, Scope, Send

from loopwright.problems import Problem
from loopwright.store.shelf import Shelf
from loopwright.store.values import Role

COOKIE = "loopwright_session"
SESSION_S = 12 * 3600
MOST_TRIES, TRIES_S = 5, 300
SHORTEST, LONGEST = 10, 200
OPEN_PATHS = ("/sign-in", "/api/sign-in", "/assets/", "/_nicegui/")

_hasher = PasswordHasher()
_NOBODY = _hasher.hash(secrets.token_hex(16))  # checked for unknown names, so that both answers take as long


@dataclass(frozen=True, slots=True)
class Signed:
    """A person who signed in."""

    name: str
    role: Role
    until: float


@dataclass(slots=True)
class Sessions:
    """Who is signed in, and how often somebody was wrong. `clock` gives seconds."""

    shelf: Shelf
    clock: Callable[[], float] = time.monotonic
    _by_word: dict[str, Signed] = field(default_factory=dict)
    _wrong: dict[str, deque[float]] = field(default_factory=lambda: defaultdict(deque))

    def sign_in(self, name: str, password: str, address: str) -> str:
        """The session word for a name and password.

        Raises:
            Problem: wrong, or too often wrong.
        """
        keys = (f"name {name.casefold()}", f"address {address}")
        for key in keys:
            self._wait_over(key)
        person = self.shelf.person(name)
        if not _matches(person.password_hash if person else _NOBODY, password) or person is None:
            for key in keys:
                self._wrong[key].append(self.clock())
            raise Problem("sign-in", "name and password do not belong together.", tries=["type both again"])
        for key in keys:
            self._wrong.pop(key, None)
        word = secrets.token_urlsafe(32)
        self._by_word[word] = Signed(person.name, person.role, self.clock() + SESSION_S)
        return word

    def _wait_over(self, key: str) -> None:
        wrong = self._wrong[key]
        while wrong and wrong[0] < self.clock() - TRIES_S:
            wrong.popleft()
        if not wrong:
            del self._wrong[key]
        elif len(wrong) >= MOST_TRIES:
            minutes = int((wrong[0] + TRIES_S - self.clock()) // 60) + 1
            raise Problem(
                "sign-in",
                f"wrong {len(wrong)} times in a row.",
                limit=f"{MOST_TRIES} tries in {TRIES_S // 60} minutes",
                tries=[f"wait {minutes} minutes"],
            )

    def of(self, connection: HTTPConnection) -> Signed | None:
        """The person of a request or socket; their role is read anew, so taking it away works at once."""
        word = _cookie(connection.headers)
        signed = self._by_word.get(word)
        if signed is None:
            return None
        person = self.shelf.person(signed.name)
        if person is None or signed.until < self.clock():
            del self._by_word[word]
            return None
        return Signed(person.name, person.role, signed.until)

    def sign_out(self, connection: HTTPConnection) -> None:
        """End the session of a request."""
        self._by_word.pop(_cookie(connection.headers), None)


def hash_of(password: str) -> str:
    """The argon2 hash of a password.

    Raises:
        Problem: too short or too long.
    """
    if not SHORTEST <= len(password) <= LONGEST:
        raise Problem(
            "password", f"it has {len(password)} signs.", limit=f"{SHORTEST} to {LONGEST}", tries=["a few words"]
        )
    return _hasher.hash(password)


def _matches(kept: str, password: str) -> bool:
    try:
        return _hasher.verify(kept, password[:LONGEST])
    except (VerifyMismatchError, InvalidHashError):
        return False


def _cookie(headers: Headers) -> str:
    try:
        morsel = SimpleCookie(headers.get("cookie", "")).get(COOKIE)
    except CookieError:
        return ""
    return morsel.value if morsel else ""


class SignedIn:
    """Lets through who is signed in; sends others to the sign-in page. Sockets of strangers are closed."""

    def __init__(self, app: ASGIApp, *, sessions: Sessions) -> None:
        self.app, self.sessions = app, sessions

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """One request or socket."""
        if scope["type"] not in ("http", "websocket"):
            await self.app(scope, receive, send)
            return
        path = scope["path"]
        person = self.sessions.of(HTTPConnection(scope))
        if person is None and not path.startswith(OPEN_PATHS):
            await _send_away(scope, receive, send)
            return
        changes = scope["type"] == "http" and scope["method"] not in ("GET", "HEAD", "OPTIONS")
        own_door = path.startswith(("/_nicegui", "/api/sign-"))
        if person is not None and person.role is not Role.EDIT and changes and not own_door:
            await PlainTextResponse("You may look, not change. Ask who keeps the shelf.", 403)(scope, receive, send)
            return
        await self.app(scope, receive, send)


async def _send_away(scope: Scope, receive: Receive, send: Send) -> None:
    if scope["type"] == "websocket":
        await receive()
        await send({"type": "websocket.close", "code": 1008})
    elif scope["path"].startswith("/api"):
        await PlainTextResponse("Sign in first.", 401)(scope, receive, send)
    else:
        await RedirectResponse("/sign-in", 303)(scope, receive, send)
