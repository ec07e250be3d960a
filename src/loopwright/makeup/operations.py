"""Make-up operations: what is done to the panels between machine and carton, and the usual minutes of each.

In: nothing but the packaged table. Out: operations with minutes per piece, button, hole or zip, nine-in-ten range and
group; and the order of work. Minutes are standard minutes of a 12-gauge pullover, allowance included.
Main assumption: they are trade habit without a source and differ between factories; a timed minute replaces them.
Not covered: seams, whose minutes follow from points and centimetres (`seams`).
Sources: common_practice, sweater_procedure; production reference 6.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from types import MappingProxyType

from loopwright.figure import Figure
from loopwright.sources.table import table

GROUPS = ("linking", "hand finish", "press", "wash", "check")


@dataclass(frozen=True, slots=True)
class Operation:
    """One operation: `minutes` is the default for one `per` (piece, button, hole, zip) with its range."""

    key: str
    words: str
    group: str
    per: str
    usual_count: int
    minutes: Figure


@cache
def operations() -> Mapping[str, Operation]:
    """All operations by key, in the order of work.

    >>> linking = operations()["linking"].minutes    # reference, section 6
    >>> linking.value, linking.low, linking.high
    (20.0, 12.0, 35.0)
    """
    found = {}
    for row in table(__package__, "operations"):
        key, words = row.text("operation"), row.text("words")
        minutes = row.figure(words, "minutes", "min", words="usual minutes of a 12-gauge pullover; time your own")
        found[key] = Operation(key, words, row.text("group"), row.text("per"), int(row["usual_count"]), minutes)
    return MappingProxyType(found)


@cache
def order_of_work() -> tuple[str, ...]:
    """Steps of a sweater from yarn receipt to packing, in order.

    >>> order_of_work()[4]
    'linking'
    """
    return tuple(row.text("step") for row in table(__package__, "flow"))
