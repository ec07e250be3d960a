"""Tightness: how much yarn stands in the area of a loop, and how near that is to jamming.

In: count in tex, loop length in mm (per knitted loop, never per cell unless said), fibre density and packing.
Assumption: round yarn of the packing given. Valid: any spun yarn; jamming figures belong to plain.
Not covered: dimensions (`geometry`). Sources: tightness_note, chamberlain_jam; eqs 4.1-4.3 of the fabric reference.
"""

from __future__ import annotations

import math

from loopwright.fabric.kin import element, row_for
from loopwright.figure import Figure, Term, power_law
from loopwright.structure.library import Structure
from loopwright.yarn.diameter import packing
from loopwright.yarn.fibre import density_of
from loopwright.yarn.yarn import Yarn


def tightness_factor(*, count_tex: float, loop_length_mm: float) -> float:
    """K = √T / l with l in cm, in tex^0.5 per cm (eq 4.1).

    >>> round(tightness_factor(count_tex=590.541 / 30, loop_length_mm=2.80), 2)    # F-28, Ne 30 at 2.80 mm
    15.85
    """
    return 10 * math.sqrt(count_tex) / loop_length_mm


def loop_length_mm_for_tightness(*, count_tex: float, tightness: float) -> float:
    """Loop length in mm that gives a tightness factor: l = 10·√T / K.

    >>> round(loop_length_mm_for_tightness(count_tex=1000 / 14, tightness=13.5), 2)    # F-29, Nm 14
    6.26
    """
    return 10 * math.sqrt(count_tex) / tightness


def jamming_tightness(*, density_g_per_cm3: float, packing: float) -> float:
    """Tightness factor at which plain loops jam: K_jam = 16.81·√(ρ·φ), from l/d = 16.67 (eq 4.3).

    >>> round(jamming_tightness(density_g_per_cm3=1.31, packing=0.50), 2)    # F-31
    13.61
    """
    jam_loop_over_diameter = element("jam_loop_over_diameter")["value"]
    return math.sqrt(density_g_per_cm3 * packing) / (DIAMETER_CM * jam_loop_over_diameter)


DIAMETER_CM = math.sqrt(4e-5 / math.pi)  # a cylinder of T tex at ρ·φ g/cm³ is DIAMETER_CM·√(T/(ρ·φ)) cm thick


def tightness_figure(yarn: Yarn, loop_length_mm: Figure) -> Figure:
    """Tightness factor of a yarn at a loop length."""
    tex = yarn.tex
    return power_law(
        "tightness factor",
        tightness_factor(count_tex=tex.value, loop_length_mm=loop_length_mm.value),
        "√tex/cm",
        [Term("T", tex, 0.5), Term("l", loop_length_mm, -1)],
        words="square root of the count in tex over the loop length in cm",
        formula="K = √T / l",
        source="eq 4.1 (tightness factor, per knitted loop)",
    )


def tightness_over_jam(yarn: Yarn, loop_length_mm: Figure) -> Figure:
    """Tightness over the tightness at which plain of this yarn jams; comparable between fibres, as K alone is not."""
    tightness = tightness_figure(yarn, loop_length_mm)
    jam = jamming_tightness(density_g_per_cm3=yarn.density.value, packing=yarn.packing.value)
    return power_law(
        "tightness over jamming",
        tightness.value / jam,
        "",
        [Term("K", tightness, 1), Term("ρ", yarn.density, -0.5), Term("φ", yarn.packing, -0.5)],
        words="tightness factor over the one at which plain loops touch (loop length 16.67 yarn diameters)",
        formula="K / (16.81·√(ρ·φ))",
        source=element("jam_loop_over_diameter").source,
    )


def tightness_scale(yarn: Yarn) -> float:
    """How much tighter a yarn is knitted than worsted for the same cloth: its jamming tightness over worsted's.

    The usual tightness factors are drawn for worsted; K/K_jam is what compares between fibres.
    """
    density, worsted_packing = density_of("wool_combed").value, packing("worsted_two_fold").value
    worsted = jamming_tightness(density_g_per_cm3=density, packing=worsted_packing)
    return jamming_tightness(density_g_per_cm3=yarn.density.value, packing=yarn.packing.value) / worsted


def usual_loop_length(structure: Structure, yarn: Yarn) -> Figure:
    """Loop length at the usual tightness of a structure: the setting taken when the style names none."""
    row = row_for("tightness", structure)
    tex = yarn.tex
    scale = tightness_scale(yarn)
    exact_mm = loop_length_mm_for_tightness(count_tex=tex.value, tightness=row["target"] * scale)
    setting_mm = round(exact_mm / SETTING_STEP_MM) * SETTING_STEP_MM
    words = f"usual for {structure.name} in worsted, times {scale:.2f} because this yarn jams later or sooner"
    tight = row.figure("usual tightness of worsted", "target", "√tex/cm", words=words)
    reason = power_law(
        "loop length",
        setting_mm,
        "mm",
        [Term("T", tex, 0.5), Term("K", tight, -1)],
        words=f"chosen so that {structure.name} has its usual tightness; name your own to replace it",
        formula="l = 10·√T / (K·K_jam/K_jam,worsted)",
        source=row.source,
    )
    return Figure("loop length", setting_mm, "mm", setting_mm, setting_mm, row.basis, reason.why)


SETTING_STEP_MM = 0.05  # a loop length is set no closer than this
