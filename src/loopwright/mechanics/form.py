"""The form of a cloth: centre lines of the yarns of one repeat, to be drawn, measured or exported.

Lengths are in diameters of the first yarn. Axes: x along the courses (to the right, seen from the technical face), y
along the wales (knitting direction), z toward the viewer of the face. The cloth is the repeat laid side by side: image
(i, j) of a point is the point + (i·width + j·shear, j·height, 0).
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Points = NDArray[np.float64]


def closed(nodes: Points, width: float, more: int = 1) -> Points:
    """The nodes of one yarn (n, 3) followed by the first `more` of the next repeat, `width` to the right."""
    return np.vstack([nodes, nodes[:more] + np.array([width, 0.0, 0.0])])


@dataclass(frozen=True, slots=True, eq=False)
class Strand:
    """One yarn of a feed over one repeat: nodes (n, 3); node n would be node 0 shifted by (width, 0, 0).

    `diameter` is that of this yarn over that of the first. `feed` counts the feeds of the notation from 0.
    """

    yarn: str
    feed: int
    nodes: Points
    diameter: float = 1.0


@dataclass(frozen=True, slots=True, eq=False)
class ClothForm:
    """All strands of one repeat with its lattice, in yarn diameters, and how many wales and courses it shows."""

    strands: tuple[Strand, ...]
    width: float
    height: float
    shear: float
    wales: float
    courses: float

    @property
    def lean_deg(self) -> float:
        """Lean of the wales, positive to the right on the face."""
        return math.degrees(math.atan2(self.shear, self.height))

    @property
    def depth(self) -> float:
        """From the front-most to the back-most yarn surface."""
        tops = max(float(strand.nodes[:, 2].max()) + strand.diameter / 2 for strand in self.strands)
        feet = min(float(strand.nodes[:, 2].min()) - strand.diameter / 2 for strand in self.strands)
        return tops - feet

    @property
    def wale_spacing(self) -> float:
        """Width of one visible wale."""
        return self.width / self.wales

    @property
    def course_spacing(self) -> float:
        """Height of one visible course."""
        return self.height / self.courses
