"""The stitches of a swatch picture: wale step, course step, skew, with their spread, or the reason why not.

In: the brightness of a picture and what the person said about it. Out: `LatticeReading` in pixels, or `Refused`.
Angles: image x to the right, y down; skew is positive when the upper end of the wale leans to the right, the rotation
of the courses is positive clockwise on the screen. Assumed: flat cloth, seen square; plain unless told otherwise.
Not covered: pixels per millimetre and tilt (the references), the outline of the swatch.
Source: the project's feasibility note on swatch pictures; the steps are in the modules beside this one.
"""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
from numpy.typing import NDArray

from loopwright.swatch.photo.choosing import Chosen, chosen_stitch, nothing
from loopwright.swatch.photo.judging import judged
from loopwright.swatch.photo.lattice import measures, steps_of
from loopwright.swatch.photo.measured import Measured, measured
from loopwright.swatch.photo.origin import origin_of
from loopwright.swatch.photo.refine import Fields
from loopwright.swatch.photo.refusal import Refusal, Stopped
from loopwright.swatch.photo.search import Scales, scales_of
from loopwright.swatch.photo.side import face_index, side_of
from loopwright.swatch.photo.spread import blocks_of, half_widths, standard_errors
from loopwright.swatch.photo.stitches import (
    Blocks,
    LatticeReading,
    Refused,
    RunnerUp,
    Side,
    Spread,
    Told,
    Vector,
    WalesRun,
    turned,
    turned_back,
    upright,
)

Array = NDArray[np.float64]
Grey = NDArray[np.float32]

SHORTEST_PX = 64
ENOUGH_STITCHES = 9  # to either side, so that a picture whose stitches can't be followed doesn't lack for them


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
    tell = progress or (lambda _share: None)
    picture = np.asarray(grey, np.float32)
    cloth = mask
    if wales == "level":
        picture, cloth = turned(picture), None if mask is None else turned(mask)
        marked_stitch = None if marked_stitch is None else (upright(marked_stitch[0]), upright(marked_stitch[1]))
    told = Told(wales, side, marked_stitch, wales_per_repeat, courses_per_repeat, stripes_and_rib)
    if min(picture.shape) < SHORTEST_PX:
        return Refused.because(Refusal.TOO_FEW, wales=0, courses=0)
    scales = scales_of(picture, cloth)
    tell(0.4)
    stop_if(cancelled)
    chosen = chosen_stitch(scales, told)
    if isinstance(chosen, Refused):
        return chosen
    answer = measured(picture, cloth, chosen.basis, told.repeat)
    tell(0.9)
    stop_if(cancelled)
    if answer is None:
        return too_few(picture, chosen) or nothing(scales, chosen.coherence)
    reading = reading_of(answer, chosen, scales, told)
    if wales == "level":
        reading = turned_back(reading, picture.shape[0])
    tell(1.0)
    return judged(reading, answer, told, scales)


def stop_if(cancelled: Callable[[], bool] | None) -> None:
    """End the reading when the person asked for it."""
    if cancelled is not None and cancelled():
        raise Stopped


def too_few(picture: Grey, chosen: Chosen) -> Refused | None:
    """The refusal of a picture with hardly any stitches, though clear ones; none when there were enough to follow."""
    spans = 1 / np.linalg.norm(chosen.basis, axis=1)
    counts = (picture.shape[1] / spans[0], picture.shape[0] / spans[1])
    if min(counts) > ENOUGH_STITCHES or not chosen.is_clear:
        return None
    return Refused.because(Refusal.TOO_FEW, wales=counts[0], courses=counts[1])


def reading_of(answer: Measured, chosen: Chosen, scales: Scales, told: Told) -> LatticeReading:
    """The values of a measured lattice, in pixels of the picture."""
    copy, fields = answer.copy, answer.fields
    scale = float(copy.factor)
    steps = steps_of(answer.basis)
    stitch = measures(steps[:, 0], steps[:, 1])
    blocks = blocks_of(fields)
    pitches = (stitch.wale_pitch_px / scale, stitch.course_pitch_px / scale)
    wide, tall = seen(fields, scale)
    counts = (wide / stitch.wale_pitch_px, tall / stitch.course_pitch_px)
    errors = standard_errors(blocks, pitches, told.repeat[0])
    widths = half_widths(errors, len(blocks.values), counts)
    spreads = [Spread(float(error), float(width)) for error, width in zip(errors, widths, strict=True)]
    table = scales.table(answer.basis)
    index = face_index(table.orders, table.mean)
    corner = np.array(answer.corner_px, float)
    origin = (np.array(origin_of(copy, fields)) + 0.5) * scale - 0.5 + corner
    notes = notes_of(answer, chosen, told)
    runner_up = second_reading(chosen, told)
    return LatticeReading(
        wale_step_px=(float(steps[0, 0]), float(steps[1, 0])),
        course_step_px=(float(steps[0, 1]), float(steps[1, 1])),
        wale_pitch_px=stitch.wale_pitch_px,
        course_pitch_px=stitch.course_pitch_px,
        skew_deg=stitch.skew_deg,
        rotation_deg=stitch.rotation_deg,
        wale=spreads[0],
        course=spreads[1],
        skew=spreads[2],
        rotation=spreads[3],
        coherence=table.coherence,
        side=side_of(index) if told.repeat == (1, 1) else "unsure",
        face_index=index,
        stripe_repeat=chosen.stripe_repeat,
        is_centred=answer.proof.is_centred,
        cost=chosen.stance,
        runner_up=runner_up,
        wales_seen=counts[0],
        courses_seen=counts[1],
        share_of_area=float(fields.follows.sum() / max(fields.inside.sum(), 1)),
        blocks=Blocks(
            (blocks.x_px + 0.5) * scale - 0.5 + corner[0],
            (blocks.y_px + 0.5) * scale - 0.5 + corner[1],
            blocks.values[:, 0] * scale,
            blocks.values[:, 1] * scale,
            blocks.values[:, 2],
            blocks.side_px * scale,
        ),
        origin_px=(float(origin[0]), float(origin[1])),
        notes=notes,
    )


def seen(fields: Fields, scale: float) -> tuple[float, float]:
    """Width and height (px of the picture) of what follows the lattice."""
    rows, columns = np.nonzero(fields.follows)
    x, y = fields.x_px[rows, columns], fields.y_px[rows, columns]
    reach = 2 * fields.reach_px
    return float(x.max() - x.min() + reach) * scale, float(y.max() - y.min() + reach) * scale


def second_reading(chosen: Chosen, told: Told) -> RunnerUp | None:
    """A second way to call the steps, in words, and how much more it costs than the first."""
    way = chosen.second
    if way is None or chosen.way is None:
        return None
    steps = way.steps / np.array(told.repeat, float)
    words = f"{way.stitch.wale_pitch_px:.1f} × {way.stitch.course_pitch_px:.1f} pixels"
    first, second = ((float(step[0]), float(step[1])) for step in steps.T)
    return RunnerUp(words, first, second, way.cost - chosen.way.cost)


def notes_of(answer: Measured, chosen: Chosen, told: Told) -> tuple[str, ...]:
    """What the person should know beside the numbers."""
    notes = []
    if chosen.stripe_repeat > 1:
        notes.append(f"A repeat of {chosen.stripe_repeat} courses (stripes) was removed.")
    if told.repeat != (1, 1):
        notes.append(f"Divided by {told.repeat[0]} wales and {told.repeat[1]} courses of one repeat, as told.")
    if any(answer.corner_px):
        notes.append("Stitches are small: the middle of the picture was read.")
    return tuple(notes)
