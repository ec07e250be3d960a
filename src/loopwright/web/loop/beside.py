"""Two cloths side by side: what differs most stands first, what the spread swallows last."""

from __future__ import annotations

import math

from loopwright.figure import Figure, plain
from loopwright.report.blocks import Cell, Table
from loopwright.web.loop.cloth import LoopCloth
from loopwright.web.loop.told import NOT_KNOWN, Row, rows_of

HALF = 0.5


def beside_table(first: LoopCloth, second: LoopCloth) -> Table:
    """Every quantity of two cloths, differences first."""
    assert first.cloth is not None
    assert second.cloth is not None
    names = short_names(first, second)
    pairs = list(zip(rows_of(first.cloth), rows_of(second.cloth), strict=True))
    pairs.sort(key=lambda pair: order(*pair))
    rows = tuple((one.name, _cell(one), _cell(two), difference(one, two, names)) for one, two in pairs)
    return Table(("Differences first", *names, "difference"), rows, words=(0, 3))


def short_names(first: LoopCloth, second: LoopCloth) -> tuple[str, str]:
    """What tells two cloths apart at the head of a column."""
    if first.name != second.name:
        return first.name, second.name
    return "this cloth", "the one beside"


def _cell(row: Row) -> Cell:
    return row.figure if row.figure else row.instead


def order(one: Row, two: Row) -> tuple[int, float]:
    """Place of a row: clear differences, then those that the spread swallows, then what cannot be told."""
    a, b = one.figure, two.figure
    if a is None or b is None:
        is_told = a is not b and NOT_KNOWN not in (one.instead, two.instead)
        return (0, -math.inf) if is_told else (2, 0.0)
    return (1 if overlap(a, b) else 0, -_apart(a, b))


def overlap(a: Figure, b: Figure) -> bool:
    """Whether the spreads of two figures meet."""
    return a.low <= b.high and b.low <= a.high


def _apart(a: Figure, b: Figure) -> float:
    if a.value * b.value > 0:
        return abs(math.log(b.value / a.value))
    return math.inf if a.value != b.value else 0.0


def difference(one: Row, two: Row, names: tuple[str, str]) -> str:
    """What differs, in words."""
    a, b = one.figure, two.figure
    if a is None and b is None:
        return "alike" if one.instead == two.instead else "cannot be told"
    if a is None or b is None:
        return "cannot be told" if NOT_KNOWN in (one.instead, two.instead) else f"only {names[0] if a else names[1]}"
    said = _compared(a, b, names)
    return f"{said}, which the spread swallows" if overlap(a, b) and said != "alike" else said


def _compared(a: Figure, b: Figure, names: tuple[str, str]) -> str:
    if a.value * b.value <= 0:
        return "alike" if a.value == b.value else f"{plain(abs(b.value - a.value), 1)} {b.unit} apart"
    times, more = (b.value / a.value, names[1]) if b.value > a.value else (a.value / b.value, names[0])
    if times >= 1 / HALF:
        return f"{more}: {plain(times, 1)} times as much"
    percent = plain(100 * (times - 1), 0)
    return "alike" if percent == "0" else f"{more}: {percent} % more"
