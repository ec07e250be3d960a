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
from datetime import datetime
from http.cookies import CookieError, SimpleCookie
from threading import Lock

from argon2 import PasswordHasher
from argon2.exceptions import InvalidHashError, VerifyMismatchError
from starlette.datastructures import Headers
from starlette.requests import HTTPConnection
from starlette.responses import PlainTextResponse, RedirectResponse
from starlette.types import ASGIApp, Message, Receive, Scope, Send

from loopwright.problems import Problem
from loopwright.store.rows import one_line
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
    """A person who signed in; `made_at` tells them from another who was given the same name later."""

    name: str
    role: Role
    until: float
    made_at: datetime


@dataclass(slots=True)
class Sessions:
    """Who is signed in, and how often somebody was wrong. `clock` gives seconds."""

    shelf: Shelf
    clock: Callable[[], float] = time.monotonic
    _by_word: dict[str, Signed] = field(default_factory=dict)
    _wrong: dict[str, deque[float]] = field(default_factory=lambda: defaultdict(deque))
    _one_at_a_time: Lock = field(default_factory=Lock)

    def sign_in(self, name: str, password: str, address: str) -> str:
        """The session word for a name and password. Many tries at once are counted one after the other.

        Raises:
            Problem: wrong, or too often wrong.
        """
        with self._one_at_a_time:
            return self._sign_in(one_line(name), password, address)

    def _sign_in(self, name: str, password: str, address: str) -> str:
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
        self._by_word[word] = Signed(person.name, person.role, self.clock() + SESSION_S, person.made_at)
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
        if person is None or person.made_at != signed.made_at or signed.until < self.clock():
            self._by_word.pop(word, None)
            return None
        return Signed(person.name, person.role, signed.until, signed.made_at)

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
        if scope["type"] == "websocket":
            line = _OpenLine(self.sessions, HTTPConnection(scope), receive, send)
            receive, send = line.receive, line.send
        await self.app(scope, receive, send)


class _OpenLine:
    """A socket that stays open only as long as its person is signed in: asked again at every message."""

    def __init__(self, sessions: Sessions, connection: HTTPConnection, receive: Receive, send: Send) -> None:
        self.sessions, self.connection, self._receive, self._send = sessions, connection, receive, send
        self.is_closed = False

    async def receive(self) -> Message:
        """The next message of a person who is still signed in; else that they are gone."""
        message = await self._receive()
        return message if await self._holds() else {"type": "websocket.disconnect", "code": 1008}

    async def send(self, message: Message) -> None:
        """Tell a person who is still signed in; nobody else hears anything."""
        if await self._holds():
            await self._send(message)

    async def _holds(self) -> bool:
        if not self.is_closed and self.sessions.of(self.connection) is None:
            self.is_closed = True
            await self._send({"type": "websocket.close", "code": 1008})
        return not self.is_closed


async def _send_away(scope: Scope, receive: Receive, send: Send) -> None:
    if scope["type"] == "websocket":
        await receive()
        await send({"type": "websocket.close", "code": 1008})
    elif scope["path"].startswith("/api"):
        await PlainTextResponse("Sign in first.", 401)(scope, receive, send)
    else:
        await RedirectResponse("/sign-in", 303)(scope, receive, send)
