"""Usual finishing of a piece and what it takes beside its panels: common practice until the factory's own replaces it.

Out: steps and items with what is still to be said. Not covered: make-up work and its minutes (`operations`), care of
the sold garment (`yarn.care`), the law on cords and bags (cautions of the study).
"""

from __future__ import annotations

from dataclasses import dataclass

from loopwright.sources.table import table


@dataclass(frozen=True, slots=True)
class Trim:
    """One item, how many a garment takes, and what the specification still has to say about it."""

    item: str
    count: int
    to_state: str


def usual_finishing(family: str) -> tuple[tuple[str, str], ...]:
    """(step, words) for a family of fibres, in the order of work.

    >>> [step for step, _ in usual_finishing("cotton and bast")]
    ['wash', 'dry', 'press', 'rest']
    """
    rows = table(__package__, "finishing").rows
    return tuple((row.text("step"), row.text("words")) for row in rows if row.text("family") == family)


def usual_trims(*, buttons: int = 0, cords: bool = False) -> tuple[Trim, ...]:
    """Items of a garment with so many buttons, with or without cords.

    >>> [(trim.item, trim.count) for trim in usual_trims(buttons=6)][:2]
    [('linking yarn', 1), ('button', 6)]
    """
    counts = {"garment": 1, "button": buttons, "cord": int(cords)}
    rows = [(row, counts[row.text("of")]) for row in table(__package__, "trims").rows]
    return tuple(Trim(row.text("item"), count, row.text("to_state")) for row, count in rows if count)
