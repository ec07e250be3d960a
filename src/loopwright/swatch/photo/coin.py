"""A coin, or anything round, of entered diameter beside the swatch.

In: a picture and the diameter in mm. Out: `Scale`, or `NoScale`. A circle seen at a tilt is an ellipse: its axes give
the scale in every direction and how far the camera is tilted, but not to which side. So the foreshortening is mended,
and what the unknown side does to the scale at the cloth is in the spread; from 4° of tilt the picture is refused.
Two round things of different size are refused, for only one has the diameter that was entered.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy import ndimage

from loopwright.swatch.photo.perspective import USUAL_FOCAL, Points
from loopwright.swatch.photo.picture import Picture
from loopwright.swatch.photo.regions import Region, regions
from loopwright.swatch.photo.scale import CAMERA_TILT_DEG, LENS, NoScale, Scale, ScaleRefusal

RAYS = 144
BAND = 0.1  # of the radius to either side in which the edge is looked for
NARROW_PX = 4.0
OUTER_SHARE = 0.4  # an edge farther out counts when it stands so strong beside the strongest: rims have two
LEAST_AXES = 0.85  # short over long axis of what may be a coin
ROUGH_MISS = 0.03  # of the radius by which a region's border may miss an ellipse
MOST_TILT_DEG = 4.0
EDGE_PX = 0.3  # of the radius: where the edge of a thick coin is seen; prior
LEAST_RADIUS_PX = 20.0
LEAST_SUPPORT = 0.7
SAME_SIZE = 0.06  # round things that differ by more in size are different things


@dataclass(frozen=True, slots=True)
class Ellipse:
    """Middle (px), long and short half axes (px), direction of the long one (radians), and how the edge stands."""

    middle: Points
    long_px: float
    short_px: float
    angle: float
    rms_px: float = 0.0
    support: float = 1.0
    strength: float = 0.0

    def frame(self) -> NDArray[np.float64]:
        """2 × 2: unit circle to ellipse."""
        c, s = np.cos(self.angle), np.sin(self.angle)
        frame: NDArray[np.float64] = np.array([[c, -s], [s, c]]) @ np.diag([self.long_px, self.short_px])
        return frame

    @property
    def ratio_spread(self) -> float:
        """Half-width of the ratio of the axes, in 95 of 100 pictures."""
        return 1.96 * float(np.hypot(EDGE_PX / 2, self.rms_px / np.sqrt(RAYS / 4))) / self.long_px

    @property
    def tilt_deg(self) -> float:
        """Tilt under which a circle looks so."""
        return float(np.degrees(np.arccos(min(1.0, self.short_px / self.long_px))))


def find_coin(picture: Picture, diameter_mm: float, *, cancelled: Callable[[], bool] | None = None) -> Scale | NoScale:
    """The scale that a coin in the picture gives."""
    found = _coins(picture, cancelled)
    if not found:
        return NoScale(
            ScaleRefusal.NO_REFERENCE,
            "No coin is found in the picture.",
            ("lay one coin flat on or beside the cloth, on a ground of another tone", "keep it sharp and whole"),
        )
    coin = max(found, key=lambda each: each.strength * each.support)
    if any(abs(np.log(each.long_px / coin.long_px)) > SAME_SIZE for each in found if _is_apart(each, coin)):
        return NoScale(
            ScaleRefusal.REFERENCE_AMBIGUOUS,
            "Several round things of different size are in the picture.",
            ("leave only the coin whose diameter you typed",),
        )
    if 1 - coin.short_px / coin.long_px > 1 - np.cos(np.radians(MOST_TILT_DEG)) + coin.ratio_spread:
        return NoScale(
            ScaleRefusal.TILT,
            f"The camera is about {coin.tilt_deg:.0f}° off the plumb line; "
            f"a coin doesn't tell to which side, and {MOST_TILT_DEG:.0f}° is the most it can mend.",
            ("hold the camera square to the table", "use a card or a drawn square: they mend the tilt"),
        )
    return _scale(picture, coin, diameter_mm)


def fit_ellipse(points: Points) -> Ellipse | None:
    """The ellipse nearest to points all round it, by least squares of its conic; none when they lie on no ellipse.

    >>> turn = np.linspace(0, 2 * np.pi, 50)
    >>> fitted = fit_ellipse(np.column_stack([7 + 5 * np.cos(turn), 3 * np.sin(turn)]))
    >>> [round(float(each), 6) for each in (fitted.middle[0], fitted.long_px, fitted.short_px)]
    [7.0, 5.0, 3.0]
    """
    centre = points.mean(axis=0)
    size = float(np.abs(points - centre).mean()) or 1.0
    x, y = ((points - centre) / size).T
    design = np.column_stack([x * x, x * y, y * y, x, y])
    a, b, c, d, e = np.linalg.lstsq(design, np.ones(len(x)), rcond=None)[0]
    form = np.array([[a, b / 2], [b / 2, c]])
    if np.linalg.det(form) <= 0:
        return None
    middle = -0.5 * np.linalg.solve(form, np.array([d, e]))
    values, vectors = np.linalg.eigh(form / (1 + middle @ form @ middle))
    if values.min() <= 0:
        return None
    long, short = 1 / np.sqrt(values)
    along = vectors[:, 0]
    return Ellipse(
        middle * size + centre, float(long * size), float(short * size), float(np.arctan2(along[1], along[0]))
    )


def _coins(picture: Picture, cancelled: Callable[[], bool] | None) -> list[Ellipse]:
    known: list[Ellipse] = []
    found: list[Ellipse] = []
    for region in regions(picture.small, cancelled=cancelled):
        rough = _rough(region, picture.small_step)
        if rough is None or any(not _is_apart(rough, other) for other in known):
            continue
        known.append(rough)
        exact = _exact(picture, rough)
        if exact is not None:
            found.append(exact)
    return found


def _is_apart(one: Ellipse, other: Ellipse) -> bool:
    """Whether two ellipses are different things, and not two rims of one."""
    near = np.linalg.norm(one.middle - other.middle) < 0.25 * max(one.long_px, other.long_px)
    return not (near and abs(np.log(one.long_px / other.long_px)) < 2 * BAND)


def _rough(region: Region, small_step: float) -> Ellipse | None:
    fitted = fit_ellipse(region.border)
    if fitted is None or fitted.short_px < LEAST_AXES * fitted.long_px:
        return None
    round_ = (region.border - fitted.middle) @ np.linalg.inv(fitted.frame()).T
    radii = np.hypot(*round_.T)
    if np.sqrt(np.mean((radii - 1) ** 2)) > ROUGH_MISS + 0.5 / fitted.long_px:
        return None
    if abs(region.area_px / (np.pi * fitted.long_px * fitted.short_px) - 1) > 0.05 + 2 / fitted.long_px:
        return None
    step = region.step * small_step
    return Ellipse((fitted.middle + 0.5) * step - 0.5, fitted.long_px * step, fitted.short_px * step, fitted.angle)


def _exact(picture: Picture, rough: Ellipse) -> Ellipse | None:
    """The ellipse through the edge of the disc, each ray to a fraction of a pixel."""
    if rough.short_px < LEAST_RADIUS_PX:
        return None
    offset, sign = _outer_edge(picture, rough, BAND * rough.long_px + 2)
    now = Ellipse(rough.middle, rough.long_px + offset, rough.short_px + offset, rough.angle)
    for _ in range(3):
        points, steep = _edge_points(picture, now, NARROW_PX, sign)
        fitted = fit_ellipse(points)
        if fitted is None:
            return None
        far = (np.hypot(*((points - fitted.middle) @ np.linalg.inv(fitted.frame()).T).T) - 1) * fitted.long_px
        near = np.abs(far) < max(1.0, 3 * 1.4826 * float(np.median(np.abs(far))))
        again = fit_ellipse(points[near])
        if again is None:
            return None
        rms = float(np.sqrt(np.mean(far[near] ** 2)))
        support = float((np.abs(far) < 1.5).mean())
        now = Ellipse(again.middle, again.long_px, again.short_px, again.angle, rms, support, float(np.median(steep)))
    height, width = picture.grey.shape
    is_inside = (now.middle > now.long_px - 2).all() and (
        now.middle < np.array([width, height]) - now.long_px + 2
    ).all()
    return now if now.support > LEAST_SUPPORT and is_inside and now.strength > 0.005 else None


def _rays(
    picture: Picture, ellipse: Ellipse, half_px: float, step: float
) -> tuple[NDArray[np.float64], Points, Points]:
    """Brightness along rays from inside to outside, their foot on the ellipse and their direction."""
    turn = np.linspace(0, 2 * np.pi, RAYS, endpoint=False)
    circle = np.column_stack([np.cos(turn), np.sin(turn)])
    foot = ellipse.middle + circle @ ellipse.frame().T
    outward = circle @ np.linalg.inv(ellipse.frame())
    outward /= np.linalg.norm(outward, axis=1, keepdims=True)
    offsets = np.arange(-half_px, half_px + step / 2, step)
    x = foot[:, :1] + offsets * outward[:, :1]
    y = foot[:, 1:] + offsets * outward[:, 1:]
    seen = ndimage.map_coordinates(picture.grey, [y, x], order=1, mode="nearest").astype(np.float64)
    return seen, foot, outward


def _outer_edge(picture: Picture, ellipse: Ellipse, half_px: float) -> tuple[float, float]:
    """Offset (px) of the outermost strong edge all round, and whether brightness falls (-1) or rises there."""
    step = 0.5
    seen, _, _ = _rays(picture, ellipse, half_px, step)
    slope = ndimage.gaussian_filter1d(seen.mean(axis=0), 1.2 / step, order=1)
    strong = np.abs(slope)
    peaks = np.flatnonzero((strong[1:-1] >= strong[:-2]) & (strong[1:-1] >= strong[2:])) + 1
    outer = max((each for each in peaks if strong[each] > OUTER_SHARE * strong.max()), default=int(np.argmax(strong)))
    return float(outer * step - half_px), float(np.sign(slope[outer]) or 1.0)


def _edge_points(picture: Picture, ellipse: Ellipse, half_px: float, sign: float) -> tuple[Points, Points]:
    """Where each ray crosses the edge, and how steep it is there."""
    step = 0.5
    seen, foot, outward = _rays(picture, ellipse, half_px, step)
    slopes = sign * ndimage.gaussian_filter1d(seen, 1.0 / step, axis=1, order=1)
    peak = np.argmax(slopes[:, 1:-1], axis=1) + 1
    row = np.arange(RAYS)
    before, top, after = slopes[row, peak - 1], slopes[row, peak], slopes[row, peak + 1]
    bend = before - 2 * top + after
    shift = np.clip(np.where(np.abs(bend) > 1e-12, 0.5 * (before - after) / np.where(bend == 0, 1, bend), 0), -1, 1)
    offset = (peak + shift) * step - half_px
    return foot + offset[:, None] * outward, top


def _scale(picture: Picture, coin: Ellipse, diameter_mm: float) -> Scale:
    """Scale from the ellipse: its map to the circle; where the axes differ by less than is sure, from their mean."""
    is_seen_tilted = 1 - coin.short_px / coin.long_px > coin.ratio_spread
    mean_px = float(np.sqrt(coin.long_px * coin.short_px))
    long_px, short_px = (coin.long_px, coin.short_px) if is_seen_tilted else (mean_px, mean_px)
    turn = np.array([[np.cos(coin.angle), np.sin(coin.angle)], [-np.sin(coin.angle), np.cos(coin.angle)]])
    to_circle = np.eye(3)
    to_circle[:2, :2] = turn.T @ np.diag([diameter_mm / (2 * long_px), diameter_mm / (2 * short_px)]) @ turn
    edge = float(np.hypot(EDGE_PX, coin.rms_px / np.sqrt(RAYS / 4)))
    focal_px = USUAL_FOCAL * max(picture.width_px, picture.height_px)
    tilt = min(coin.tilt_deg, MOST_TILT_DEG) if is_seen_tilted else CAMERA_TILT_DEG

    def spread(point: Points) -> tuple[float, float]:
        away = float(np.linalg.norm(point - coin.middle)) / focal_px
        of_scale = float(np.hypot(1.96 * edge / coin.long_px, LENS))
        return of_scale, away * float(np.sin(np.radians(tilt)))

    circle = np.linspace(0, 2 * np.pi, 48, endpoint=False)
    outline = coin.middle + np.column_stack([np.cos(circle), np.sin(circle)]) @ coin.frame().T
    return Scale(
        "coin",
        to_circle,
        (outline,),
        spread,
        coin.tilt_deg if is_seen_tilted else None,
        is_tilt_corrected=True,
        notes=(
            "a coin tells how far the camera is tilted, not to which side: the nearer the cloth, the surer the scale",
        ),
    )
