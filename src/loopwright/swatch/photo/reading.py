"""The stitches of a swatch picture: wale step, course step, skew, with their spread, or the reason why not.

In: the brightness of a picture and what the person said about it. Out: `LatticeReading` in pixels, or `Refused`.
Angles: image x to the right, y down; skew is positive when the upper end of the wale leans to the right, the rotation
of the courses is positive clockwise on the screen. Assumed: flat cloth, seen square; plain unless told otherwise.
Not covered: pixels per millimetre and tilt (the references), the outline of the swatch.
Source: the project's feasibility note on swatch pictures; the steps are in the modules beside this one.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from typing import Any, Literal

import numpy as np
from numpy.typing import NDArray

from loopwright.swatch.photo.lattice import measures, steps_of
from loopwright.swatch.photo.measured import Measured, measured
from loopwright.swatch.photo.orientation import Choice, choices, costed
from loopwright.swatch.photo.origin import origin_of
from loopwright.swatch.photo.refine import Fields
from loopwright.swatch.photo.refusal import Refusal, Stopped, reason
from loopwright.swatch.photo.search import Found, Scales, best_of, scales_of
from loopwright.swatch.photo.sharpness import why_nothing
from loopwright.swatch.photo.side import face_index, side_of
from loopwright.swatch.photo.spread import blocks_of, half_widths, standard_errors

Array = NDArray[np.float64]
Grey = NDArray[np.float32]
Vector = tuple[float, float]
WalesRun = Literal["upright", "level"]
Side = Literal["face", "back"]

SHORTEST_PX = 64
LEAST_COHERENCE, LEAST_LIKENESS = 0.05, 0.15
LEAST_WALE_PX, LEAST_COURSE_PX = 5.0, 4.0
FEWEST_STITCHES = 6.0
LEAST_SHARE = 0.75
MOST_SPREAD, MOST_SPREAD_DEG = 0.08, 4.0
MOST_COST, NEAR_COST, IMPOSSIBLE_COST = 4.0, 0.7, 9.0
NARROWEST, WIDEST, WIDEST_CENTRED = 0.45, 1.3, 0.85  # course over wale of a plain stitch
SURE_INDEX = 0.35
MARKED_WITHIN = 0.15


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


@dataclass(frozen=True, slots=True)
class Chosen:
    """A lattice with its steps called wale and course: basis (rows for wales, courses), coherence, the choice made."""

    basis: Array
    coherence: float
    choice: Choice
    second: Choice | None
    found: Array
    removed: int


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
    answer = measured(picture, cloth, chosen.basis, correct=marked_stitch is None)
    tell(0.9)
    stop_if(cancelled)
    if answer is None:
        return nothing(scales, chosen.coherence)
    reading = reading_of(answer, chosen, scales, told)
    if wales == "level":
        reading = turned_back(reading, picture.shape[0])
    tell(1.0)
    return judged(reading, answer, told, scales)


def stop_if(cancelled: Callable[[], bool] | None) -> None:
    """End the reading when the person asked for it."""
    if cancelled is not None and cancelled():
        raise Stopped


def chosen_stitch(scales: Scales, told: Told) -> Chosen | Refused:
    """The lattice and which of its steps is the wale; or why there is none."""
    if told.marked_stitch is not None:
        return marked(scales, told.marked_stitch)
    if told.stripes_and_rib:
        return Refused.because(Refusal.AMBIGUOUS, first="the course as seen", second="the repeat of the stripes")
    found = best_of(scales)
    if found is None or found.coherence < LEAST_COHERENCE:
        return nothing(scales, 0.0 if found is None else found.coherence)
    table = found.table
    named = choices(found.basis, table.orders, table.mean, told.repeat)
    if not named:
        return nothing(scales, found.coherence) if is_odd(found) else turned_wrong(found.basis, told)
    best = named[0]
    second = next((each for each in named[1:] if each.is_centred == best.is_centred), None)
    return Chosen(best.basis(found.basis), found.coherence, best, second, found.basis, found.removed)


def is_odd(found: Found) -> bool:
    """Whether a lattice has no shape that a stitch could have."""
    lengths = np.linalg.norm(steps_of(found.basis), axis=0)
    return bool(lengths.max() > 3 * lengths.min()) or found.coherence < 3 * LEAST_COHERENCE


def turned_wrong(basis: Array, told: Told) -> Refused:
    """The refusal of a picture whose wales run another way than said."""
    steps = steps_of(basis)
    heading = np.degrees(np.arctan2(steps[1], steps[0]))
    off = float(np.abs((heading + 45) % 90 - 45).min())
    other = "level" if told.wales == "upright" else "upright"
    return Refused.because(Refusal.ORIENTATION, told=told.wales, angle_deg=off, other=other)


def marked(scales: Scales, steps: tuple[Vector, Vector]) -> Chosen:
    """The lattice found whose steps come nearest to a marked stitch; the marked one itself when none is near."""
    wanted = np.array(steps, float).T
    if wanted[1, 1] > 0:
        wanted[:, 1] = -wanted[:, 1]
    if wanted[0, 0] < 0:
        wanted[:, 0] = -wanted[:, 0]
    best, nearest = np.linalg.inv(wanted), MARKED_WITHIN
    for proposed in scales.proposed:
        own = steps_of(proposed)
        whole = np.round(np.linalg.inv(own) @ wanted)
        if abs(np.linalg.det(whole)) < 0.5:
            continue
        apart = float((np.linalg.norm(own @ whole - wanted, axis=0) / np.linalg.norm(wanted, axis=0)).max())
        if apart < nearest:
            best, nearest = np.linalg.inv(own @ whole), apart
    table = scales.table(best)
    stitch = measures(wanted[:, 0], wanted[:, 1])
    choice = Choice(np.eye(2, dtype=np.int64), stitch, False, 0, 0, 0.0)
    return Chosen(best, table.coherence, choice, None, best, 1)


def nothing(scales: Scales, coherence: float) -> Refused:
    """Why no stitches were found."""
    finest = min((factor for factor, _ in scales.spectra), default=0)
    if not finest:
        return Refused.because(Refusal.WEAK_PATTERN, share=coherence, needed=LEAST_COHERENCE)
    code = why_nothing(scales.spectra[finest, 128])
    if code == Refusal.RESOLUTION:
        return Refused.because(code, wale_px=4.0 * finest, course_px=4.0 * finest)
    return Refused.because(code, share=coherence, needed=LEAST_COHERENCE)


def reading_of(answer: Measured, chosen: Chosen, scales: Scales, told: Told) -> LatticeReading:
    """The values of a measured lattice, in pixels of the picture."""
    copy, fields = answer.copy, answer.fields
    scale = float(copy.factor)
    repeat = np.array(told.repeat, float)
    steps = np.linalg.inv(answer.basis) / repeat
    stitch = measures(steps[:, 0], steps[:, 1])
    blocks = blocks_of(fields)
    pitches = (stitch.wale_pitch_px * repeat[0] / scale, stitch.course_pitch_px * repeat[1] / scale)
    wide, tall = seen(fields, scale)
    counts = (wide / stitch.wale_pitch_px, tall / stitch.course_pitch_px)
    errors = standard_errors(blocks, pitches)
    widths = half_widths(errors, len(blocks.values), counts)
    spreads = [Spread(float(error), float(width)) for error, width in zip(errors, widths, strict=True)]
    table = scales.table(answer.basis)
    index = face_index(table.orders, table.mean)
    corner = np.array(answer.corner_px, float)
    origin = (np.array(origin_of(copy, fields)) + 0.5) * scale - 0.5 + corner
    notes = notes_of(answer, chosen, told)
    runner_up = None if chosen.second is None else second_reading(chosen.second, chosen.found)
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
        side=side_of(index),
        face_index=index,
        strokes=chosen.choice.strokes,
        stripe_repeat=answer.courses_divided * chosen.removed,
        is_centred=answer.proof.is_centred,
        cost=costed(np.eye(2, dtype=np.int64), stitch, False, table.orders, table.mean).cost,
        runner_up=runner_up,
        wales_seen=counts[0],
        courses_seen=counts[1],
        share_of_area=float(fields.follows.sum() / max(fields.inside.sum(), 1)),
        blocks=Blocks(
            (blocks.x_px + 0.5) * scale - 0.5 + corner[0],
            (blocks.y_px + 0.5) * scale - 0.5 + corner[1],
            blocks.values[:, 0] * scale / repeat[0],
            blocks.values[:, 1] * scale / repeat[1],
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


def second_reading(choice: Choice, basis: Array) -> RunnerUp:
    """A second way to call the steps, in words."""
    steps = np.linalg.inv(choice.basis(basis))
    words = f"{choice.measures.wale_pitch_px:.1f} × {choice.measures.course_pitch_px:.1f} pixels"
    first, second = ((float(step[0]), float(step[1])) for step in steps.T)
    return RunnerUp(words, first, second, choice.cost)


def notes_of(answer: Measured, chosen: Chosen, told: Told) -> tuple[str, ...]:
    """What the person should know beside the numbers."""
    notes = []
    if answer.courses_divided * chosen.removed > 1:
        notes.append(f"A repeat of {answer.courses_divided * chosen.removed} courses (stripes) was removed.")
    if told.repeat != (1, 1):
        notes.append(f"Divided by {told.repeat[0]} wales and {told.repeat[1]} courses of one repeat, as told.")
    elif answer.wales_multiplied > 1:
        notes.append(f"Every {answer.wales_multiplied} wales look alike, as in a rib: say how many wales repeat.")
    if any(answer.corner_px):
        notes.append("Stitches are small: the middle of the picture was read.")
    return tuple(notes)


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


def judged(reading: LatticeReading, answer: Measured, told: Told, scales: Scales) -> LatticeReading | Refused:
    """The reading, or the first reason against it; a shape that no stitch has is put down to the picture."""
    for code, numbers in objections(reading, answer, told):
        if code is Refusal.WEAK_PATTERN or (code is Refusal.AMBIGUOUS and reading.cost > IMPOSSIBLE_COST):
            return replace(nothing(scales, reading.coherence), for_information=reading)
        return Refused.because(code, reading, **numbers)
    return reading


def objections(
    reading: LatticeReading, answer: Measured, told: Told
) -> Iterator[tuple[Refusal, dict[str, float | str]]]:
    """Everything that speaks against a reading, gravest first."""
    wale, course, proof = reading.wale_pitch_px, reading.course_pitch_px, answer.proof
    shape = course / wale
    cell = (wale * told.repeat[0], course * told.repeat[1])
    if cell[0] < LEAST_WALE_PX or cell[1] < LEAST_COURSE_PX:
        yield Refusal.RESOLUTION, {"wale_px": cell[0], "course_px": cell[1]}
    if reading.coherence < LEAST_COHERENCE or proof.likeness < LEAST_LIKENESS:
        yield Refusal.WEAK_PATTERN, {"share": reading.coherence, "needed": LEAST_COHERENCE}
    if on_the_blocks(cell, reading.rotation_deg):
        yield Refusal.COMPRESSION_GRID, {}
    if min(reading.wales_seen, reading.courses_seen) < FEWEST_STITCHES:
        yield Refusal.TOO_FEW, {"wales": reading.wales_seen, "courses": reading.courses_seen}
    if reading.share_of_area < LEAST_SHARE:
        yield Refusal.FOLD, {"share": reading.share_of_area, "needed": LEAST_SHARE}
    spread = deviation_of(reading)
    if spread[0] > MOST_SPREAD or spread[1] > MOST_SPREAD or spread[2] > MOST_SPREAD_DEG:
        yield Refusal.NOT_UNIFORM, {"wale": spread[0], "course": spread[1], "skew_deg": spread[2]}
    if told.marked_stitch is not None:
        return
    own = f"{wale:.1f} × {course:.1f} pixels"
    if proof.is_halvable:
        yield Refusal.BLUR, {}
    if not proof.holds:
        yield Refusal.AMBIGUOUS, {"first": own, "second": "another number of courses or wales in one of these"}
    if told.repeat[1] == 1 and ((proof.is_centred and shape > WIDEST_CENTRED) or answer.courses_multiplied > 1):
        yield Refusal.AMBIGUOUS, {"first": own, "second": f"{wale:.1f} × {course / 2:.1f} pixels"}
    if told.repeat[0] == 1 and answer.wales_multiplied > 1:
        yield Refusal.AMBIGUOUS, {"first": own, "second": f"{wale / answer.wales_multiplied:.1f} × {course:.1f} pixels"}
    if reading.cost > MOST_COST or not NARROWEST < shape < WIDEST:
        other = f"{wale:.1f} × {course / 2:.1f}" if shape > 1 else f"{wale / 2:.1f} × {course:.1f}"
        yield Refusal.AMBIGUOUS, {"first": own, "second": f"{other} pixels"}
    if reading.runner_up is not None and reading.runner_up.cost < reading.cost + NEAR_COST:
        yield Refusal.AMBIGUOUS, {"first": own, "second": reading.runner_up.words}
    if told.side is not None and reading.side not in (told.side, "unsure") and abs(reading.face_index) > SURE_INDEX:
        yield Refusal.SIDE, {"seen": reading.side, "told": told.side}


def on_the_blocks(cell: tuple[float, float], rotation_deg: float) -> bool:
    """Whether both pitches are multiples of the 8 pixels of a compressed picture."""
    off = [abs(pitch / 8 - round(pitch / 8)) * 8 / pitch for pitch in cell]
    return min(cell) > 7 and max(off) < 0.004 and abs(rotation_deg) < 0.3


def deviation_of(reading: LatticeReading) -> tuple[float, float, float]:
    """Robust spread of wale pitch and course pitch (relative) and of skew (degrees) over the blocks."""
    blocks = reading.blocks
    found = []
    for values in (blocks.wale_pitch_px, blocks.course_pitch_px, blocks.skew_deg):
        middle = float(np.median(values))
        found.append(1.4826 * float(np.median(np.abs(values - middle))))
    return found[0] / reading.wale_pitch_px, found[1] / reading.course_pitch_px, found[2]


def turned(picture: NDArray[Any]) -> NDArray[Any]:
    """A picture turned a quarter to the left: level wales stand upright."""
    return np.ascontiguousarray(np.rot90(picture))


def upright(step: Vector) -> Vector:
    """A step of the picture given, in the picture turned upright."""
    return step[1], -step[0]


def given(step: Vector) -> Vector:
    """A step of the picture turned upright, in the picture given."""
    return -step[1], step[0]
