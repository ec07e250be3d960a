"""The set-in armhole and its cap, the neck and the shoulder: lengths that close, in cm.

In: `Measures`-like lengths in cm. Out: edge lengths, cap height. Assumptions: the armhole is bind-off, slope
and vertical; the cap is an S of shape factor κ over its chord; the front neck is a half ellipse.
Not covered: rounding to needles and courses (`shaping`). Sources: puri_2010; production reference 2.
"""

from __future__ import annotations

import math

from loopwright.problems import Problem
from loopwright.sources.table import Row, table


def block_row(quantity: str) -> Row:
    """A default of the block: base, slope share, cap top, ease, shape factor."""
    return table("loopwright.garment", "block").by("quantity")[quantity]


def armhole_edge_length_cm(*, base_cm: float, inset_cm: float, slope_height_cm: float, height_cm: float) -> float:
    """One armhole edge: b0 + √((a − b0)² + k²) + (As − k).

    >>> edge = armhole_edge_length_cm(base_cm=2.308, inset_cm=5.385, slope_height_cm=6.905, height_cm=18.571)
    >>> round(edge, 2)    # P-19: 15 needles, 20 needles over 58 courses, 98 courses at 6.5 and 8.4 per cm
    21.53
    """
    return base_cm + math.hypot(inset_cm - base_cm, slope_height_cm) + (height_cm - slope_height_cm)


def cap_height_cm(*, edge_cm: float, run_cm: float, shape_factor: float) -> float:
    """Height of a cap edge of length S over a run dx: √((S/κ)² − dx²).

    >>> round(cap_height_cm(edge_cm=14.861, run_cm=10.154, shape_factor=1.02), 2)    # P-20
    10.45

    Raises:
        Problem: the sleeve is too wide for the armhole (S/κ ≤ dx).
    """
    chord = edge_cm / shape_factor
    if chord <= run_cm:
        raise Problem(
            "sleeve cap",
            f"each side of the cap has {max(chord, 0):.1f} cm of edge to cross {run_cm:.1f} cm: the cap cannot close.",
            limit="the edge must be longer than the way across",
            tries=["a narrower upper arm", "a deeper armhole", "a wider top of the cap"],
        )
    return math.sqrt(chord**2 - run_cm**2)


def cap_height_of(
    *, inset_cm: float, armhole_height_cm: float, upper_arm_cm: float, top_cm: float | None = None
) -> float:
    """Height of the cap that closes into two armholes of these measures, with the block's defaults.

    `top_cm` is the width of its top where that is given, as the strap of a saddle gives it.

    Raises:
        Problem: no cap closes; with how much narrower the arm or deeper the armhole must be.
    """
    base = min(block_row("armhole_base_cm")["value"], inset_cm)
    slope = block_row("armhole_slope_share")["value"] * armhole_height_cm
    edge = armhole_edge_length_cm(base_cm=base, inset_cm=inset_cm, slope_height_cm=slope, height_cm=armhole_height_cm)
    top = block_row("cap_top_share")["value"] * upper_arm_cm if top_cm is None else top_cm
    side = edge + (block_row("cap_ease_cm")["value"] - top - 2 * base) / 2
    run = upper_arm_cm / 2 - base - top / 2
    factor = block_row("cap_shape_factor")["value"]
    if run <= 0:
        what = f"a top of {top:.1f} cm and 2 × {base:.1f} cm at the underarm leave no slope of an upper arm of"
        raise Problem(
            "sleeve cap", f"{what} {upper_arm_cm:.1f} cm round.", tries=["a narrower top", "a wider upper arm"]
        )
    try:
        return cap_height_cm(edge_cm=side, run_cm=run, shape_factor=factor)
    except Problem as problem:
        narrower = narrower_arm_cm(upper_arm_cm=upper_arm_cm, edge_cm=edge, base_cm=base)
        wanted = edge + run * factor - side
        deeper = armhole_height_cm_for_edge(edge_cm=wanted, base_cm=base, inset_cm=inset_cm) - armhole_height_cm
        raise Problem(
            "sleeve cap",
            f"an upper arm of {upper_arm_cm:.1f} cm round against armhole edges of 2 × {edge:.1f} cm: {problem.what}",
            limit=problem.limit,
            tries=[f"an upper arm under {narrower:.1f} cm round", f"an armhole more than {deeper:.1f} cm deeper"],
        ) from None


def armhole_height_cm_for_edge(*, edge_cm: float, base_cm: float, inset_cm: float) -> float:
    """Height of an armhole whose edge has a given length, the slope taking its usual share s of the height.

    Turns b0 + √((a − b0)² + (s·As)²) + (1 − s)·As round; an edge grows by less than its armhole deepens.

    >>> height = armhole_height_cm_for_edge(edge_cm=21.534, base_cm=2.308, inset_cm=5.385)    # P-19, s 0.372 there
    >>> round(height, 1)
    18.6
    """
    share, run, rest = block_row("armhole_slope_share")["value"], inset_cm - base_cm, edge_cm - base_cm
    square, linear = 2 * share - 1, 2 * (1 - share) * rest
    if math.isclose(square, 0.0, abs_tol=1e-9):
        return (rest**2 - run**2) / linear
    return (math.sqrt(linear**2 + 4 * square * (rest**2 - run**2)) - linear) / (2 * square)


def narrower_arm_cm(*, upper_arm_cm: float, edge_cm: float, base_cm: float) -> float:
    """Largest upper arm whose cap still closes, cm round: where the chord of the edge equals the way across."""
    share, factor = block_row("cap_top_share")["value"], block_row("cap_shape_factor")["value"]
    fixed = edge_cm + block_row("cap_ease_cm")["value"] / 2 - base_cm
    # (fixed − share·U/2)/κ = U/2 − base − share·U/2
    limit = (fixed / factor + base_cm) / ((1 - share) / 2 + share / (2 * factor))
    return min(upper_arm_cm, limit)


def ellipse_cap_height_cm(*, armhole_round: float, upper_arm: float) -> float | None:
    """Cap height by the ellipse method, for a plausibility check: 2·√(P²/(2π²) − (U/4)²), any unit.

    None when the sleeve is too wide for any ellipse of that perimeter.

    >>> round(ellipse_cap_height_cm(armhole_round=17, upper_arm=13), 2)    # P-28, inches
    4.04
    """
    square = armhole_round**2 / (2 * math.pi**2) - (upper_arm / 4) ** 2
    return 2 * math.sqrt(square) if square > 0 else None


def shoulder_drop_cm(*, shoulder_length_cm: float, angle_deg: float) -> float:
    """Drop of a shoulder: length across × tan of the angle.

    >>> round(shoulder_drop_cm(shoulder_length_cm=10, angle_deg=18), 2)    # P-30
    3.25
    """
    return shoulder_length_cm * math.tan(math.radians(angle_deg))


def shoulder_angle_deg(*, shoulder_length_cm: float, drop_cm: float) -> float:
    """Angle of a shoulder from the level.

    >>> round(shoulder_angle_deg(shoulder_length_cm=10, drop_cm=3), 1)    # P-30
    16.7
    """
    return math.degrees(math.atan2(drop_cm, shoulder_length_cm))


def needed_extension_percent(*, girth_cm: float, minimum_cm: float) -> float:
    """Stretch that a neckband needs to go over the head.

    >>> round(needed_extension_percent(girth_cm=314 / 6.9, minimum_cm=62))    # P-64
    36
    """
    return 100 * (minimum_cm / girth_cm - 1)
