"""The stitches of a swatch picture as values: one stitch in pixels with its spread, or the refusal to name one.

In: nothing; the types alone, and the turning of a picture whose wales lie level. Out: `LatticeReading`, `Refused`.
Angles: image x to the right, y down; skew is positive when the upper end of the wale leans to the right, the rotation
of the courses is positive clockwise on the screen.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import Any, Literal

import numpy as np
from numpy.typing import NDArray

from loopwright.swatch.photo.refusal import Refusal, reason

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
    """A second cell that explains the picture, in words and as steps (px); what it costs more than the first."""

    words: str
    wale_step_px: Vector
    course_step_px: Vector
    more: float


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

    @classmethod
    def because(cls, code: Refusal, reading: LatticeReading | None = None, **numbers: float | str) -> Refused:
        """The refusal with its sentence."""
        why = reason(code, **numbers)
        return cls(code, why.sentence, why.tries, reading)


@dataclass(frozen=True, slots=True)
class Told:
    """What the person said about the picture."""

    wales: WalesRun
    side: Side | None
    marked_stitch: tuple[Vector, Vector] | None
    wales_per_repeat: int
    courses_per_repeat: int
    stripes_and_rib: bool

    @property
    def repeat(self) -> tuple[int, int]:
        """Wales and courses of one repeat."""
        return self.wales_per_repeat, self.courses_per_repeat


def turned_back(reading: LatticeReading, height: int) -> LatticeReading:
    """A reading of the picture turned upright, as of the picture given."""
    blocks = reading.blocks
    wale, course = given(reading.wale_step_px), given(reading.course_step_px)
    rotation = math.degrees(math.atan2(wale[1], wale[0]))
    rotation = rotation - 180 if rotation > 90 else rotation + 180 if rotation <= -90 else rotation
    x, y = reading.origin_px
    placed = replace(blocks, x_px=height - 1 - blocks.y_px, y_px=blocks.x_px)
    return replace(
        reading,
        wale_step_px=wale,
        course_step_px=course,
        rotation_deg=rotation,
        blocks=placed,
        origin_px=(height - 1 - y, x),
    )


def turned(picture: NDArray[Any]) -> NDArray[Any]:
    """A picture turned a quarter to the left: level wales stand upright."""
    return np.ascontiguousarray(np.rot90(picture))


def upright(step: Vector) -> Vector:
    """A step of the picture given, in the picture turned upright."""
    return step[1], -step[0]


def given(step: Vector) -> Vector:
    """A step of the picture turned upright, in the picture given."""
    return -step[1], step[0]
