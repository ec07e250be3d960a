"""A few answers kept for whoever asks again, the newest of them.

In: a row of answers in order of use. Not covered: what is kept, and whether it still holds.
"""

from __future__ import annotations

from collections import OrderedDict
from collections.abc import Hashable
from typing import TypeVar

Key = TypeVar("Key", bound=Hashable)
Value = TypeVar("Value")


def keep(kept: OrderedDict[Key, Value], key: Key, value: Value, most: int) -> None:
    """Keep a value as the newest, and forget the oldest beyond `most`."""
    kept[key] = value
    kept.move_to_end(key)
    while len(kept) > most:
        kept.popitem(last=False)
