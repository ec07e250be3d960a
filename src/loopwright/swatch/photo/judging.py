"""Whether a reading of stitches may stand: everything that speaks against it, gravest first.

In: a reading, how it was measured, what the person said. Out: the reading, or `Refused` with it for information.
Source: the failure classes of the note on swatch pictures (section 6), with limits set again on rendered cloth.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

import numpy as np

from loopwright.swatch.photo.choosing import LEAST_COHERENCE, MOST_STANCE, nothing
from loopwright.swatch.photo.measured import Measured
from loopwright.swatch.photo.refusal import Refusal
from loopwright.swatch.photo.search import Scales
from loopwright.swatch.photo.stitches import LatticeReading, Refused, Told

LEAST_LIKENESS = 0.15
LEAST_WALE_PX, LEAST_COURSE_PX = 5.0, 4.0
FEWEST_STITCHES = 6.0
LEAST_SHARE = 0.85
MOST_SPREAD, MOST_SPREAD_DEG = 0.08, 3.0
NEAR_COST, IMPOSSIBLE_COST = 2.0, 9.0
NEAR_COST_ACROSS = 4.6  # one in a hundred: a repeat of wales cut aslant, a course higher at its end, is as like itself
NARROWEST, WIDEST = 0.575, 1.18  # course over wale: a flatter stitch may be two wales of a rib, a higher two courses
WIDEST_CENTRED = 0.85
SURE_INDEX = 0.35
TENTHS = 2.563  # standard deviations between the outer tenths of a normal distribution
LEAST_SECOND = 0.8  # as like two stitches across, of one: stitches in even rows keep nineteen in twenty
LEAST_DIAGONAL = 0.9  # both diagonals of a stitch lead to stitches
TALL = 1.1  # a stitch so high may be two, one above the other
FINE_PX = 12.0  # stitches so small may be the beat of smaller ones with the pixels
HALF_SHARE = 0.88  # as like half a wale on: then nothing proves the wale


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
    is_marked = told.marked_stitch is not None
    may_be_two = shape > TALL and cell[1] < 2 * LEAST_COURSE_PX and not is_marked
    if cell[0] < LEAST_WALE_PX or cell[1] < LEAST_COURSE_PX or may_be_two:
        yield Refusal.RESOLUTION, {"wale_px": cell[0], "course_px": cell[1]}
    if reading.coherence < LEAST_COHERENCE or (proof.likeness < LEAST_LIKENESS and not is_marked):
        yield Refusal.WEAK_PATTERN, {"share": reading.coherence, "needed": LEAST_COHERENCE}
    if on_the_blocks(cell, reading.rotation_deg):
        yield Refusal.COMPRESSION_GRID, {}
    if min(reading.wales_seen, reading.courses_seen) < FEWEST_STITCHES:
        yield Refusal.TOO_FEW, {"wales": reading.wales_seen, "courses": reading.courses_seen}
    if reading.share_of_area < LEAST_SHARE:
        yield Refusal.FOLD, {"share": reading.share_of_area, "needed": LEAST_SHARE}
    spread = deviation_of(reading)
    is_odd = proof.diagonal < LEAST_DIAGONAL and not is_marked
    if is_odd and min(cell) < FINE_PX:
        yield Refusal.MOIRE, {}
    is_bent = spread[0] > MOST_SPREAD or spread[1] > MOST_SPREAD or spread[2] > MOST_SPREAD_DEG
    if is_bent or is_odd or (proof.second < LEAST_SECOND and not is_marked):
        yield Refusal.NOT_UNIFORM, {"wale": spread[0], "course": spread[1], "skew_deg": spread[2]}
    if is_marked:
        return
    own = f"{wale:.1f} × {course:.1f} pixels"
    if proof.half_wale >= HALF_SHARE:
        yield Refusal.BLUR, {}
    if not proof.holds:
        yield Refusal.AMBIGUOUS, {"first": own, "second": "another number of courses or wales in one of these"}
    if told.repeat[1] == 1 and proof.is_centred and shape > WIDEST_CENTRED:
        yield Refusal.AMBIGUOUS, {"first": own, "second": f"{wale:.1f} × {course / 2:.1f} pixels"}
    if reading.cost > MOST_STANCE or not NARROWEST < shape < WIDEST:
        other = f"{wale:.1f} × {course / 2:.1f}" if shape > 1 else f"{wale / 2:.1f} × {course:.1f}"
        yield Refusal.AMBIGUOUS, {"first": own, "second": f"{other} pixels"}
    near = NEAR_COST_ACROSS if told.repeat[0] > 1 else NEAR_COST
    if reading.runner_up is not None and reading.runner_up.more < near:
        yield Refusal.AMBIGUOUS, {"first": own, "second": reading.runner_up.words}
    if told.side is not None and reading.side not in (told.side, "unsure") and abs(reading.face_index) > SURE_INDEX:
        yield Refusal.SIDE, {"seen": reading.side, "told": told.side}


def on_the_blocks(cell: tuple[float, float], rotation_deg: float) -> bool:
    """Whether both pitches are multiples of the 8 pixels of a compressed picture."""
    off = [abs(pitch / 8 - round(pitch / 8)) * 8 / pitch for pitch in cell]
    return min(cell) > 7 and max(off) < 0.004 and abs(rotation_deg) < 0.3


def deviation_of(reading: LatticeReading) -> tuple[float, float, float]:
    """Robust spread of wale pitch and course pitch (relative) and of skew (degrees) over the blocks.

    The wider of two: of the middle half, and between the outer tenths, which sees a fold that takes a third.
    """
    blocks = reading.blocks
    found = []
    for values in (blocks.wale_pitch_px, blocks.course_pitch_px, blocks.skew_deg):
        middle = float(np.median(values))
        tenths = np.percentile(values, (10, 90))
        found.append(max(1.4826 * float(np.median(np.abs(values - middle))), float(tenths[1] - tenths[0]) / TENTHS))
    return found[0] / reading.wale_pitch_px, found[1] / reading.course_pitch_px, found[2]
