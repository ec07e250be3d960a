"""Words that the browser offers while a field is typed."""

from __future__ import annotations

from functools import cache
from html import escape

from loopwright.garment.ease import fits
from loopwright.structure.library import library


@cache
def datalists_html() -> str:
    """The lists of words by the last part of a field's path."""
    lists = {"structure": tuple(structure.name for structure in library().values()), "fit": fits()}
    return "".join(
        f'<datalist id="offer-{name}">{"".join(f"<option>{escape(word)}</option>" for word in words)}</datalist>'
        for name, words in lists.items()
    )
