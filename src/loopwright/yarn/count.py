"""Yarn count: how fine a yarn is, in the systems of the trade, and how they convert.

In: a number in a count system, how many singles are folded into the yarn and how many yarns (ends) are fed side by
side. Out: tex (grams per kilometre), the one unit used inside the package, and the same yarn in every other system.
Direct systems (tex, dtex, denier) weigh a length, so a larger number is a coarser yarn; indirect systems (Nm, Ne, NeW,
YSW, NeL, run) count lengths per weight, so a larger number is a finer one. Assumption: a number typed for the singles
is the count of the singles before folding, and no length is lost in folding unless the resultant is given too.
Not covered: how a count is written (`notation`), take-up in folding (`folding`), which count suits a gauge (`fabric`).
Sources: nist_44 (yard and pound), count_conversion_note, iso_1139; section 1.1 of the fabric reference.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from functools import cache
from types import MappingProxyType

from loopwright.problems import Problem
from loopwright.sources.table import Row, table
from loopwright.units import GRAMS_PER_POUND, METRES_PER_YARD
from loopwright.yarn.folding import resultant_tex

FINEST_TEX = 0.1  # below it no yarn is meant: a single microfilament
COARSEST_TEX = 1e6  # above it no yarn is meant: a rope of a kilogram per metre
MOST_TOGETHER = 24  # folds in a yarn, or ends at a needle: more is taken as a slip of the pen


@dataclass(frozen=True, slots=True)
class CountSystem:
    """A count system: `tex_at_one` is the tex of number 1 in it."""

    key: str
    symbol: str
    label: str
    is_direct: bool
    tex_at_one: float
    written: str
    made: str
    words: tuple[str, ...]

    def spelled(self, number: str) -> str:
        """A number with the symbol of the system, in the order of the trade: "2/30 Nm", "Ne 30"."""
        return f"{self.symbol} {number}" if self.written == "single_first" else f"{number} {self.symbol}"


@dataclass(frozen=True, slots=True)
class Count:
    """A count as read: the singles, how they are folded, how many ends run side by side.

    `number` is the singles number in `system`; `resultant_tex` is one folded yarn (one end); `singles_tex` is filled
    only when unequal singles are folded, and `number` and `single_tex` are then those of the mean single.
    """

    system: str
    number: float
    folds: int
    ends: int
    single_tex: float
    resultant_tex: float
    text: str = field(default="", compare=False)
    filaments: int | None = None
    singles_tex: tuple[float, ...] = ()

    @property
    def tex(self) -> float:
        """What is fed to the needle: all ends and folds together."""
        return self.resultant_tex * self.ends

    @property
    def label(self) -> str:
        """The count as the trade writes it; read again, it gives the same count.

        >>> count_of(30, "Ne", folds=2).label, count_of(28, "Nm", folds=2, ends=3).label
        ('Ne 30/2', '3 ends of 2/28 Nm')
        """
        yarn = self._folded_label() + self._resultant_label()
        return yarn if self.ends == 1 else f"{self.ends} ends of {yarn}"

    def _folded_label(self) -> str:
        system = system_of(self.system)
        if self.singles_tex:
            return " + ".join(system.spelled(_spelled(number_in(self.system, tex))) for tex in self.singles_tex)
        single, folded = system.spelled(_spelled(self.number)), system.spelled(self._slashed())
        if self.filaments is not None:
            single = f"{single} f {self.filaments}"
        if self.folds == 1:
            return single
        by_multiplying = system.written == "multiplied" or not slash_is_plain(self.number, self.folds)
        return f"{single} x {self.folds}" if by_multiplying else folded

    def _slashed(self) -> str:
        single_first = system_of(self.system).written == "single_first"
        return f"{_spelled(self.number)}/{self.folds}" if single_first else f"{self.folds}/{_spelled(self.number)}"

    def _resultant_label(self) -> str:
        plain_sum = sum(self.singles_tex) if self.singles_tex else self.single_tex * self.folds
        if math.isclose(plain_sum, self.resultant_tex, rel_tol=1e-9):
            return ""
        return f"; R {_spelled(self.resultant_tex)} tex"

    def with_ends(self, ends: int) -> Count:
        """The same yarn with `ends` of it fed side by side."""
        return replace(self, ends=ends)


def count_of(
    number: float,
    system: str,
    *,
    folds: int = 1,
    ends: int = 1,
    filaments: int | None = None,
    given_resultant_tex: float | None = None,
    text: str = "",
) -> Count:
    """A count of equal singles; `given_resultant_tex` where the folded yarn was weighed (take-up included).

    >>> round(count_of(30, "Nm", folds=2).tex, 2)    # F-01
    66.67

    Raises:
        Problem: the number is not positive, or the yarn is finer or coarser than any yarn.
    """
    single_tex = tex_of(number, system)
    resultant = resultant_tex([single_tex] * folds) if given_resultant_tex is None else given_resultant_tex
    return _in_reach(Count(system, number, folds, ends, single_tex, resultant, text, filaments))


def count_of_unequal(
    singles_tex: Sequence[float],
    system: str,
    *,
    ends: int = 1,
    given_resultant_tex: float | None = None,
    text: str = "",
) -> Count:
    """A count of unequal singles folded into one yarn; `number` is that of the mean single in `system`."""
    plain_sum = resultant_tex(singles_tex)
    resultant = plain_sum if given_resultant_tex is None else given_resultant_tex
    mean_tex = plain_sum / len(singles_tex)
    number = number_in(system, mean_tex)
    return _in_reach(
        Count(system, number, len(singles_tex), ends, mean_tex, resultant, text, singles_tex=tuple(singles_tex))
    )


def tex_of(number: float, system: str) -> float:
    """Tex of a yarn whose count in `system` is `number`.

    >>> round(tex_of(1, "Ne"), 1), tex_of(1, "Nm")    # the factors printed in conversion tables
    (590.5, 1000.0)

    Raises:
        Problem: no such system, or a number that is not positive.
    """
    known = system_of(system)
    _require_positive(number, known.symbol)
    return number * known.tex_at_one if known.is_direct else known.tex_at_one / number


def number_in(system: str, count_tex: float) -> float:
    """The number that a yarn of `count_tex` has in `system`.

    >>> round(number_in("NeW", 66.67), 2)    # F-01: 2/30 Nm in worsted
    13.29

    Raises:
        Problem: no such system, or a count that is not positive.
    """
    known = system_of(system)
    _require_positive(count_tex, "tex")
    return count_tex / known.tex_at_one if known.is_direct else known.tex_at_one / count_tex


def in_all_systems(count_tex: float) -> dict[str, float]:
    """The number of a yarn in every count system, by system key.

    >>> round(in_all_systems(66.67)["denier"])    # F-01
    600
    """
    return {key: number_in(key, count_tex) for key in systems()}


def slash_is_plain(number: float, folds: int) -> bool:
    """Whether "folds/number" can be read one way only: the smaller is the fold, the larger at least twice as large.

    >>> slash_is_plain(30, 2), slash_is_plain(7, 8)    # 8/7 is eight ends of 7s, or seven-fold 8s
    (True, False)
    """
    return number >= 2 * folds or number == folds or not float(number).is_integer()


def system_of(key: str) -> CountSystem:
    """The count system of a key.

    Raises:
        Problem: no such system.
    """
    if key not in systems():
        raise Problem("yarn count", f"“{key}” is no count system known here.", tries=[f"one of {', '.join(systems())}"])
    return systems()[key]


@cache
def systems() -> Mapping[str, CountSystem]:
    """All count systems by key."""
    return MappingProxyType({row.text("system"): _system(row) for row in table(__package__, "count_systems")})


def _system(row: Row) -> CountSystem:
    length_m = row["length_m"] if row.has("length_m") else row["length_yd"] * METRES_PER_YARD
    mass_g = row["mass_g"] if row.has("mass_g") else row["mass_lb"] * GRAMS_PER_POUND
    return CountSystem(
        key=row.text("system"),
        symbol=row.text("symbol"),
        label=row.text("label"),
        is_direct=row.text("direction") == "direct",
        tex_at_one=1000 * mass_g / length_m,
        written=row.text("written"),
        made=row.text("made"),
        words=tuple(row.text("words").split("|")),
    )


def _require_positive(number: float, symbol: str) -> None:
    if not (math.isfinite(number) and number > 0):
        raise Problem(
            "yarn count", f"A count is more than 0, and this one is {number:g} {symbol}.", tries=["write “2/30 Nm”"]
        )


def _in_reach(count: Count) -> Count:
    if not FINEST_TEX <= count.resultant_tex <= COARSEST_TEX:
        raise Problem(
            "yarn count",
            f"{count.text or 'This count'} makes a yarn of {count.resultant_tex:.3g} tex.",
            limit=f"yarns from {FINEST_TEX:g} to {COARSEST_TEX:.0f} tex",
            tries=["check the number", "check the count system: Nm, Ne and NeW grow finer, tex and denier coarser"],
        )
    return count


def _spelled(number: float) -> str:
    return f"{number:.6f}".rstrip("0").rstrip(".")
