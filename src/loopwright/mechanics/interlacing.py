"""Whether a starting form is interlaced: every loop must hang in the loop that is drawn through it.

Seen from the face, the left half of a loop (sinker to head) and the loop it was drawn through cross; each crossing
counts +1 or −1 by its hand. A loop drawn to the face gives −2 for the left half and +2 for the right one, a loop drawn
to the back the opposite (1 where wales overlap and a crossing lies past a sinker's middle); anything else means that a
loop is held by nothing. The count says so of a starting form, not of a relaxed rib, whose sinkers lie over each other.
Source: mechanics reference, section 7.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from loopwright.fabric.loop_path import STEPS, LoopPaths, StitchPlace, YarnPath
from loopwright.fabric.wales import knitted_off, wales_of
from loopwright.mechanics.form import Points
from loopwright.structure.notation import Notation, Stitch


@dataclass(frozen=True, slots=True)
class Hold:
    """How the halves of the loop drawn through a loop, on the front bed or on the back bed, cross it."""

    feed: int
    wale: int
    drawn_on_front: bool
    left: int
    right: int

    @property
    def is_held(self) -> bool:
        """Whether the loop hangs in the one below."""
        return self.left < 0 < self.right if self.drawn_on_front else self.right < 0 < self.left


def holds_of(notation: Notation, paths: LoopPaths) -> Iterator[Hold]:
    """Every loop and tuck of a repeat with the loop that is drawn through it."""
    wales = wales_of(notation)
    for path in paths.paths:
        for place in path.stitches:
            off = knitted_off(notation, path.feed, wales[place.wale].place, on_front=place.on_front)
            if off.is_held:
                continue
            across, needle = divmod(off.place, notation.needles)
            above = next(
                (
                    each
                    for each in paths.paths[off.feed].stitches
                    if each.stitch is Stitch.KNIT
                    and wales[each.wale].place == needle
                    and (each.on_front == off.on_front)
                ),
                None,
            )
            if above is None:
                continue
            shift = np.array([across * paths.width_mm, off.repeats * paths.height_mm, 0.0])
            drawn = _loop(paths.paths[off.feed], above) + shift
            below = _loop(path, place)
            middle = len(drawn) // 2
            left, right = crossings(drawn[: middle + 1], below), crossings(drawn[middle:], below)
            yield Hold(path.feed, place.wale, above.on_front, left, right)


def faults_of(notation: Notation, paths: LoopPaths) -> tuple[str, ...]:
    """Loops of a starting form that hang in nothing, in words."""
    return tuple(
        f"the loop of feed {hold.feed + 1} in wale {hold.wale + 1} is not held by the loop drawn through it"
        for hold in holds_of(notation, paths)
        if not hold.is_held
    )


def _loop(path: YarnPath, place: StitchPlace) -> Points:
    return path.points[place.first : place.first + STEPS + 1]


def crossings(first: Points, second: Points) -> int:
    """Signed crossings of two polylines seen along z: the hand of each, +1 or −1, added up."""
    a, b = first[:-1, None, :], first[1:, None, :]
    c, d = second[None, :-1, :], second[None, 1:, :]
    u, v, w = b - a, d - c, c - a
    area = u[..., 0] * v[..., 1] - u[..., 1] * v[..., 0]
    flat = area == 0
    safe = np.where(flat, 1.0, area)
    s = (w[..., 0] * v[..., 1] - w[..., 1] * v[..., 0]) / safe
    t = (w[..., 0] * u[..., 1] - w[..., 1] * u[..., 0]) / safe
    meets = ~flat & (s >= 0) & (s < 1) & (t >= 0) & (t < 1)
    over = w[..., 2] * -1.0 + s * u[..., 2] - t * v[..., 2]
    return int((np.sign(area) * np.sign(over))[meets].sum())
