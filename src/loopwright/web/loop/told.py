"""What the loop page says of a cloth: the lede, its figures each with the cause, and what it cannot say.

In: `LoopCloth`. Out: blocks of the sheet. Causes are what the mechanics has, no more: bent yarn that wants to be
straight, loops that hold each other, twist that wants out. Not covered: two cloths (`beside`), HTML (`parts`).
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace

from loopwright.figure import Figure, plain, shown
from loopwright.mechanics.cloth import SimulatedCloth
from loopwright.report.blocks import Cell, Lines, Sentence, Table
from loopwright.web.loop.cloth import LoopCloth


@dataclass(frozen=True, slots=True)
class Row:
    """One quantity of a cloth: its figure, or the words that stand in its place, and the cause."""

    key: str
    name: str
    figure: Figure | None
    instead: str
    cause: str


def lede_of(known: LoopCloth) -> Sentence:
    """The answer in sentences."""
    setting, cloth = known.setting, known.cloth
    if cloth is None:
        return Sentence((known.lacks,))
    where = f"At {plain(setting.loop.value, 2)} mm a loop, {known.name} in {setting.yarn.name} lies "
    parts: list[Cell] = [where, _bare(cloth.geometry.wales_per_cm), " wales and "]
    parts += [_bare(cloth.geometry.courses_per_cm), " courses to the cm. ", *_roll_words(cloth), *_lean_words(cloth)]
    return Sentence((*parts, *_stretch_words(cloth)))


def _bare(figure: Figure) -> Figure:
    """Without its unit, where the sentence says it."""
    return replace(figure, unit="")


def _roll_words(cloth: SimulatedCloth) -> Iterator[Cell]:
    if cloth.is_balanced:
        yield "It has no reason to roll: face and back are alike. "
        return
    sides, ends = cloth.side_radius, cloth.end_radius
    if sides is None and ends is None:
        yield "Its edges lie practically flat. "
        return
    told = []
    for edge, radius, to_back in (("sides", sides, cloth.sides_to_back), ("ends", ends, cloth.ends_to_back)):
        if radius is not None:
            told.append((edge, radius, "back" if to_back else "face"))
    for index, (edge, radius, toward) in enumerate(told):
        yield f"{'Its ' if not index else 'its '}{edge} roll to the {toward}, radius "
        yield radius
        yield f"{JOINED}, " if index + 1 < len(told) else f"{JOINED}. "


def _lean_words(cloth: SimulatedCloth) -> Iterator[Cell]:
    lean = cloth.lean
    if cloth.is_balanced:
        return
    if lean is None:
        yield "How far it leans hangs on the twist left in the yarn, which nobody has measured. "
    elif abs(lean.value) < LEAST_LEAN:
        yield "A yarn without twist left in it does not lean. "
    else:
        yield "It leans "
        yield replace(lean, value=abs(lean.value), low=_near(lean), high=_far(lean))
        yield f" to the {side_of(lean)}. "


JOINED = "\u2060"  # no line begins with the stop after a figure
LEAST_LEAN = 0.05


def side_of(lean: Figure) -> str:
    """Which way the wales lean, seen on the face."""
    return "right" if lean.value > 0 else "left"


def _near(lean: Figure) -> float:
    return 0.0 if lean.low < 0 < lean.high else min(abs(lean.low), abs(lean.high))


def _far(lean: Figure) -> float:
    return max(abs(lean.low), abs(lean.high))


def _stretch_words(cloth: SimulatedCloth) -> Iterator[Cell]:
    if cloth.width_stretch is None or cloth.length_stretch is None:
        return
    yield "Pulled gently it gives "
    yield cloth.width_stretch
    yield " across and "
    yield cloth.length_stretch
    yield " along."


def rows_of(cloth: SimulatedCloth) -> tuple[Row, ...]:
    """All quantities of a cloth in their order, those that it lacks with the reason."""
    geometry = cloth.geometry
    return (
        Row("wales", "Wales", geometry.wales_per_cm, "", _WALES),
        Row("courses", "Courses", geometry.courses_per_cm, "", _COURSES),
        Row("sides", "Side edges roll", cloth.side_radius, _flat(cloth, "side"), _cause_of_roll(cloth, "sides")),
        Row("ends", "End edges roll", cloth.end_radius, _flat(cloth, "end"), _cause_of_roll(cloth, "ends")),
        Row("lean", "Wales lean", cloth.lean, NOT_KNOWN, _cause_of_lean(cloth)),
        Row("width", "Gives across", cloth.width_stretch, _missing(cloth, "width stretch"), _ACROSS),
        Row("width_lock", "Locks across at", cloth.width_lock, _missing(cloth, "width lock"), _LOCK),
        Row("length", "Gives along", cloth.length_stretch, _missing(cloth, "length stretch"), _ALONG),
        Row("length_lock", "Locks along at", cloth.length_lock, _missing(cloth, "length lock"), _LOCK),
        Row("thickness", "Thickness, unloaded", cloth.thickness, "", _THICK),
    )


NOT_KNOWN = "not known"
_WALES = "Bent yarn pushes outward until the neighbouring loops push back; a longer loop lies wider."
_COURSES = "Heads and feet of the loops lean on each other; a longer loop stands higher, so fewer fit."
_ACROSS = "The legs of the loop lie down and lend their yarn to the heads before any yarn has to stretch."
_ALONG = "Heads and feet straighten into the legs; less yarn lies there to lend."
_LOCK = "Ten times the gentle pull: the loops have lent what they had and yarn lies hard on yarn."
_THICK = "From yarn surface to yarn surface, nothing pressing on it."


def _flat(cloth: SimulatedCloth, edge: str) -> str:
    if cloth.is_balanced:
        return "lie flat"
    return NOT_KNOWN if any(f"{edge} edges" in each for each in cloth.missing) else "practically flat"


def _missing(cloth: SimulatedCloth, what: str) -> str:
    return "gives way before" if any(each.startswith(what) for each in cloth.missing) else NOT_KNOWN


def _cause_of_roll(cloth: SimulatedCloth, way: str) -> str:
    if cloth.is_balanced:
        return "Every face loop has a back loop that bends the other way; the two cancel whatever the yarn."
    to_back = cloth.sides_to_back if way == "sides" else cloth.ends_to_back
    toward = "back" if to_back else "face"
    if way == "sides":
        return (
            f"To the {toward}: across the wales the bent yarn opens that way, and nothing on the other side holds it."
        )
    return f"To the {toward}: along the wales heads and feet open that way, against the sides."


def _cause_of_lean(cloth: SimulatedCloth) -> str:
    lean, twist = cloth.lean, cloth.finish.residual_turns_per_m
    if cloth.is_balanced:
        return "What the twist turns in a face loop it turns back in the next back loop."
    if lean is None or twist is None:
        return "Hang a loop of the yarn in water and count the turns it makes; then set the twist left at the left."
    if abs(twist.value) < LEAST_TWIST or abs(lean.value) < LEAST_LEAN:
        return "No twist wants out of the yarn."
    hand = "Z" if twist.value > 0 else "S"
    side = side_of(lean)
    return f"To the {side}, seen on the face: {hand} twist wants out and turns each loop; slack loops turn further."


LEAST_TWIST = 0.5


def table_of(cloth: SimulatedCloth) -> Table:
    """Every quantity, so much, because."""
    rows = tuple((row.name, row.figure if row.figure else row.instead, row.cause) for row in rows_of(cloth))
    return Table(("What it does", "so much", "because"), rows, words=(0, 2))


def missing_lines(cloth: SimulatedCloth) -> Lines | None:
    """What the model could not say of this cloth, and what it never says."""
    own = [f"{each[:1].upper()}{each[1:]}." for each in cloth.missing]
    twist = cloth.finish.residual_turns_per_m
    loop_m = cloth.loop_over_diameter.value * cloth.yarn.diameter_mm.value / 1000
    if twist is not None and abs(twist.value) * loop_m > MOST_TURNS and not cloth.is_balanced:
        most = plain(MOST_TURNS / loop_m, 0)
        own.append(f"The lean is solved up to {most} turns per metre at this loop; beyond that it is a straight line.")
    return Lines(tuple(own)) if own else None


MOST_TURNS = 0.2  # residual turns per loop up to which the lean was solved


def brief_words(known: LoopCloth) -> str:
    """The answer in a line, beside the sliders."""
    cloth = known.cloth
    if cloth is None:
        return known.lacks
    wales, courses = cloth.geometry.wales_per_cm.value, cloth.geometry.courses_per_cm.value
    told = [f"{plain(wales, 1)} wales, {plain(courses, 1)} courses per cm"]
    if cloth.side_radius is not None:
        told.append(f"sides roll to the {'back' if cloth.sides_to_back else 'face'}, {shown(cloth.side_radius)} mm")
    elif cloth.is_balanced:
        told.append("does not roll")
    if cloth.lean is not None and abs(cloth.lean.value) >= LEAST_LEAN:
        told.append(f"leans {plain(abs(cloth.lean.value), 1)}° {side_of(cloth.lean)}")
    if cloth.width_stretch is not None:
        told.append(f"gives {plain(cloth.width_stretch.value, 0)} % across")
    return "; ".join(told)
