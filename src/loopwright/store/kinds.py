"""The seven kinds of item, all of them partial style documents: which parts each holds, and what a list says of it.

In: a document. Out: a refusal in trade words, or the title of the item. A rate card and a size table have no name of
their own, so they may carry the style header with a name and a note. Not covered: values of fields (`study.style`).
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any

from loopwright.garment.blocks import shape_words
from loopwright.problems import Problem
from loopwright.store.document import edited
from loopwright.store.values import Document, Edit, Kind, Path
from loopwright.study.style import Style, YarnSpec, read_style
from loopwright.study.swatch_parts import is_of_swatches

_NAMED = {"name", "note", "invented"}
_PARTS = {
    Kind.YARN: {"yarns"},
    Kind.MACHINE: {"machine"},
    Kind.STRUCTURE: {"structures"},
    Kind.RATES: {"style", "rates", "make_up_minutes"},
    Kind.SIZES: {"style", "garment"},
    Kind.SWATCH: {"zones", "swatches", "yarns", "structures"},
}
_HOLDS = {
    Kind.YARN: "one yarn under yarns",
    Kind.MACHINE: "the machine alone",
    Kind.STRUCTURE: "one structure under structures",
    Kind.RATES: "rates, or make_up_minutes, or both",
    Kind.SIZES: "the garment alone",
    Kind.SWATCH: "one swatch under swatches, or zones.body with counts; its yarns and structures",
}


@dataclass(frozen=True, slots=True)
class Title:
    """What a list shows of an item; `key` is the name of its table in a style (a yarn, a structure)."""

    key: str
    number: str
    name: str
    season: str
    detail: str


def checked(kind: Kind, document: Document) -> Title:
    """The title of a document that is right and of its kind.

    Raises:
        Problem: what is wrong in it, in trade words.
    """
    style = read_style(document)
    if not is_kind(kind, document):
        raise Problem(str(kind), f"this document is not {kind.words}.", limit=f"{kind.words} holds {_HOLDS[kind]}")
    return _TITLES[kind](style, document)


def is_kind(kind: Kind, document: Document) -> bool:
    """Whether the parts of a document make an item of this kind."""
    if kind is Kind.STYLE:
        return True
    parts = set(document)
    if not parts <= _PARTS[kind] or not set(document.get("style", {})) <= _NAMED:
        return False
    match kind:
        case Kind.YARN:
            return len(document.get("yarns", {})) == 1
        case Kind.STRUCTURE:
            return len(document.get("structures", {})) == 1
        case Kind.SWATCH:
            return is_specimen(document) or _is_counts(document)
        case _:
            return bool(parts - {"style"})


def is_specimen(document: Document) -> bool:
    """Whether a document holds one swatch with its sittings, and what it is knitted of."""
    return is_of_swatches(document) and len(document["swatches"]) == 1


def _is_counts(document: Document) -> bool:
    """Whether a document holds a swatch as it was first kept here: counts typed once, in the zone of the body."""
    zones = document.get("zones", {})
    is_alone = "swatches" not in document and set(zones) == {"body"}
    return is_alone and isinstance(zones["body"].get("swatch"), Mapping)


def items_in(document: Document) -> list[tuple[Kind, Document]]:
    """The items that a file holds: one, or each yarn, structure or swatch of a file that lists nothing else."""
    if is_of_swatches(document):
        return [(Kind.SWATCH, _with_its_yarn(document, key)) for key in document["swatches"]]
    if document and set(document) <= {"yarns", "structures"}:
        found = [(Kind.YARN, {"yarns": {key: each}}) for key, each in document.get("yarns", {}).items()]
        return found + [(Kind.STRUCTURE, {"structures": {key: each}}) for key, each in _structures(document)]
    return [(next(kind for kind in _MOST_NARROW if is_kind(kind, document)), document)]


def _with_its_yarn(document: Document, key: str) -> Document:
    """One swatch of a file, with its yarn and its structure where the file has them."""
    swatch = document["swatches"][key]
    used = {
        "yarns": swatch.get("yarn") or next(iter(document.get("yarns", {})), ""),
        "structures": swatch.get("structure"),
    }
    parts = {
        part: {name: document[part][name]} for part, name in used.items() if name and name in document.get(part, {})
    }
    return {**parts, "swatches": {key: swatch}}


_MOST_NARROW = (Kind.MACHINE, Kind.RATES, Kind.SIZES, Kind.SWATCH, Kind.STYLE)


def _structures(document: Document) -> Iterator[tuple[str, Any]]:
    yield from document.get("structures", {}).items()


def name_path(kind: Kind, document: Document) -> Path:
    """Where the name of an item is written."""
    match kind:
        case Kind.YARN:
            return ("yarns", next(iter(document["yarns"])), "name")
        case Kind.STRUCTURE:
            return ("structures", next(iter(document["structures"])), "name")
        case Kind.MACHINE:
            return ("machine", "name")
        case Kind.SWATCH if is_specimen(document):
            return ("swatches", next(iter(document["swatches"])), "name")
        case Kind.SWATCH:
            return ("zones", "body", "swatch", "name")
        case _:
            return ("style", "name")


def renamed(kind: Kind, document: Document, name: str, number: str) -> Document:
    """The document under another name; the number of a style with it."""
    edits = [Edit(name_path(kind, document), name)]
    if number:
        edits.append(Edit(("style", "number"), number))
    return edited(document, edits)[0]


def _style_title(style: Style, document: Document) -> Title:
    header = document.get("style", {})
    number = style.style.number if "number" in header else ""
    name = style.style.name if "name" in header else ""
    return Title("", number, name, style.style.season, _sizes_detail(style))


def _yarn_title(style: Style, _document: Document) -> Title:
    ((key, yarn),) = style.yarns.items()
    return Title(key, "", yarn.name or key, "", ", ".join(filter(None, [yarn.count, _fibre_words(yarn)])))


def _fibre_words(yarn: YarnSpec) -> str:
    if not isinstance(yarn.fibres, Mapping):
        return yarn.fibres or ""
    if len(yarn.fibres) == 1:
        return next(iter(yarn.fibres))
    return ", ".join(f"{share:g} % {fibre}" for fibre, share in yarn.fibres.items())


def _machine_title(style: Style, _document: Document) -> Title:
    machine = style.machine
    assert machine is not None
    systems = f"{machine.systems} system{'' if machine.systems == 1 else 's'}"
    gauge = f"E {machine.gauge:g}"
    return Title("", "", machine.name or f"{gauge} flat machine", "", f"{gauge}, {machine.bed_in:g} in, {systems}")


def _structure_title(style: Style, _document: Document) -> Title:
    ((key, structure),) = style.structures.items()
    more = " …" if len(structure.courses) > 2 else ""
    return Title(key, "", structure.name or key, "", " / ".join(structure.courses[:2]) + more)


def _rates_title(style: Style, document: Document) -> Title:
    currency = str(style.rates.get("currency", ""))
    name = document.get("style", {}).get("name") or f"Rates {currency}".strip()
    numbers = len([key for key in style.rates if key != "currency"]) + len(style.make_up_minutes)
    return Title("", "", name, "", ", ".join(filter(None, [currency, f"{numbers} rate{'' if numbers == 1 else 's'}"])))


def _sizes_title(style: Style, document: Document) -> Title:
    garment = style.garment
    assert garment is not None
    name = document.get("style", {}).get("name") or f"{shape_words(garment.shape)}, {garment.population}"
    return Title("", "", name, "", _sizes_detail(style))


def _sizes_detail(style: Style) -> str:
    garment = style.garment
    if garment is None:
        return ""
    first, last = garment.sizes[0], garment.sizes[-1]
    return f"{shape_words(garment.shape)}, {garment.population}, {first if first == last else f'{first} to {last}'}"


def _swatch_title(style: Style, _document: Document) -> Title:
    if style.swatches:
        return _specimen_title(style)
    zone = style.zones["body"]
    swatch = zone.counts
    assert swatch is not None
    yarn = style.yarns.get(zone.yarn or "")
    words = [zone.structure, yarn.count if yarn else "", f"loop {swatch.loop_length_mm:g} mm"]
    return Title("", "", swatch.name, "", ", ".join(filter(None, words)))


def _specimen_title(style: Style) -> Title:
    ((key, swatch),) = style.swatches.items()
    yarn = style.yarns.get(swatch.yarn or "")
    many = len(swatch.sittings)
    words = [
        swatch.structure,
        yarn.count if yarn else "",
        f"loop {swatch.loop_length_mm:g} mm" if swatch.loop_length_mm else "",
        f"{many} sitting{'' if many == 1 else 's'}" if many else "",
        "unreliable" if swatch.unreliable else "",
    ]
    return Title(key, "", swatch.name or key, "", ", ".join(filter(None, words)))


_TITLES = {
    Kind.STYLE: _style_title,
    Kind.YARN: _yarn_title,
    Kind.MACHINE: _machine_title,
    Kind.STRUCTURE: _structure_title,
    Kind.RATES: _rates_title,
    Kind.SIZES: _sizes_title,
    Kind.SWATCH: _swatch_title,
}
