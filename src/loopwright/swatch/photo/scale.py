"""The scale of a swatch picture: pixels to millimetres on the cloth, how it is known and how sure it is.

In: what a reference gave (a map from picture to table, corners, or just a length). Out: `Scale`: the map, the spread
of lengths at a place of the cloth, tilt. Spreads are relative half-widths that hold in 95 of 100 pictures.
Assumed: the reference lies in the plane of the cloth; one that lies h higher than the cloth under a camera at distance
D shows everything h / D too large (2 mm at 300 mm: 0.7 %). Lens distortion is allowed for by a flat share.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from enum import StrEnum

import numpy as np
from numpy.typing import NDArray

from loopwright.swatch.photo.perspective import Map, Points, jacobian
from loopwright.swatch.photo.pose import KNOWN, table_from_picture

MM_PER_INCH = 25.4
LENS = 0.001  # what a lens bends after the camera's own correction, relative; prior
SCANNER = 0.003  # how true the dots per inch of a flat-bed scanner are, relative; prior
CAMERA_TILT_DEG = 3.0  # how far off the plumb line a hand holds a camera that nothing corrects; prior


class ScaleRefusal(StrEnum):
    """Why a picture has no scale, or no picture."""

    UNREADABLE = "unreadable"
    NO_REFERENCE = "no_reference"
    REFERENCE_AMBIGUOUS = "reference_ambiguous"
    TILT = "tilt"


@dataclass(frozen=True, slots=True)
class NoScale:
    """No scale: why, and what to try."""

    code: ScaleRefusal
    sentence: str
    tries: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Scale:
    """How the picture lies on the table.

    `to_mm` maps picture to table (mm); `outline_px` surrounds the reference, which isn't cloth; `spread_at` gives the
    relative spreads of lengths at a place of the picture (px): that of the scale and that of an unknown tilt.
    `tilt_deg` is none when nothing tells it.
    """

    how: str
    to_mm: Map
    outline_px: tuple[Points, ...]
    spread_at: Callable[[Points], tuple[float, float]]
    tilt_deg: float | None
    is_tilt_corrected: bool
    notes: tuple[str, ...] = ()

    def px_per_mm(self, point: Points) -> float:
        """Pixels to a millimetre near a point of the picture: the mean over all directions."""
        return float(1 / np.sqrt(abs(np.linalg.det(jacobian(self.to_mm, point)))))


def from_dots_per_inch(dpi: float, *, is_from_camera: bool) -> Scale:
    """The scale of a scan.

    >>> round(from_dots_per_inch(300, is_from_camera=False).px_per_mm(np.zeros(2)), 3)    # 300 / 25.4
    11.811
    """
    mm = MM_PER_INCH / dpi
    note = (
        "the file comes from a camera: its dots per inch tell nothing of the cloth unless you worked them out",
        f"a camera may have been {CAMERA_TILT_DEG:.0f}° off; nothing shows its tilt",
    )
    tilt = tilt_spread(CAMERA_TILT_DEG, 0.0) if is_from_camera else 0.0
    return Scale(
        "dots per inch",
        np.diag([mm, mm, 1.0]),
        (),
        lambda _point: (SCANNER, tilt),
        None if is_from_camera else 0.0,
        is_tilt_corrected=False,
        notes=note if is_from_camera else (),
    )


def tilt_spread(tilt_deg: float, distances: float) -> float:
    """Relative error of lengths under a tilt that isn't corrected: foreshortening, and the scale so many camera
    distances away from the reference.

    >>> round(tilt_spread(10, 0), 4)    # 1 - cos 10°, the project's feasibility note
    0.0152
    """
    tilt = np.radians(tilt_deg)
    return float(np.hypot(1 - np.cos(tilt), distances * np.sin(tilt)))


def scale_of_corners(
    how: str,
    corners_px: Points,
    table_mm: Points,
    sd_px: float,
    size_px: tuple[int, int],
    *,
    tilt_deg: float,
    notes: tuple[str, ...] = (),
) -> Scale:
    """The scale from four corners known to `sd_px` each in x and in y."""

    def fit(corners: Points, shift: NDArray[np.float64] | None = None) -> Map:
        return table_from_picture(corners, table_mm, size_px, sd_px, shift)

    base = fit(corners_px)
    moved = [fit(corners_px + step.reshape(4, 2)) for step in sd_px * np.eye(8)]
    moved += [fit(corners_px, step) for step in np.eye(KNOWN)]

    def spread(point: Points) -> tuple[float, float]:
        here = _sizes(base, point)
        steps = np.array([np.log(_sizes(each, point) / here) for each in moved])
        sd = float(np.sqrt((steps**2).sum(axis=0)).max())
        return float(np.hypot(1.96 * sd, LENS)), 0.0

    return Scale(how, base, (corners_px,), spread, tilt_deg, is_tilt_corrected=True, notes=notes)


def _sizes(to_mm: Map, point: Points) -> NDArray[np.float64]:
    """Millimetres to a pixel across and down."""
    sizes: NDArray[np.float64] = np.linalg.norm(jacobian(to_mm, point), axis=0)
    return sizes
