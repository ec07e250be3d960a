"""Twist: turns per metre, twist factor and the slope of the fibres on the yarn's surface.

In: turns per metre (or inch), count in tex, diameter in mm. Out: twist factors in the tex, metric and English scales;
surface helix angle in degrees. Twist factors compare yarns of different count: equal factor, equal surface angle for
equal density and packing. Assumption: the yarn is a round cylinder of its nominal diameter.
Not covered: twist liveliness and the lean that it causes (`fabric.spirality`), contraction by twist, twist setting.
Sources: identity for the scales (eqs 1.7 to 1.9); klein_short_staple and common practice for the usual values.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

from loopwright.figure import Figure, banded
from loopwright.sources.table import Row, table
from loopwright.units import METRES_PER_YARD
from loopwright.yarn.count import tex_of

Direction = Literal["S", "Z"]
METRES_PER_INCH = METRES_PER_YARD / 36


@dataclass(frozen=True, slots=True)
class Twist:
    """The twists of a yarn as far as they were said: singles and fold, turns per metre and direction."""

    singles_tpm: float | None = None
    singles_direction: Direction | None = None
    fold_tpm: float | None = None
    fold_direction: Direction | None = None


def tpm_from_tpi(twist_tpi: float) -> float:
    """Turns per metre from turns per inch.

    >>> round(tpm_from_tpi(17.53))    # F-11
    690
    """
    return twist_tpi / METRES_PER_INCH


def twist_factor_tex(twist_tpm: float, count_tex: float) -> float:
    """Twist factor in the tex scale: tpm·√T (eq 1.7).

    >>> round(twist_factor_tex(690.2, 19.685))    # F-11
    3062
    """
    return twist_tpm * math.sqrt(count_tex)


def twist_tpm_of(alpha_tex: float, count_tex: float) -> float:
    """Turns per metre of a yarn of given twist factor (eq 1.7 turned round).

    >>> round(twist_tpm_of(3062, 19.685))    # F-11
    690
    """
    return alpha_tex / math.sqrt(count_tex)


def alpha_metric_from_tex(alpha_tex: float) -> float:
    """Metric twist factor tpm/√Nm: alpha_tex/31.623 (eq 1.7).

    >>> round(alpha_metric_from_tex(31.623), 4)    # the factor printed in the reference
    1.0
    """
    return alpha_tex / math.sqrt(tex_of(1, "Nm"))


def alpha_tex_from_metric(alpha_metric: float) -> float:
    """Tex twist factor from the metric one, tpm/√Nm.

    >>> round(alpha_tex_from_metric(1), 3)
    31.623
    """
    return alpha_metric * math.sqrt(tex_of(1, "Nm"))


def alpha_tex_from_english(multiplier: float) -> float:
    """Tex twist factor from the English multiplier TM = tpi/√Ne: 956.73·TM (eq 1.8).

    >>> round(alpha_tex_from_english(1), 2)
    956.73
    """
    return tpm_from_tpi(multiplier) * math.sqrt(tex_of(1, "Ne"))


def english_multiplier(alpha_tex: float) -> float:
    """English multiplier TM = tpi/√Ne from the tex twist factor (eq 1.8 turned round).

    >>> round(english_multiplier(3062), 1)    # F-11
    3.2
    """
    return alpha_tex / alpha_tex_from_english(1)


def surface_helix_deg(*, diameter_mm: float, twist_tpm: float) -> float:
    """Slope of the surface fibres to the yarn axis: tan β = π·d·tpm/1000 (eq 1.9).

    >>> round(surface_helix_deg(diameter_mm=0.1658, twist_tpm=690), 1)    # F-11
    19.8
    """
    return math.degrees(math.atan(math.pi * diameter_mm * twist_tpm / 1000))


def usual_twist_factor(spinning: str, part: Literal["single", "fold"] = "single") -> Figure | None:
    """The twist factor (tex scale) usual for knitting yarns of a spinning; none where no value is known.

    The band runs from the softest published practice to the top of the usual one: the two disagree (C-17). The fold's
    factor is on the resultant count.
    """
    rows = [
        row
        for row in table(__package__, "twist_multiplier")
        if (row.text("spinning"), row.text("part")) == (spinning, part)
    ]
    usual = [row for row in rows if row.text("use") == "usual"]
    if not usual:
        return None
    return banded(
        f"usual twist factor, {part}",
        sum(_alpha_tex_range(usual[0])) / 2,
        "tpm·√tex",
        low=min(_alpha_tex_range(row)[0] for row in rows),
        high=max(_alpha_tex_range(row)[1] for row in rows),
        basis=usual[0].basis,
        words="middle of the usual practice for knitting; the yarn's own turns per metre say more",
        source=_cited(rows),
    )


def _alpha_tex_range(row: Row) -> tuple[float, float]:
    if row.has("english_multiplier_low"):
        low, high = row["english_multiplier_low"], row["english_multiplier_high"]
        return alpha_tex_from_english(low), alpha_tex_from_english(high)
    return alpha_tex_from_metric(row["alpha_metric_low"]), alpha_tex_from_metric(row["alpha_metric_high"])


def _cited(rows: Sequence[Row]) -> str:
    return "; ".join(dict.fromkeys(row.source for row in rows))
