"""Whether a cell is one stitch: the picture's likeness one stitch on, against half a stitch and several stitches on.

In: `Likeness` over a lattice. Out: by how much wale and course have to be multiplied or divided, and what isn't proved.
The limits are priors set on rendered cloth: at fractions of a true stitch the likeness stays under four fifths of that
one stitch on.
"""

from __future__ import annotations

from dataclasses import dataclass

from loopwright.swatch.photo.repeats import Likeness

STRIPE_SHARE = 0.62  # of the likeness one cell on, at each fraction of it: then the fraction is the course
HALF_SHARE = 0.88  # as like half a wale on: then nothing proves the wale
CENTRED_SHARE = 0.93  # plain cloth reaches 0.87; courses that repeat half a wale aside are as like as one stitch on
RISE = 0.10  # how far a fraction stands above its surroundings
LARGER = 1.45  # so much more like two cells on: then two are the repeat
TWELFTH = 1 / 12


@dataclass(frozen=True, slots=True)
class Proof:
    """Likeness one stitch on; cells in one course or wale found, courses or wales in one cell; what isn't proved."""

    likeness: float
    courses_in_cell: int
    cells_in_course: int
    cells_in_wale: int
    half_wale: float
    centred: float

    @property
    def holds(self) -> bool:
        """Whether the cell needs no change."""
        return self.courses_in_cell == self.cells_in_course == self.cells_in_wale == 1

    @property
    def is_halvable(self) -> bool:
        """Whether half a wale is as good as one."""
        return self.half_wale >= HALF_SHARE

    @property
    def is_centred(self) -> bool:
        """Whether each course repeats the last one half a wale aside."""
        return self.centred >= CENTRED_SHARE


def proof_of(like: Likeness) -> Proof:
    """What the likeness says about a cell."""
    one = (like.at(1, 0) + like.at(0, 1) + like.at(1, 1) + like.at(-1, 1)) / 4
    safe = max(one, 1e-3)
    half = max(like.at(0.5, 0, 1), like.at(0.5, 1, 1)) / safe if is_peak(like, 0.5, 0) else 0.0
    centred = max(centred_at(like, 0.5), centred_at(like, -0.5)) / safe
    return Proof(
        one, courses_in(like), cells_in(like, along_wale=True), cells_in(like, along_wale=False), half, centred
    )


def centred_at(like: Likeness, wales: float) -> float:
    """Likeness half a wale and half a course on, 0 unless it is highest there to all four sides."""
    around = [(wales - 0.25, 0.5), (wales + 0.25, 0.5), (wales, 0.25), (wales, 0.75)]
    here = like.at(wales, 0.5, 1)
    return here if here > max(like.at(*place) for place in around) + RISE * here else 0.0


def courses_in(like: Likeness) -> int:
    """Courses in one cell: the finest division at which every fraction of the cell repeats, 1 when none does."""
    for count in (8, 6, 5, 4, 3, 2):
        fractions = [index / count for index in range(1, count)]
        whole = like.at(0, 1)
        if whole > 0.1 and all(
            like.at(0, part, 1) >= STRIPE_SHARE * whole and is_peak(like, 0, part, 0.5 / count) for part in fractions
        ):
            return count
    return 1


def is_peak(like: Likeness, wales: float, courses: float, apart: float = 0.25) -> bool:
    """Whether the likeness is higher here than to both sides."""
    if courses == 0 or wales != 0:
        sides = (like.at(wales - apart, courses), like.at(wales + apart, courses))
    else:
        sides = (like.at(wales, courses - apart), like.at(wales, courses + apart))
    return like.at(wales, courses, 1) > max(sides) + RISE * max(like.at(0, 1), like.at(1, 0), 0.05)


def cells_in(like: Likeness, *, along_wale: bool) -> int:
    """Cells in one true repeat: where the likeness is much greater some cells on than one on."""

    def on(count: int) -> float:
        return like.at(0, count) if along_wale else like.at(count, 0)

    one = max(on(1), 0.02)
    for count in (2, 3):
        others = [on(each) for each in range(1, 4) if each % count]
        if on(count) > LARGER * max(one, *others) and on(count) > 0.15:
            return count
    return 1
