"""Seams: which edges are joined, by which method, and how long that takes.

In: points (loop by loop) or centimetres (the other methods) of one seam and how many there are. Out: minutes as a
Figure: t = points / run-on rate + length / speed + pick-up. Methods: "loop to loop", "along a wale", "cup seam",
"overlock".
Main assumption: one linker of usual skill; the run-on rates are trade habit and the weakest numbers of a price.
Not covered: which dial serves the gauge (`dial`), hand work after linking (`operations`).
Sources: common_practice (rates), iso_4915 (stitch codes); production reference 6 and 10.4.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from loopwright.figure import Figure, Term, exact, linear, power_law
from loopwright.problems import Problem
from loopwright.sources.table import Row, table

CM_PER_M = 100


@dataclass(frozen=True, slots=True)
class Seam:
    """`count` equal seams at a place, each of `points` (loop to loop) or `length_cm` (the other methods).

    An empty `stitch_code` takes the usual ISO 4915 stitch of the method.

    >>> shoulders = Seam("shoulders", "back to front", "loop to loop", points=65, count=2)
    >>> shoulders.amount, shoulders.stitch
    (130, '101 single-thread chain')
    """

    name: str
    place: str
    method: str
    points: int = 0
    length_cm: float = 0.0
    count: int = 1
    stitch_code: str = ""

    def __post_init__(self) -> None:
        """Check once, at the door.

        Raises:
            Problem: unknown method or stitch, or the measure that the method needs is missing.
        """
        needed, given = ("points", self.points) if self._is_by_points else ("length in cm", self.length_cm)
        if not given > 0:
            raise Problem(
                f"seam {self.name}",
                f"“{self.method}” is timed by its {needed}, and {given} were given.",
                tries=[f"give the {needed} of one seam", "choose another method"],
            )
        if self.count < 1:
            raise Problem(
                f"seam {self.name}", f"{self.count} seams of this kind; at least 1 is needed.", tries=["leave it out"]
            )
        stitch_words(self.code)

    @property
    def _is_by_points(self) -> bool:
        return method_row(self.method).has("points_per_min")

    @property
    def code(self) -> str:
        """ISO 4915 code of the stitch."""
        return self.stitch_code or method_row(self.method).text("stitch_code")

    @property
    def stitch(self) -> str:
        """Code and name of the stitch."""
        return f"{self.code} {stitch_words(self.code)}"

    @property
    def seam_class(self) -> str:
        """ISO 4916 class of the seam.

        >>> Seam("shoulders", "back to front", "loop to loop", points=65).seam_class
        '1.01'
        """
        return method_row(self.method).text("seam_class")

    @property
    def amount(self) -> float:
        """Points of all the equal seams together, or their centimetres where the method is timed by length."""
        return self.count * (self.points if self._is_by_points else self.length_cm)

    def minutes(self) -> Figure:
        """Minutes of all the equal seams together.

        >>> neckband = Seam("neckband", "neck", "loop to loop", points=314).minutes()    # P-49: 314 points at 45/min
        >>> round(neckband.value, 1), round(neckband.low, 1), round(neckband.high, 1)
        (7.0, 4.5, 10.5)
        """
        return method_minutes(self.method, amount=self.amount, pick_ups=self.count).named(self.name)

    def as_dict(self) -> dict[str, Any]:
        """JSON form."""
        return {
            "name": self.name,
            "place": self.place,
            "method": self.method,
            "points": self.points,
            "length_cm": self.length_cm,
            "count": self.count,
            "stitch": self.stitch,
            "seam_class": self.seam_class,
        }


def method_minutes(method: str, *, amount: float, pick_ups: int) -> Figure:
    """Minutes of joining `amount` points or centimetres by one method, picked up `pick_ups` times.

    The rate is one input for the whole amount: a slow linker is slow in every seam of the garment.
    """
    row = method_row(method)
    unit_minutes = _minutes_per_unit(row)
    joining = Term("n", unit_minutes, amount)
    terms, value = [joining], amount * unit_minutes.value
    if row.has("pick_up_min"):
        pick_up = row.figure("pick-up", "pick_up_min", "min", words="taking up the edges of one seam")
        terms.append(Term("t₀", pick_up, pick_ups))
        value += pick_ups * pick_up.value
    return linear(
        method, value, "min", terms, words=row.text("words"), formula="t = n·minutes each + seams·t₀", source=row.source
    )


def _minutes_per_unit(row: Row) -> Figure:
    """Minutes for one point, or for one centimetre."""
    words = row.text("words")
    if row.has("min_per_m"):
        per_m = row.figure("sewing time", "min_per_m", "min/m", words=words)
        return power_law(
            "minutes per cm", per_m.value / CM_PER_M, "min", [Term("s", per_m)], words=words, formula="s/100"
        )
    column, per = ("points_per_min", "point") if row.has("points_per_min") else ("cm_per_min", "cm")
    rate = row.figure("run-on rate", column, f"{per}s/min" if per == "point" else "cm/min", words=words)
    return power_law(f"minutes per {per}", 1 / rate.value, "min", [Term("r", rate, -1)], words=words, formula="1/r")


def methods() -> Mapping[str, Row]:
    """Rows of the table of joining methods by name."""
    return table(__package__, "linking").by("method")


def method_row(method: str) -> Row:
    """The row of a joining method.

    Raises:
        Problem: no such method.
    """
    if method not in methods():
        raise Problem("seam", f"“{method}” is no way of joining known here.", tries=[f"one of {', '.join(methods())}"])
    return methods()[method]


def stitch_words(code: str) -> str:
    """Name of an ISO 4915 stitch.

    >>> stitch_words("401")
    'two-thread chain'

    Raises:
        Problem: no such code in the table.
    """
    known = table(__package__, "stitch_codes").by("code")
    if code not in known:
        raise Problem("seam", f"“{code}” is no stitch code known here.", tries=[f"one of {', '.join(known)}"])
    return known[code].text("stitch")


def no_minutes(name: str) -> Figure:
    """Nothing to do: exactly zero minutes."""
    return exact(name, 0.0, "min", words="none of this work in the garment")
