"""Spirality: how far the wales lean, from residual yarn torque and from the helix of multi-feed machines.

In: yarn twist, tightness, beds, feeds. Out: lean in degrees and per cent (100·tan), as a band. Assumption: the
published factors in a product form whose coefficients are working assumptions (band 50 %); no published regression
could be opened. The direction is never inferred without a swatch. Valid: spun single-bed fabrics after washing.
Not covered: measured lean (`swatch`, later), remedies' costs. Sources: tao_1997, degirmenci_dyeing, das_spirality,
iso_16322_2; eqs 7.1-7.5 of the fabric reference.
"""

from __future__ import annotations

import math

from loopwright.fabric.tightness import tightness_figure
from loopwright.figure import Basis, Figure, banded
from loopwright.sources.table import Row, cite, table
from loopwright.structure.library import Structure
from loopwright.yarn.yarn import Yarn


def lean_percent(angle_deg: float) -> float:
    """Lean in per cent: 100·tan(angle) (eq 7.1).

    >>> round(lean_percent(2.86), 2)    # F-45
    5.0
    """
    return 100 * math.tan(math.radians(angle_deg))


def lean_percent_from_diagonals(*, rising_right_mm: float, rising_left_mm: float) -> float:
    """Lean of a marked square from its diagonals: 100·2·(AC − BD)/(AC + BD); + leans right, Z (eq 7.2).

    >>> round(lean_percent_from_diagonals(rising_right_mm=362, rising_left_mm=345), 2)    # F-46
    4.81
    """
    return 200 * (rising_right_mm - rising_left_mm) / (rising_right_mm + rising_left_mm)


def feed_helix_deg(*, courses_per_turn: float, wales_per_cm: float, needles: int, courses_per_cm: float) -> float:
    """Lean from the helix of a circular machine: tan = F·w/(N·c) (eq 7.4); zero on flat machines.

    >>> round(feed_helix_deg(courses_per_turn=90, wales_per_cm=13.5, needles=2256, courses_per_cm=20.0), 2)    # F-48
    1.54
    """
    return math.degrees(math.atan(courses_per_turn * wales_per_cm / (needles * courses_per_cm)))


def torque_lean_deg(
    *,
    alpha_tex: float,
    tightness: float,
    fold_ratio: float = 0.0,
    finish_factor: float = 1.0,
) -> float:
    """Lean from yarn torque: A·(α/3500)·(K_ref/K)^n·(1 − β·R)·f (eq 7.5, starting values).

    >>> round(torque_lean_deg(alpha_tex=3350, tightness=15.0, finish_factor=0.5), 2)    # F-64
    4.55
    """
    start = _start_values()
    slackness = math.pow(start["k_ref"]["value"] / tightness, start["exponent"]["value"])
    twist = alpha_tex / start["alpha_ref"]["value"]
    residual = 1 - start["beta"]["value"] * fold_ratio
    return start["lean_deg"]["value"] * twist * slackness * residual * finish_factor


def spirality(structure: Structure, yarn: Yarn, loop_length_mm: Figure) -> Figure:
    """Expected size of the lean after washing, per cent (either direction), as a band."""
    start = _start_values()
    anatomy = structure.anatomy
    if anatomy.beds == 2:
        return _near_zero("both beds lean opposite ways and cancel", start["double_bed_deg"])
    ratio = yarn.fold_to_single_ratio
    if yarn.count.folds > 1 and ratio is None:
        return _near_zero(
            "a folded yarn is taken as balanced (fold about 0.66 of the singles twist); give its twists to compute it",
            start["balanced_deg"],
        )
    twist = yarn.twist_factor
    alpha = twist.value if twist is not None else start["alpha_default"]["value"]
    lean = abs(
        torque_lean_deg(
            alpha_tex=alpha,
            tightness=tightness_figure(yarn, loop_length_mm).value,
            fold_ratio=ratio.value if ratio is not None else 0.0,
        )
    )
    floor = start["balanced_deg"]["value_high"]
    band = start["band"]["value"]
    unknown = "" if twist is not None else " (singles twist not given: a usual one is taken)"
    return banded(
        "spirality after washing",
        lean_percent(lean),
        "%",
        low=lean_percent(lean * (1 - band)),
        high=lean_percent(max(lean * (1 + band), floor if ratio is not None else 0.0)),
        basis=Basis.ASSUMED,
        words=f"twist factor, slackness and fold in product form{unknown}; grey and washed, dyeing may halve it for a "
        "time; direction only from a swatch",
        formula="θ = A·(α/3500)·(K_ref/K)^n·(1 − β·R)·f",
        source=f"eq 7.5, starting values; factors after {cite('tao_1997')} and {cite('degirmenci_dyeing')}",
    )


SIGNED = "right positive, seen on the technical face"


def is_signed(lean: Figure) -> bool:
    """Whether a lean knows its side; before a swatch only its size is told."""
    return lean.low < 0 or SIGNED in lean.why.words


def _near_zero(words: str, row: Row) -> Figure:
    return banded(
        "spirality after washing",
        lean_percent(row["value"]),
        "%",
        low=lean_percent(row["value_low"]),
        high=lean_percent(row["value_high"]),
        basis=row.basis,
        words=words,
        source=row.source,
    )


def _start_values() -> dict[str, Row]:
    return dict(table(__package__, "spirality").by("quantity"))
