"""Mass per area and loop length of a swatch, as weighed and unroved.

In: masses, sizes, lengths of yarn of unroved courses. Out: g/m², mm. The loop length of unroved yarn is too short by
the crimp that the pull leaves in it, and too long where the pull stretches the yarn: about 0.5 cN/tex straightens a
staple yarn (EN 14970; fabric reference 14, from memory).
Not covered: moisture in the cloth (condition it: 24 h at 20 °C and 65 %), the mass to expect (`fabric.mass`).
"""

from __future__ import annotations

CM2_PER_M2 = 1e4


def mass_per_area(*, mass_g: float, area_cm2: float) -> float:
    """Mass over area, g/m².

    >>> round(mass_per_area(mass_g=2.51, area_cm2=100), 6)    # a cut circle of 100 cm²
    251.0
    >>> round(mass_per_area(mass_g=14.82, area_cm2=24.4 * 24.7), 1)
    245.9
    """
    return CM2_PER_M2 * mass_g / area_cm2


def loop_length_mm(*, length_mm: float, loops: int) -> float:
    """Yarn of an unroved course over its loops.

    >>> loop_length_mm(length_mm=1260, loops=200)
    6.3
    """
    return length_mm / loops
