"""Limits, and the chance of keeping them: never a bare yes or no.

In: an estimate with its error and degrees of freedom, the spread between pieces, a limit. Out: the chance that the
true value keeps the real limit, and that the next piece does. Student's t stands for both: the error is known from a
few readings. Assumption: pieces scatter normally around the true value with the usual spread. Not covered: sampling
plans for a delivery (`makeup.inspection`).
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from scipy.special import stdtr

from loopwright.figure import NINE_IN_TEN_SD, plain
from loopwright.problems import Problem
from loopwright.swatch.statistics import Estimate, t_quantile


@dataclass(frozen=True, slots=True)
class Limit:
    """The least and the most that is allowed; either may be open. `words` as the person set it."""

    low: float | None
    high: float | None
    words: str


@dataclass(frozen=True, slots=True)
class Verdict:
    """Chances that the true mean and the next piece keep a limit."""

    limit: Limit
    true_value_passes: float
    next_piece_passes: float

    @property
    def words(self) -> str:
        """Both chances, as a person says them."""
        return f"{chance_words(self.true_value_passes)}; the next piece {chance_words(self.next_piece_passes)}"


def limit_of(
    name: str,
    *,
    wanted: float | None = None,
    percent: float | None = None,
    at_least: float | None = None,
    at_most: float | None = None,
    either_way: bool = False,
) -> Limit:
    """A limit from what the person set; `either_way` holds the most against both directions (a lean).

    >>> limit_of("lean", at_most=5, either_way=True)
    Limit(low=-5, high=5, words='5')
    >>> limit_of("wales", wanted=6.5, percent=2).words
    '6.5 ± 2 %'

    Raises:
        Problem: a tolerance without its value, no limit at all, or one that nothing can keep.
    """
    if (wanted is None) != (percent is None):
        raise Problem(name, "a wanted value and its tolerance in per cent go together.", tries=["6.5 ± 2 %"])
    low, high = at_least, at_most
    if wanted is not None and percent is not None:
        arm = abs(wanted) * percent / 100
        low = wanted - arm if low is None else max(low, wanted - arm)
        high = wanted + arm if high is None else min(high, wanted + arm)
    if either_way and high is not None and low is None:
        low = -high
    if low is None and high is None:
        raise Problem(name, "this limit says nothing.", tries=["5", "−5 to 3", "6.5 ± 2 %"])
    if low is not None and high is not None and low > high:
        raise Problem(name, f"nothing is at least {low:g} and at most {high:g}.", tries=["set the limit again"])
    return Limit(low, high, _words(wanted, percent, at_least, at_most))


def _words(wanted: float | None, percent: float | None, at_least: float | None, at_most: float | None) -> str:
    if wanted is not None:
        return f"{_short(wanted)} ± {_short(percent)} %"
    if at_least is None:
        return _short(at_most)
    return f"{_short(at_least)} / {_short(at_most, signed=True)}" if at_most is not None else f"from {_short(at_least)}"


def _short(value: float | None, *, signed: bool = False) -> str:
    if value is None:
        return ""
    text = plain(value, 2).rstrip("0").rstrip(".") if value != int(value) else plain(value, 0)
    return f"+{text}" if signed and value > 0 else text


def verdict(estimate: Estimate, piece_sd: float, limit: Limit) -> Verdict:
    """The chances of keeping a limit."""
    error = _t_scale(estimate)
    return Verdict(
        limit,
        chance_within(estimate.value, error, estimate.degrees, limit),
        chance_within(estimate.value, math.hypot(error, piece_sd), estimate.degrees, limit),
    )


def _t_scale(estimate: Estimate) -> float:
    """The standard error by which t is scaled: without the widening that makes it serve as if normal."""
    return estimate.standard_error * NINE_IN_TEN_SD / t_quantile(0.95, estimate.degrees)


def chance_within(value: float, error: float, degrees: float, limit: Limit) -> float:
    """Chance that value + error·t lies within a limit, t with the degrees of freedom.

    >>> round(chance_within(0.0, 1.0, 4, Limit(-2.776, 2.776, "")), 3)    # t of five readings as printed
    0.95
    """
    if error == 0:
        return float((limit.low is None or value >= limit.low) and (limit.high is None or value <= limit.high))
    below = 0.0 if limit.low is None else float(stdtr(degrees, (limit.low - value) / error))
    above = 0.0 if limit.high is None else float(stdtr(degrees, (value - limit.high) / error))
    return max(0.0, 1.0 - below - above)


def chance_words(chance: float) -> str:
    """A chance as a person says it.

    >>> chance_words(0.184), chance_words(0.9999), chance_words(0.004)
    ('18 in 100', 'over 99 in 100', 'under 1 in 100')
    """
    if chance > 0.99:
        return "over 99 in 100"
    return "under 1 in 100" if chance < 0.01 else f"{100 * chance:.0f} in 100"
