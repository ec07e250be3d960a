"""What a structure is made of, counted needle by needle from its notation.

In: a `Notation`. Out: an `Anatomy`: loops, tucks and floats of each yarn in the repeat, wales and courses that each
side shows, feeds and transfers, balance of face and back, and the extremes that machines limit (tucks held, floats).
A wale is a column of loops on one needle; front and back needle of one place are one wale when loops move between them
without a rack (purl), and two wales otherwise (rib). All counts are per repeat and exact.
Not covered: yarn lengths in mm and mass (`fabric.mass`). Sources: identity (counting).
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import lru_cache
from types import MappingProxyType

from loopwright.structure.notation import Feed, Move, Notation, Rack, Stitch

CURL_SCALE_LOOPS = 5  # balance finer than about this many loops does not curl (reference: rule derived, curl section)


@dataclass(frozen=True, slots=True)
class Parts:
    """Pieces of one yarn in one length role, per repeat: knitted loops, tuck loops, float places."""

    loops: int
    tucks: int
    floats: int


@dataclass(frozen=True, slots=True)
class Anatomy:
    """The counted facts of a repeat.

    `parts` by (yarn, role). `front_wales`, `front_courses`: wales, and visible courses of one wale, that the front side
    shows in a repeat (0 when the bed never knits). `held_tucks`: most tucks that gather on one needle before it knits;
    `adjacent_tucks`: most neighbouring needles that tuck in one feed of one bed; `longest_float`: most neighbouring
    places that a yarn passes without a loop. Balance runs from −1 (all back loops) to +1 (all face loops).
    """

    needles: int
    feeds: int
    parts: Mapping[tuple[str, str], Parts]
    front_loops: int
    back_loops: int
    front_wales: int
    back_wales: int
    front_courses: float
    back_courses: float
    transfer_passes: int
    moved_loops: int
    racks: int
    held_tucks: int
    adjacent_tucks: int
    longest_float: int
    walewise_balance: float
    coursewise_balance: float

    @property
    def loops(self) -> int:
        """Knitted loops of all yarns per repeat."""
        return self.front_loops + self.back_loops

    @property
    def tucks(self) -> int:
        """Tuck loops per repeat."""
        return sum(part.tucks for part in self.parts.values())

    @property
    def floats(self) -> int:
        """Places that a yarn passes without a loop, per repeat."""
        return sum(part.floats for part in self.parts.values())

    @property
    def yarns(self) -> tuple[str, ...]:
        """Yarns of the repeat in order of their letters."""
        return tuple(sorted({yarn for yarn, _ in self.parts}))

    @property
    def beds(self) -> int:
        """Beds that knit: 1 or 2."""
        return int(self.front_loops > 0) + int(self.back_loops > 0)

    @property
    def shows_front(self) -> bool:
        """Whether courses are counted on the front side (else on the back: reverse plain)."""
        return self.front_wales > 0

    @property
    def visible_wales(self) -> int:
        """Wales per repeat on the side where courses are counted."""
        return self.front_wales if self.shows_front else self.back_wales

    @property
    def visible_courses(self) -> float:
        """Courses per repeat on that side."""
        return self.front_courses if self.shows_front else self.back_courses

    @property
    def passes_per_course(self) -> float:
        """Feeds that a carriage must lay for one visible course."""
        return self.feeds / self.visible_courses

    @property
    def balance(self) -> float:
        """(face loops − back loops) / all loops."""
        return (self.front_loops - self.back_loops) / self.loops

    @property
    def loops_per_visible_loop(self) -> float:
        """All loops over the loops that the counted side shows (1 + backing courses per face course)."""
        return self.loops / (self.visible_wales * self.visible_courses)


@lru_cache(maxsize=256)
def anatomy(notation: Notation) -> Anatomy:
    """Count a repeat."""
    face = _loops_by_place(notation, front=True)
    back = _loops_by_place(notation, front=False)
    joined = _places_joined_by_moves(notation)
    front_courses = _courses(face, back, joined)
    back_courses = _courses(back, face, joined)
    moves = [step for step in notation.steps if isinstance(step, Move)]
    return Anatomy(
        needles=notation.needles,
        feeds=len(notation.feeds),
        parts=_parts(notation.feeds),
        front_loops=sum(face),
        back_loops=sum(back),
        front_wales=len(front_courses),
        back_wales=len(back_courses),
        front_courses=_mean(front_courses),
        back_courses=_mean(back_courses),
        transfer_passes=len(moves),
        moved_loops=sum(sum(move.needles) for move in moves),
        racks=sum(isinstance(step, Rack) for step in notation.steps),
        held_tucks=_held_tucks(notation.feeds),
        adjacent_tucks=_adjacent_tucks(notation.feeds),
        longest_float=max(_longest_run(_passes_without_loop(feed)) for feed in notation.feeds),
        walewise_balance=_strongest_window(_walewise(face, back)),
        coursewise_balance=_strongest_window(_coursewise(notation.feeds)),
    )


def _loops_by_place(notation: Notation, *, front: bool) -> list[int]:
    feeds = notation.feeds
    beds = [feed.front if front else feed.back for feed in feeds]
    return [sum(bed[place] is Stitch.KNIT for bed in beds) for place in range(notation.needles)]


def _places_joined_by_moves(notation: Notation) -> set[int]:
    joined: set[int] = set()
    offset = 0
    for step in notation.steps:
        if isinstance(step, Rack):
            offset = step.offset
        elif isinstance(step, Move) and offset == 0:
            joined.update(place for place, moved in enumerate(step.needles) if moved)
    return joined


def _courses(side: Sequence[int], other: Sequence[int], joined: set[int]) -> list[int]:
    """Visible courses of every wale that this side shows."""
    return [loops + (other[place] if place in joined else 0) for place, loops in enumerate(side) if loops]


def _mean(values: Sequence[int]) -> float:
    return sum(values) / len(values) if values else 0.0


def _parts(feeds: Sequence[Feed]) -> Mapping[tuple[str, str], Parts]:
    counts: dict[tuple[str, str], Parts] = {}
    for feed in feeds:
        both = feed.front + feed.back
        before = counts.get((feed.yarn, feed.role), Parts(0, 0, 0))
        counts[feed.yarn, feed.role] = Parts(
            before.loops + sum(stitch is Stitch.KNIT for stitch in both),
            before.tucks + sum(stitch is Stitch.TUCK for stitch in both),
            before.floats + sum(_passes_without_loop(feed)),
        )
    return MappingProxyType(counts)


def _passes_without_loop(feed: Feed) -> list[bool]:
    takes = (Stitch.KNIT, Stitch.TUCK)
    return [front not in takes and back not in takes for front, back in zip(feed.front, feed.back, strict=True)]


def _longest_run(marks: Sequence[bool]) -> int:
    """Longest run of marked places when the repeat is laid side by side; all marked counts as one repeat."""
    if all(marks):
        return len(marks)
    longest = run = 0
    for mark in [*marks, *marks]:
        run = run + 1 if mark else 0
        longest = max(longest, run)
    return longest


def _adjacent_tucks(feeds: Sequence[Feed]) -> int:
    beds = [bed for feed in feeds for bed in (feed.front, feed.back)]
    runs = [_longest_run([stitch is Stitch.TUCK for stitch in bed]) for bed in beds]
    return max(runs, default=0)


def _held_tucks(feeds: Sequence[Feed]) -> int:
    most = 0
    for bed in ([feed.front for feed in feeds], [feed.back for feed in feeds]):
        for needle in zip(*bed, strict=True):
            most = max(most, _tucks_before_a_knit(needle))
    return most


def _tucks_before_a_knit(needle: Sequence[Stitch]) -> int:
    most = held = 0
    for stitch in [*needle, *needle]:
        if stitch is Stitch.KNIT:
            held = 0
        elif stitch is Stitch.TUCK:
            held += 1
        most = max(most, held)
    return most


def _walewise(face: Sequence[int], back: Sequence[int]) -> Iterator[float]:
    """Balance of each place across the width: decides the curl of the sides."""
    for front_loops, back_loops in zip(face, back, strict=True):
        if front_loops + back_loops:
            yield (front_loops - back_loops) / (front_loops + back_loops)


def _coursewise(feeds: Sequence[Feed]) -> Iterator[float]:
    """Balance of each feed along the length: decides the curl of the ends."""
    for feed in feeds:
        front_loops = sum(stitch is Stitch.KNIT for stitch in feed.front)
        back_loops = sum(stitch is Stitch.KNIT for stitch in feed.back)
        if front_loops + back_loops:
            yield (front_loops - back_loops) / (front_loops + back_loops)


def _strongest_window(balances: Iterator[float]) -> float:
    """Largest mean over windows of `CURL_SCALE_LOOPS` in the endless repeat; finer alternation cancels."""
    values = list(balances)
    if len(values) <= CURL_SCALE_LOOPS:
        return sum(values) / len(values)
    around = [*values, *values[:CURL_SCALE_LOOPS]]
    means = [sum(around[start : start + CURL_SCALE_LOOPS]) / CURL_SCALE_LOOPS for start in range(len(values))]
    return max(means, key=abs)
