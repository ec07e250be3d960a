"""Change of dimensions between states, and the allowance that a pattern needs.

In: structure, two states, or marks before and after. Out: change in per cent, signed (negative is shrinkage).
Assumption: loop length does not change (no felting, no yarn shrinkage). Valid: as the constants of `geometry`.
Not covered: felting of untreated wool, cotton's drift under finishing (typical ranges are long; measure).
Sources: iso_5077 (the form of the result); eqs 6.1-6.3 of the fabric reference.
"""

from __future__ import annotations

from dataclasses import dataclass

from loopwright.fabric.geometry import constants
from loopwright.figure import Figure, State, Term, linear
from loopwright.structure.library import Structure


@dataclass(frozen=True, slots=True)
class Change:
    """Change of length and width in per cent."""

    length_percent: Figure
    width_percent: Figure


def change_percent(*, before: float, after: float) -> float:
    """100·(after − before)/before (eq 6.1).

    >>> round(change_percent(before=350, after=329), 2)    # F-43
    -6.0
    """
    return 100 * (after - before) / before


def allowed_length(*, finished: float, change_percent_signed: float) -> float:
    """Length to knit or cut so that it finishes as wanted: L/(1 + s/100) (eq 6.3).

    >>> round(allowed_length(finished=640, change_percent_signed=-4.5), 1)    # F-44, mm
    670.2
    """
    return finished / (1 + change_percent_signed / 100)


def change_between(structure: Structure, start: State, end: State) -> Change:
    """Predicted change from one state to another at unchanged loop length (eq 6.2)."""
    (kc_start, kw_start), (kc_end, kw_end) = constants(structure, start), constants(structure, end)
    return Change(
        _ratio_change("length change", kc_start, kc_end, start, end),
        _ratio_change("width change", kw_start, kw_end, start, end),
    )


def _ratio_change(name: str, k_start: Figure, k_end: Figure, start: State, end: State) -> Figure:
    """100·(k1/k2 − 1); the two constants are compared by ratio, so that half of their joint spread remains."""
    ratio = k_start.value / k_end.value
    slope = 100 * ratio
    return linear(
        name,
        change_percent(before=k_end.value, after=k_start.value),
        "%",
        [Term("k₁", k_start, slope / k_start.value / 2), Term("k₂", k_end, -slope / k_end.value / 2)],
        words=f"ratio of the constants, {start.value} to {end.value}; half of their spread is common to both",
        formula="100·(k₁/k₂ − 1)",
        source=f"eq 6.2; {k_end.why.source}",
        state=end,
    )
