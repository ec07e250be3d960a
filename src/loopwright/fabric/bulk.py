"""Thickness, porosity and optical cover.

In: geometry, yarn (diameter, density), mass. Out: thickness at 1 kPa (mm), porosity, cover (0 to 1). Assumption: the
yarn is a round opaque cylinder of its packing; the thickness ratio is a starting value (band 20 % and more) until one
is measured. Cover of double fabrics is a band: from one face alone to both layers laid over each other at random.
Not covered: air permeability (no closed formula), sheerness on the body beyond the stretch rule.
Sources: iso_5084 (state the pressure), textile_handbook_2023; eqs 5.5-5.8 of the fabric reference.
"""

from __future__ import annotations

from loopwright.fabric.geometry import StitchGeometry
from loopwright.fabric.kin import row_for
from loopwright.figure import Basis, Figure, Term, banded, power_law
from loopwright.sources.table import table
from loopwright.structure.library import Structure
from loopwright.yarn.yarn import Yarn


def porosity(*, mass_g_per_m2: float, thickness_mm: float, density_g_per_cm3: float) -> float:
    """Share of air: 1 − M/(1000·t·ρ) (eq 5.6).

    >>> round(porosity(mass_g_per_m2=160, thickness_mm=0.60, density_g_per_cm3=1.52), 3)    # F-38
    0.825
    """
    return 1 - mass_g_per_m2 / (1000 * thickness_mm * density_g_per_cm3)


def cover(*, loops_per_cm2_times_l2: float, loop_over_diameter: float) -> float:
    """Optical cover of one plain layer, uncapped: ks·(d/l)·(1 − 4·d/l) (eq 5.7).

    Cap at 1 only after a stretch (`stretched_cover`): at the jam the uncapped value can exceed 1.

    >>> round(cover(loops_per_cm2_times_l2=21.6, loop_over_diameter=25), 3)    # F-39
    0.726
    """
    slenderness = 1 / loop_over_diameter
    return loops_per_cm2_times_l2 * slenderness * (1 - 4 * slenderness)


def stretched_cover(*, relaxed: float, width_factor: float, length_factor: float) -> float:
    """Cover on the body, F/(x·y) at constant loop length, capped at 1 (eq 5.8).

    >>> round(stretched_cover(relaxed=0.72576, width_factor=1.4, length_factor=1.1), 3)    # F-40
    0.471
    """
    return min(1.0, relaxed / (width_factor * length_factor))


def thickness(structure: Structure, yarn: Yarn) -> Figure:
    """Thickness at 1 kPa, mm: 3 yarn diameters for plain (eq 5.5), and the structure's ratio to plain."""
    plain = table(__package__, "thickness").by("structure")["plain"]
    over_diameter = plain.figure("plain thickness over yarn diameter", "ratio", "", words="starting value")
    terms = [Term("d", yarn.diameter_mm), Term("t/d", over_diameter)]
    value = yarn.diameter_mm.value * over_diameter.value
    row = row_for("thickness", structure)
    if row is not plain:
        ratio = row.figure("thickness over plain", "ratio", "", words=f"{structure.name} over plain")
        terms.append(Term("r", ratio))
        value *= ratio.value
    return power_law(
        "thickness at 1 kPa",
        value,
        "mm",
        terms,
        words="yarn diameter × diameters in plain × the structure's ratio to plain",
        formula="t = 3·d·r",
        source=row.source,
    )


def porosity_figure(mass: Figure, thick: Figure, yarn: Yarn) -> Figure:
    """Share of air in the fabric; the band comes from the thickness and mass bands together."""
    density = yarn.density.value
    value, low, high = (
        porosity(mass_g_per_m2=m, thickness_mm=t, density_g_per_cm3=density)
        for m, t in ((mass.value, thick.value), (mass.high, thick.low), (mass.low, thick.high))
    )
    return banded(
        "porosity",
        value,
        "",
        low=low,
        high=high,
        basis=max(mass.basis, thick.basis, key=lambda basis: basis.rank),
        words="one minus mass over thickness and fibre density",
        formula="ε = 1 − M/(1000·t·ρ)",
        source="eq 5.6",
        state=mass.state,
    )


def cover_figure(geometry: StitchGeometry, yarn: Yarn) -> Figure:
    """Share of light that the relaxed fabric stops, 0 to 1.

    For one bed the figure is eq 5.7 capped at 1. For two beds the low end is one face alone, the high end both faces
    at random, 1 − (1 − F)², and the likely value half way.
    """
    front = _front_cover(geometry, yarn)
    if geometry.structure.anatomy.beds == 1:
        return _capped(front, geometry, front.value, front.low, front.high, front.basis)
    both = 1 - (1 - min(front.value, 1.0)) ** 2
    likely = (min(front.value, 1.0) + both) / 2
    low, high = min(front.low, likely), 1 - (1 - min(front.high, 1.0)) ** 2
    return _capped(front, geometry, likely, low, max(high, likely), Basis.ASSUMED)


def _front_cover(geometry: StitchGeometry, yarn: Yarn) -> Figure:
    w, c, length = geometry.wales_per_cm, geometry.courses_per_cm, geometry.loop_length_mm
    ks = w.value * c.value * (length.value / 10) ** 2
    slenderness = yarn.diameter_mm.value / length.value
    bend = -4 * slenderness / (1 - 4 * slenderness)
    return power_law(
        "optical cover",
        cover(loops_per_cm2_times_l2=ks, loop_over_diameter=1 / slenderness),
        "",
        [Term("w", w), Term("c", c), Term("d", yarn.diameter_mm, 1 + bend), Term("l", length, 1 - bend)],
        words="yarn shadow per loop less its four crossings, times loops per area; 1 is closed",
        formula="F = c·w·(l·d − 4·d²)",
        source="eq 5.7, derived geometry of plain",
        state=geometry.state,
    )


def _capped(front: Figure, geometry: StitchGeometry, value: float, low: float, high: float, basis: Basis) -> Figure:
    note = "" if front.value <= 1 else f"; the geometry gives {front.value:.2f}, shown as closed"
    return Figure(
        "optical cover",
        min(value, 1.0),
        "",
        min(low, 1.0),
        min(high, 1.0),
        basis,
        type(front.why)(front.why.words + note, front.why.formula, front.why.inputs, front.why.source),
        geometry.state,
    )
