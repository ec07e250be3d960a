"""What a typed rate may be: defaults and limits as rows of a table, checked once at the door.

In: a row with words, unit (¤ stands for the currency), value, least and most; a number or Figure given by a person.
Out: a Figure within its limits, assumed when nobody gave it. Main assumption: a rate is never below zero.
Not covered: which rates there are (`rates`, `machine_hour`, `piece`). Sources: the rows name theirs.
"""

from __future__ import annotations

from loopwright.figure import Figure, entered
from loopwright.problems import Problem
from loopwright.sources.table import Row

CURRENCY_MARK = "¤"


def unit_in(row: Row, currency: str) -> str:
    """Unit of a row in a currency: "¤/h" becomes "EUR/h"."""
    return row.text("unit").replace(CURRENCY_MARK, currency)


def taken(row: Row, given: float | Figure | None, currency: str) -> Figure:
    """What a person gave for a row, or the packaged example as an assumption; checked either way."""
    words, unit = row.text("words"), unit_in(row, currency)
    if given is None:
        return row.figure(words, "value", unit, words="example input, invented; yours replaces it")
    if not isinstance(given, Figure):
        given = entered(words, given, unit, words="given in the rate card")
    return checked(row, given, currency)


def checked(row: Row, figure: Figure, currency: str) -> Figure:
    """The figure itself, when it lies within the limits of its row and has its unit.

    Raises:
        Problem: another unit, a number outside the limits, or a spread around nothing.
    """
    words, unit = row.text("words"), unit_in(row, currency)
    least, most = row["least"], row["most"]
    if figure.unit != unit:
        raise Problem(
            words,
            f"given in {figure.unit or 'plain numbers'}, reckoned in {unit or 'plain numbers'}.",
            tries=[f"give it in {unit}" if unit else "10 % is 0.10"],
        )
    if not (least <= figure.low and figure.high <= most):
        wrong = figure.value if not least <= figure.value <= most else figure.low if figure.low < least else figure.high
        raise Problem(
            words,
            f"{_said(wrong, unit)} is out of reach; it lies between {_said(least, unit)} and {_said(most, unit)}.",
            tries=["check the sign and the decimal point"] if unit else ["give a share as a part of one: 12 % is 0.12"],
        )
    if figure.value == 0 < figure.high:
        raise Problem(
            words,
            f"0 with a spread up to {_said(figure.high, unit)} has no likely value.",
            tries=[f"give the middle of the band, {_said(figure.high / 2, unit)}"],
        )
    return figure


def _said(value: float, unit: str) -> str:
    return f"{value:g}\u00a0{unit}" if unit else f"{value:g}"
