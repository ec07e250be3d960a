"""Spread of a cost through its own formula: slopes by small steps, then a Figure.

In: a formula over named inputs, and the inputs as Figures. Out: for every input with a spread, the slope of every
result; and Figures whose nine-in-ten band follows by linear propagation from independent inputs.
Main assumption: over the width of a band the formula is near enough straight. Cost lines are products of a few inputs
and sums of such, so a central step gives their slopes without error.
Not covered: the whole distribution, which `uncertainty` draws. Sources: identity.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace

from loopwright.figure import Basis, Figure, Term, linear

STEP_SHARE = 1e-3  # of the band: small beside any curvature, large beside the resolution of a float

Formula = Callable[[Mapping[str, float]], Mapping[str, float]]


def values_of(inputs: Mapping[str, Figure]) -> dict[str, float]:
    """The plain values of named inputs."""
    return {key: figure.value for key, figure in inputs.items()}


def has_spread(figure: Figure) -> bool:
    """Whether the figure is known only within a band."""
    return figure.high > figure.low


def slopes(formula: Formula, inputs: Mapping[str, Figure], **fixed: float) -> dict[str, dict[str, float]]:
    """Slope of every result of the formula, by input with a spread; `fixed` are further values without one."""
    values = {**values_of(inputs), **fixed}
    found = {}
    for key, figure in inputs.items():
        if has_spread(figure):
            step = STEP_SHARE * figure.spread
            above = formula({**values, key: figure.value + step})
            below = formula({**values, key: figure.value - step})
            found[key] = {result: (above[result] - below[result]) / (2 * step) for result in above}
    return found


def derived(
    name: str, value: float, unit: str, terms: Sequence[Term], *, words: str, formula: str = "", source: str = ""
) -> Figure:
    """A figure by linear propagation; when no input has a spread its basis is that of the weakest input."""
    figure = linear(name, value, unit, terms, words=words, formula=formula, source=source)
    if has_spread(figure):
        return figure
    weakest = max((term.figure.basis for term in terms), key=lambda basis: basis.rank, default=Basis.IDENTITY)
    return replace(figure, basis=weakest)
