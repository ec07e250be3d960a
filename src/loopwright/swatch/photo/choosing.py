"""Which lattice of a picture is the stitch, and which of its steps the wale.

In: the spectra of a picture at several scales, and what the person said. Out: `Chosen`, or `Refused` with the reason.
A stitch that a person marked leads; otherwise the cheapest way to call the steps of the lattice that explains most.
Source: steps 5 to 7 of the note on swatch pictures.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from loopwright.swatch.photo.candidates import MOST_CELL_PX
from loopwright.swatch.photo.lattice import cell_px, steps_of
from loopwright.swatch.photo.refusal import Refusal
from loopwright.swatch.photo.search import Found, Scales, best_of
from loopwright.swatch.photo.settling import Settled, settled
from loopwright.swatch.photo.sharpness import why_nothing
from loopwright.swatch.photo.stitches import Refused, Told, Vector

Array = NDArray[np.float64]

LEAST_COHERENCE = 0.05
MARKED_WITHIN = 0.15
CLEAR_LIKE, MOST_STANCE = 0.6, 4.0
WIDE_PX, NARROW_PX = 60.0, 7.0  # a longer repeat is settled in a coarser copy, a smaller stitch in a finer one


@dataclass(frozen=True, slots=True)
class Chosen:
    """The stitch chosen: basis (rows for wales, courses), coherence, how it was settled, the next way to call it."""

    basis: Array
    coherence: float
    way: Settled | None = None
    second: Settled | None = None

    @property
    def stance(self) -> float:
        """What the stance and shape of the stitch cost; nothing when a person marked it."""
        return 0.0 if self.way is None else self.way.stance

    @property
    def is_clear(self) -> bool:
        """Whether what was settled looks like stitches: the picture is much like itself there, in a usual shape."""
        return self.way is not None and self.way.like > CLEAR_LIKE and self.way.stance < MOST_STANCE

    @property
    def stripe_repeat(self) -> int:
        """Courses in one repeat of colour stripes."""
        return 1 if self.way is None else self.way.stripe_repeat


def chosen_stitch(scales: Scales, told: Told) -> Chosen | Refused:
    """The lattice and which of its steps is the wale; or why there is none."""
    if told.marked_stitch is not None:
        return marked(scales, told.marked_stitch)
    if told.stripes_and_rib:
        return Refused.because(Refusal.AMBIGUOUS, first="the course as seen", second="the repeat of the stripes")
    found = best_of(scales)
    if found is None or found.coherence < LEAST_COHERENCE:
        return nothing(scales, 0.0 if found is None else found.coherence)
    ways = settled_in(scales, found, told)
    if not ways:
        return nothing(scales, found.coherence) if is_odd(found) else turned_wrong(found.basis, told)
    best, second = ways[0], ways[1] if len(ways) > 1 else None
    return Chosen(np.linalg.inv(best.steps / np.array(told.repeat, float)), found.coherence, best, second)


def settled_in(scales: Scales, found: Found, told: Told) -> list[Settled]:
    """The ways to call the steps in the copy that holds the whole repeat, but shows a stitch as large enough."""
    spectra = scales.clearest(cell_px(found.basis))
    ways = settled(spectra, told.repeat)
    if ways and float(np.linalg.norm(ways[0].steps, axis=0).max()) / spectra.factor > WIDE_PX:
        coarser = scales.clearest(2 * spectra.factor * MOST_CELL_PX - 1)
        return (settled(coarser, told.repeat) if coarser.factor > spectra.factor else []) or ways
    while ways and min(ways[0].stitch.wale_pitch_px, ways[0].stitch.course_pitch_px) / spectra.factor < NARROW_PX:
        finer = scales.finer(spectra)
        if finer is None:
            break
        spectra, ways = finer, settled(finer, told.repeat) or ways
    return ways


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
    return Chosen(best, table.coherence)


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
