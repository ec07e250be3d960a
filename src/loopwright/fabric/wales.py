"""Where the wales and courses of a structure lie in its repeat, read from the notation.

In: a `Notation`. Out: the wales of a repeat in order with their positions across it (in repeat widths), the height of
every feed (in repeat heights), and for any loop the needle and feed that knit it off, through transfers and racks.
Assumptions: the wales of one bed share the width of the repeat as evenly as the needles of the other bed let them; two
feeds stand on one level when their wales are even so (the colours of a jacquard row, the two halves of Milano).
Not covered: the form of the loops (`loop_path`), counting (`structure.anatomy`). Sources: identity (counting); the
sharing of the width is a working assumption for pictures.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from loopwright.structure.notation import Feed, Gating, Move, Notation, Rack, Stitch

TAKES = (Stitch.KNIT, Stitch.TUCK)
OWN_BED_PULL, NEIGHBOUR_PULL = (
    1.0,
    0.6,
)  # how strongly a wale keeps its distance from its own bed and from its neighbour
EVEN_FEEDS_PULL = 0.1  # feeds that share no wale spread evenly, weakly
MOST_REPEATS_HELD = 4


@dataclass(frozen=True, slots=True)
class Wale:
    """A column of loops: its needle place and the beds whose needles make it (both where loops change beds)."""

    place: int
    on_front: bool
    on_back: bool

    def stitch(self, feed: Feed) -> tuple[Stitch, bool]:
        """What happens here in a feed: (stitch, whether on the front bed)."""
        if self.on_front and (not self.on_back or feed.front[self.place] in TAKES):
            return feed.front[self.place], True
        if self.on_front and feed.back[self.place] is Stitch.OUT:
            return feed.front[self.place], True
        return feed.back[self.place], False


def wales_of(notation: Notation) -> tuple[Wale, ...]:
    """Wales of a repeat from left to right: every needle in work, front before back; joined needles are one wale.

    >>> from loopwright.structure.notation import read
    >>> [(wale.place, wale.on_front) for wale in wales_of(read(["F:KK- B:-KK"]))]
    [(0, True), (1, True), (1, False), (2, False)]
    """
    wales: list[Wale] = []
    changing = _places_that_change_beds(notation)
    for place in range(notation.needles):
        front = any(feed.front[place] is not Stitch.OUT for feed in notation.feeds)
        back = any(feed.back[place] is not Stitch.OUT for feed in notation.feeds)
        if front and back and place not in changing:
            wales += [Wale(place, True, False), Wale(place, False, True)]
        elif front or back:
            wales.append(Wale(place, front, back))
    return tuple(wales)


def _places_that_change_beds(notation: Notation) -> set[int]:
    """Places whose loops are moved to the needle opposite at home, and whose two needles never take yarn together."""
    offsets = _offsets(notation)
    moved = {
        place
        for step, offset in zip(notation.steps, offsets, strict=True)
        if isinstance(step, Move) and offset == 0
        for place in np.flatnonzero(step.needles).tolist()
    }
    both = {
        place
        for feed in notation.feeds
        for place in range(notation.needles)
        if feed.front[place] in TAKES and feed.back[place] in TAKES
    }
    return moved - both


def _offsets(notation: Notation) -> list[int]:
    """Offset of the back bed during each step, in the endless repeat."""
    racks = [step.offset for step in notation.steps if isinstance(step, Rack)]
    offset, offsets = (racks[-1] if racks else 0), []
    for step in notation.steps:
        offset = step.offset if isinstance(step, Rack) else offset
        offsets.append(offset)
    return offsets


def wale_positions(notation: Notation) -> NDArray[np.float64]:
    """Place of each wale across the repeat, shape (wales,), in repeat widths from the first wale on."""
    wales = wales_of(notation)
    keys = [wale.place + (0.5 if not wale.on_front and notation.gating is Gating.RIB else 0.0) for wale in wales]
    springs = []
    for first, second in _pairs(range(len(wales))):
        apart = (keys[second] - keys[first]) / notation.needles + (1.0 if second <= first else 0.0)
        want = apart if notation.gating is Gating.INTERLOCK else 1 / len(wales)
        springs.append((first, second, want, NEIGHBOUR_PULL))
    for on_front in (True, False):
        bed = [index for index, wale in enumerate(wales) if (wale.on_front if on_front else wale.on_back)]
        springs += [(first, second, 1 / len(bed), OWN_BED_PULL) for first, second in _pairs(bed)]
    return _balanced(len(wales), springs)


def _pairs(ring: Sequence[int]) -> list[tuple[int, int]]:
    """Neighbours round the endless repeat."""
    return [(ring[index], ring[(index + 1) % len(ring)]) for index in range(len(ring))]


def feed_heights(notation: Notation) -> NDArray[np.float64]:
    """Level of each feed in the repeat, shape (feeds,), in repeat heights from the first feed on, never falling."""
    wales, feeds = wales_of(notation), notation.feeds
    springs = [(first, second, 1 / len(feeds), EVEN_FEEDS_PULL) for first, second in _pairs(range(len(feeds)))]
    for wale in wales:
        taking = [index for index, feed in enumerate(feeds) if wale.stitch(feed)[0] in TAKES]
        springs += [(first, second, 1 / len(taking), 1.0) for first, second in _pairs(taking)]
    levels: NDArray[np.float64] = np.maximum.accumulate(_balanced(len(feeds), springs))
    return levels


def _balanced(count: int, springs: Sequence[tuple[int, int, float, float]]) -> NDArray[np.float64]:
    """Places on a ring of length 1 that least strain springs (first, second, wanted way on, pull); the first at 0."""
    rows, wants = np.zeros((len(springs), count)), np.zeros(len(springs))
    for row, (first, second, want, pull) in enumerate(springs):
        rows[row, second] += pull
        rows[row, first] -= pull
        wants[row] = pull * (want - (1.0 if second <= first else 0.0))
    places = np.zeros(count)
    if count > 1:
        places[1:] = np.linalg.lstsq(rows[:, 1:], wants, rcond=None)[0]
    return places


@dataclass(frozen=True, slots=True)
class KnittedOff:
    """Where a loop leaves its needle: feeds of how many repeats later, which feed, which needle.

    `place` counts on across the repeats, so that a loop moved sideways is seen to move. `is_held` says that no needle
    knits it off within the repeats that are followed.
    """

    repeats: int
    feed: int
    place: int
    on_front: bool
    is_held: bool = False


def knitted_off(notation: Notation, feed: int, place: int, *, on_front: bool) -> KnittedOff:
    """Follow a loop made in a feed until a needle knits it off.

    >>> from loopwright.structure.notation import read
    >>> knitted_off(read(["F:K B:K", "F:K B:T"]), 0, 0, on_front=False).repeats    # held over the tuck
    1
    """
    offsets, steps = _offsets(notation), notation.steps
    start = [index for index, step in enumerate(steps) if isinstance(step, Feed)][feed]
    feed_of = np.cumsum([isinstance(step, Feed) for step in steps]) - 1
    here, front = place, on_front
    for later in range(start + 1, start + 1 + MOST_REPEATS_HELD * len(steps)):
        repeats, index = divmod(later, len(steps))
        step = steps[index]
        if isinstance(step, Move) and step.from_front is front and step.needles[here % notation.needles]:
            here += -offsets[index] if front else offsets[index]
            front = not front
        elif isinstance(step, Feed):
            bed = step.front if front else step.back
            if bed[here % notation.needles] is Stitch.KNIT:
                return KnittedOff(repeats, int(feed_of[index]), here, front)
    repeats, index = divmod(feed + 1, len(notation.feeds))
    return KnittedOff(repeats, index, place, on_front, is_held=True)
