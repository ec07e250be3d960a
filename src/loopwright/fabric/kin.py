"""Which row of a fabric table speaks for a structure: its own, or that of its nearest kin by anatomy.

A structure drawn by a person has no row of its own; the kin is then used with the basis "assumed", and said.
"""

from __future__ import annotations

from functools import cache

from loopwright.sources.table import Row, table
from loopwright.structure.anatomy import Anatomy
from loopwright.structure.library import Structure

_KIN_IN_TABLE = {  # where a table has no row of a library structure: the row that describes it
    "runs": {
        "reverse-plain": "plain",
        "tubular": "plain",
        "rib-1x1-alternate": "rib-1x1",
        "rib-2x1": "rib-1x1",
        "rib-2x2": "rib-1x1",
        "rib-3x1": "rib-1x1",
        "half-cardigan": "rib-1x1",
        "full-cardigan": "rib-1x1",
        "moss": "purl-1x1",
        "half-milano": "full-milano",
        "ponte": "full-milano",
        "double-tuck-mesh": "tuck-mesh",
        "tubular-jacquard-2": "interlock",
    }
}


def row_for(name: str, structure: Structure) -> Row:
    """The row of the table `name` that speaks for a structure."""
    rows = _rows(name)
    return rows[kin_key(name, structure)]


def kin_key(name: str, structure: Structure) -> str:
    """Key of that row."""
    rows = _rows(name)
    if structure.key in rows:
        return structure.key
    alias = _KIN_IN_TABLE.get(name, {}).get(structure.key)
    kin = alias or kin_by_anatomy(structure.anatomy)
    return kin if kin in rows else _KIN_IN_TABLE[name].get(kin, "interlock")


def is_own_row(name: str, structure: Structure) -> bool:
    """Whether the table speaks of this very structure."""
    return kin_key(name, structure) == structure.key or structure.key == "reverse-plain"


def kin_by_anatomy(anatomy: Anatomy) -> str:
    """The library structure that a counted repeat is most like.

    >>> from loopwright.structure.library import library
    >>> kin_by_anatomy(library()["reverse-plain"].anatomy)
    'plain'
    """
    if anatomy.beds == 1:
        if anatomy.tucks:
            return "tuck-mesh" if anatomy.held_tucks == 1 else "double-tuck-mesh"
        if anatomy.floats:
            return "float-jacquard-2"
        return "transfer-lace" if anatomy.moved_loops else "plain"
    if anatomy.moved_loops:
        return "moss" if anatomy.needles > 1 else "purl-1x1"
    if anatomy.tucks:
        return "full-cardigan" if anatomy.tucks >= anatomy.loops / 2 else "half-cardigan"
    colours = min(max(len(anatomy.yarns), 2), 4)
    if len(anatomy.yarns) > 1:
        return f"birdseye-{colours}"
    if anatomy.floats or anatomy.passes_per_course > 1:
        return "ponte" if anatomy.passes_per_course >= 2 else "full-milano"
    return "rib-1x1" if anatomy.loops_per_visible_loop >= 2 else "rib-2x1"


@cache
def element(name: str) -> Row:
    """A row of the table of elements and limits."""
    return table(__package__, "elements").by("element")[name]


@cache
def _rows(name: str) -> dict[str, Row]:
    if name == "geometry":
        return {row.text("structure"): row for row in table(__package__, name) if row.text("state") == "fully-relaxed"}
    return dict(table(__package__, name).by("structure"))
