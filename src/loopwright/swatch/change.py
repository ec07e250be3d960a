"""Change of dimensions between two sittings, from marks on the swatch or from its size.

In: distances between the same marks before and after. Out: changes in per cent, negative when the cloth shrinks, one
for every pair of marks, so that their spread is known. The form of the result is that of ISO 5077. Assumption: marks
are listed in the same order both times; where their number differs each is set against the mean before.
Not covered: the predicted change (`fabric.relaxation`), whose formula this uses.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

from loopwright.fabric.relaxation import change_percent


def changes_percent(before: Sequence[float], after: Sequence[float]) -> tuple[float, ...]:
    """Change of every marked distance.

    >>> [round(change, 2) for change in changes_percent([350, 350, 350], [329, 329, 329])]    # F-43, length
    [-6.0, -6.0, -6.0]
    >>> [round(change, 2) for change in changes_percent([350], [341])]    # F-43, width
    [-2.57]
    """
    mean = sum(before) / len(before)
    starts = before if len(before) == len(after) else [mean] * len(after)
    return tuple(change_percent(before=was, after=now) for was, now in zip(starts, after, strict=True))


def area_change_percent(*, length_percent: float, width_percent: float) -> float:
    """Change of area from those of length and width.

    >>> round(area_change_percent(length_percent=-6.0, width_percent=-2.57), 2)    # F-43
    -8.42
    """
    return 100 * ((1 + length_percent / 100) * (1 + width_percent / 100) - 1)


def reading_step_percent(step_mm: float, before: Sequence[float]) -> float:
    """What the step of the ruler makes in a change, in per cent: both distances are read to it."""
    return 100 * math.sqrt(2) * step_mm * len(before) / sum(before)
