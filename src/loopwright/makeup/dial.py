"""The linking dial: which one serves a knit gauge, and how far the panel is drawn on it.

In: knit gauge in needles per inch, wales per cm of the finished fabric. Out: dial in points per inch, points per cm,
draw ratio, findings. Loop by loop one wale takes one point, so the seam keeps the width of the dial.
Main assumption: the dial is one step finer than the knit gauge. The band of the draw ratio is disputed: ask the linker.
Not covered: minutes (`seams`). Sources: garments_slides, common_practice; production reference 6.
"""

from __future__ import annotations

from loopwright.figure import plain
from loopwright.problems import Finding, Problem, Sign
from loopwright.sources.table import table
from loopwright.units import CM_PER_INCH


def dial_for_gauge(knit_gauge: float) -> float:
    """Points per inch of the usual dial: the next one finer than the knit gauge (needles per inch).

    >>> [dial_for_gauge(gauge) for gauge in (3, 5, 7, 12, 14)]    # pairing of the reference, section 6
    [5.0, 6.0, 8.0, 14.0, 16.0]

    Raises:
        Problem: the gauge is no gauge, or is finer than any dial.
    """
    dials = [row["dial_points_per_inch"] for row in table(__package__, "dials")]
    if not knit_gauge > 0:
        raise Problem("gauge", f"{knit_gauge:g} needles per inch is no gauge.", tries=["give needles per inch"])
    finer = [dial for dial in dials if dial > knit_gauge]
    if not finer:
        raise Problem(
            "linking dial",
            f"No dial is finer than {knit_gauge:g} needles per inch; the finest has {dials[-1]:g} points per inch.",
            tries=["run on along a wale", "cup seam or overlock"],
        )
    return finer[0]


def points_per_cm(dial_points_per_inch: float) -> float:
    """Points per cm of a dial: G_d / 2.54.

    >>> round(points_per_cm(14), 1)    # reference, section 6
    5.5
    """
    return dial_points_per_inch / CM_PER_INCH


def draw_ratio(*, wales_per_cm: float, dial_points_per_inch: float) -> float:
    """Width of a panel on the dial over its relaxed width, loop by loop: w·2.54 / G_d.

    >>> round(draw_ratio(wales_per_cm=6.5, dial_points_per_inch=14), 2)    # block B on its usual dial
    1.18
    """
    return wales_per_cm / points_per_cm(dial_points_per_inch)


def draw_findings(*, wales_per_cm: float, dial_points_per_inch: float, seam: str = "seam") -> tuple[Finding, ...]:
    """What to know when the seam would pucker (drawn too little) or strain (drawn too far); empty when neither."""
    ratio = draw_ratio(wales_per_cm=wales_per_cm, dial_points_per_inch=dial_points_per_inch)
    limits = table(__package__, "draw").by("limit")
    low, high = limits["low"], limits["high"]
    if low["draw_ratio"] <= ratio <= high["draw_ratio"]:
        return ()
    short = ratio < low["draw_ratio"]
    limit, effect, step = (
        (low, "the seam is shorter than the fabric and may pucker", "a coarser dial")
        if short
        else (high, "the loops are drawn far to reach the points and the seam may gape", "a finer dial")
    )
    sentence = (
        f"Linked loop by loop on a dial of {dial_points_per_inch:g} points per inch, the {seam} is drawn to "
        f"{plain(ratio, 2)} of its width, {'under' if short else 'over'} {limit['draw_ratio']:g}: {effect}. "
        "The limit is disputed: ask the linker."
    )
    return (Finding(Sign.KNOW, "linking", sentence, (step, "run on along a slack course"), source=limit.source),)
