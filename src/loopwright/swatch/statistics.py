"""Statistics of readings: mean and spread, the t interval, how many readings are needed, readings that stand apart.

In: readings of one quantity on one swatch. Out: `Summary`. The interval of the standards is mean ± t·s/√n from the
readings alone. Where the readings are few their spread is hardly known, so the belief that travels on (`estimate`)
pools it with the usual spread of the trade, which counts as four readings more; a single reading stands on the usual
spread alone and says so. A reading that stands apart is named, never dropped.
Assumption: readings scatter normally. Not covered: several people (`operators`), error common to all (`combining`).
Sources: eq 14.1 and usual spreads of the fabric reference 14; Grubbs' test in the two-sided form of ISO 5725-2.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from scipy.special import ndtri, stdtrit

from loopwright.figure import NINE_IN_TEN_SD
from loopwright.sources.table import Row, table

USUAL_COUNTS_AS = 4  # prior: degrees of freedom that the trade's usual spread is worth
WANTED_ERROR_PERCENT = 2.0  # common practice: counts are wanted to two per cent
STRAGGLER, OUTLIER = 0.05, 0.01  # significance of the two marks of ISO 5725-2


@dataclass(frozen=True, slots=True)
class Usual:
    """Usual spread of one kind of reading at a value: within a swatch, of the scale, in common, between pieces."""

    sd: float
    resolution: float
    common: float
    piece_sd: float
    source: str

    @property
    def step_sd(self) -> float:
        """Standard deviation that reading to a step makes by itself."""
        return self.resolution / math.sqrt(12)


@dataclass(frozen=True, slots=True)
class Outlier:
    """A reading that stands apart from the rest, and how rarely that happens."""

    index: int
    value: float
    statistic: float
    critical: float
    significance: float

    @property
    def words(self) -> str:
        """The reading and why it is marked."""
        rarely = "1 in 100" if self.significance == OUTLIER else "1 in 20"
        return f"{self.value:.3g} stands apart from the rest: chance alone does that in under {rarely}"


@dataclass(frozen=True, slots=True)
class Estimate:
    """A value with a spread of its mean, as if normal: `standard_error` gives the right nine in ten.

    `degrees` tells how well the spread itself is known.
    """

    value: float
    standard_error: float
    degrees: float

    @property
    def half_90(self) -> float:
        """Half width of nine cases in ten."""
        return NINE_IN_TEN_SD * self.standard_error


@dataclass(frozen=True, slots=True)
class Summary:
    """Readings of one quantity in one unit, with their mean and spread; `sd` is none for a single reading."""

    values: tuple[float, ...]
    mean: float
    sd: float | None
    usual: Usual
    outliers: tuple[Outlier, ...]

    @property
    def n(self) -> int:
        """How many readings."""
        return len(self.values)

    @property
    def cv_percent(self) -> float | None:
        """Spread in per cent of the mean; none for a single reading or a mean of nothing."""
        return None if self.sd is None or self.mean == 0 else abs(100 * self.sd / self.mean)

    @property
    def needed(self) -> int | None:
        """Readings that bring the mean within `WANTED_ERROR_PERCENT` at 95 %; none where there is no spread."""
        if not self.cv_percent:
            return None
        return needed_readings(cv_percent=self.cv_percent, error_percent=WANTED_ERROR_PERCENT)

    @property
    def half_95(self) -> float | None:
        """Half width of the 95 % interval of the standards, from the readings alone; none for a single one.

        Readings that are all alike still have the spread of the scale's step.
        """
        return None if self.sd is None else t_half_width(sd=max(self.sd, self.usual.step_sd), n=self.n)

    @property
    def pooled_sd(self) -> float:
        """Spread of a single reading, the usual one pooled with that of the readings; never below the scale's step."""
        return max(pooled(self.values, self.usual.sd).sd, self.usual.step_sd)

    @property
    def degrees(self) -> int:
        """Degrees of freedom of the pooled spread."""
        return pooled(self.values, self.usual.sd).degrees

    @property
    def estimate(self) -> Estimate:
        """The mean with the error that travels on, the common error not yet in it."""
        widened = t_quantile(0.95, self.degrees) / NINE_IN_TEN_SD
        return Estimate(self.mean, widened * self.pooled_sd / math.sqrt(self.n), self.degrees)

    @property
    def words(self) -> str:
        """How many readings stand behind the mean."""
        if self.n == 1:
            return "one reading; its spread is the usual one of the trade, a working assumption"
        return f"mean of {self.n} readings"


@dataclass(frozen=True, slots=True)
class Pooled:
    """A spread that is known from readings and from what is usual together, with its degrees of freedom."""

    sd: float
    degrees: int


def pooled(values: Sequence[float], usual_sd: float) -> Pooled:
    """Spread of single readings: the usual one, worth four readings, pooled with theirs.

    Scaled inverse chi squared: ν = ν₀ + n − 1, ν·s² = ν₀·s₀² + Σ(x − x̄)².

    >>> pooled([49.0], 0.4), round(pooled([49.0, 50.0], 0.4).sd, 4)    # by hand: √((4·0.16 + 0.5)/5)
    (Pooled(sd=0.4, degrees=4), 0.4775)
    """
    mean = math.fsum(values) / len(values)
    squares = math.fsum((value - mean) ** 2 for value in values)
    degrees = USUAL_COUNTS_AS + len(values) - 1
    return Pooled(math.sqrt((USUAL_COUNTS_AS * usual_sd**2 + squares) / degrees), degrees)


def summary(values: Sequence[float], usual: Usual) -> Summary:
    """The summary of readings.

    Raises:
        ValueError: there is no reading.
    """
    if not values:
        raise ValueError("no readings")
    mean = sum(values) / len(values)
    sd = standard_deviation(values) if len(values) > 1 else None
    found = outliers(values, least_sd=usual.step_sd)
    apart = tuple(each for each in found if abs(each.value - mean) > NOTHING_ODD * usual.sd)
    return Summary(tuple(values), mean, sd, usual, apart)


NOTHING_ODD = 2.0  # usual standard deviations within which a reading is nothing odd, however alike the others are


def usual_spread(quantity: str, value: float, *, resolution: float | None = None) -> Usual:
    """The usual spread of a kind of reading at a value; `resolution` is the scale's step in the unit of the value."""
    row = table(__package__, "usual_spread").by("quantity")[quantity]
    return Usual(
        _at(row, "cv_percent", "sd", value),
        row["resolution"] if resolution is None else resolution,
        _at(row, "common_percent", "common", value),
        _at(row, "piece_cv_percent", "piece_sd", value),
        row.source,
    )


def scale_step(quantity: str) -> float:
    """The step to which a kind of reading is read, in the unit typed."""
    return table(__package__, "usual_spread").by("quantity")[quantity]["resolution"]


def _at(row: Row, relative: str, absolute: str, value: float) -> float:
    return row[relative] * abs(value) / 100 if row.has(relative) else row[absolute]


def standard_deviation(values: Sequence[float]) -> float:
    """s with n − 1.

    >>> round(standard_deviation([2.0, 4.0, 4.0, 5.0]), 4)    # by hand: √(4.75/3)
    1.2583
    """
    mean = sum(values) / len(values)
    return math.sqrt(sum((value - mean) ** 2 for value in values) / (len(values) - 1))


def t_quantile(share: float, degrees: float) -> float:
    """Student's t below which a share of cases lies.

    >>> [round(t_quantile(0.975, n - 1), 3) for n in (3, 4, 5, 10)]    # as printed in the fabric reference 14
    [4.303, 3.182, 2.776, 2.262]
    """
    return float(stdtrit(degrees, share))


def t_half_width(*, sd: float, n: int, share: float = 0.95) -> float:
    """Half width of the interval of a mean: t·s/√n (eq 14.1).

    >>> round(t_half_width(sd=6.2, n=5), 1)    # F-60, 251.0 g/m² of five swatches
    7.7
    """
    return t_quantile((1 + share) / 2, n - 1) * sd / math.sqrt(n)


def needed_if_spread_known(*, cv_percent: float, error_percent: float) -> int:
    """Readings for a mean within an error at 95 %, by the normal law: (1.96·CV/e)².

    >>> needed_if_spread_known(cv_percent=2.47, error_percent=2)    # F-60
    6
    >>> [needed_if_spread_known(cv_percent=cv, error_percent=e) for cv, e in ((3, 2), (2, 1))]    # P-60
    [9, 16]
    """
    return math.ceil((float(ndtri(0.975)) * cv_percent / error_percent) ** 2)


def needed_readings(*, cv_percent: float, error_percent: float, most: int = 10000) -> int:
    """The least number of readings whose own t interval is within the error at 95 %.

    >>> needed_readings(cv_percent=2.47, error_percent=2)    # F-60, iterated with t
    9
    """
    first = max(2, needed_if_spread_known(cv_percent=cv_percent, error_percent=error_percent))
    least = range(first, most + 1)
    return next((n for n in least if t_half_width(sd=cv_percent, n=n) <= error_percent), most)


def grubbs_critical(n: int, significance: float) -> float:
    """Critical value of |x − mean|/s for the one that is farthest out of n, two-sided.

    >>> [round(grubbs_critical(n, 0.05), 3) for n in (4, 5, 10)]    # as in the tables of ISO 5725-2
    [1.481, 1.715, 2.29]
    """
    t = t_quantile(1 - significance / (2 * n), n - 2)
    return (n - 1) / math.sqrt(n) * math.sqrt(t**2 / (n - 2 + t**2))


def outliers(values: Sequence[float], *, least_sd: float = 0.0) -> tuple[Outlier, ...]:
    """The reading that stands apart, if one does; `least_sd` is the spread that the scale's step alone makes.

    >>> [found.value for found in outliers([65, 64.5, 65.5, 65, 70])]
    [70]
    """
    n = len(values)
    if n < FEWEST_FOR_OUTLIER:
        return ()
    mean = sum(values) / n
    sd = max(standard_deviation(values), least_sd)
    if sd == 0:
        return ()
    index = max(range(n), key=lambda each: abs(values[each] - mean))
    statistic = abs(values[index] - mean) / sd
    for significance in (OUTLIER, STRAGGLER):
        critical = grubbs_critical(n, significance)
        if statistic > critical:
            return (Outlier(index, values[index], statistic, critical, significance),)
    return ()


FEWEST_FOR_OUTLIER = 3
