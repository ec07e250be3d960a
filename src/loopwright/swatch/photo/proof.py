"""Whether a cell is one stitch: the picture's likeness one stitch on, against half a stitch and several stitches on.

In: `Likeness` over a lattice. Out: by how much wale and course have to be multiplied or divided, and what isn't proved.
The limits are priors set on rendered cloth: at fractions of a true stitch the likeness stays under four fifths of that
one stitch on.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from scipy.ndimage import maximum_filter

from loopwright.swatch.photo.repeats import REACH, SAMPLES, Likeness

STRIPE_SHARE = 0.62  # of the likeness one cell on, at each fraction of it: then the fraction is the course
OTHER_SHARE, OTHER_OF_SEVERAL = (
    0.5,
    0.88,
)  # as like elsewhere in a repeat of one stitch, of several: it is more
MOST_SECOND = 1.1  # as like two repeats across, of one: nothing is more like than the next stitch
AWAY = 0.2  # stitches
CENTRED_SHARE = 0.93  # plain cloth reaches 0.87; courses that repeat half a wale aside are as like as one stitch on
RISE = 0.10  # how far a fraction stands above its surroundings
LARGER, LARGER_COURSE = 1.45, 2.0  # so much more like two on: then two are the repeat; courses may take turns in tone


@dataclass(frozen=True, slots=True)
class Proof:
    """Likeness one repeat on; courses in one course found, repeats in one wale or course found; what isn't proved.

    `half_wale`, `centred` and `other` are the likeness half a repeat across, half a repeat across and up, and at the
    best other place within one, each of that one repeat on; `second` is the likeness two repeats across, of that one
    across, and `diagonal` that of the less like diagonal, of the other.
    """

    likeness: float
    courses_in_cell: int
    cells_in_course: int
    cells_in_wale: int
    half_wale: float
    centred: float
    other: float
    most_other: float
    second: float
    diagonal: float

    @property
    def holds(self) -> bool:
        """Whether the cell needs no change."""
        is_one = self.courses_in_cell == self.cells_in_course == self.cells_in_wale == 1
        return is_one and self.other < self.most_other and self.second < MOST_SECOND

    @property
    def is_centred(self) -> bool:
        """Whether each course repeats the last one half a wale aside."""
        return self.centred >= CENTRED_SHARE


def proof_of(like: Likeness, repeat: tuple[int, int] = (1, 1)) -> Proof:
    """What the likeness says about a stitch of which `repeat` wales and courses make one repeat."""
    wales, courses = repeat
    one = (like.at(wales, 0) + like.at(0, courses) + like.at(wales, courses) + like.at(-wales, courses)) / 4
    safe = max(one, 1e-3)
    half = max(like.at(wales / 2, 0, 1), like.at(wales / 2, courses, 1)) / safe
    second = like.at(2 * wales, 0, 1) / max(like.at(wales, 0), 1e-3) if 2 * wales <= REACH else 1.0
    diagonals = sorted(max(like.at(side * wales, courses, 1), 1e-3) for side in (1, -1))
    centred = max(centred_at(like, repeat, side) for side in (1, -1)) / safe
    within = courses_in(like) if courses == 1 else 1
    doubled = (cells_in(like, wales, along_wale=False), cells_in(like, courses, along_wale=True))
    other, most = elsewhere(like, repeat) / safe, OTHER_SHARE if repeat == (1, 1) else OTHER_OF_SEVERAL
    return Proof(one, within, doubled[1], doubled[0], half, centred, other, most, second, diagonals[0] / diagonals[1])


def centred_at(like: Likeness, repeat: tuple[int, int], side: int) -> float:
    """Likeness half a repeat across and up, 0 unless it is highest there to all four sides."""
    wales, courses = side * repeat[0] / 2, repeat[1] / 2
    around = [(wales - 0.25, courses), (wales + 0.25, courses), (wales, courses - 0.25), (wales, courses + 0.25)]
    here = like.at(wales, courses, 1)
    return here if here > max(like.at(*place) for place in around) + RISE * here else 0.0


def elsewhere(like: Likeness, repeat: tuple[int, int]) -> float:
    """The highest likeness within one repeat, away from its corners and from half of it across."""
    wales, courses = repeat
    reach = REACH * SAMPLES
    part = like.mean[reach : reach + courses * SAMPLES + 1, reach - wales * SAMPLES : reach + wales * SAMPLES + 1]
    top = maximum_filter(part, 5) == part
    v, u = (axis / SAMPLES for axis in np.nonzero(top))
    u = u - wales
    at_corner = np.hypot(u - wales * np.round(u / wales), v - courses * np.round(v / courses)) < AWAY
    halves = np.abs(np.abs(u) - wales / 2) < AWAY
    on_half = halves & (np.abs(v - courses / 2 * np.round(2 * v / courses)) < AWAY)
    values = part[top][~at_corner & ~on_half]
    return float(values.max()) if len(values) else 0.0


def courses_in(like: Likeness) -> int:
    """Courses in one cell: the finest division at which every fraction of the cell repeats, 1 when none does."""
    for count in (8, 6, 5, 4, 3, 2):
        fractions = [index / count for index in range(1, count)]
        whole = like.at(0, 1)
        if whole > 0.1 and all(
            like.at(0, part, 1) >= STRIPE_SHARE * whole and is_peak(like, part, 0.5 / count) for part in fractions
        ):
            return count
    return 1


def is_peak(like: Likeness, courses: float, apart: float) -> bool:
    """Whether the likeness up a wale is higher here than to both sides."""
    sides = (like.at(0, courses - apart), like.at(0, courses + apart))
    return like.at(0, courses, 1) > max(sides) + RISE * max(like.at(0, 1), like.at(1, 0), 0.05)


def cells_in(like: Likeness, repeat: int, *, along_wale: bool) -> int:
    """Repeats in one true repeat: where the likeness is much greater some repeats on than one on."""

    def on(count: int) -> float:
        return like.at(0, count * repeat) if along_wale else like.at(count * repeat, 0)

    one = max(on(1), 0.02)
    for count in range(2, min(3, REACH // repeat) + 1):
        others = [on(each) for each in range(1, min(4, REACH // repeat + 1)) if each % count]
        if on(count) > (LARGER_COURSE if along_wale else LARGER) * max(one, *others) and on(count) > 0.15:
            return count
    return 1
