"""The fields of a swatch as a person types them, and the reader of several readings in one line.

In: what was typed with one hand on the ruler: "65, 64.5, 65 1/2" or "64,5 65 65½". Out: numbers in the field's unit;
counts with a unit of their own stay text, for the document reads them. Rows are (path, label, kind, unit, choices,
hint); the table of all fields is `fields`. Not covered: what follows from the readings (`loopwright.swatch`).
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from typing import Any

from loopwright.problems import Problem
from loopwright.units import quantity

Row = tuple[str, str, str, str, tuple[str, ...], str]

STATES = ("off-machine", "dry-relaxed", "wet-relaxed", "fully-relaxed", "finished")
_SIDES = ("face", "back")


def _row(
    at: str, name: str, label: str, kind: str, unit: str = "", choices: tuple[str, ...] = (), hint: str = ""
) -> Row:
    return f"{at}.{name}", label, kind, unit, choices, hint


def _rows() -> Iterator[Row]:
    for at, rows in (("swatches.*", _SWATCH), ("swatches.*.sittings.*", _SITTING)):
        for row in rows:
            yield _row(at, *row)
    for name, label in LIMITED.items():
        yield f"swatches.*.limits.{name}", label, "limit", "", (), "5, or −5 to 3, or 6.5 ± 2 %"


LIMITED = {
    "wales_per_cm": "Limit of wales per cm",
    "courses_per_cm": "Limit of courses per cm",
    "mass_g_per_m2": "Limit of mass, g/m²",
    "thickness_mm": "Limit of thickness, mm",
    "width_change_percent": "Limit of width change, %",
    "length_change_percent": "Limit of length change, %",
    "lean_percent": "Limit of lean, %",
    "width_stretch_percent": "Limit of stretch in width, %",
    "length_stretch_percent": "Limit of stretch in length, %",
}

_SWATCH: tuple[tuple[Any, ...], ...] = (
    ("name", "Swatch", "text"),
    ("structure", "Structure", "word"),
    ("yarn", "Yarn", "word"),
    ("lot", "Lot", "text"),
    ("cone", "Cone", "text"),
    ("machine", "Machine", "text"),
    ("gauge", "Gauge", "number", "E"),
    ("needles", "Needles", "whole"),
    ("courses", "Courses knitted", "whole"),
    ("cam_setting", "Cam setting", "text"),
    ("loop_length_mm", "Loop length", "number", "mm", (), "left out: that of its unroved courses"),
    ("knitted_on", "Knitted on", "text", "", (), "2026-10-02"),
    ("unreliable", "Unreliable because", "text", "", (), "with a reason here, the swatch drops out of everything"),
    ("note", "Note", "long"),
)

_SITTING: tuple[tuple[Any, ...], ...] = (
    ("state", "State", "choice", "", STATES),
    ("washes", "Washes", "whole"),
    ("on", "Measured on", "text", "", (), "2026-10-03"),
    ("by", "Measured by", "text"),
    ("wash", "Wash", "text"),
    ("dried", "Dried", "text", "", (), "flat, 24 h"),
    ("air.temperature_c", "Air", "number", "°C"),
    ("air.humidity_percent", "Humidity", "number", "%"),
    ("air.hours", "Hours in that air", "number", "h"),
    ("side", "Side up", "choice", "", _SIDES),
    ("count_over_cm", "Counted over", "number", "cm"),
    ("wales", "Wales", "readings", "", (), "at several places: 65, 64.5, 65 1/2"),
    ("courses", "Courses", "readings", "", (), "at several places: 84, 85"),
    ("mass_g", "Weighed", "readings", "g"),
    ("width_cm", "Width", "readings", "cm"),
    ("length_cm", "Length", "readings", "cm"),
    ("area_cm2", "Cut area", "number", "cm²", (), "of each piece weighed, instead of width and length"),
    ("thickness_mm", "Thickness", "readings", "mm"),
    ("unroved.loops", "Loops unroved", "whole"),
    ("unroved.lengths_mm", "Unroved lengths", "readings", "mm"),
    ("unroved.tension_cn_per_tex", "Tension, unroved", "number", "cN/tex"),
    ("unroved_feeds.*.loops", "Loops unroved, feed", "whole"),
    ("unroved_feeds.*.lengths_mm", "Unroved lengths, feed", "readings", "mm"),
    ("unroved_feeds.*.tension_cn_per_tex", "Tension, unroved, feed", "number", "cN/tex"),
    ("marks_width_mm", "Marks across", "readings", "mm"),
    ("marks_length_mm", "Marks along", "readings", "mm"),
    ("diagonals_mm", "Diagonals", "pairs", "mm", (), "lower left to upper right first: 291 × 274; 290 × 275"),
    ("mark_offset_mm", "Offset over height", "pairs", "mm", (), "to the right over the height: 14.5 × 200"),
    ("lean_deg", "Lean", "readings", "°", (), "to the right is positive"),
    ("roll_radius_mm.sides", "Roll of the sides", "number", "mm"),
    ("roll_radius_mm.ends", "Roll of the ends", "number", "mm"),
    ("stretches.*.way", "Pulled in", "choice", "", ("width", "length")),
    ("stretches.*.load_n", "Load", "number", "N"),
    ("stretches.*.strip_cm", "Strip", "number", "cm"),
    ("stretches.*.cycles", "Cycles", "whole"),
    ("stretches.*.extension_percent", "Extension", "readings", "%"),
    ("stretches.*.left_percent", "Left after rest", "readings", "%"),
    ("stretches.*.rest_minutes", "Rest", "number", "min"),
    ("photos.*.wales_per_10_cm", "Wales in 10 cm, photo", "number"),
    ("photos.*.wales_u95", "Wales in 10 cm, ±", "number"),
    ("photos.*.courses_per_10_cm", "Courses in 10 cm, photo", "number"),
    ("photos.*.courses_u95", "Courses in 10 cm, ±", "number"),
    ("photos.*.lean_deg", "Lean, photo", "number", "°"),
    ("photos.*.lean_u95_deg", "Lean, photo, ±", "number", "°"),
    ("photos.*.side", "Side in the photo", "choice", "", _SIDES),
    ("photos.*.confirmed", "Confirmed", "yes"),
    ("photos.*.reference", "Scale from", "text"),
    ("photos.*.note", "Note on the photo", "long"),
    ("unreliable", "Unreliable because", "text", "", (), "with a reason here, this sitting drops out"),
    ("note", "Note", "long"),
)

ROWS = tuple(_rows())


def readings(words: str, unit: str, *, is_count: bool) -> list[float | str]:
    """Readings in one line, parted by commas with a space, semicolons, lines or spaces; a fraction follows its whole.

    >>> readings("65, 64.5, 65 1/2; 64,5 66½", "", is_count=True)
    [65.0, 64.5, 65.5, 64.5, 66.5]
    >>> readings("16.5 per inch; 65", "", is_count=True)
    ['16.5 per inch', 65.0]

    Raises:
        Problem: something among them is no number, or in a unit of another kind.
    """
    found: list[float | str] = []
    for part in re.split(r"[;\n]|,\s+|,$", words):
        if re.search(r"[A-Za-z%\"°²]", part):
            found.append(part.strip() if is_count else quantity(part, unit))
        else:
            found += [quantity(token, unit) for token in _tokens(part)]
    return found


def _tokens(part: str) -> Iterator[str]:
    """Numbers of a line without units: a comma between digits is a decimal sign where it stands alone."""
    for token in re.findall(r"\S*\d\S*\s+\d+\s*/\s*\d+|\S+", part):
        yield from token.split(",") if token.count(",") > 1 else (token,)


def pairs(words: str, unit: str) -> list[list[float]]:
    """Pairs of readings: "291 × 274; 290 × 275".

    >>> pairs("291 x 274; −3,5 × 200", "mm")
    [[291.0, 274.0], [-3.5, 200.0]]

    Raises:
        Problem: not two numbers.
    """
    found = []
    for part in filter(str.strip, re.split(r"[;\n]", words)):
        ends = [end for end in re.split(r"[×x*]|\s+over\s+", part.strip()) if end.strip()]
        if len(ends) != 2:
            raise Problem("", f"“{part.strip()}” is no pair.", tries=["291 × 274; 290 × 275"])
        found.append([quantity(end, unit) for end in ends])
    return found


def limit(words: str) -> Any:
    """A limit: "5" is the most, "−5 to 3" the least and the most, "6.5 ± 2 %" a wanted value and its tolerance.

    >>> limit("5 %"), limit("−5 / +3"), limit("6,5 ± 2 %")
    (5.0, [-5.0, 3.0], {'wanted': 6.5, 'percent': 2.0})

    Raises:
        Problem: none of the three.
    """
    plain = re.sub(r"\s*(%|per cent)\s*", " ", words).strip()
    wanted = re.split(r"\s*(?:±|\+/-|\+-)\s*", plain)
    ends = re.split(r"\s*(?:/|\bto\b|\.\.)\s*", plain)
    if len(wanted) == 2:
        return {"wanted": quantity(wanted[0], ""), "percent": quantity(wanted[1], "")}
    if len(ends) == 2:
        return [quantity(end, "") for end in ends]
    return quantity(plain, "")
