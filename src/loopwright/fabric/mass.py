"""Yarn in a repeat and mass of the fabric.

In: structure, loop length (mm), count (tex in the fabric), geometry. Out: yarn per repeat (mm), mass per area (g/m²).
Mass of any structure is yarn per repeat × tex over the repeat's area, with no constant (eq 3.2). Assumption: tucks
and floats have the default lengths of the element table until one repeat is unroved.
Not covered: mass of a piece (`shaping.consumption`), purchase mass (`cost`). Sources: eqs 3.2, 5.1-5.4, 12.2.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from loopwright.fabric.geometry import StitchGeometry
from loopwright.fabric.kin import element
from loopwright.figure import Basis, Figure, State, Term, banded, power_law
from loopwright.problems import Problem
from loopwright.structure.library import Structure
from loopwright.yarn.yarn import Yarn


@dataclass(frozen=True, slots=True)
class PieceLengths:
    """Length in mm of each kind of piece of yarn: a knitted loop of every role, a tuck loop, a float over one place."""

    loop_mm: Mapping[str, float]
    tuck_mm: float
    float_mm: float


def mass_g_per_m2(*, courses_per_cm: float, wales_per_cm: float, loop_length_mm: float, count_tex: float) -> float:
    """M = c·w·l·T/100: loops per area × yarn per loop, for one loop per visible stitch (eq 5.1; F-34).

    >>> round(mass_g_per_m2(courses_per_cm=17.0, wales_per_cm=13.0, loop_length_mm=2.85, count_tex=19.69), 1)
    124.0
    """
    return courses_per_cm * wales_per_cm * loop_length_mm * count_tex / 100


def repeat_mass_g_per_m2(*, yarn_mm: float, count_tex: float, height_mm: float, width_mm: float) -> float:
    """M = Y·T/(p·a): yarn per repeat × tex over the repeat's area; holds for every structure (eq 3.2; F-62).

    >>> round(repeat_mass_g_per_m2(yarn_mm=19.2, count_tex=1000 / 30, height_mm=1.55, width_mm=1.25), 1)
    330.3
    """
    return yarn_mm * count_tex / (height_mm * width_mm)


def piece_mass_g(*, loops: float, loop_length_mm: float, count_tex: float) -> float:
    """m = loops·l·T/10⁶ (eq 5.4).

    >>> round(piece_mass_g(loops=200 * 300, loop_length_mm=6.15, count_tex=1000 / 15), 2)    # F-37
    24.6
    """
    return loops * loop_length_mm * count_tex / 1e6


def piece_lengths(
    structure: Structure,
    *,
    loop_length_mm: float,
    pitch_mm: float | None = None,
    wales_per_cm: float,
    own_mm: Mapping[str, float] | None = None,
) -> PieceLengths:
    """Lengths of the pieces of yarn of a structure; the person's own come first (`own_mm`: role, "tuck", "float").

    A float is laid over one needle pitch and after finishing holds at most 1.15 relaxed wale spacings.
    """
    own = own_mm or {}
    roles = {"knit": 1.0, **{role: ratio[0] for role, ratio in structure.ratios.items()}}
    known = [*(role for role in roles if role != "knit"), "tuck", "float"]
    for name in own:
        if name not in known:
            raise Problem(
                "other_loops_mm", f"“{name}” is no piece of {structure.name}.", limit=f"pieces: {', '.join(known)}"
            )
    loops = {role: own.get(role, ratio * loop_length_mm) for role, ratio in roles.items()}
    longest_float = element("float_over_wale_spacing")["value"] * 10 / wales_per_cm
    laid = longest_float if pitch_mm is None else min(pitch_mm, longest_float)
    tuck = own.get("tuck", element("tuck_over_knit_loop")["value"] * loop_length_mm)
    return PieceLengths(loops, tuck, own.get("float", laid))


def yarn_per_repeat_mm(structure: Structure, lengths: PieceLengths) -> dict[str, float]:
    """Length of each yarn in one repeat, mm: loops, tucks and floats counted from the notation × their lengths."""
    yarns: dict[str, float] = {}
    for (yarn, role), parts in structure.anatomy.parts.items():
        length = parts.loops * lengths.loop_mm[role] + parts.tucks * lengths.tuck_mm + parts.floats * lengths.float_mm
        yarns[yarn] = yarns.get(yarn, 0.0) + length
    return yarns


def mean_piece_length_mm(structure: Structure, lengths: PieceLengths) -> float:
    """Yarn per needle place and feed of one bed: (Σ pieces × length) / places (eq 12.2)."""
    anatomy = structure.anatomy
    places = anatomy.loops + anatomy.tucks + anatomy.floats
    return sum(yarn_per_repeat_mm(structure, lengths).values()) / places


def fabric_mass(geometry: StitchGeometry, yarn: Yarn, lengths: PieceLengths) -> Figure:
    """Mass per area of a fabric knitted from one yarn (every feed the same count), g/m²."""
    structure, anatomy = geometry.structure, geometry.structure.anatomy
    yarn_mm = sum(yarn_per_repeat_mm(structure, lengths).values())
    height_mm = 10 * anatomy.visible_courses / geometry.courses_per_cm.value
    width_mm = 10 * anatomy.visible_wales / geometry.wales_per_cm.value
    value = repeat_mass_g_per_m2(yarn_mm=yarn_mm, count_tex=yarn.tex.value, height_mm=height_mm, width_mm=width_mm)
    repeat = _yarn_figure(structure, lengths, yarn_mm, geometry.loop_length_mm.basis, geometry.state)
    return power_law(
        "mass per area",
        value,
        "g/m²",
        [
            Term("c", geometry.courses_per_cm),
            Term("w", geometry.wales_per_cm),
            Term("Y", repeat),
            Term("T", yarn.tex),
        ],
        words="yarn per repeat × count over the area of the repeat",
        formula="M = Y·T / (p·a)",
        source="eq 3.2 (counted loops, no constant)",
        state=geometry.state,
    )


def _yarn_figure(structure: Structure, lengths: PieceLengths, yarn_mm: float, basis: Basis, state: State) -> Figure:
    """Yarn per repeat with the spread of the default tuck length and of the other loop roles."""
    tuck = element("tuck_over_knit_loop")
    tuck_share = structure.anatomy.tucks * lengths.tuck_mm / yarn_mm
    low = 1 - tuck_share * (1 - tuck["value_low"] / tuck["value"])
    high = 1 + tuck_share * (tuck["value_high"] / tuck["value"] - 1)
    for (_, role), parts in structure.anatomy.parts.items():
        if role in structure.ratios:
            likely, shortest, longest = structure.ratios[role]
            share = parts.loops * lengths.loop_mm[role] / yarn_mm
            low -= share * (1 - shortest / likely)
            high += share * (longest / likely - 1)
    return banded(
        "yarn per repeat",
        yarn_mm,
        "mm",
        low=yarn_mm * low,
        high=yarn_mm * high,
        basis=basis if low == high else Basis.ASSUMED,
        words="loops, tucks and floats counted from the notation × their lengths",
        source=tuck.source if tuck_share else "counted from the notation",
        state=state,
    )
