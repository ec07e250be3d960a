"""The needle notation: what every needle of both beds does, feed by feed.

A structure is held once, as a repeat of steps. A feed lays one yarn across the beds and says knit (K), tuck (T), miss
(M) or out of action (-) for each needle; a move transfers loops from one bed to the other; a rack shifts the back bed.
Everything else (loops, yarn, passes, balance, drawings) is counted from here, so no fact of a structure is typed twice.

One step is one line of text; strings of a repeat have equal length, the first needle at the left, lowest step first:

    F:KK B:TT                 a feed on both beds; a bed left out is idle
    F:KM B:MK yarn:b          the yarn of this feed (default a)
    F:KK B:MM loop:plain      the length role of its loops (default knit)
    move F>B:X.               loops of the needles marked X go to the needle opposite
    rack:+1                   the back bed now stands one needle to the right

Not covered: yarn lengths and dimensions (`fabric`), drawings (`draw`). Sources: spencer_2001, knit_notation.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum

from loopwright.problems import Problem


class Stitch(StrEnum):
    """What one needle does in one feed."""

    KNIT = "K"
    TUCK = "T"
    MISS = "M"
    OUT = "-"


class Gating(StrEnum):
    """How the needles of the two beds stand: opposite the gaps (rib) or opposite each other (interlock)."""

    RIB = "rib"
    INTERLOCK = "interlock"


@dataclass(frozen=True, slots=True)
class Feed:
    """One yarn laid once across the beds."""

    front: tuple[Stitch, ...]
    back: tuple[Stitch, ...]
    yarn: str = "a"
    role: str = "knit"


@dataclass(frozen=True, slots=True)
class Move:
    """Loops transferred to the needle opposite; `needles` are places on the bed that gives."""

    from_front: bool
    needles: tuple[bool, ...]


@dataclass(frozen=True, slots=True)
class Rack:
    """The back bed's offset from here on, in needles to the right of its home."""

    offset: int


Step = Feed | Move | Rack


@dataclass(frozen=True, slots=True)
class Notation:
    """A repeat of steps on a number of needle places, with the gating of the beds."""

    needles: int
    steps: tuple[Step, ...]
    gating: Gating = Gating.RIB

    @property
    def feeds(self) -> tuple[Feed, ...]:
        """The feeds of the repeat, in knitting order."""
        return tuple(step for step in self.steps if isinstance(step, Feed))

    def lines(self) -> tuple[str, ...]:
        """The notation as text again; `read(lines)` gives an equal notation."""
        return tuple(_line(step) for step in self.steps)


def read(lines: Sequence[str], gating: str = "rib") -> Notation:
    """Read a notation from its lines.

    >>> read(["F:KK B:KK", "F:KK B:TT"]).needles
    2

    Raises:
        Problem: a line cannot be read, strings differ in length, or nothing is knitted.
    """
    steps = steps_of(lines)
    _refuse_needles_that_never_clear(steps)
    lengths = {
        len(step.front) if isinstance(step, Feed) else len(step.needles) for step in steps if not isinstance(step, Rack)
    }
    if not any(isinstance(step, Feed) and _knits(step) for step in steps):
        raise Problem("notation", "no needle knits in this repeat.", tries=["give one feed with a K, for instance F:K"])
    if len(lengths) > 1:
        counts = " and ".join(str(length) for length in sorted(lengths))
        raise Problem("notation", f"the lines show {counts} needles.", tries=["write every line over the same needles"])
    try:
        gates = Gating(gating)
    except ValueError:
        raise Problem(
            "notation", f"“{gating}” is no gating.", limit="rib or interlock", tries=['gating = "rib"']
        ) from None
    return Notation(lengths.pop(), steps, gates)


def steps_of(lines: Sequence[str]) -> tuple[Step, ...]:
    """The steps of a notation line by line, whether or not they can be knitted together.

    Raises:
        Problem: a line cannot be read.
    """
    return tuple(_step(text, number) for number, text in enumerate(lines, start=1))


def _refuse_needles_that_never_clear(steps: Sequence[Step]) -> None:
    """Refuse a needle that gathers tucks for ever: it tucks, and neither knits nor gives its loops away."""
    feeds = [step for step in steps if isinstance(step, Feed)]
    if any(isinstance(step, Move) for step in steps):
        return
    for name, beds in (("front", [feed.front for feed in feeds]), ("back", [feed.back for feed in feeds])):
        for place, needle in enumerate(zip(*beds, strict=False), start=1):
            if Stitch.TUCK in needle and Stitch.KNIT not in needle:
                raise Problem(
                    "notation",
                    f"needle {place} of the {name} bed tucks and never knits: its loops gather until the hook is full.",
                    tries=["let it knit in one feed of the repeat"],
                )


def _knits(feed: Feed) -> bool:
    return Stitch.KNIT in feed.front or Stitch.KNIT in feed.back


def _step(text: str, number: int) -> Step:
    where = f"notation, line {number}"
    words = text.split()
    if not words:
        raise Problem(where, "the line is empty.", tries=["leave it out"])
    if words[0] == "move":
        return _move(words[1:], text, where)
    if words[0].startswith("rack:"):
        return _rack(words[0].removeprefix("rack:"), where)
    return _feed(words, text, where)


def _feed(words: list[str], text: str, where: str) -> Feed:
    parts: dict[str, str] = {}
    for word in words:
        key, colon, value = word.partition(":")
        if not colon or key not in ("F", "B", "yarn", "loop") or not value or key in parts:
            raise Problem(
                where, f"“{word}” in “{text}” cannot be read.", tries=["F:KK B:KK, then yarn:b or loop:plain"]
            )
        parts[key] = value
    if "F" not in parts and "B" not in parts:
        raise Problem(where, f"“{text}” names no bed.", tries=["F:KK for the front bed, B:KK for the back bed"])
    idle = Stitch.OUT.value * len(parts.get("F") or parts["B"])
    front = _stitches(parts.get("F", idle), where)
    back = _stitches(parts.get("B", idle), where)
    if len(front) != len(back):
        raise Problem(
            where, f"the front bed shows {len(front)} needles and the back bed {len(back)}.", tries=["same count"]
        )
    return Feed(front, back, parts.get("yarn", "a"), parts.get("loop", "knit"))


def _stitches(word: str, where: str) -> tuple[Stitch, ...]:
    try:
        return tuple(Stitch(letter) for letter in word)
    except ValueError:
        raise Problem(
            where, f"“{word}” has a letter that is no stitch.", limit="K knit, T tuck, M miss, - out"
        ) from None


def _move(words: list[str], text: str, where: str) -> Move:
    beds, colon, marks = (words[0] if len(words) == 1 else "").partition(":")
    if not colon or beds not in ("F>B", "B>F") or not marks or set(marks) - {"X", "."}:
        raise Problem(where, f"“{text}” is no transfer.", tries=["move F>B:X. moves the first of two front loops back"])
    return Move(beds == "F>B", tuple(mark == "X" for mark in marks))


def _rack(word: str, where: str) -> Rack:
    try:
        return Rack(int(word))
    except ValueError:
        raise Problem(
            where, f"“rack:{word}” is no whole number of needles.", tries=["rack:+1, and rack:0 for home"]
        ) from None


def _line(step: Step) -> str:
    if isinstance(step, Rack):
        return f"rack:{step.offset:+d}" if step.offset else "rack:0"
    if isinstance(step, Move):
        marks = "".join("X" if moved else "." for moved in step.needles)
        return f"move {'F>B' if step.from_front else 'B>F'}:{marks}"
    parts = []
    for key, bed in (("F", step.front), ("B", step.back)):
        if any(stitch is not Stitch.OUT for stitch in bed):
            parts.append(f"{key}:{''.join(bed)}")
    if step.yarn != "a":
        parts.append(f"yarn:{step.yarn}")
    if step.role != "knit":
        parts.append(f"loop:{step.role}")
    return " ".join(parts)
