"""Which lattice of a picture is the stitch, and which of its steps the wale.

In: the spectra of a picture at several scales, and what the person said. Out: `Chosen`, or `Refused` with the reason.
A stitch that a person marked leads; otherwise the cheapest way to call the steps of the lattice that explains most.
Source: steps 5 to 7 of the note on swatch pictures.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from loopwright.swatch.photo.lattice import measures, steps_of
from loopwright.swatch.photo.orientation import Choice, choices
from loopwright.swatch.photo.refusal import Refusal
from loopwright.swatch.photo.search import Found, Scales, best_of
from loopwright.swatch.photo.sharpness import why_nothing
from loopwright.swatch.photo.stitches import Refused, Told, Vector

Array = NDArray[np.float64]

LEAST_COHERENCE = 0.05
MARKED_WITHIN = 0.15


@dataclass(frozen=True, slots=True)
class Chosen:
    """A lattice with its steps called wale and course: basis (rows for wales, courses), coherence, the choice made."""

    basis: Array
    coherence: float
    choice: Choice
    second: Choice | None
    found: Array
    removed: int


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
    if code == Refusal.WEAK_PATTERN and scales.is_moire:
        code = Refusal.MOIRE
    if code == Refusal.RESOLUTION:
        return Refused.because(code, wale_px=4.0 * finest, course_px=4.0 * finest)
    return Refused.because(code, share=coherence, needed=LEAST_COHERENCE)
