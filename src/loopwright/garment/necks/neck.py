"""What a neck is: how its front edge runs, how wide and deep it usually is, and what is joined to it.

In: a share of the drop. Out: a share of the half width that the edge has reached. From these follow the wanted outline,
the needles taken in every course, and the length that a band has to run along. A front edge starts at the centre of the
lowest point (share 0) and ends at the high point of shoulder (share 1).
Not covered: rounding to needles (`shaping.neckline`). Source: production reference 2 (necks, common practice).
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from itertools import pairwise

Curve = Callable[[float], float]
Point = tuple[float, float]
FINE = 160  # chords that a neck edge is measured by


@dataclass(frozen=True, slots=True)
class Neck:
    """A kind of neck. Lengths in cm by population ("women", "men", "children").

    Args:
        name: what a style calls it.
        width_cm, front_drop_cm, back_drop_cm: usual measures, seam to seam.
        band_cm: usual finished height of what is joined to it.
        curve: share of the half width reached at a share of the drop, both 0 to 1, never falling.
        pick_up: needles of the band for each needle's width of seam.
        trim: "band" (may be doubled), "collar" (a single tube) or "hood".
        is_fashioned: whether the edge is narrowed with moved loops; otherwise its needles are held or bound off.
        note: what a technician should know.
    """

    name: str
    width_cm: Mapping[str, float]
    front_drop_cm: Mapping[str, float]
    back_drop_cm: Mapping[str, float]
    band_cm: Mapping[str, float]
    curve: Curve
    pick_up: float
    trim: str = "band"
    is_fashioned: bool = False
    note: str = ""

    def front_points(self, *, half_width_cm: float, drop_cm: float, chords: int = FINE) -> tuple[Point, ...]:
        """Points of the front edge from centre to high point of shoulder, (x from the centre, y above the lowest)."""
        shares = [1 - math.cos(math.pi / 2 * step / chords) for step in range(chords + 1)]
        edge = [(half_width_cm * self.curve(share), drop_cm * share) for share in shares]
        return tuple(dict.fromkeys([(0.0, 0.0), *edge, (half_width_cm, drop_cm)]))

    def front_length_cm(self, *, width_cm: float, drop_cm: float) -> float:
        """Length of the whole front neck edge, both sides.

        >>> from loopwright.garment.necks import neck_called
        >>> round(neck_called("crew").front_length_cm(width_cm=18, drop_cm=9), 2)    # P-26: a half circle
        28.27
        """
        points = self.front_points(half_width_cm=width_cm / 2, drop_cm=drop_cm)
        return 2 * sum(math.dist(first, second) for first, second in pairwise(points))


def quarter_ellipse(share: float) -> float:
    """A quarter ellipse: flat at the centre, upright at the shoulder.

    >>> quarter_ellipse(0.0), quarter_ellipse(1.0), round(quarter_ellipse(0.2), 3)    # 0.6 of the way at a fifth: 3-4-5
    (0.0, 1.0, 0.6)
    """
    return math.sqrt(max(0.0, 1 - (1 - share) ** 2))


def straight(share: float) -> float:
    """A straight line from centre to shoulder."""
    return share


def upright(share: float) -> float:
    """The whole width at once, then straight up."""
    del share
    return 1.0


def each(women: float, men: float, children: float) -> Mapping[str, float]:
    """One length for every population, cm."""
    return {"women": women, "men": men, "children": children}
