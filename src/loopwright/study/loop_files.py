"""Structures and swatches out of their own TOML files, for the loop mechanics.

In: the document of a file. Out: a `Structure` or a `Swatch`. Not covered: reading the file (`cli`), whole styles
(`style`).
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any, Literal

from pydantic import ValidationError

from loopwright.mechanics.swatches import Swatch
from loopwright.problems import Problem
from loopwright.structure.library import Structure, find_structure, structure_from
from loopwright.study.style import read_style
from loopwright.study.words import complaint
from loopwright.study.written import Mm, Name, Part, PerCm
from loopwright.yarn.yarn import yarn_from_words


class SwatchFile(Part):
    """A swatch as a TOML file has it; structure and yarn are those of the command when they are left out."""

    name: Name = "swatch"
    structure: Name | None = None
    yarn: Name | None = None
    loop_length_mm: Mm
    wales_per_cm: PerCm
    courses_per_cm: PerCm
    thickness_mm: float | None = None
    side_radius_mm: float | None = None
    lean_deg: float | None = None
    extension_percent: float | None = None
    weight_n: float | None = None
    strip_width_cm: float | None = None
    pulled: Literal["length", "width"] = "length"


def structure_of_document(document: Mapping[str, Any], name: str) -> Structure:
    """A structure from its own TOML file: `courses` (needle notation), `name`, `gating`, `ratios`.

    A file with one [structures.NAME], as a style has it, is read as well.

    Raises:
        Problem: something in it that no structure has, or a notation that cannot be read.
    """
    inside = document.get("structures")
    if isinstance(inside, Mapping) and len(inside) == 1:
        name, document = next(iter(inside.items()))
    try:
        spec = read_style({"structures": {name: dict(document)}}).structures[name]
    except Problem as problem:
        where = problem.where.replace(f"structures.{name}.", "")
        raise Problem(f"structure {name}, {where}", problem.what, limit=problem.limit, tries=problem.tries) from None
    return structure_from(name, {**spec.model_dump(), "name": spec.name or name})


def swatches_of_documents(
    documents: Sequence[tuple[str, Mapping[str, Any]]], structure: Structure, yarn: str | None
) -> list[Swatch]:
    """Swatches from their TOML files, each with the name of its file; without a yarn a swatch has that of the first.

    Raises:
        Problem: something in it that no swatch has, or no yarn.
    """
    made = []
    for where, document in documents:
        spec = _swatch_file(document, where)
        yarn = yarn or spec.yarn
        words = spec.yarn or yarn
        if words is None:
            raise Problem(where, "no yarn is named.", tries=['yarn = "2/30 Nm merino" in the file', "--yarn"])
        own = find_structure(spec.structure) if spec.structure else structure
        given = spec.model_dump(exclude={"structure", "yarn"})
        made.append(Swatch(structure=own, yarn=yarn_from_words(words), **given))
    return made


def _swatch_file(document: Mapping[str, Any], where: str) -> SwatchFile:
    try:
        return SwatchFile.model_validate(document)
    except ValidationError as error:
        raise complaint(error.errors(include_url=False)[0], SwatchFile).at(where) from None
