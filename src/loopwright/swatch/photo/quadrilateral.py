"""Four-sided regions: from an even region to four corners, roughly, and then exactly at the edges.

In: regions of the small copy, brightness of the whole picture. Out: `Quadrilateral`: corners in px of the whole
picture, clockwise on the screen. What it is, card or square, is asked elsewhere.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from itertools import combinations

import numpy as np

from loopwright.swatch.photo.edges import Sides, fit_sides
from loopwright.swatch.photo.perspective import Points
from loopwright.swatch.photo.picture import Picture
from loopwright.swatch.photo.regions import Region, regions

MOST_HULL_POINTS = 16  # of which four are taken as corners
AREA_TOLERANCE = 0.07  # a region and its quadrilateral differ by no more
SAME_SHARE = 0.025  # corners that lie so near in sides are the same quadrilateral
FOUND_SHARE = 0.1  # the same beside one whose exact edges are found already
SEEN = (0.2, 0.8)  # part of a side that has to lie in the picture: a corner may be cut off
LEAST_SUPPORT = 0.6  # of a side that has to lie on its line
MIDDLE = (0.2, 0.8)  # part of a side that the rough line is fitted on: round corners stay out
FEWEST_POINTS = 5


@dataclass(frozen=True, slots=True)
class Quadrilateral:
    """Four corners (4, 2) px, clockwise on the screen, with the edges that led there."""

    sides: Sides
    is_brighter: bool

    @property
    def corners(self) -> Points:
        """Corners in px of the whole picture."""
        return self.sides.corners

    @property
    def lengths(self) -> Points:
        """Length of the side from each corner to the next, px."""
        return side_lengths(self.corners)

    @property
    def area_px(self) -> float:
        """Area inside, px²."""
        return area(self.corners)


def area(corners: Points) -> float:
    """Area of a polygon, positive when its corners run clockwise on the screen."""
    x, y = corners[:, 0], corners[:, 1]
    return float(np.sum(x * np.roll(y, -1) - np.roll(x, -1) * y) / 2)


def side_lengths(corners: Points) -> Points:
    """Length of the side from each corner to the next."""
    lengths: Points = np.linalg.norm(np.roll(corners, -1, axis=0) - corners, axis=1)
    return lengths


def quadrilaterals(
    picture: Picture, is_like: Callable[[Points], bool], *, cancelled: Callable[[], bool] | None = None
) -> Iterator[Quadrilateral]:
    """Quadrilaterals of the picture whose rough corners are like what is looked for, at their exact edges."""
    known: list[Points] = []
    settled: list[Points] = []
    for region in regions(picture.small, may_touch_edge=True, cancelled=cancelled):
        rough = rough_corners(region)
        if rough is None or not is_like(rough):
            continue
        rough = (rough + 0.5) * region.step * picture.small_step - 0.5
        if _is_known(rough, known, SAME_SHARE) or _is_known(rough, settled, FOUND_SHARE):
            continue
        known.append(rough)
        exact = _exact(picture, rough)
        if exact is not None and is_like(exact.corners):
            settled.append(exact.corners)
            yield exact


def rough_corners(region: Region) -> Points | None:
    """Corners where lines through the middle of a region's four sides meet; none when it isn't four-sided."""
    hull = region.hull if area(region.hull) > 0 else region.hull[::-1]
    if len(hull) > MOST_HULL_POINTS:
        hull = hull[_evenly(hull, MOST_HULL_POINTS)]
    if len(hull) < 4:
        return None
    choices = np.array(list(combinations(range(len(hull)), 4)))
    x, y = hull[choices, 0], hull[choices, 1]
    areas = np.sum(x * np.roll(y, -1, axis=1) - np.roll(x, -1, axis=1) * y, axis=1)
    first = hull[choices[int(np.argmax(areas))]]
    lines = [_line_near(region.border, first[i], first[(i + 1) % 4]) for i in range(4)]
    if any(line is None for line in lines):
        return None
    corners = np.array([_cross(lines[i - 1], lines[i]) for i in range(4)])
    if not np.isfinite(corners).all() or area(corners) <= 0:
        return None
    return (
        corners
        if abs(region.area_px / area(corners) - 1) < AREA_TOLERANCE + 0.6 / side_lengths(corners).min()
        else None
    )


def _evenly(hull: Points, count: int) -> Points:
    """Indices of hull points spread along the outline, most of them where it turns."""
    along, back = np.roll(hull, -1, axis=0) - hull, hull - np.roll(hull, 1, axis=0)
    turn = np.abs(along[:, 0] * back[:, 1] - along[:, 1] * back[:, 0]) / (
        np.linalg.norm(along, axis=1) * np.linalg.norm(back, axis=1)
    )
    run = np.linalg.norm(along, axis=1)
    weight = np.cumsum(0.5 * run / run.sum() + 0.5 * turn / turn.sum())
    places = np.searchsorted(weight, np.linspace(0, weight[-1], count, endpoint=False))
    chosen: Points = np.unique(np.clip(places, 0, len(hull) - 1))
    return chosen


def _line_near(border: Points, start: Points, end: Points) -> tuple[Points, Points] | None:
    """Point and direction of the line through the border points along the middle of a side."""
    along = end - start
    length = float(np.linalg.norm(along))
    if length < FEWEST_POINTS:
        return None
    along = along / length
    share = (border - start) @ along / length
    off = np.abs((border - start) @ np.array([-along[1], along[0]]))
    near = border[(share > MIDDLE[0]) & (share < MIDDLE[1]) & (off < 0.08 * length + 2)]
    if len(near) < FEWEST_POINTS:
        return None
    middle = near.mean(axis=0)
    direction = np.linalg.eigh((near - middle).T @ (near - middle))[1][:, 1]
    return middle, direction


def _cross(one: tuple[Points, Points] | None, other: tuple[Points, Points] | None) -> Points:
    assert one is not None
    assert other is not None
    (p, a), (q, b) = one, other
    turned = a[0] * b[1] - a[1] * b[0]
    if abs(turned) < 0.1:
        return np.full(2, np.nan)
    gap = q - p
    point: Points = p + a * (gap[0] * b[1] - gap[1] * b[0]) / turned
    return point


def _is_known(corners: Points, known: list[Points], share: float) -> bool:
    """Whether each corner lies near one of a quadrilateral that is known."""
    near = share * side_lengths(corners).mean()
    return any((np.linalg.norm(corners[:, None] - other[None], axis=2).min(axis=1) < near).all() for other in known)


def _exact(picture: Picture, corners: Points) -> Quadrilateral | None:
    """The quadrilateral at its edges, brighter or darker inside, whichever edge stands better."""
    best = Quadrilateral(*fit_sides(picture.grey, corners))
    if best.sides.support < LEAST_SUPPORT or best.area_px <= 0:
        return None
    along = np.roll(best.corners, -1, axis=0) - best.corners
    return best if all(_is_in_picture(picture, best.corners + share * along) for share in SEEN) else None


def _is_in_picture(picture: Picture, points: Points) -> bool:
    """Whether all points lie in the picture."""
    return bool((points > 0).all() and (points < (picture.width_px - 1, picture.height_px - 1)).all())
