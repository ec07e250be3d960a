"""Usual tests of a knitted garment: what is tested, by which method, and the floor that trade takes for granted.

Out: rows of the table. Common practice, no source: the buyer's own limits and the law of the market come first.
"""

from __future__ import annotations

from loopwright.sources.table import table


def usual_tests() -> tuple[tuple[str, str, str], ...]:
    """(test, method, floor) in the order of a specification.

    >>> usual_tests()[1]
    ('Spirality after washing', 'ISO 16322-2', 'at most 5 %')
    """
    return tuple((row.text("test"), row.text("method"), row.text("floor")) for row in table(__package__, "tests"))
