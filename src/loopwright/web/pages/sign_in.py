"""The page on which a person of the team signs in."""

from __future__ import annotations

from nicegui import ui

from loopwright.web.elements import Part, Wires
from loopwright.web.frame import frame
from loopwright.web.house import House


def register(house: House) -> None:
    """The sign-in page, where people sign in at all."""
    if house.sessions is None:
        return

    @ui.page("/sign-in")
    def sign_in_page() -> None:
        with frame("Sign in", here="", help_page="team") as aside:
            with aside:
                Part("about", "<h1>Sign in</h1><p class='subtitle'>this workroom is shared</p>")
            Part("lede", '<p class="lede">Say who you are. What you change carries your name.</p>')
            Part("form", _form_html())
        Wires({})


def _form_html() -> str:
    return (
        '<form class="plain-form" data-form action="/api/sign-in" method="post">'
        '<label><span>Name</span><input name="name" autocomplete="username" required></label>'
        '<label><span>Password</span><input name="password" type="password" autocomplete="current-password" required>'
        '</label><p class="why-not" role="alert"></p><p><button class="button filled">Sign in</button></p></form>'
    )
