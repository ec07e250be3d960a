"""The page on which a person of the team signs in: plain HTML, as the page's framework needs a socket to live."""

from __future__ import annotations

from fastapi import Response
from fastapi.responses import HTMLResponse
from nicegui import app

from loopwright import __version__
from loopwright.report.html import logo
from loopwright.web.house import House


def register(house: House) -> None:
    """The sign-in page, where people sign in at all."""
    if house.sessions is None:
        return

    @app.get("/sign-in", include_in_schema=False)
    def sign_in_page() -> Response:
        return HTMLResponse(PAGE)


PAGE = f"""<!doctype html>
<html lang="en"><head><meta charset="utf-8"><title>Sign in · Loopwright</title>
<meta name="viewport" content="width=device-width, initial-scale=1">
<link rel="stylesheet" href="/assets/{__version__}/workroom.css">
<script type="module" src="/assets/{__version__}/sign_in.js"></script></head>
<body><main class="room"><header class="brief"><p class="mark"><a href="/">{logo()} Loopwright</a></p><h1>Sign in</h1>
<p class="subtitle">this workroom is shared</p></header>
<div class="study"><p class="lede">Say who you are. What you change carries your name.</p>
<form class="plain-form" action="/api/sign-in" method="post">
<label><span>Name</span><input name="name" autocomplete="username" required></label>
<label><span>Password</span><input name="password" type="password" autocomplete="current-password" required></label>
<p class="why-not" role="alert"></p><p><button class="button filled">Sign in</button></p></form></div></main></body>
</html>
"""
