"""The first minute: the invented example for an empty shelf, and a first style from three answers.

In: nothing, or garment, yarn and gauge in words. Out: documents for the shelf. The example is read from the files that
the command line uses; its yarns, machines and rates also go onto the shelf by themselves.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from functools import cache
from importlib import resources
from importlib.resources.abc import Traversable
from pathlib import Path

from loopwright.garment.blocks import blocks
from loopwright.problems import Problem
from loopwright.store.kinds import items_in
from loopwright.store.values import Document, Kind
from loopwright.study.toml_text import document_of
from loopwright.web.fields import value_typed
from loopwright.yarn.yarn import yarn_from_words

SIZES = {
    "women": ["XS", "S", "M", "L", "XL"],
    "men": ["S", "M", "L", "XL", "2XL"],
    "children": ["104", "110", "116", "122"],
}


def example_files(part: str = "") -> list[Traversable]:
    """The example styles, or what lies in a part of their folder: beside the source, or in the installed package."""
    beside = Path(__file__).resolve().parents[3] / "examples"
    folder: Traversable = beside if beside.is_dir() else resources.files("loopwright") / "examples"
    found = (folder / part if part else folder).iterdir()
    return sorted((file for file in found if file.name.endswith(".toml")), key=lambda file: file.name)


def demo_documents() -> list[tuple[Kind, Document]]:
    """All that the example puts on the shelf: styles, then their yarns, machines, sizes and rates, then swatches.

    What several styles have alike is put there once.
    """
    styles = [document_of(file.read_bytes(), file.name) for file in example_files()]
    parts: list[tuple[Kind, Document]] = []
    for style in styles:
        parts += [part for part in parts_of(style) if part not in parts]
    drawer = [document_of(file.read_bytes(), file.name) for file in example_files("swatches")]
    measured = [each for document in drawer for each in items_in(document)]
    return [*((Kind.STYLE, style) for style in styles), *parts, *measured]


def parts_of(style: Document) -> Iterator[tuple[Kind, Document]]:
    """The things of a style that are worth keeping by themselves."""
    for key, yarn in style.get("yarns", {}).items():
        yield Kind.YARN, {"yarns": {key: {**yarn, "name": yarn.get("name", key)}}}
    if "machine" in style:
        machine = style["machine"]
        name = machine.get("name") or f"E {machine['gauge']:g}, {machine.get('bed_in', 50):g} in"
        yield Kind.MACHINE, {"machine": {**machine, "name": name}}
    if "measures_cm" in style.get("garment", {}):
        kept = (
            "block",
            "sleeve",
            "neck",
            "side",
            "hem",
            "skirt",
            "population",
            "sizes",
            "base_size",
            "fit",
            "chest_ease_cm",
            "measures_cm",
            "grade_cm",
        )
        yield (
            Kind.SIZES,
            {
                **_named("Sizes", style),
                "garment": {key: value for key, value in style["garment"].items() if key in kept},
            },
        )
    if "rates" in style:
        yield Kind.RATES, {**_named("Rates", style), "rates": style["rates"]}
    for key, structure in style.get("structures", {}).items():
        yield Kind.STRUCTURE, {"structures": {key: structure}}
    for zone in style.get("zones", {}).values():
        if isinstance(zone.get("swatch"), Mapping):
            yarn = zone.get("yarn") or next(iter(style.get("yarns", {})))
            yield Kind.SWATCH, {"yarns": {yarn: style["yarns"][yarn]}, "zones": {"body": {**zone, "yarn": yarn}}}


def _named(what: str, style: Document) -> Document:
    """The name of a part that has none of its own, after the style it was in."""
    header = style.get("style", {})
    return {
        "style": {"name": f"{what} of {header.get('number', 'a style')}", "invented": header.get("invented", False)}
    }


@cache
def garments() -> Mapping[str, tuple[str, str]]:
    """What a first style can be, in words: (block, population); garments of the upper body first."""
    upper = [name for name, block in blocks().items() if block.girth[0] == "half_chest"]
    names = [*upper, *(name for name in blocks() if name not in upper)]
    return {f"{block} for {population}": (block, population) for block in names for population in SIZES}


def first_style(garment: str, yarn: str, gauge: str) -> Document:
    """The document of a first style.

    >>> first_style("pullover for women", "2/30 Nm merino", "E 12")["machine"]
    {'gauge': 12.0}

    Raises:
        Problem: one of the three answers cannot be understood.
    """
    if garment not in garments():
        raise Problem("garment", f"“{garment}” is not among the garments.", limit=", ".join(garments()))
    if not yarn.strip():
        raise Problem("yarn", "no yarn is named.", tries=["2/30 Nm merino", "30/2 Ne cotton"])
    yarn_from_words(yarn)
    needles = value_typed(("machine", "gauge"), gauge)
    if needles is None:
        raise Problem("gauge", "no gauge is named.", tries=["12", "7"])
    block, population = garments()[garment]
    return {
        "style": {"name": garment.capitalize(), "number": "new"},
        "yarns": {"main": {"count": yarn.strip()}},
        "garment": {"block": block, "population": population, "sizes": SIZES[population]},
        "machine": {"gauge": needles},
    }
