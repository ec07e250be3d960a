"""The door through which people come in: sign in, sign out. Only where a team shares the workroom.

The session's word goes into a cookie that scripts cannot read, that other sites do not send, and that travels only
over TLS when the page itself does. Not covered: passwords and their limits (`sign_in`).
"""

from __future__ import annotations

from typing import Annotated

from fastapi import FastAPI, Request, Response
from pydantic import BaseModel, ConfigDict, Field

from loopwright.web.sign_in import COOKIE, LONGEST, SESSION_S, Sessions


class SignInWords(BaseModel):
    """What a person types to come in."""

    model_config = ConfigDict(extra="forbid")

    name: Annotated[str, Field(max_length=200)]
    password: Annotated[str, Field(max_length=LONGEST)]


def add_sign_in(api: FastAPI, sessions: Sessions) -> None:
    """Let people come in and go through this application."""

    @api.post("/sign-in", status_code=204)
    def sign_in(asked: SignInWords, request: Request) -> Response:
        """Begin a session."""
        address = request.client.host if request.client else "unknown"
        answer = Response(status_code=204)
        answer.set_cookie(
            COOKIE,
            sessions.sign_in(asked.name, asked.password, address),
            max_age=SESSION_S,
            httponly=True,
            samesite="strict",
            secure=request.url.scheme == "https",
        )
        return answer

    @api.post("/sign-out", status_code=204)
    def sign_out(request: Request) -> Response:
        """End the session."""
        sessions.sign_out(request)
        answer = Response(status_code=204)
        answer.delete_cookie(COOKIE)
        return answer
