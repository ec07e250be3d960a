"""The pages, one file each: load, build the frame, show parts."""

from __future__ import annotations

from loopwright.web.house import House
from loopwright.web.pages import compare, help, history, item, lists, loop, season, sign_in


def register(house: House) -> None:
    """All pages."""
    for page in (season, item, history, compare, lists, loop, help, sign_in):
        page.register(house)
