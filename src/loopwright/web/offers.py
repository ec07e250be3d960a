"""Words that the browser offers while a field is typed."""

from __future__ import annotations

from functools import cache
from html import escape

from loopwright.web.fields import field_at


@cache
def datalists_html() -> str:
    """The lists of words by the last part of a field's path."""
    offering = (field_at(("zones", "body", "structure")), field_at(("garment", "fit")))
    lists = {field.path[-1]: field.choices for field in offering if field is not None}
    return "".join(
        f'<datalist id="offer-{name}">{"".join(f"<option>{escape(word)}</option>" for word in words)}</datalist>'
        for name, words in lists.items()
    )
