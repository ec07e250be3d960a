"""The fields of a style as a person types them: label, unit, kind, choices; and the reader of what was typed.

One table serves the brief, the assumptions, the history and the door for programs. A field is named by its path in
the style document; `*` stands for any key (a yarn, a zone, a size).
Not covered: whether a value is sensible (the style model and the study say so).
"""

from __future__ import annotations

import math
import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from decimal import Decimal
from enum import StrEnum
from functools import cache, lru_cache
from typing import Any

from loopwright.cost.limits import unit_in
from loopwright.cost.rates import MarginRule, rate_rows
from loopwright.garment.blocks import blocks
from loopwright.garment.ease import fits
from loopwright.garment.length_text import length_cm
from loopwright.garment.measures import POINTS, check_ranges, words_of
from loopwright.garment.necks import necks
from loopwright.garment.shape import HEMS, SIDES, SKIRTS
from loopwright.garment.sizes import LETTERS
from loopwright.garment.sleeves import sleeves
from loopwright.machine.models import flat_models
from loopwright.makeup.operations import operations
from loopwright.problems import Problem
from loopwright.report.tables import capital
from loopwright.shaping.rules import FASHIONINGS, SIDES_OF_PANEL
from loopwright.structure.library import library
from loopwright.study.knitting import EDGES
from loopwright.units import quantity
from loopwright.web.swatch_fields import ROWS, limit, pairs, readings
from loopwright.yarn.diameter import spinnings

Path = tuple[str, ...]


class Kind(StrEnum):
    """How a field is typed."""

    TEXT = "text"
    LONG = "long"
    NUMBER = "number"
    WHOLE = "whole"
    CHOICE = "choice"
    WORD = "word"  # any word; choices are offered
    YES = "yes"
    SIZES = "sizes"
    COLOURS = "colours"
    FIBRES = "fibres"
    LINES = "lines"
    RATE = "rate"
    READINGS = "readings"
    PAIRS = "pairs"
    LIMIT = "limit"


@dataclass(frozen=True, slots=True)
class Field:
    """A field: path pattern, label, kind, unit, choices, and what it means in a sentence."""

    path: Path
    label: str
    kind: Kind
    unit: str = ""
    choices: tuple[str, ...] = ()
    hint: str = ""

    @property
    def is_one_of(self) -> bool:
        """Whether only its choices may be picked."""
        return self.kind in (Kind.CHOICE, Kind.YES)


STATES = ("dry-relaxed", "wet-relaxed", "fully-relaxed", "finished")
_YARN, _ZONE, _SWATCH = ("yarns", "*"), ("zones", "*"), ("zones", "*", "swatch")


def _field(path: str, label: str, kind: Kind, unit: str = "", choices: tuple[str, ...] = (), hint: str = "") -> Field:
    return Field(tuple(path.split(".")), label, kind, unit, choices, hint)


_T, _N, _W, _C = Kind.TEXT, Kind.NUMBER, Kind.WHOLE, Kind.CHOICE

_FIELDS: tuple[Field, ...] = (
    _field("style.name", "Name", _T),
    _field("style.number", "Number", _T),
    _field("style.season", "Season", _T),
    _field("style.note", "Note", Kind.LONG),
    _field("order.pieces", "Pieces", _W),
    _field("order.colours", "Colours", Kind.COLOURS, hint="name and share: night blue 440, signal grey 200"),
    _field("order.ship_date", "Ship", _T),
    _field("order.terms", "Terms", _T),
    _field("order.knitting_days", "Knitting days", _N, "days"),
    _field("order.hours_per_day", "Hours a day", _N, "h"),
    _field("order.share_worked", "Share worked", _N),
    _field("order.size_mix.*", "Pieces of this size", _N),
    _field("targets.price", "Target price", _N),
    _field("targets.quoted_price", "Quoted", _N, hint="what a factory asks, free on board"),
    _field("targets.minutes", "Most minutes", _N, "min"),
    _field("targets.piece_mass_g", "Most mass", _N, "g"),
    _field("targets.minimum_neck_cm", "Neck opens to", _N, "cm"),
    _field("yarns.*.name", "Quality", _T),
    _field("yarns.*.count", "Count", _T, hint="2/30 Nm, 30/2 Ne, 60 tex"),
    _field("yarns.*.fibres", "Fibre", Kind.FIBRES, hint="100 merino, or 80 lambswool 20 polyamide"),
    _field("yarns.*.spinning", "Spinning", _C),
    _field("yarns.*.ends", "Ends", _W, hint="ends knitted together at one feed"),
    _field("yarns.*.singles_twist_tpm", "Singles twist", _N, "tpm"),
    _field("yarns.*.singles_direction", "Singles direction", _C, choices=("S", "Z")),
    _field("yarns.*.fold_twist_tpm", "Folding twist", _N, "tpm"),
    _field("yarns.*.fold_direction", "Folding direction", _C, choices=("S", "Z")),
    _field("yarns.*.price_per_kg", "Price", _N, "/kg"),
    _field("yarns.*.knitting_loss", "Waste", _N, hint="a share: 0.06 is six per cent"),
    _field("zones.*.structure", "Structure", Kind.WORD),
    _field("zones.*.yarn", "Yarn", Kind.WORD),
    _field("zones.*.loop_length_mm", "Loop length", _N, "mm"),
    _field("zones.*.tightness", "Tightness", _N, "√tex/cm", hint="instead of a loop length"),
    _field("zones.*.swatch.name", "Swatch", _T),
    _field("zones.*.swatch.loop_length_mm", "Swatch loop length", _N, "mm"),
    _field("zones.*.swatch.wales_per_cm", "Wales", _N, "1/cm", hint="visible face wales; or needle places, not both"),
    _field("zones.*.swatch.needles_per_cm", "Needle places", _N, "1/cm"),
    _field("zones.*.swatch.courses_per_cm", "Courses", _N, "1/cm"),
    _field("zones.*.swatch.state", "State", _C, choices=STATES),
    _field("zones.*.swatch.mass_g_per_m2", "Mass", _N, "g/m²"),
    _field("zones.*.swatch.thickness_mm", "Thickness", _N, "mm"),
    _field("structures.*.name", "Name", _T),
    _field("structures.*.courses", "Needle notation", Kind.LINES),
    _field("structures.*.gating", "Gating", _C, choices=("rib", "interlock")),
    _field("garment.block", "Block", _C),
    _field("garment.sleeve", "Sleeve", _C),
    _field("garment.neck", "Neck", _C),
    _field("garment.side", "Side", _C, choices=SIDES, hint="shaped: follows hip and waist"),
    _field("garment.hem", "Hem", _C, choices=HEMS),
    _field("garment.hem_drop_cm", "Hem drop", _N, "cm", hint="what short rows add to the back, or to the middle"),
    _field("garment.bust_dart_cm", "Bust dart", _N, "cm", hint="length that short rows add over the bust"),
    _field("garment.ruching_cm", "Ruching", _N, "cm", hint="height above the front's rib that folds of one bed gather"),
    _field("garment.ruching_ratio", "Ruching, courses to one", _N),
    _field("garment.skirt", "Flare by", _C, choices=SKIRTS),
    _field("garment.population", "Body", _C, choices=("women", "men", "children")),
    _field("garment.fit", "Fit", Kind.WORD, choices=fits()),
    _field("garment.chest_ease_cm", "Ease on chest", _N, "cm"),
    _field("garment.sizes", "Sizes", Kind.SIZES, hint="XS–3XL, or S, M, L"),
    _field("garment.base_size", "Base size", Kind.WORD),
    _field("garment.neckband_doubled", "Band doubled", Kind.YES),
    _field("garment.buttons", "Buttons", _W),
    _field("garment.cords", "Cords", Kind.YES),
    _field("garment.raised_surface", "Raised surface", Kind.YES),
    _field("garment.measures_cm.*", "Measure", _N, "cm"),
    _field("garment.hand_set_cm.*.*", "Measure set by hand", _N, "cm"),
    _field("garment.grade_cm.*", "Grade per size", _N, "cm"),
    _field("machine.name", "Machine", _T),
    _field("machine.model", "Model", _C, hint="a generic machine, invented: gives gauge, bed and systems left out"),
    _field("machine.gauge", "Gauge", _N, "E"),
    _field("machine.bed_in", "Bed", _N, "in"),
    _field("machine.systems", "Knitting systems", _W),
    _field("machine.carriers", "Carriers", _W),
    _field("machine.speed_m_per_s", "Speed, plain", _N, "m/s"),
    _field("machine.overrun_m", "Overrun", _N, "m"),
    _field("machine.reversal_s", "Reversal", _N, "s"),
    _field("machine.running_share", "Running share", _N, hint="share of the time that the machine runs"),
    _field(
        "construction.method", "Making", _C, choices=tuple(EDGES), hint="how sides, sleeves and armholes are joined"
    ),
    _field("construction.narrow_needles", "Narrowing", _W, "needles"),
    _field("construction.widen_needles", "Widening", _W, "needles"),
    _field("construction.courses_between", "Courses between", _W),
    _field("construction.mark_needles", "Mark in from edge", _W, "needles"),
    _field("construction.fashioning", "Fashioning rule", _C, choices=FASHIONINGS),
    _field(
        "construction.sides",
        "Both edges narrow",
        _C,
        choices=SIDES_OF_PANEL,
        hint="alternate: with the exact rule; a raglan narrows both together",
    ),
    _field(
        "construction.stroke_worth_mm2",
        "A stroke is worth",
        _N,
        "mm²",
        hint="squared distance from the outline, both edges over a course, that the exact plan gives for a stroke",
    ),
    _field("construction.even_courses", "Even courses only", Kind.YES, hint="no: an event may come at any course"),
    _field("construction.armhole_slope_share", "Armhole slope", _N, hint="its height as a share of the armhole"),
    _field("construction.sleeve_straight_cm", "Straight below the cap", _N, "cm"),
    _field("construction.armhole_base_cm", "Armhole base", _N, "cm"),
    _field("construction.cap_ease_cm", "Cap ease", _N, "cm"),
    _field("construction.band_pick_up", "Band pick-up", _N),
    _field("construction.linking_dial", "Linking dial", _W, "points/in"),
    _field("make_up_minutes.*", "Minutes", _N, "min"),
    _field("state", "Finish", _C, choices=STATES, hint="the state in which the measures are wanted"),
    _field("rates.currency", "Money", _T, hint="three letters"),
    _field("rates.programming_hours", "Programming", _N, "h"),
    _field("rates.*", "Rate", Kind.RATE),
    _field("rates.margin_rule", "Margin is", _C, choices=tuple(rule.value for rule in MarginRule)),
    *(_field(path, label, Kind(kind), unit, choices, hint) for path, label, kind, unit, choices, hint in ROWS),
)


@cache
def _by_pattern() -> Mapping[Path, Field]:
    rates = [
        Field(("rates", name), capital(row.text("words")), Kind.RATE, unit_in(row, ""))
        for name, row in rate_rows().items()
    ]
    minutes = [
        Field(("make_up_minutes", name), capital(operation.words), Kind.NUMBER, "min")
        for name, operation in operations().items()
    ]
    measures = [
        Field(("garment", part, *rest, name), words_of(name), Kind.NUMBER, "cm")
        for name in POINTS
        for part, rest in (("measures_cm", ()), ("hand_set_cm", ("*",)), ("grade_cm", ()))
    ]
    return {field.path: field for field in (*_FIELDS, *rates, *minutes, *measures)}


def field_at(path: Path) -> Field | None:
    """The field at a path of a document; none when it is no field that a person types."""
    matched = _match(path)
    return matched[1] if matched else None


@lru_cache(maxsize=4096)
def _match(path: Path) -> tuple[Path, Field] | None:
    """The most definite pattern of a path, and its field there."""
    same = [(pattern, field) for pattern, field in _by_pattern().items() if len(pattern) == len(path)]
    for pattern, field in sorted(same, key=lambda each: each[0].count("*")):
        if all(want in ("*", have) for want, have in zip(pattern, path, strict=True)):
            return pattern, Field(path, field.label, field.kind, field.unit, _choices(field), field.hint)
    return None


_LISTED: Mapping[Path, Callable[[], Mapping[str, object]]] = {
    ("garment", "block"): blocks,
    ("garment", "sleeve"): sleeves,
    ("garment", "neck"): necks,
    ("machine", "model"): flat_models,
}


def _choices(field: Field) -> tuple[str, ...]:
    if field.path in _LISTED:
        return tuple(_LISTED[field.path]())
    if field.path[-1] == "spinning":
        return tuple(spinnings())
    if field.path[-1] == "structure":
        return tuple(structure.name for structure in library().values())
    return ("yes", "no") if field.kind is Kind.YES else field.choices


def label_of(path: Path) -> str:
    """What a path is called in trade words: "Loop length, body"."""
    matched = _match(path)
    if matched is None:
        return ", ".join(part.replace("_", " ") for part in reversed(path)).capitalize()
    pattern, field = matched
    keys = [have for have, want in zip(path, pattern, strict=True) if want == "*"]
    return ", ".join([field.label, *(key.replace("_", " ") for key in keys)])


def value_typed(path: Path, text: str) -> Any:
    """The document's value for what a person typed at a path; None when the field was emptied.

    >>> value_typed(("zones", "body", "loop_length_mm"), "6,15 mm")
    6.15
    >>> value_typed(("garment", "sizes"), "XS–L")
    ['XS', 'S', 'M', 'L']

    Raises:
        Problem: the text cannot be read as this field's kind.
    """
    words = text.strip()
    if not words:
        return None
    field = field_at(path)
    if field is None:
        raise Problem(".".join(path), "there is no such field.")
    try:
        return _READERS.get(field.kind, _as_text)(words, field)
    except Problem as problem:
        raise Problem(label_of(path), problem.what, limit=problem.limit, tries=problem.tries) from None


def _as_text(words: str, field: Field) -> Any:
    if field.kind is Kind.CHOICE and words not in field.choices:
        raise Problem("", f"“{words}” is not among the choices.", limit=", ".join(field.choices))
    return words


def _number(words: str, field: Field) -> float:
    if field.path[:2] in _MEASURES and field.path[-1] in POINTS:
        return _measure_cm(words, field.path[-1])
    unit = field.unit.lstrip("/") if field.unit in _READ_IN else ""
    if field.path[0] == "yarns" and field.path[-1] == "price_per_kg":
        words = re.sub(r"\s*[A-Za-z€$£]{1,3}\s*(/\s*kg)?$|^[€$£]\s*", "", words)
    if field.path[-1] == "knitting_loss" and words.endswith("%"):
        return quantity(words, "%") / 100
    if field.path[-1] == "gauge":
        words = re.sub(r"^E\s*", "", words)
    if not unit and field.kind is not Kind.RATE:
        words = _without_its_own_unit(words, field)
    value = quantity(words, unit)
    if not math.isfinite(value):
        raise Problem("", "this number has hundreds of digits.", tries=["write it shorter"])
    return int(value) if field.kind is Kind.WHOLE and value == int(value) else value


_MEASURES = (("garment", "measures_cm"), ("garment", "hand_set_cm"))


def _measure_cm(words: str, point: str) -> float:
    """A cell of the size table, read as a buyer's table is: 49,5 and 495 mm, 19¼ in and 19-1/4"."""
    value_cm = length_cm(words, unit="cm")
    check_ranges({point: value_cm}, "")
    return value_cm


def _without_its_own_unit(words: str, field: Field) -> str:
    """The number alone, when its unit or its label stands behind it: "600 tpm", "640 pieces".

    Raises:
        Problem: something else stands behind it.
    """
    own = "|".join(re.escape(each).replace("²", "[²2]") for each in (field.unit, field.label) if each)
    number = re.sub(rf"(?<=[\d.,])\s*(?:{own})$", "", words, flags=re.IGNORECASE)
    if number[:1].isdigit() and any(sign.isalpha() or sign == "%" for sign in number):
        raise Problem("", f"“{words}” says more than a number.", tries=["type the number alone"])
    return number


_READ_IN = ("mm", "cm", "in", "g", "min", "m", "s", "m/s", "1/cm", "needles", "h")


def _yes(words: str, _: Field) -> bool:
    said = words.casefold()
    if said not in ("yes", "no", "true", "false"):
        raise Problem("", f"“{words}” is neither yes nor no.", tries=["yes", "no"])
    return said in ("yes", "true")


def _sizes(words: str, _: Field) -> list[str]:
    ends = re.fullmatch(r"\s*(\w+)\s*[–—-]\s*(\w+)\s*", words)
    if ends and ends[1].upper() in LETTERS and ends[2].upper() in LETTERS:
        first, last = (LETTERS.index(end.upper()) for end in ends.groups())
        if first >= last:
            raise Problem("", f"“{words}” runs backwards.", tries=[f"{LETTERS[last]}–{LETTERS[first]}"])
        return list(LETTERS[first : last + 1])
    return [size for part in re.split(r"[,;\n\t]", words) if (size := part.strip())]


def _colours(words: str, field: Field) -> list[dict[str, Any]]:
    colours = []
    for part in re.split(r"[;\n]|(?<!\d),|,(?!\d)", words):  # a comma between two digits is a decimal sign
        named = re.fullmatch(r"\s*(.*?\S)(?:\s+([-−]?\d[\d.,]*))?\s*", part)
        if named:
            colours.append({"name": named[1], "share": float(_number(named[2], field)) if named[2] else 1.0})
    if not colours:
        raise Problem("", f"“{words}” names no colour.", tries=["night blue 440, signal grey 200"])
    return colours


def _lines(words: str, _: Field) -> list[str]:
    return [line.strip() for line in words.splitlines() if line.strip()]


def _rate(words: str, field: Field) -> float | str:
    try:
        return _number(words, field)
    except Problem:
        return words  # "3,60 EUR/h" and "12 %": the rate card reads its own money and shares


def _readings(words: str, field: Field) -> list[float | str]:
    is_count = field.path[-1] in ("wales", "courses")
    return readings(words, _OWN_UNIT.get(field.unit, field.unit), is_count=is_count)


_OWN_UNIT = {"°": "deg"}

_READERS: Mapping[Kind, Callable[[str, Field], Any]] = {
    Kind.NUMBER: _number,
    Kind.WHOLE: _number,
    Kind.YES: _yes,
    Kind.SIZES: _sizes,
    Kind.COLOURS: _colours,
    Kind.LINES: _lines,
    Kind.RATE: _rate,
    Kind.READINGS: _readings,
    Kind.PAIRS: lambda words, field: pairs(words, field.unit),
    Kind.LIMIT: lambda words, _: limit(words),
}


def text_of(value: Any) -> str:
    """A document's value as a person would type it again.

    >>> text_of(["XS", "S", "M"]), text_of(6.15), text_of({"merino": 100})
    ('XS, S, M', '6.15', '100 merino')
    """
    if value is None:
        return ""
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, float):
        return f"{Decimal(f'{value:.10g}'):f}"  # never with an exponent, which nobody types
    if isinstance(value, list) and value and isinstance(value[0], list):
        return "; ".join(" × ".join(text_of(each) for each in pair) for pair in value)
    if isinstance(value, list):
        return ", ".join(_part(each) for each in value)
    if isinstance(value, Mapping) and "wanted" in value:
        return f"{text_of(value['wanted'])} ± {text_of(value.get('percent'))} %"
    if isinstance(value, Mapping):
        return " ".join(f"{text_of(share)} {name}" for name, share in value.items())
    return str(value)


def _part(value: Any) -> str:
    if isinstance(value, Mapping) and "name" in value:
        share = value.get("share")
        return f"{value['name']} {text_of(share)}" if share is not None else str(value["name"])
    return text_of(value)
