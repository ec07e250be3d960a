"""Several people at one swatch: what one person's readings scatter by, and what people differ by.

In: readings of the same swatch in the same state, grouped by who measured. Out: `Precision` with s_r (repeatability),
s_L (between people) and s_R (reproducibility), and what would narrow the mean. The one-way scheme of ISO 5725-2.
Assumption: people scatter alike. Not covered: readings of different swatches (that is the fabric, not the people).
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

FEWEST_PEOPLE, FEWEST_READINGS = 2, 2


@dataclass(frozen=True, slots=True)
class Precision:
    """Standard deviations of one reading: within a person, between people, and of both together."""

    people: int
    readings: int
    mean: float
    repeatability_sd: float
    between_sd: float
    reproducibility_sd: float

    @property
    def repeatability_limit(self) -> float:
        """Two readings of one person differ by less in 95 of 100 cases: 2.8·s_r."""
        return LIMIT_FACTOR * self.repeatability_sd

    @property
    def reproducibility_limit(self) -> float:
        """Readings of two people differ by less in 95 of 100 cases: 2.8·s_R."""
        return LIMIT_FACTOR * self.reproducibility_sd

    @property
    def mean_sd(self) -> float:
        """Standard error of the mean over people and readings."""
        return math.sqrt(self.between_sd**2 / self.people + self.repeatability_sd**2 / self.readings)

    @property
    def advice(self) -> str:
        """Whether a further person or further readings would narrow the mean more."""
        each = self.readings / self.people
        person = self._mean_variance(self.people + 1, self.readings + each)
        readings = self._mean_variance(self.people, self.readings + each)
        if self.mean_sd == 0 or person > NOT_WORTH * self.mean_sd**2:
            return "neither another person nor more readings would tell much more"
        if readings > (1 + person / self.mean_sd**2) / 2 * self.mean_sd**2:
            return "another person would help; more readings of the same people would not"
        return "more readings would help, whoever takes them"

    def _mean_variance(self, people: float, readings: float) -> float:
        return self.between_sd**2 / people + self.repeatability_sd**2 / readings


LIMIT_FACTOR = 2.8  # 1.96·√2, as ISO 5725-6 rounds it
NOT_WORTH = 0.95  # share of the variance that has to remain for more work not to be worth it


def precision(by_person: Mapping[str, Sequence[float]]) -> Precision | None:
    """s_r, s_L and s_R of readings grouped by person; none without two people or without a repeated reading.

    >>> told = precision({"MK": [65.0, 65.5], "JO": [66.0, 66.5]})
    >>> round(told.repeatability_sd, 4), round(told.between_sd, 4)    # by hand: s_r² = 1/8, s_L² = 1/2 − 1/16
    (0.3536, 0.6614)
    """
    groups = [list(values) for values in by_person.values() if values]
    total = sum(len(values) for values in groups)
    if len(groups) < FEWEST_PEOPLE or total - len(groups) < 1:
        return None
    means = [sum(values) / len(values) for values in groups]
    grand = sum(sum(values) for values in groups) / total
    within = sum((value - mean) ** 2 for values, mean in zip(groups, means, strict=True) for value in values)
    repeatability = within / (total - len(groups))
    across = sum(len(values) * (mean - grand) ** 2 for values, mean in zip(groups, means, strict=True))
    mean_square = across / (len(groups) - 1)
    usual_size = (total - sum(len(values) ** 2 for values in groups) / total) / (len(groups) - 1)
    between = max(0.0, (mean_square - repeatability) / usual_size)
    return Precision(
        len(groups), total, grand, math.sqrt(repeatability), math.sqrt(between), math.sqrt(repeatability + between)
    )
