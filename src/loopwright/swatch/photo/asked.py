"""What a person says about a photo of a swatch: the reference in it, how the wales run, which side lies up.

In: the words of the command or the choices of the page. Out: `Asked`. Lengths in mm; places in px of the upright photo.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Literal, get_args

from loopwright.problems import Problem
from loopwright.swatch.photo.stitches import Side, Vector, WalesRun

ReferenceKind = Literal["card", "ruler", "coin", "square", "dpi", "none"]
SIZES: dict[str, tuple[str, float, float]] = {
    "ruler": ("its smallest division in mm, as in ruler:1", 0.1, 50.0),
    "coin": ("its diameter in mm, as in coin:23.25", 5.0, 120.0),
    "square": ("its side in mm, as in square:50", 5.0, 1000.0),
    "dpi": ("the dots per inch of the scan, as in dpi:600", 20.0, 20_000.0),
}
WAYS = tuple(kind if kind not in SIZES else f"{kind}:…" for kind in get_args(ReferenceKind))


@dataclass(frozen=True, slots=True)
class Reference:
    """What gives the scale: its kind, and its size (mm; dots per inch for a scan; 0 for a card and for none)."""

    kind: ReferenceKind = "none"
    size: float = 0.0


@dataclass(frozen=True, slots=True)
class Asked:
    """All that is said about a photo; `marked_stitch` is wale step and course step of one stitch in the photo (px)."""

    reference: Reference = Reference()
    wales: WalesRun = "upright"
    side: Side | None = None
    marked_stitch: tuple[Vector, Vector] | None = None
    wales_per_repeat: int = 1
    courses_per_repeat: int = 1
    stripes_and_rib: bool = False


def reference_of(words: str) -> Reference:
    """The reference that words name.

    Raises:
        Problem: no such reference, or its size is missing or impossible.

    >>> reference_of("coin:23.25")
    Reference(kind='coin', size=23.25)
    """
    name, _, size = words.strip().casefold().partition(":")
    kind = next((each for each in get_args(ReferenceKind) if each == name), None)
    if kind is None:
        raise Problem("reference", f"“{words}” is none.", limit=f"one of {', '.join(WAYS)}")
    if kind not in SIZES:
        if size:
            raise Problem("reference", f"“{words}”: {kind} takes no size.", tries=[kind])
        return Reference(kind)
    meaning, least, most = SIZES[kind]
    number = _number(size)
    if number is None:
        raise Problem("reference", f"“{words}”: {kind} wants {meaning}.")
    if not least <= number <= most:
        raise Problem("reference", f"“{words}”: {number:g} can't be {meaning}.", limit=f"{least:g} to {most:g}")
    return Reference(kind, number)


def _number(words: str) -> float | None:
    try:
        number = float(words.removesuffix("mm").strip().replace(",", "."))
    except ValueError:
        return None
    return number if math.isfinite(number) else None
