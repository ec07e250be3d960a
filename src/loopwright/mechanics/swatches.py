"""A swatch as the mechanics reads it: counts, loop length, and what else was measured on it.

In: structure, yarn, loop length (mm), visible wales and courses per cm; where measured thickness (mm), radius of the
roll of a side edge (mm), lean (degrees, right positive, seen on the face), and the extension (%) of a strip of a known
width (cm) under a known weight (N). Out: a checked `Swatch`. The swatch is taken as relaxed.
Not covered: reading a photo (`swatch`).
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from loopwright.problems import Problem
from loopwright.structure.library import Structure
from loopwright.yarn.yarn import Yarn

WAYS = ("length", "width")
_LIMITS = {  # smallest and largest that anybody measures, with the unit
    "loop_length_mm": (0.3, 200.0, "mm"),
    "wales_per_cm": (0.1, 100.0, "per cm"),
    "courses_per_cm": (0.1, 200.0, "per cm"),
    "thickness_mm": (0.02, 100.0, "mm"),
    "side_radius_mm": (0.1, 1000.0, "mm"),
    "lean_deg": (-60.0, 60.0, "°"),
    "extension_percent": (0.1, 1000.0, "%"),
    "weight_n": (0.001, 1000.0, "N"),
    "strip_width_cm": (0.2, 200.0, "cm"),
}
_NAMES = {"side_radius_mm": "radius of the roll", "lean_deg": "lean", "weight_n": "weight", "strip_width_cm": "strip"}


@dataclass(frozen=True, slots=True)
class Swatch:
    """A measured swatch. `pulled` is the way a strip was stretched, "length" (along the wales) or "width"."""

    name: str
    structure: Structure
    yarn: Yarn
    loop_length_mm: float
    wales_per_cm: float
    courses_per_cm: float
    thickness_mm: float | None = None
    side_radius_mm: float | None = None
    lean_deg: float | None = None
    extension_percent: float | None = None
    weight_n: float | None = None
    strip_width_cm: float | None = None
    pulled: str = "length"

    def __post_init__(self) -> None:
        """Check what a person typed.

        Raises:
            Problem: a number that no swatch has, or an extension without its weight and width.
        """
        for field, (low, high, unit) in _LIMITS.items():
            value = getattr(self, field)
            if value is not None and not (math.isfinite(value) and low <= value <= high):
                name = _NAMES.get(field, field.rpartition("_")[0].replace("_", " "))
                what = f"{name} {value:g} {unit}."
                raise Problem(self.name, what, limit=f"{low:g} to {high:g} {unit}", tries=["check the unit"])
        pull = (self.extension_percent, self.weight_n, self.strip_width_cm)
        if any(each is None for each in pull) and any(each is not None for each in pull):
            raise Problem(
                self.name,
                "an extension says something only with its weight and the width of the strip.",
                tries=["extension_percent = 18, weight_n = 5, strip_width_cm = 5"],
            )
        if self.pulled not in WAYS:
            raise Problem(self.name, f"“{self.pulled}” is no way to stretch a strip.", tries=list(WAYS))

    @property
    def force_n_per_cm(self) -> float | None:
        """Pull per width of the strip; none when no strip was stretched."""
        if self.weight_n is None or self.strip_width_cm is None:
            return None
        return self.weight_n / self.strip_width_cm
