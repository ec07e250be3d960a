"""Planning an order: hours of knitting, machines and linkers it needs.

In: pieces, minutes per piece (efficiency of the machine included), days and hours of the shift. Out: hours, and how
many machines of one gauge group or how many linkers.
Main assumption: work can be shared evenly. A gauge cannot stand in for another, so each gauge group is planned alone.
Linking is usually the bottleneck up to 7 gauge, knitting from 12 gauge on.
Not covered: lead time of yarn, trims and transit. Sources: common_practice; production reference 8.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any

from loopwright.cost.propagate import derived
from loopwright.figure import Figure, Term, exact
from loopwright.problems import Problem
from loopwright.units import MINUTES_PER_HOUR

WHOLE = 1e-9  # a need this little above a whole number is that number


@dataclass(frozen=True, slots=True)
class Shift:
    """Working time that is left: days, hours a day, and the share of it that is worked (availability, efficiency)."""

    days: float
    hours_per_day: float
    share_worked: float

    def __post_init__(self) -> None:
        """Check once, at the door.

        Raises:
            Problem: no time, more than a day has, or a share outside 0 to 1.
        """
        if not (self.days > 0 and 0 < self.hours_per_day <= 24 and 0 < self.share_worked <= 1):
            raise Problem(
                "shift",
                f"{self.days:g} days of {self.hours_per_day:g} hours, {self.share_worked:g} of them worked.",
                limit="more than 0 days, 24 hours a day, a share of 1",
                tries=["give days, hours a day, and the share as a part of one"],
            )

    @property
    def hours(self) -> float:
        """Hours that one machine or one person works in it.

        >>> Shift(15, 20, 0.9).hours    # P-57
        270.0
        """
        return self.days * self.hours_per_day * self.share_worked


@dataclass(frozen=True, slots=True)
class Need:
    """How many machines or people: the whole number, and the figure it was rounded up from."""

    whole: int
    figure: Figure

    def as_dict(self) -> dict[str, Any]:
        """JSON form."""
        return {"whole": self.whole, "figure": self.figure.as_dict()}


def work_hours(minutes: Figure, pieces: int) -> Figure:
    """Hours of work on an order: pieces · minutes / 60.

    Raises:
        Problem: fewer than no pieces.
    """
    if pieces < 0:
        raise Problem("planning", f"{pieces} pieces; the least is 0.", tries=["give the quantity of the order"])
    slope = pieces / MINUTES_PER_HOUR
    terms = [Term("t", minutes, slope)]
    words = f"{pieces} pieces of {minutes.value:.4g} min"
    return derived("hours", slope * minutes.value, "h", terms, words=words, formula="q·t / 60")


def machines_needed(hours: Figure, shift: Shift) -> Need:
    """Machines of one gauge group that knit so many hours in the shift: ⌈H / (days · hours a day · availability)⌉."""
    return _need("machines", hours, shift)


def linkers_needed(minutes: Figure, pieces: int, shift: Shift) -> Need:
    """Linking operators for an order: ⌈q·SMV / (60 · hours a day · days · efficiency)⌉."""
    return _need("linkers", work_hours(minutes, pieces), shift)


def _need(name: str, hours: Figure, shift: Shift) -> Need:
    available = exact("hours of one", shift.hours, "h", words="days, hours a day and the share worked")
    terms = [Term("H", hours, 1 / shift.hours), Term("h", available)]
    words = "hours of work over the hours that one works"
    figure = derived(name, hours.value / shift.hours, "", terms, words=words, formula="H / (days · hours · share)")
    return Need(math.ceil(figure.value - WHOLE), figure)
