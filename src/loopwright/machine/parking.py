"""Where carriers wait: the side each one starts from, and the order of stripes, that cost the fewest traverses.

In: stripes as (yarn letter, courses) of one repeat, repeats, systems, carriers of each yarn. Out: `Parking`: the best
start, the feeds that each traverse lays, and the traverses from one side for comparison.
The search is exact: over every state (courses done, side of the carriage, carriers of each yarn at the left) and every
move (lay 0, 1 … S of the next courses with carriers at the carriage's side), backwards from the last course, so that
all starting sides are answered at once. A carriage laying nothing crosses without carriers.
Main assumption: one feed makes one course (plain, rib); the carriage starts at the left, which is no loss, for the
mirror of a start costs the same. Not covered: kick-back of intarsia carriers, seconds (`timeline`).
Source: production reference 4.2.
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Mapping
from dataclasses import dataclass
from functools import lru_cache
from itertools import permutations

import numpy as np
from numpy.typing import NDArray

from loopwright.machine.traverses import Beds, lay
from loopwright.problems import Problem

Stripes = tuple[tuple[str, int], ...]
MOST_FREE_STRIPES = 6  # 120 orders when the first stays first
MOST_STATES = 4096  # 12 yarns with a carrier each
FAR = 1 << 30  # traverses of what cannot be


@dataclass(frozen=True, slots=True)
class Parking:
    """The cheapest way to lay stripes.

    `stripes` in the order knitted; `start` the sides before the first traverse; `feeds` courses laid by each traverse
    (0: empty); `from_one_side` traverses when everything starts at the left and each traverse takes what it can.
    """

    stripes: Stripes
    repeats: int
    systems: int
    start: Beds
    feeds: tuple[int, ...]
    from_one_side: int

    @property
    def traverses(self) -> int:
        """Carriage traverses, empty ones included."""
        return len(self.feeds)

    @property
    def saved(self) -> int:
        """Traverses fewer than from one side."""
        return self.from_one_side - self.traverses

    @property
    def words(self) -> str:
        """One sentence: what it costs, where carriers start, and what one side would cost."""
        pattern = " ".join(f"{courses} {yarn}" for yarn, courses in self.stripes)
        times = f", {self.repeats} times" if self.repeats > 1 else ""
        begun = f"{pattern}{times}, on {self.systems} system{'s' * (self.systems > 1)}"
        if not self.saved:
            return f"{begun}: {self.traverses} traverses with every carrier at the left; no other start needs fewer."
        if not any(side for _, side in self.start.carriers):
            return (
                f"{begun}: {self.traverses} traverses with every carrier at the left when some of them leave a course "
                f"to the next, {self.from_one_side} when each takes all it can."
            )
        sides = _sides_in_words(self.start)
        return f"{begun}: {self.traverses} traverses when {sides}, {self.from_one_side} from one side."


def best_parking(
    stripes: Stripes, *, repeats: int = 1, systems: int, carriers: Mapping[str, int] | None = None
) -> Parking:
    """The starting sides that lay stripes of this order in the fewest traverses; of equals, most carriers at the left.

    >>> best_parking((("a", 2), ("b", 2)), repeats=25, systems=2).words    # production reference 4.2
    '2 a 2 b, 25 times, on 2 systems: 51 traverses when a starts left and b right, 100 from one side.'

    Raises:
        Problem: no stripes, or a yarn without a carrier.
    """
    held = _held(stripes, carriers)
    _check(stripes, repeats, systems, held)
    return _parking(stripes, repeats, systems, tuple(sorted(held.items())))


def best_order(
    stripes: Stripes, *, repeats: int = 1, systems: int, carriers: Mapping[str, int] | None = None
) -> Parking:
    """The order of the stripes round the repeat, and the starting sides, that need the fewest traverses.

    The first stripe stays first, every other order of the rest is tried; of equals the order given wins.

    Raises:
        Problem: as `best_parking`, or more stripes than can be tried in every order.
    """
    if len(stripes) > MOST_FREE_STRIPES:
        raise Problem(
            "stripes",
            f"{len(stripes)} stripes in a repeat have too many orders.",
            limit=f"{MOST_FREE_STRIPES} stripes whose order is free",
            tries=["keep the order of some of them"],
        )
    held = _held(stripes, carriers)
    _check(stripes, repeats, systems, held)
    orders = dict.fromkeys((stripes[0], *rest) for rest in permutations(stripes[1:]))
    tried = [_parking(order, repeats, systems, tuple(sorted(held.items()))) for order in orders]
    return min(tried, key=lambda parking: parking.traverses)


def intarsia_passes(*, areas: int, systems: int) -> int:
    """Traverses of one course of `areas` colour areas, a carrier to each and one to a system and pass: ⌈A/S⌉.

    >>> intarsia_passes(areas=5, systems=2)    # production reference 4.2
    3
    """
    return math.ceil(areas / systems)


def _held(stripes: Stripes, carriers: Mapping[str, int] | None) -> dict[str, int]:
    return dict(carriers) if carriers is not None else {yarn: 1 for yarn, _ in stripes}


def _check(stripes: Stripes, repeats: int, systems: int, held: Mapping[str, int]) -> None:
    fewest = min((courses for _, courses in stripes), default=0)
    if fewest < 1 or repeats < 1 or systems < 1:
        raise Problem(
            "stripes",
            f"{repeats} repeats of {len(stripes)} stripes, the lowest of {fewest} courses, on {systems} systems.",
            limit="at least 1 of each",
            tries=["leave out the stripe without courses"],
        )
    states = math.prod(count + 1 for count in held.values())
    if states > MOST_STATES:
        raise Problem(
            "machine.carriers",
            f"{sum(held.values())} carriers can be parked in {states} ways.",
            limit=f"{MOST_STATES} ways are searched",
            tries=["one carrier of each yarn", "fewer yarns in one repeat"],
        )
    bare = sorted({yarn for yarn, _ in stripes if held.get(yarn, 0) < 1})
    if bare:
        raise Problem("machine.carriers", f"no carrier holds yarn {', '.join(bare)}.", tries=["one carrier each"])


@lru_cache(maxsize=1024)
def _parking(stripes: Stripes, repeats: int, systems: int, held: tuple[tuple[str, int], ...]) -> Parking:
    pattern = tuple(yarn for yarn, courses in stripes for _ in range(courses))
    search = _Search(pattern * repeats, systems, held)
    start = search.best_start()
    beside = Beds(0, tuple((yarn, 0) for yarn, count in held for _ in range(count)))
    plain = lay(pattern, 0, len(pattern) * repeats, systems, beside)
    return Parking(stripes, repeats, systems, search.beds(start), search.feeds_from(start), len(plain.feeds))


Whole = NDArray[np.int64]
Counts = NDArray[np.int32]


class _Search:
    """Traverses still needed from every state: `to_go[done]` has shape (2 sides of the carriage, carrier states).

    A carrier state is the number of carriers of each yarn at the left, written as one number (mixed radix).
    """

    def __init__(self, courses: tuple[str, ...], systems: int, held: tuple[tuple[str, int], ...]) -> None:
        self.courses = courses
        self.systems = systems
        self.yarns = tuple(yarn for yarn, _ in held)
        self.most = np.array([count for _, count in held], dtype=np.int64)
        radix = self.most + 1
        self.strides = np.concatenate([[1], np.cumprod(radix)[:-1]])
        self.at_left: Whole = np.arange(radix.prod())[:, None] // self.strides % radix
        self._crossings: dict[tuple[str, ...], list[tuple[Whole, Whole]]] = {}
        self.to_go: list[Counts] = self._backwards()

    def _backwards(self) -> list[Counts]:
        states = len(self.at_left)
        layers = [np.zeros((2, states), dtype=np.int32)]
        for done in range(len(self.courses) - 1, -1, -1):
            layer = np.full((2, states), FAR, dtype=np.int32)
            for taken in range(1, min(self.systems, len(self.courses) - done) + 1):
                after = layers[-taken]
                for side, (able, then) in enumerate(self._crossing(self.courses[done : done + taken])):
                    layer[side, able] = np.minimum(layer[side, able], 1 + after[1 - side, then])
            layers.append(np.minimum(layer, 1 + layer[::-1]))
        return layers[::-1]

    def _crossing(self, laid: tuple[str, ...]) -> list[tuple[Whole, Whole]]:
        """For the carriage at the left, then at the right: states that can lay these yarns, and what they become."""
        if laid not in self._crossings:
            need = np.array([laid.count(yarn) for yarn in self.yarns])
            shift = int(need @ self.strides)
            from_left = np.flatnonzero((self.at_left >= need).all(axis=1))
            from_right = np.flatnonzero((self.most - self.at_left >= need).all(axis=1))
            self._crossings[laid] = [(from_left, from_left - shift), (from_right, from_right + shift)]
        return self._crossings[laid]

    def best_start(self) -> int:
        """The carrier state from which a carriage at the left needs the fewest traverses."""
        cost = self.to_go[0][0]
        best = np.flatnonzero(cost == cost.min())
        return int(best[np.argmax(self.at_left[best].sum(axis=1))])

    def feeds_from(self, state: int) -> tuple[int, ...]:
        """Courses laid by each traverse on a cheapest way from a start; as many as possible wherever it is open."""
        done, side, feeds = 0, 0, []
        while done < len(self.courses):
            taken, then = self._next(done, side, state)
            feeds.append(taken)
            done, side, state = done + taken, 1 - side, then
        return tuple(feeds)

    def _next(self, done: int, side: int, state: int) -> tuple[int, int]:
        left = self.to_go[done][side, state] - 1
        for taken in range(min(self.systems, len(self.courses) - done), 0, -1):
            able, then = self._crossing(self.courses[done : done + taken])[side]
            place = np.searchsorted(able, state)
            if place < len(able) and able[place] == state:
                after = int(then[place])
                if self.to_go[done + taken][1 - side, after] == left:
                    return taken, after
        return 0, state

    def beds(self, state: int) -> Beds:
        """A carrier state as sides of named carriers, the carriage at the left."""
        carriers = [
            (yarn, int(place >= left))
            for yarn, left, count in zip(self.yarns, self.at_left[state].tolist(), self.most.tolist(), strict=True)
            for place in range(count)
        ]
        return Beds(0, tuple(carriers))


def _sides_in_words(start: Beds) -> str:
    """ "a and b start left and c right"."""
    left, right = (_and(_counted([yarn for yarn, at in start.carriers if at == side])) for side in (0, 1))
    many = "" if sum(at == 0 for _, at in start.carriers) > 1 else "s"
    if not left:
        return "every carrier starts right"
    return f"{left} start{many} left and {right} right"


def _counted(yarns: list[str]) -> list[str]:
    """Each yarn once, with the number of its carriers when there are several."""
    counts = Counter(yarns)
    return [yarn if count == 1 else f"{count} of {yarn}" for yarn, count in counts.items()]


def _and(words: list[str]) -> str:
    return " and ".join([", ".join(words[:-1])] * (len(words) > 1) + words[-1:])
