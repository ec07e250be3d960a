"""The spread of an early quote: how far the inputs of a price are usually off before anybody has measured them.

In: a Figure and what it stands for ("linking_minutes"). Out: the same Figure with the usual nine-in-ten band.
Main assumption: a figure that has a band of its own keeps it, and what was measured is left alone.
Not covered: how the spreads add up (`propagate`, `uncertainty`). Sources: house; production reference 7.4.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

from loopwright.cost.propagate import has_spread
from loopwright.figure import NINE_IN_TEN_SD, Basis, Figure
from loopwright.sources.table import Row, table


def drivers() -> Mapping[str, Row]:
    """Rows of the table of early spreads by driver."""
    return table(__package__, "spreads").by("driver")


def with_early_spread(driver: str, figure: Figure) -> Figure:
    """The figure with the usual spread of an early quote, unless it was measured or has a band of its own.

    >>> from loopwright.figure import entered
    >>> wage = with_early_spread("makeup_wage", entered("wage", 5.0, "EUR/h"))    # relative SD 15 %
    >>> round(wage.spread / NINE_IN_TEN_SD / wage.value, 2)
    0.15

    Raises:
        KeyError: no such driver (a mistake of ours).
    """
    if has_spread(figure) or figure.basis is Basis.MEASURED:
        return figure
    row = drivers()[driver]
    arm = NINE_IN_TEN_SD * row["relative_sd"] * figure.value
    words = f"{figure.why.words}; spread of an early quote, {row['relative_sd']:.0%} standard deviation, assumed"
    return replace(figure, low=figure.value - arm, high=figure.value + arm, why=replace(figure.why, words=words))
