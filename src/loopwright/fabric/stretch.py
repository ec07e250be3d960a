"""Stretch: how far a fabric opens under the hand, and where the yarn stops it.

In: structure, loop length, yarn diameter, geometry. Out: extension bands (%) at about 2.5 N/cm, geometric ceilings.
Assumption: bands are those of the trade; ceilings take the yarn as inextensible and each U-turn as π·d. Valid:
relaxed fabrics; ceilings for plain only. Not covered: recovery (`swatch`, later), elastane.
Sources: knit_characters (order of structures), fletcher_1952 (Peirce's loop); eqs 9.2, 9.3 of the fabric reference.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from loopwright.fabric.geometry import PEIRCE_YARN_TERM, StitchGeometry
from loopwright.fabric.kin import kin_key, row_for
from loopwright.figure import Basis, Figure, State, banded
from loopwright.sources.table import Row
from loopwright.structure.library import Structure
from loopwright.yarn.yarn import Yarn


@dataclass(frozen=True, slots=True)
class Stretch:
    """Extension at a moderate hand force in both directions, %."""

    width_percent: Figure
    length_percent: Figure


def course_spacing_when_pulled_mm(*, loop_length_mm: float, wale_spacing_mm: float, diameter_mm: float) -> float:
    """Course spacing of plain pulled to a wale spacing, at constant loop length: p = (l − a − 5.94 d)/2 (eq 9.2).

    >>> round(course_spacing_when_pulled_mm(loop_length_mm=5.082, wale_spacing_mm=1.69, diameter_mm=0.30), 3)    # F-51
    0.805
    """
    return (loop_length_mm - wale_spacing_mm - PEIRCE_YARN_TERM * diameter_mm) / 2


def largest_wale_spacing_mm(*, loop_length_mm: float, diameter_mm: float) -> float:
    """Width at which all yarn of a plain loop lies coursewise: l − 2·π·d (eq 9.3)."""
    return loop_length_mm - 2 * math.pi * diameter_mm


def largest_course_spacing_mm(*, loop_length_mm: float, diameter_mm: float) -> float:
    """Height at which all yarn of a plain loop lies walewise: l/2 − π·d + d (eq 9.3)."""
    return loop_length_mm / 2 - math.pi * diameter_mm + diameter_mm


def stretch_of(structure: Structure, state: State) -> Stretch:
    """Extension bands of a structure; the likely value is the geometric middle of the band."""
    row = row_for("stretch", structure)
    return Stretch(_band(row, structure, "width", state), _band(row, structure, "length", state))


def _band(row: Row, structure: Structure, direction: str, state: State) -> Figure:
    low, high = row[f"{direction}_low_percent"], row[f"{direction}_high_percent"]
    return banded(
        f"{direction} stretch",
        math.sqrt(low * high),
        "%",
        low=low,
        high=high,
        basis=row.basis,
        words=f"{structure.name}, relaxed, at about 2.5 N/cm; band of the trade, measure a swatch to narrow it",
        source=row.source,
        state=state,
    )


@dataclass(frozen=True, slots=True)
class Ceilings:
    """Where the yarn stops plain fabric, as extension in %, and what the length does when the width is pulled."""

    width_percent: Figure
    length_percent: Figure
    length_change_at_wide_percent: Figure


WIDE_PERCENT = 30.0  # width pull at which the change of length is told; Peirce's coupling holds to about this much
# Share of the geometric ceiling that real lock-up reaches (working assumptions, disputed for the length).
_WIDTH_LOCKS = (0.6, 0.7, 0.8)
_LENGTH_LOCKS = (0.35, 0.5, 0.6)


def ceilings_of(geometry: StitchGeometry, yarn: Yarn) -> Ceilings | None:
    """Ceilings of plain; none for other structures, whose loops are not Peirce's, nor where the yarn lies straight."""
    if kin_key("geometry", geometry.structure) not in ("plain", "reverse-plain"):
        return None
    loop, d = geometry.loop_length_mm.value, yarn.diameter_mm.value
    wale, course = 10 / geometry.wales_per_cm.value, 10 / geometry.courses_per_cm.value
    widest = 100 * (largest_wale_spacing_mm(loop_length_mm=loop, diameter_mm=d) / wale - 1)
    longest = 100 * (largest_course_spacing_mm(loop_length_mm=loop, diameter_mm=d) / course - 1)
    relaxed = course_spacing_when_pulled_mm(loop_length_mm=loop, wale_spacing_mm=wale, diameter_mm=d)
    pulled = course_spacing_when_pulled_mm(
        loop_length_mm=loop, wale_spacing_mm=wale * (1 + WIDE_PERCENT / 100), diameter_mm=d
    )
    if min(widest, longest, pulled) <= 0:
        return None
    change = 100 * (pulled / relaxed - 1)
    return Ceilings(
        _locked("width lock-up", widest, _WIDTH_LOCKS, geometry.state),
        _locked("length lock-up", longest, _LENGTH_LOCKS, geometry.state),
        banded(
            f"length when pulled {WIDE_PERCENT:g} % wide",
            change,
            "%",
            low=1.5 * change,
            high=0.5 * change,
            basis=Basis.ASSUMED,
            words="wales take their yarn from the courses at constant loop length",
            formula="p = (l − a − 5.94·d)/2",
            source="eq 9.2, Peirce's loop",
            state=geometry.state,
        ),
    )


def _locked(name: str, ceiling: float, shares: tuple[float, float, float], state: State) -> Figure:
    low, likely, high = shares
    return banded(
        name,
        likely * ceiling,
        "%",
        low=low * ceiling,
        high=high * ceiling,
        basis=Basis.ASSUMED,
        words=f"{100 * low:.0f} to {100 * high:.0f} % of the geometric ceiling of {ceiling:.0f} % (yarn straight)",
        formula="a ≤ l − 2·π·d, p ≤ l/2 − π·d + d",
        source="eq 9.3, derived; share a working assumption",
        state=state,
    )
