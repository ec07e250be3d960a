"""A photo of a swatch, whole: picture, reference, cloth and stitches together give the counts, or the reason why not.

In: the bytes of a picture file and what is said about it. Out: `PhotoReading` or `PhotoRefused`.
The spread joins that of the stitches, as calibrated on drawn ones, a share for real cloth, that of the scale and of a
tilt that nothing corrects, as independent.
Not covered: taking position out of files (`stripped`), drawing on the photo (the page).
Source: the project's feasibility note on swatch pictures.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from typing import Literal

import numpy as np

from loopwright.swatch.photo.answer import HINT, MapBlock, Measured, PhotoReading, PhotoRefused, ScaleTold
from loopwright.swatch.photo.asked import Asked
from loopwright.swatch.photo.card import find_card
from loopwright.swatch.photo.cloth import ClothArea, find_cloth
from loopwright.swatch.photo.coin import find_coin
from loopwright.swatch.photo.drawn import placed
from loopwright.swatch.photo.perspective import Points, jacobian, mapped
from loopwright.swatch.photo.picture import Picture, Unreadable, read_picture
from loopwright.swatch.photo.reading import read_lattice
from loopwright.swatch.photo.rectify import View, middle_of, view_of
from loopwright.swatch.photo.refusal import Refusal
from loopwright.swatch.photo.ruler import find_ruler
from loopwright.swatch.photo.scale import (
    CAMERA_TILT_DEG,
    NoScale,
    Scale,
    ScaleRefusal,
    from_dots_per_inch,
    tilt_spread,
)
from loopwright.swatch.photo.square import find_square
from loopwright.swatch.photo.stitches import LatticeReading, Refused, Vector

Progress = Callable[[float], None]
Cancelled = Callable[[], bool]
TOO_LITTLE = (Refusal.WEAK_PATTERN, Refusal.TOO_FEW, Refusal.ONE_DIRECTION)  # then the whole picture is tried
CLOTH = 0.001  # relative, what stitches of real cloth add to the spread found on drawn ones; prior
BEFORE_STITCHES = 0.3  # share of the work done when the reading of stitches starts


def read_photo(
    data: bytes, asked: Asked, *, progress: Progress | None = None, cancelled: Cancelled | None = None
) -> PhotoReading | PhotoRefused:
    """Read a swatch from the bytes of a picture file."""
    try:
        picture = read_picture(data)
    except Unreadable as problem:
        return PhotoRefused(ScaleRefusal.UNREADABLE.value, problem.what, problem.tries)
    return read_of_picture(picture, asked, progress=progress, cancelled=cancelled)


def read_of_picture(
    picture: Picture, asked: Asked, *, progress: Progress | None = None, cancelled: Cancelled | None = None
) -> PhotoReading | PhotoRefused:
    """Read a swatch from a picture that is open already, as the page does again and again.

    Raises:
        refusal.Stopped: `cancelled` said so.
    """
    area = find_cloth(picture.grey)
    scale = scale_of(picture, asked, area, cancelled=cancelled)
    if progress is not None:
        progress(BEFORE_STITCHES)
    known = None if isinstance(scale, NoScale) else scale
    view = view_of(picture, area, known)
    lattice = _lattice(view, asked, _after(progress), cancelled)
    if isinstance(lattice, Refused) and area is not None and lattice.code in TOO_LITTLE:
        view = view_of(picture, None, known)
        whole = _lattice(view, asked, _after(progress), cancelled)
        lattice = whole if isinstance(whole, LatticeReading) else lattice
    if isinstance(lattice, Refused):
        nearly = lattice.for_information
        told = None if nearly is None else _reading(picture, view, None, nearly)
        return PhotoRefused(lattice.code.value, lattice.sentence, lattice.tries, told)
    if isinstance(scale, NoScale):
        return PhotoRefused(scale.code.value, scale.sentence, scale.tries, _reading(picture, view, None, lattice))
    return _reading(picture, view, scale, lattice)


def scale_of(
    picture: Picture, asked: Asked, area: ClothArea | None, *, cancelled: Cancelled | None = None
) -> Scale | NoScale | None:
    """The scale that the reference gives; none when none is asked for."""
    reference = asked.reference
    if reference.kind == "card":
        return find_card(picture, cancelled=cancelled)
    if reference.kind == "square":
        return find_square(picture, reference.size, cancelled=cancelled)
    if reference.kind == "coin":
        return find_coin(picture, reference.size, cancelled=cancelled)
    if reference.kind == "ruler":
        return find_ruler(picture, reference.size, middle_of(picture, area), area)
    if reference.kind == "dpi":
        return from_dots_per_inch(reference.size, is_from_camera=picture.is_from_camera)
    return None


Count = Literal["as read", "twice", "half"]


def corrected(
    picture: Picture,
    asked: Asked,
    before: PhotoReading,
    *,
    wales: Count = "as read",
    courses: Count = "as read",
    turned: bool = False,
    corners: tuple[Vector, Vector, Vector, Vector] | None = None,
    progress: Progress | None = None,
    cancelled: Cancelled | None = None,
) -> PhotoReading | PhotoRefused:
    """Read again with a person's word: twice or half as many wales or courses, turned by a quarter, or the corners of
    the drawn patch (px of the photo, in the order of `StitchesDrawn.patch`) where the person dragged them."""
    again = replace(asked, marked_stitch=_marked(before, corners, wales, courses))
    if turned:
        again = replace(asked, marked_stitch=None, wales="level" if asked.wales == "upright" else "upright")
    return read_of_picture(picture, again, progress=progress, cancelled=cancelled)


def _marked(
    before: PhotoReading, corners: tuple[Vector, Vector, Vector, Vector] | None, wales: Count, courses: Count
) -> tuple[Vector, Vector]:
    """One stitch (px of the photo at the middle of the cloth) as the person's word makes it."""
    share = {"as read": 1.0, "twice": 0.5, "half": 2.0}
    drawn = before.drawn
    wale, course = np.array(drawn.wale_step_px), np.array(drawn.course_step_px)
    if corners is not None:
        low_left, low_right, up_right, up_left = (np.array(each) for each in corners)
        wale = ((low_right - low_left) + (up_right - up_left)) / (2 * drawn.patch_wales)
        course = ((up_left - low_left) + (up_right - low_right)) / (2 * drawn.patch_courses)
    wale, course = wale * share[wales], course * share[courses]
    return (float(wale[0]), float(wale[1])), (float(course[0]), float(course[1]))


def _lattice(
    view: View, asked: Asked, progress: Progress | None, cancelled: Cancelled | None
) -> LatticeReading | Refused:
    return read_lattice(
        view.grey,
        wales=asked.wales,
        side=asked.side,
        mask=view.mask,
        marked_stitch=_in_view(view, asked.marked_stitch),
        wales_per_repeat=asked.wales_per_repeat,
        courses_per_repeat=asked.courses_per_repeat,
        stripes_and_rib=asked.stripes_and_rib,
        progress=progress,
        cancelled=cancelled,
    )


def _in_view(view: View, marked: tuple[Vector, Vector] | None) -> tuple[Vector, Vector] | None:
    """A stitch marked in the photo as steps in the view."""
    if marked is None:
        return None
    middle = np.array([view.grey.shape[1] / 2, view.grey.shape[0] / 2])
    back = np.linalg.inv(jacobian(view.to_picture, middle))
    wale, course = (back @ np.array(step) for step in marked)
    return (float(wale[0]), float(wale[1])), (float(course[0]), float(course[1]))


def _after(progress: Progress | None) -> Progress | None:
    """The progress of the stitches as a part of the whole."""
    if progress is None:
        return None
    return lambda share: progress(BEFORE_STITCHES + (1 - BEFORE_STITCHES) * share)


def _reading(picture: Picture, view: View, scale: Scale | None, lattice: LatticeReading) -> PhotoReading:
    """The answer from the stitches of a view."""
    drawn = placed(view, lattice)
    told = _told(scale, np.array(drawn.origin_px))
    mm = view.mm_per_px if scale is not None else None
    wale, course = np.array(drawn.wale_step_px), np.array(drawn.course_step_px)
    size = float(np.hypot(*wale))
    unseen = tilt_spread(CAMERA_TILT_DEG, 0) if scale is None else told.tilt_u95_percent / 100 if told else 0.0
    bent = float(np.hypot(0.0 if told is None else told.u95_percent / 100 / 2, CLOTH))
    skew = Measured(lattice.skew_deg, float(np.hypot(lattice.skew.u95, np.degrees(np.hypot(unseen, bent)))))
    ratio = lattice.course_pitch_px / lattice.wale_pitch_px
    ratio_u = float(np.sqrt(lattice.wale.u95**2 + lattice.course.u95**2 + (2 * unseen) ** 2 + bent**2))
    return PhotoReading(
        wales_per_10_cm=_count(lattice.wale_pitch_px, mm, lattice.wale.u95, told),
        courses_per_10_cm=_count(lattice.course_pitch_px, mm, lattice.course.u95, told),
        wale_pitch_mm=None if mm is None else lattice.wale_pitch_px * mm,
        course_pitch_mm=None if mm is None else lattice.course_pitch_px * mm,
        wale_pitch_px=size,
        course_pitch_px=float(abs(wale[0] * course[1] - wale[1] * course[0]) / size),
        course_over_wale=Measured(ratio, ratio * ratio_u),
        skew_deg=skew,
        rotation_deg=lattice.rotation_deg if scale is None else _rotation(lattice, wale),
        side=lattice.side,
        scale=told,
        coherence=lattice.coherence,
        share_of_area=lattice.share_of_area,
        wales_seen=lattice.wales_seen,
        courses_seen=lattice.courses_seen,
        stripe_repeat=lattice.stripe_repeat,
        map=_map(view, lattice, mm),
        drawn=drawn,
        width_px=picture.width_px,
        height_px=picture.height_px,
        notes=_notes(picture, scale, lattice),
    )


def _told(scale: Scale | None, place: Points) -> ScaleTold | None:
    if scale is None:
        return None
    of_scale, of_tilt = scale.spread_at(place)
    return ScaleTold(
        scale.how, scale.px_per_mm(place), 100 * of_scale, 100 * of_tilt, scale.tilt_deg, scale.is_tilt_corrected
    )


def _count(pitch_px: float, mm_per_px: float | None, lattice_u95: float, told: ScaleTold | None) -> Measured | None:
    """Stitches to ten centimetres."""
    if mm_per_px is None or told is None:
        return None
    count = 100 / (pitch_px * mm_per_px)
    return Measured(
        count,
        count * float(np.linalg.norm([lattice_u95, CLOTH, told.u95_percent / 100, told.tilt_u95_percent / 100])),
    )


def _rotation(lattice: LatticeReading, wale: Points) -> float:
    """Direction of the courses in the photo, in the half-turn nearest to that of the lattice."""
    seen = float(np.degrees(np.arctan2(wale[1], wale[0])))
    return seen - 180 * round((seen - lattice.rotation_deg) / 180)


def _map(view: View, lattice: LatticeReading, mm: float | None) -> tuple[MapBlock, ...]:
    """The blocks of the reading at their places in the photo."""
    blocks = lattice.blocks
    if len(blocks.x_px) == 0:
        return ()
    places = mapped(view.to_picture, np.column_stack([blocks.x_px, blocks.y_px]))
    return tuple(
        MapBlock(
            float(x),
            float(y),
            float(wale),
            float(course),
            None if mm is None else float(100 / (wale * mm)),
            None if mm is None else float(100 / (course * mm)),
            float(skew),
        )
        for (x, y), wale, course, skew in zip(
            places, blocks.wale_pitch_px, blocks.course_pitch_px, blocks.skew_deg, strict=True
        )
    )


def _notes(picture: Picture, scale: Scale | None, lattice: LatticeReading) -> tuple[str, ...]:
    own = [HINT, f"{CLOTH:.1%} of the spread allows for what drawn stitches don't have and real ones do"]
    if scale is None:
        own.append(
            "no scale: pitches are in pixels, and lean and proportion hold for a camera held square to the cloth"
        )
    elif not scale.is_tilt_corrected and scale.tilt_deg is None:
        own.append(f"nothing corrects the tilt of the camera; {CAMERA_TILT_DEG:.0f}° is allowed for in the spread")
    if picture.channel != "grey":
        own.append(f"read in the {picture.channel} of the picture, where the stitches stand out most")
    return (*own, *picture.notes, *(scale.notes if scale else ()), *lattice.notes)
