"""How the fabric behaves at its edges: curl and runs.

In: structure (its counted anatomy), yarn. Out: curl rank 0 to 5 per edge with direction in words, run risk 0 to 5.
Assumption: the curl driver is the surplus of face loops over back loops at a scale of about five loops; its strength
also rests on yarn stiffness and setting, which the rank leaves out. Directions hold for free edges of plain.
Not covered: curl radius (needs the loop mechanics). Sources: curl_general, tajiri_2024, knit_characters.
"""

from __future__ import annotations

from dataclasses import dataclass

from loopwright.fabric.kin import row_for
from loopwright.figure import Basis, Figure, banded
from loopwright.sources.table import cite
from loopwright.structure.anatomy import Anatomy
from loopwright.structure.library import Structure


@dataclass(frozen=True, slots=True)
class Curl:
    """Rank of the curl (0 lies flat, 5 rolls fully) of side and end edges, and what they do, in words."""

    sides: Figure
    ends: Figure
    words: str


@dataclass(frozen=True, slots=True)
class Run:
    """Risk of a run, 0 to 5, and how the fabric unroves and ladders, in words."""

    risk: Figure
    unroves: str
    ladders: str


# Curl rank against the surplus of face loops (common practice): plain 5, unbalanced ribs by their surplus.
_RANK_PER_SURPLUS = 5.0
_UNBALANCED_DOUBLE_RANK = 4.0  # a double fabric stiffens itself: half Milano and half cardigan rank 1-2 at surplus 1/3
_TUCKS_FLATTEN = 0.5  # plain with tucks ranks 2-3


def curl_of(structure: Structure) -> Curl:
    """Curl of the free edges of a structure."""
    anatomy = structure.anatomy
    sides = _rank("curl of side edges", anatomy.walewise_balance, anatomy)
    ends = _rank("curl of end edges", anatomy.coursewise_balance, anatomy)
    return Curl(sides, ends, _curl_words(structure, sides.value, ends.value))


def _rank(name: str, balance: float, anatomy: Anatomy) -> Figure:
    per_surplus = _RANK_PER_SURPLUS if anatomy.beds == 1 else _UNBALANCED_DOUBLE_RANK
    rank = abs(balance) * per_surplus * (_TUCKS_FLATTEN if anatomy.tucks and anatomy.beds == 1 else 1.0)
    margin = 0.0 if balance == 0 else 0.5
    return banded(
        name,
        rank,
        "of 5",
        low=max(0.0, rank - margin),
        high=min(5.0, rank + margin) if rank <= 5 else rank,
        basis=Basis.COMMON_PRACTICE if balance else Basis.IDENTITY,
        words="surplus of face loops over back loops at a scale of five loops",
        formula="(face − back) / (face + back)",
        source=f"{cite('curl_general')}; ranks common practice, no source",
    )


def _curl_words(structure: Structure, sides: float, ends: float) -> str:
    if sides == ends == 0:
        return f"{structure.name} lies flat: face and back loops balance"
    if sides == 0:
        return "top and bottom edges roll, the sides lie flat"
    rank, balance = sides, structure.anatomy.walewise_balance
    if structure.anatomy.beds == 2:
        fewer = "back" if balance > 0 else "face"
        return f"side edges roll slightly towards the {fewer}, the side with fewer loops"
    strength = "strongly " if rank > 4 else ""
    return f"side edges roll {strength}to the technical back, top and bottom edges to the technical face"


def run_of(structure: Structure, *, filament: bool) -> Run:
    """Run risk of a structure in filament or spun yarn."""
    row = row_for("runs", structure)
    if filament:
        low, high = row["filament_low"], row["filament_high"]
    else:
        low = high = row["spun"]
    risk = banded(
        "run risk",
        (low + high) / 2,
        "of 5",
        low=low,
        high=high,
        basis=Basis.COMMON_PRACTICE,
        words="filament yarn slips, spun yarn holds; tucks and misses stop ladders",
        source=row.source,
    )
    return Run(risk, row.text("unroves"), row.text("ladders"))
