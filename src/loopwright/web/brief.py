"""The brief as an editable ticket: groups of fields with what was typed, or what the study takes in its place.

In: the document of an object and its study. Out: groups of entries, and their HTML. A field left out shows the value
that the study took, dotted and marked A; typed over, it becomes the person's own.
"""

from __future__ import annotations

import json
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from html import escape
from typing import Any

from loopwright.figure import Figure, plain, shown
from loopwright.garment.blocks import block_of
from loopwright.garment.shape import DEFAULT, Shape
from loopwright.store.document import value_at
from loopwright.store.values import Document
from loopwright.study.parts import ALL_ZONES, FOLLOWS
from loopwright.study.study import StyleStudy
from loopwright.web.fields import Field, Kind, Path, field_at, label_of, text_of


@dataclass(frozen=True, slots=True)
class Entry:
    """One line of the brief: the field, the text typed (empty: left out), and what the study takes in its place."""

    field: Field
    typed: str
    taken: str = ""
    letter: str = ""


@dataclass(frozen=True, slots=True)
class Group:
    """A group of entries; `offers` are things that can be added to it or taken from the shelf (words, path or kind)."""

    heading: str
    entries: tuple[Entry, ...]
    offers: tuple[tuple[str, str, str], ...] = ()  # (what, words, value)


def groups_of(document: Document, study: StyleStudy | None, *, is_style: bool) -> tuple[Group, ...]:
    """The groups of a brief: a style has all, one thing of the shelf only its own."""
    makers = (_order, _yarns, _structures, _swatches, _zones, _machine, _garment, _rates)
    made = [group for make in makers for group in make(document, study, is_style)]
    return tuple(group for group in made if group.entries or group.offers)


def _order(document: Document, study: StyleStudy | None, is_style: bool) -> Iterator[Group]:
    if not is_style:
        return
    names = ("pieces", "colours", "ship_date", "knitting_days", "terms")
    entries = [*_entries(document, study, [("order", name) for name in names])]
    entries[1:1] = _entries(document, study, [("garment", "sizes")])
    yield Group("Order", tuple(entries))
    targets = ("price", "quoted_price", "minutes", "piece_mass_g")
    yield Group("Targets", tuple(_entries(document, study, [("targets", name) for name in targets])))


def _yarns(document: Document, study: StyleStudy | None, is_style: bool) -> Iterator[Group]:
    yarns = document.get("yarns", {})
    for number, key in enumerate(yarns):
        names = ("name", "count", "ends", "fibres", "spinning", "price_per_kg", "knitting_loss")
        entries = _entries(document, study, [("yarns", key, name) for name in names])
        heading = "Yarn" if len(yarns) == 1 else f"Yarn {number + 1}"
        offers = (("take", "take one from the shelf", f"yarn yarns.{key}"),) if is_style else ()
        yield Group(heading, tuple(entries), offers)
    if is_style:
        yield Group("" if yarns else "Yarn", (), (("add-yarn", "add a yarn", ""),))


def _structures(document: Document, study: StyleStudy | None, _is_style: bool) -> Iterator[Group]:
    for key in document.get("structures", {}):
        names = ("name", "courses", "gating")
        yield Group("Structure", tuple(_entries(document, study, [("structures", key, name) for name in names])))


def _swatches(document: Document, study: StyleStudy | None, is_style: bool) -> Iterator[Group]:
    """A swatch of the shelf: how it was made, then each sitting; a first one to fill while there is none."""
    if is_style:
        return
    for key, swatch in document.get("swatches", {}).items():
        paths: list[Path] = [("swatches", key, name) for name in _SPECIMEN_FIELDS]
        yield Group("Swatch", tuple(_entries(document, study, paths)))
        for sitting in swatch.get("sittings", {}) or ("1",):
            paths = [("swatches", key, "sittings", sitting, *name.split(".")) for name in _SITTING_FIELDS]
            yield Group(f"Sitting {sitting}", tuple(_entries(document, study, paths)))


_SPECIMEN_FIELDS = (
    "name", "structure", "lot", "cone", "machine", "gauge", "needles", "courses", "cam_setting", "loop_length_mm",
    "knitted_on", "unreliable", "note",
)  # fmt: skip
_SITTING_FIELDS = (
    "state", "washes", "on", "by", "count_over_cm", "wales", "courses", "mass_g", "width_cm", "length_cm",
    "thickness_mm", "unroved.loops", "unroved.lengths_mm", "marks_width_mm", "marks_length_mm", "diagonals_mm",
    "mark_offset_mm", "unreliable",
)  # fmt: skip


def _zones(document: Document, study: StyleStudy | None, is_style: bool) -> Iterator[Group]:
    if not is_style and "zones" not in document:
        return
    named = [zone for zone in ALL_ZONES if zone in document.get("zones", {})]
    there = block_of(_shape(study)).zones
    zones = named if not is_style else [zone for zone in ALL_ZONES if zone in ("body", "hem") or zone in named]
    many = len(document.get("yarns", {})) > 1
    for zone in zones:
        names = ["structure", *(["yarn"] if many else []), "loop_length_mm", "tightness"]
        paths: list[Path] = [("zones", zone, name) for name in names]
        if isinstance(document.get("zones", {}).get(zone, {}).get("swatch"), Mapping):
            paths += [("zones", zone, "swatch", name) for name in _SWATCH_FIELDS]
        yield Group(zone.capitalize(), tuple(_entries(document, study, paths)), _zone_offers(zone) if is_style else ())
    if is_style:
        rest = tuple(
            ("add-zone", f"{zone} of its own", zone) for zone in FOLLOWS if zone not in zones and zone in there
        )
        yield Group("", (), rest)


_SWATCH_FIELDS = (
    "name", "loop_length_mm", "wales_per_cm", "needles_per_cm", "courses_per_cm", "state", "mass_g_per_m2",
    "thickness_mm",
)  # fmt: skip


def _zone_offers(zone: str) -> tuple[tuple[str, str, str], ...]:
    return (("take", "use a swatch", f"swatch zones.{zone}"), ("take", "own structure", f"structure zones.{zone}"))


def _machine(document: Document, study: StyleStudy | None, is_style: bool) -> Iterator[Group]:
    if not is_style and "machine" not in document:
        return
    names = ["model", "gauge", "bed_in", "systems", "speed_m_per_s", "overrun_m", "reversal_s", "running_share"]
    paths: list[Path] = [("machine", name) for name in names]
    if not is_style:
        yield Group("Machine", tuple(_entries(document, study, [("machine", "name"), *paths, ("machine", "carriers")])))
        return
    offers = (("take", "take one from the shelf", "machine machine"),)
    yield Group("Machine and finish", tuple(_entries(document, study, [*paths, ("state",)])), offers)


def _garment(document: Document, study: StyleStudy | None, is_style: bool) -> Iterator[Group]:
    if not is_style and "garment" not in document:
        return
    names = ("block", *_parts(_shape(study)), "population", "base_size", "fit", "chest_ease_cm")
    paths: list[Path] = [("garment", name) for name in names]
    if not is_style:
        paths = [("style", "name"), *paths, ("garment", "sizes")]
        yield Group("Sizes", tuple(_entries(document, study, paths)))
        return
    more = [name for name in ("neckband_doubled", "buttons", "cords", "raised_surface") if _is_there(study, name)]
    paths += [("garment", name) for name in more]
    offers = (("take", "take sizes from the shelf", "sizes garment"),)
    yield Group("Garment", tuple(_entries(document, study, paths)), offers)
    making = ("method", "fashioning", "sides", "narrow_needles", "mark_needles", "linking_dial")
    yield Group("Making", tuple(_entries(document, study, [("construction", name) for name in making])))


def _shape(study: StyleStudy | None) -> Shape:
    return study.style.garment.shape if study is not None and study.style.garment is not None else DEFAULT


def _parts(shape: Shape) -> tuple[str, ...]:
    """Parts of the garment that its block lets be chosen."""
    if shape.block == "skirt":
        return ("skirt",)
    if "neck_width" not in block_of(shape).points(shape):
        return ()
    sleeve = () if shape.block == "vest" else ("sleeve",)
    drop = ("hem_drop_cm",) if shape.hem != "straight" else ()
    return (
        *sleeve,
        "neck",
        "side",
        "hem",
        *drop,
        "bust_dart_cm",
        "ruching_cm",
        *(("ruching_ratio",) if shape.ruching_cm else ()),
    )


def _is_there(study: StyleStudy | None, name: str) -> bool:
    """Whether a setting means something to the garment; buttons and cords may be on anything."""
    return name != "neckband_doubled" or "neckband" in block_of(_shape(study)).zones


def _rates(document: Document, study: StyleStudy | None, is_style: bool) -> Iterator[Group]:
    if not is_style and "rates" not in document:
        return
    own = list(document.get("rates", {}))
    shown = list(dict.fromkeys(["currency", "machine_hour", "makeup_wage", "line_efficiency", "margin", *own]))
    paths: list[Path] = [] if is_style else [("style", "name")]
    paths += [("rates", name) for name in shown]
    paths += [("make_up_minutes", name) for name in document.get("make_up_minutes", {})]
    offers = (("take", "take a rate card from the shelf", "rates rates"),) if is_style else ()
    yield Group("Rates", tuple(_entries(document, study, paths)), offers)


def _entries(document: Document, study: StyleStudy | None, paths: list[Path]) -> list[Entry]:
    return [_entry(document, study, path) for path in paths]


def _entry(document: Document, study: StyleStudy | None, path: Path) -> Entry:
    field = field_at(path)
    assert field is not None, path
    value = value_at(document, path)
    if value is not None:
        typed = "\n".join(value) if field.kind is Kind.LINES else text_of(value)
        return Entry(field, typed)
    taken, letter = _taken(study, path)
    return Entry(field, "", taken, letter)


def _taken(study: StyleStudy | None, path: Path) -> tuple[str, str]:
    """What the study took for a field that was left out, and its basis letter."""
    if study is None:
        return "", ""
    if path[0] == "zones" and path[-1] in ("loop_length_mm", "tightness") and path[1] in study.fabrics:
        fabric = study.fabrics[path[1]]
        figure = fabric.geometry.loop_length_mm if path[-1] == "loop_length_mm" else fabric.tightness
        return plain(figure.value, 2), figure.basis.letter or "·"
    if path[0] == "zones" and path[-1] == "structure" and path[1] in study.fabrics:
        return study.fabrics[path[1]].structure.name, "A"
    if path[0] == "machine" and study.machine is not None and path[-1] in _SETTINGS:
        setting: Figure = getattr(study.machine, _SETTINGS[path[-1]])
        return shown(setting), setting.basis.letter or "·"
    if path[0] == "yarns" and path[-1] == "spinning" and path[1] in study.yarns:
        return study.yarns[path[1]].spinning, "A"
    if path == ("state",):
        return study.style.state, "A"
    words = study.assumptions.get(".".join(path), "")
    if words:
        return words.partition(": ")[2] or words, "A"
    default = _default(study, path)
    return (text_of(default), "A") if default not in (None, "", (), {}) else ("", "")


_SETTINGS = {
    "speed_m_per_s": "speed_plain",
    "overrun_m": "overrun",
    "reversal_s": "reversal",
    "running_share": "running_share",
}


def _default(study: StyleStudy, path: Path) -> Any:
    """The model's own default at a path."""
    found: Any = study.style
    for key in path:
        found = found.get(key) if isinstance(found, Mapping) else getattr(found, key, None)
    return found if isinstance(found, str | int | float | bool) else None


def brief_html(groups: tuple[Group, ...], *, may_edit: bool = True) -> str:
    """The brief's groups as fields."""
    return "".join(_group(group, may_edit=may_edit) for group in groups)


def _group(group: Group, *, may_edit: bool) -> str:
    heading = f"<h2>{escape(group.heading)}</h2>" if group.heading else ""
    rows = "".join(_row(entry, may_edit=may_edit) for entry in group.entries)
    offers = "".join(
        f'<button type="button" class="offer" data-do="{escape(what)}" data-value="{escape(value, quote=True)}">'
        f"{escape(words)}</button>"
        for what, words, value in (group.offers if may_edit else ())
    )
    return f'<div class="group">{heading}{rows}{f"<p>{offers}</p>" if offers else ""}</div>'


def _row(entry: Entry, *, may_edit: bool) -> str:
    field = entry.field
    path, dotted = json.dumps(field.path, ensure_ascii=False), ".".join(field.path)
    said = "; ".join(words for words in (field.hint, entry.taken and f"taken as {entry.taken}") if words)
    hint = f' title="{escape(said, quote=True)}"' if said else ""
    unit = f"<i>{escape(field.unit.removeprefix('E'))}</i>" if field.unit not in ("", "E") else ""
    mark = f"<sup>{escape(entry.letter)}</sup>" if entry.letter and not entry.typed else ""
    state = " taken" if entry.taken and not entry.typed else ""
    wide = " wide" if field.kind in (Kind.LONG, Kind.LINES) else ""
    return (
        f'<label class="field{state}{wide}" data-field="{escape(dotted, quote=True)}"{hint}>'
        f"<span>{escape(field.label)}</span>{_control(entry, path, may_edit=may_edit)}{unit}{mark}</label>"
    )


def _control(entry: Entry, path: str, *, may_edit: bool, label: str = "") -> str:
    """The control of an entry; `label` names it where no label stands around it."""
    field, at = entry.field, escape(path, quote=True)
    named = f' aria-label="{escape(label, quote=True)}"' if label else ""
    off = "" if may_edit else " disabled"
    if field.is_one_of:
        empty = f'<option value="">{escape((entry.taken or "not said").replace("_", " "))}</option>'
        options = "".join(
            f'<option value="{escape(choice, quote=True)}"{" selected" if entry.typed == choice else ""}>'
            f"{escape(choice.replace('_', ' '))}</option>"
            for choice in field.choices
        )
        return f'<select{named} data-path="{at}"{off}>{empty}{options}</select>'
    shown = escape(entry.typed, quote=True)
    holder = escape(entry.taken or "–", quote=True)
    if field.kind in (Kind.LONG, Kind.LINES):
        return (
            f'<textarea{named} data-path="{at}" rows="3" placeholder="{holder}"{off}>{escape(entry.typed)}</textarea>'
        )
    offered = f' list="offer-{escape(field.path[-1])}"' if field.kind is Kind.WORD and field.choices else ""
    numeric = ' inputmode="decimal"' if field.kind in (Kind.NUMBER, Kind.WHOLE, Kind.RATE) else ""
    return (
        f'<input{named} data-path="{at}" value="{shown}" placeholder="{holder}" autocomplete="off" spellcheck="false"'
        f"{numeric}{offered}{off}>"
    )


def assumptions_html(assumptions: Mapping[str, str], *, may_edit: bool = True) -> str:
    """What the study took in the place of fields left out, each with a place to type over it."""
    rows = "".join(_assumption(name, words, may_edit=may_edit) for name, words in assumptions.items())
    return (
        '<div class="scroll"><table class="assumed"><thead><tr><th scope="col">Field</th><th scope="col">taken as</th>'
        f'<th scope="col">yours</th></tr></thead><tbody>{rows}</tbody></table></div>'
        '<p class="caption">Type over any of them and it becomes yours.</p>'
    )


def _assumption(name: str, words: str, *, may_edit: bool) -> str:
    path = tuple(name.split("."))
    field = field_at(path)
    label = label_of(path) if field else name
    control = ""
    if field is not None and may_edit:
        at = json.dumps(path, ensure_ascii=False)
        control = _control(Entry(field, "", field.unit), at, may_edit=True, label=label)
    return (
        f'<tr data-key="{escape(name, quote=True)}"><th scope="row">{escape(label)}</th><td>{escape(words)}</td>'
        f"<td>{control}</td></tr>"
    )
