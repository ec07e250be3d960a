"""What a window asks of a picture: the reference in it, how the wales run, which side lies up, stitches corrected.

In: JSON of the page. Out: `Told`, which names one reading for good. Every correction is a patch with its stitches:
corners dragged, twice as many, half, or one stitch marked by hand. Lengths in mm, places in px of the upright picture.
Not covered: reading it (`photo_work`).
"""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field

from loopwright.problems import Problem
from loopwright.swatch.photo.asked import Asked as AskedOfPhoto
from loopwright.swatch.photo.asked import reference_of
from loopwright.web.asked import Asked

Px = Annotated[float, Field(ge=-100_000, le=200_000, allow_inf_nan=False)]
Many = Annotated[float, Field(gt=0, le=400, allow_inf_nan=False)]
Corner = Annotated[list[Px], Field(min_length=2, max_length=2)]


class Marked(Asked):
    """The corners of a patch where the person has them, lower left first and round, and how many stitches it holds."""

    corners: Annotated[list[Corner], Field(min_length=4, max_length=4)]
    wales: Many = 1
    courses: Many = 1


class Told(Asked):
    """All that is said of a picture."""

    reference: Annotated[str, Field(max_length=40)] = "none"
    wales: Literal["upright", "level"] = "upright"
    side: Literal["face", "back"] | None = None
    marked: Marked | None = None

    @property
    def name(self) -> str:
        """The name of this reading of a picture."""
        return self.model_dump_json()

    def as_asked(self) -> AskedOfPhoto:
        """What the reader is asked.

        Raises:
            Problem: no such reference, or corners that hold no stitch.
        """
        marked = _stitch(self.marked) if self.marked else None
        return AskedOfPhoto(reference_of(self.reference), self.wales, self.side, marked)


def _stitch(marked: Marked) -> tuple[tuple[float, float], tuple[float, float]]:
    """Wale step and course step of one stitch of a marked patch."""
    (ax, ay), (bx, by), (cx, cy), (dx, dy) = marked.corners
    wale = ((bx - ax + cx - dx) / 2 / marked.wales, (by - ay + cy - dy) / 2 / marked.wales)
    course = ((dx - ax + cx - bx) / 2 / marked.courses, (dy - ay + cy - by) / 2 / marked.courses)
    if abs(wale[0] * course[1] - wale[1] * course[0]) < LEAST_STITCH_PX2:
        raise Problem("stitch", "the marked corners hold no stitch.", tries=["drag them apart, round whole stitches"])
    return wale, course


LEAST_STITCH_PX2 = 1.0
