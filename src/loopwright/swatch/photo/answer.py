"""What a photo of a swatch says: stitches to ten centimetres, lean, scale, tilt and map, or why it isn't read.

In: nothing; the types alone. Out: `PhotoReading` and `PhotoRefused`, each with its JSON document, the unit in every
key. `u95` is a half-width that holds in 95 of 100 pictures; low and high always mean nine in ten.
Angles: lean is positive when the upper end of the wales leans to the right; rotation of the courses is positive
clockwise; x right, y down, in px of the upright photo.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any

from loopwright.figure import NINE_IN_TEN_SD, U95_SD
from loopwright.swatch.photo.stitches import Vector

HINT = "read from the photo; hold the drawn stitches against it before you take the figures"


@dataclass(frozen=True, slots=True)
class Measured:
    """A value with its half-width that holds in 95 of 100 pictures, in the same unit."""

    value: float
    u95: float

    @property
    def half_90(self) -> float:
        """Half width of nine in ten."""
        return self.u95 * NINE_IN_TEN_SD / U95_SD

    @property
    def low(self) -> float:
        """Lower end of nine in ten."""
        return self.value - self.half_90

    @property
    def high(self) -> float:
        """Upper end of nine in ten."""
        return self.value + self.half_90

    def as_dict(self) -> dict[str, float]:
        """JSON form."""
        return {"value": self.value, "u95": self.u95, "low": self.low, "high": self.high}


@dataclass(frozen=True, slots=True)
class ScaleTold:
    """How the scale is known: px of the photo to a mm at the cloth, its relative spreads, the tilt."""

    how: str
    px_per_mm: float
    u95_percent: float
    tilt_u95_percent: float
    tilt_deg: float | None
    is_tilt_corrected: bool

    def as_dict(self) -> dict[str, Any]:
        """JSON form."""
        return {
            "how": self.how,
            "px_per_mm": self.px_per_mm,
            "u95_percent": self.u95_percent,
            "tilt_u95_percent": self.tilt_u95_percent,
            "tilt_deg": self.tilt_deg,
            "is_tilt_corrected": self.is_tilt_corrected,
        }


@dataclass(frozen=True, slots=True)
class StitchesDrawn:
    """Where the stitches lie in the photo.

    `stitch_to_picture` (rows of 3 × 3) takes (wale, course) counted from the middle of one stitch to px of the photo,
    perspective included. `patch` holds the four corners of `patch_wales` × `patch_courses` stitches: the lower left of
    the cloth, lower right, upper right, upper left, when the wales stand upright.
    """

    stitch_to_picture: tuple[tuple[float, float, float], ...]
    origin_px: Vector
    wale_step_px: Vector
    course_step_px: Vector
    patch_wales: int
    patch_courses: int
    patch: tuple[Vector, Vector, Vector, Vector]

    def at(self, wale: float, course: float) -> Vector:
        """Place of a stitch in the photo, px."""
        x, y, w = (row[0] * wale + row[1] * course + row[2] for row in self.stitch_to_picture)
        return x / w, y / w

    def as_dict(self) -> dict[str, Any]:
        """JSON form."""
        return {
            "stitch_to_picture": [list(row) for row in self.stitch_to_picture],
            "origin_px": list(self.origin_px),
            "wale_step_px": list(self.wale_step_px),
            "course_step_px": list(self.course_step_px),
            "patch_wales": self.patch_wales,
            "patch_courses": self.patch_courses,
            "patch_px": [list(corner) for corner in self.patch],
        }


@dataclass(frozen=True, slots=True)
class MapBlock:
    """The stitches at one place of the photo; counts are none without a scale."""

    x_px: float
    y_px: float
    wale_pitch_px: float
    course_pitch_px: float
    wales_per_10_cm: float | None
    courses_per_10_cm: float | None
    skew_deg: float

    def as_dict(self) -> dict[str, float | None]:
        """JSON form."""
        return {
            "x_px": self.x_px,
            "y_px": self.y_px,
            "wale_pitch_px": self.wale_pitch_px,
            "course_pitch_px": self.course_pitch_px,
            "wales_per_10_cm": self.wales_per_10_cm,
            "courses_per_10_cm": self.courses_per_10_cm,
            "skew_deg": self.skew_deg,
        }


@dataclass(frozen=True, slots=True)
class PhotoReading:
    """A photo that is read. Counts and mm are none without a scale; px are those of the upright photo at the cloth."""

    wales_per_10_cm: Measured | None
    courses_per_10_cm: Measured | None
    wale_pitch_mm: float | None
    course_pitch_mm: float | None
    wale_pitch_px: float
    course_pitch_px: float
    course_over_wale: Measured
    skew_deg: Measured
    rotation_deg: float
    side: str
    scale: ScaleTold | None
    coherence: float
    share_of_area: float
    wales_seen: float
    courses_seen: float
    stripe_repeat: int
    map: tuple[MapBlock, ...]
    drawn: StitchesDrawn
    width_px: int
    height_px: int
    notes: tuple[str, ...]

    @property
    def lean_percent(self) -> Measured:
        """Lean of the wales over a length, per cent of it: 100 tan of the skew.

        The form in which standards on laundered cloth state it.
        """
        slope = math.tan(math.radians(self.skew_deg.value))
        return Measured(100 * slope, 100 * math.radians(self.skew_deg.u95) * (1 + slope**2))

    def as_dict(self) -> dict[str, Any]:
        """JSON document."""
        return {
            "read": True,
            **{
                key: None if each is None else each.as_dict()
                for key, each in (
                    ("wales_per_10_cm", self.wales_per_10_cm),
                    ("courses_per_10_cm", self.courses_per_10_cm),
                    ("skew_deg", self.skew_deg),
                    ("lean_percent", self.lean_percent),
                    ("course_over_wale", self.course_over_wale),
                )
            },
            "wale_pitch_mm": self.wale_pitch_mm,
            "course_pitch_mm": self.course_pitch_mm,
            **self.pixels(),
            "scale": self.scale.as_dict() if self.scale else None,
            "coherence": self.coherence,
            "share_of_area": self.share_of_area,
            "stripe_repeat_courses": self.stripe_repeat,
            "lattice": self.drawn.as_dict(),
            "map": [block.as_dict() for block in self.map],
            "picture": {"width_px": self.width_px, "height_px": self.height_px},
            "notes": list(self.notes),
        }

    def pixels(self) -> dict[str, Any]:
        """What needs no scale, for JSON."""
        return {
            "wale_pitch_px": self.wale_pitch_px,
            "course_pitch_px": self.course_pitch_px,
            "rotation_deg": self.rotation_deg,
            "side": self.side,
            "wales_seen": self.wales_seen,
            "courses_seen": self.courses_seen,
        }


@dataclass(frozen=True, slots=True)
class PhotoRefused:
    """A photo that isn't read: code, one sentence, what to try; what was nearly read stands for information only."""

    code: str
    sentence: str
    tries: tuple[str, ...] = ()
    nearly: PhotoReading | None = None

    def as_dict(self) -> dict[str, Any]:
        """JSON document; `for_information` has no figure to be taken."""
        known = {} if self.nearly is None else {**self.nearly.pixels(), "skew_deg": self.nearly.skew_deg.value}
        return {
            "read": False,
            "refused": {"code": self.code, "sentence": self.sentence, "tries": list(self.tries)},
            "for_information": known,
        }
