"""An exact plan beside a classic one, in words for the person who decides between them.

In: the `Steps` of a classic rule and the exact `ShapedEdge`. Out: one line with the strokes it saves or
takes and how much nearer it comes to the outline. Nearer is the root mean square over the courses, the same measure
that the plan is chosen by.
"""

from __future__ import annotations

from loopwright.figure import plain
from loopwright.shaping.exact import ShapedEdge, events_of, shaped_edge
from loopwright.shaping.exact_model import EdgeCosts
from loopwright.shaping.fashioning import Steps

DECIMALS_MM = 1  # a tenth of a millimetre is less than a tenth of a needle at every gauge


def comparison_words(classic: Steps, plan: ShapedEdge, costs: EdgeCosts) -> str:
    """What the plan saves and what it costs against `classic`: "12 fewer transfer strokes, 0.8 mm closer …"."""
    before = shaped_edge(plan.edge, events_of(classic), costs)
    saved = round(before.strokes - plan.strokes)
    closer_mm = round(before.rms_deviation_mm - plan.rms_deviation_mm, DECIMALS_MM)
    link = " but " if saved * closer_mm < 0 else ", "
    return f"{_strokes_words(saved)}{link}{_outline_words(closer_mm)}"


def _strokes_words(saved: int) -> str:
    if saved == 0:
        return "as many transfer strokes"
    more = "fewer" if saved > 0 else "more"
    return f"{abs(saved)} {more} transfer stroke{'s' if abs(saved) != 1 else ''}"


def _outline_words(closer_mm: float) -> str:
    if closer_mm == 0:
        return "as close to the outline"
    way = "closer to" if closer_mm > 0 else "further from"
    return f"{plain(abs(closer_mm), DECIMALS_MM)} mm {way} the outline"
