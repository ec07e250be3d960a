"""Times as a page says them."""

from __future__ import annotations

from datetime import datetime


def time_words(at: datetime) -> str:
    """A time as a person reads it, on this machine's clock."""
    return f"{at.astimezone():%d %b %Y, %H:%M}"
