"""What a garment is made of: its block, sleeve, neck, side and hem, as the developer names them.

In: words. Out: `Shape`, a value that the parts of a garment are chosen by. Each part lives in its own place: sleeves in
`sleeves`, necks in `necks` (one small file each), whole blocks in `blocks`. Not covered: measures (`measures`).
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from loopwright.problems import Problem

SIDES = ("straight", "shaped")
HEMS = ("straight", "dropped back", "curved")
SKIRTS = ("narrowed", "stitch-length flared", "sideways")


@dataclass(frozen=True, slots=True)
class Shape:
    """The parts of a garment by name; a part that the block does not have keeps its usual name and is not read.

    `side` says whether the body follows hip and waist; `hem` whether short rows drop or round it; `skirt` how a skirt
    gets its flare. `bust_dart_cm` is the length that short rows add over the bust, `hem_drop_cm` what they add to a
    hem. `ruching_cm` is the height above the front's rib that folds of one bed gather, `ruching_ratio` courses of that
    bed for each course of the other.
    """

    block: str = "pullover"
    sleeve: str = "set-in"
    neck: str = "crew"
    side: str = "straight"
    hem: str = "straight"
    skirt: str = "narrowed"
    bust_dart_cm: float = 0.0
    hem_drop_cm: float = 0.0
    ruching_cm: float = 0.0
    ruching_ratio: float = 1.0


DEFAULT = Shape()


def one_of(words: str, known: Iterable[str], where: str, what: str) -> str:
    """A word among those known, whichever way it is written.

    Raises:
        Problem: no such word.
    """
    names = list(known)
    found = next((name for name in names if name.casefold() == words.strip().casefold()), None)
    if found is None:
        raise Problem(where, f"“{words}” is no {what} known here.", limit=", ".join(names), tries=[names[0]])
    return found
