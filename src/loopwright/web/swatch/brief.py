"""The brief of a swatch: how it was made, its yarn, its limits, and the sitting on show.

In: the document of a swatch and what was worked out from it. Out: groups of fields; what is not typed shows what is
taken in its place (the loop length of unroved courses). Not covered: HTML (`web.brief`).
"""

from __future__ import annotations

from collections.abc import Sequence

from loopwright.figure import plain
from loopwright.store.document import value_at
from loopwright.store.values import Document, Path
from loopwright.study.swatch_study import SwatchStudy
from loopwright.web.brief import Entry, Group
from loopwright.web.fields import Kind, field_at, text_of
from loopwright.web.swatch_fields import LIMITED

MADE = (
    "name", "structure", "lot", "cone", "machine", "gauge", "needles", "courses", "cam_setting", "loop_length_mm",
    "knitted_on", "unreliable", "note",
)  # fmt: skip
YARN = ("name", "count", "ends", "fibres", "singles_twist_tpm", "singles_direction", "fold_twist_tpm", "fold_direction")
SITTING = (
    "state", "washes", "on", "by", "wash", "dried", "air.temperature_c", "air.humidity_percent", "air.hours", "side",
    "count_over_cm", "unreliable", "note",
)  # fmt: skip
BY_HAND = (
    "wales", "courses", "mass_g", "width_cm", "length_cm", "area_cm2", "thickness_mm", "unroved.loops",
    "unroved.lengths_mm", "unroved.tension_cn_per_tex", "marks_width_mm", "marks_length_mm", "diagonals_mm",
    "mark_offset_mm", "lean_deg", "roll_radius_mm.sides", "roll_radius_mm.ends",
)  # fmt: skip


def groups_of_swatch(document: Document, study: SwatchStudy | None, sitting: str) -> tuple[Group, ...]:
    """The groups of a swatch's brief."""
    (key,) = document["swatches"]
    at: Path = ("swatches", key)
    groups = [Group("How it was made", _entries(document, at, MADE, _taken(study)))]
    groups += [Group("Yarn", _entries(document, ("yarns", yarn), YARN)) for yarn in document.get("yarns", {})]
    if sitting:
        there = (*at, "sittings", sitting)
        groups.append(Group(f"Sitting {sitting}", _entries(document, there, SITTING)))
        groups.append(Group("By hand", _entries(document, there, BY_HAND)))
    groups.append(Group("Limits", _entries(document, (*at, "limits"), tuple(LIMITED))))
    return tuple(groups)


def _taken(study: SwatchStudy | None) -> dict[str, tuple[str, str]]:
    """What is taken for fields left out, with its letter."""
    loop = study.bench.loop_length_mm if study else None
    return {"loop_length_mm": (plain(loop, 2), "M")} if loop else {}


def _entries(
    document: Document, at: Path, names: Sequence[str], taken: dict[str, tuple[str, str]] | None = None
) -> tuple[Entry, ...]:
    found = []
    for name in names:
        path = (*at, *name.split("."))
        field = field_at(path)
        assert field is not None, path
        value = value_at(document, path)
        if value is None:
            found.append(Entry(field, "", *(taken or {}).get(name, ("", ""))))
        else:
            found.append(Entry(field, "\n".join(value) if field.kind is Kind.LINES else text_of(value)))
    return tuple(found)
