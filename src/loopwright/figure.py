"""A number that can answer "why?": value, unit, spread, state of relaxation, basis, and how it was got.

The spread (`low`, `high`) always means nine cases in ten. `power_law` and `linear` make a figure from others and
carry their spread: inputs are taken as independent, in logarithms for products (so a band never crosses zero) and in
plain units for sums. The mark of a derived figure is the weakest basis that, with all weaker ones, carries a tenth
of the variance or more.
Not covered: spread by sampling (`cost.uncertainty`).
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from enum import Enum, StrEnum
from typing import Any

NINE_IN_TEN_SD = 1.6448536269514722  # half width of the central 90 % of a normal distribution, in standard deviations
U95_SD = 1.959963984540054  # the same of the central 95 %, in which measuring standards state their uncertainty


class Basis(StrEnum):
    """How a number is known, from solid to dotted."""

    IDENTITY = "identity"  # arithmetic and definitions
    ENTERED = "entered"  # typed by the person
    MEASURED = "measured"  # on a swatch, a piece or a clock
    SIMULATED = "simulated"
    PUBLISHED = "published"
    COMMON_PRACTICE = "common practice"
    ASSUMED = "assumed"

    @property
    def rank(self) -> int:
        """0 for the best known; larger is weaker."""
        return _RANK[self]

    @property
    def letter(self) -> str:
        """Raised letter beside the value: M S P C A; none for arithmetic and for what was typed."""
        return {"identity": "", "entered": "", "common practice": "C"}.get(self.value, self.value[0].upper())


_RANK = {basis: index for index, basis in enumerate(Basis)}


class State(Enum):
    """State of relaxation that a fabric value belongs to; constants of different states are never mixed."""

    ON_MACHINE = "on-machine"
    DRY_RELAXED = "dry-relaxed"
    WET_RELAXED = "wet-relaxed"
    FULLY_RELAXED = "fully-relaxed"
    FINISHED = "finished"


@dataclass(frozen=True, slots=True)
class Input:
    """One input of a formula as its "why" shows it; `share` is its part of the variance, 0 to 1."""

    symbol: str
    figure: Figure
    share: float = 0.0


@dataclass(frozen=True, slots=True)
class Why:
    """How a figure was got: formula in words and in symbols, the inputs, where the formula or value stands."""

    words: str
    formula: str = ""
    inputs: tuple[Input, ...] = ()
    source: str = ""

    @property
    def weakest(self) -> Input | None:
        """The input that carries most of the spread; none when no input has a spread."""
        carrying = [each for each in self.inputs if each.share > 0]
        return max(carrying, key=lambda each: each.share, default=None)


@dataclass(frozen=True, slots=True)
class Figure:
    """A value with its unit, nine-in-ten spread, basis, reason and state. Build with the functions below."""

    name: str
    value: float
    unit: str
    low: float
    high: float
    basis: Basis
    why: Why
    state: State | None = None

    @property
    def spread(self) -> float:
        """Half width of the nine-in-ten band, in the figure's unit."""
        return (self.high - self.low) / 2

    def named(self, name: str) -> Figure:
        """The same figure under another name."""
        return replace(self, name=name)

    def text(self) -> str:
        """Value and spread with the digits that the spread supports: "245 ± 8 g/m²"."""
        return f"{shown(self)}{spread_shown(self)}{gap(self.unit)}{self.unit}"

    def as_dict(self) -> dict[str, Any]:
        """JSON form with why; inputs are one level deep (their own why is under their own name)."""
        return {
            **self.brief(),
            "why": {
                "words": self.why.words,
                "formula": self.why.formula,
                "source": self.why.source,
                "inputs": [
                    {"symbol": each.symbol, **each.figure.brief(), "share_of_variance": round(each.share, 3)}
                    for each in self.why.inputs
                ],
            },
        }

    def brief(self) -> dict[str, Any]:
        """JSON form without why."""
        return {
            "name": self.name,
            "value": self.value,
            "unit": self.unit,
            "low": self.low,
            "high": self.high,
            "basis": self.basis.value,
            "state": self.state.value if self.state else None,
            "shown": self.text(),
        }


@dataclass(frozen=True, slots=True)
class Term:
    """An input of a derived figure: its symbol, and its elasticity (power law) or slope (linear)."""

    symbol: str
    figure: Figure
    weight: float = 1.0


def entered(name: str, value: float, unit: str, *, words: str = "given", state: State | None = None) -> Figure:
    """A figure that the person typed: no spread of its own."""
    return Figure(name, value, unit, value, value, Basis.ENTERED, Why(words), state)


def exact(name: str, value: float, unit: str, *, words: str, formula: str = "", source: str = "") -> Figure:
    """A figure that follows by definition or counting."""
    return Figure(name, value, unit, value, value, Basis.IDENTITY, Why(words, formula, (), source))


def banded(
    name: str,
    value: float,
    unit: str,
    *,
    low: float,
    high: float,
    basis: Basis,
    words: str,
    source: str = "",
    formula: str = "",
    state: State | None = None,
) -> Figure:
    """A figure with a stated band.

    Raises:
        ValueError: the band does not hold the value (a mistake of ours: a table is wrong).
    """
    if not low <= value <= high:
        raise ValueError(f"{name}: the band {low} to {high} does not hold {value}")
    return Figure(name, value, unit, low, high, basis, Why(words, formula, (), source), state)


def power_law(
    name: str,
    value: float,
    unit: str,
    terms: Sequence[Term],
    *,
    words: str,
    formula: str = "",
    source: str = "",
    state: State | None = None,
    model_spread: float = 0.0,
    model_basis: Basis = Basis.ASSUMED,
) -> Figure:
    """A figure that is a product of powers: d ln(value) = Σ elasticity · d ln(input).

    `model_spread` is a relative nine-in-ten spread of the formula itself, with the basis `model_basis`. Inputs that
    have a spread must be positive.

    >>> side = banded("side", 2.0, "cm", low=1.9, high=2.1, basis=Basis.MEASURED, words="ruler")
    >>> area = power_law("area", 4.0, "cm²", [Term("a", side, 2)], words="side squared")
    >>> round(area.low, 2), round(area.high, 2), area.basis.value
    (3.61, 4.41, 'measured')
    """
    downs: list[float] = []
    ups: list[float] = []
    for term in terms:
        down, up = _log_arms(term)
        downs.append(down)
        ups.append(up)
    arm = math.log1p(model_spread)
    low = value * math.exp(-math.sqrt(arm**2 + sum(down**2 for down in downs)))
    high = value * math.exp(math.sqrt(arm**2 + sum(up**2 for up in ups)))
    variances = [(down + up) ** 2 / 4 for down, up in zip(downs, ups, strict=True)]
    return _derived(name, value, unit, low, high, terms, variances, arm**2, model_basis, words, formula, source, state)


def linear(
    name: str,
    value: float,
    unit: str,
    terms: Sequence[Term],
    *,
    words: str,
    formula: str = "",
    source: str = "",
    state: State | None = None,
    model_spread: float = 0.0,
    model_basis: Basis = Basis.ASSUMED,
) -> Figure:
    """A figure that is a sum, or is near enough to one: d value = Σ slope · d input.

    `model_spread` is an absolute nine-in-ten spread, in the figure's unit, with the basis `model_basis`.
    """
    downs = [_plain_arm(term, below=True) for term in terms]
    ups = [_plain_arm(term, below=False) for term in terms]
    low = value - math.sqrt(model_spread**2 + sum(down**2 for down in downs))
    high = value + math.sqrt(model_spread**2 + sum(up**2 for up in ups))
    variances = [(down + up) ** 2 / 4 for down, up in zip(downs, ups, strict=True)]
    return _derived(
        name, value, unit, low, high, terms, variances, model_spread**2, model_basis, words, formula, source, state
    )


def _derived(
    name: str,
    value: float,
    unit: str,
    low: float,
    high: float,
    terms: Sequence[Term],
    variances: Sequence[float],
    model_variance: float,
    model_basis: Basis,
    words: str,
    formula: str,
    source: str,
    state: State | None,
) -> Figure:
    total = model_variance + sum(variances)
    shares = [variance / total if total else 0.0 for variance in variances]
    carried = [(model_basis, model_variance / total if total else 0.0)]
    carried += [(term.figure.basis, share) for term, share in zip(terms, shares, strict=True)]
    basis = _weakest(carried)
    inputs = tuple(Input(term.symbol, term.figure, share) for term, share in zip(terms, shares, strict=True))
    return Figure(name, value, unit, low, high, basis, Why(words, formula, inputs, source), state)


def _weakest(carried: Sequence[tuple[Basis, float]]) -> Basis:
    """The weakest basis that, with all weaker ones together, carries its share of the variance."""
    reached = 0.0
    for basis, share in sorted(carried, key=lambda each: -each[0].rank):
        reached += share
        if reached >= CARRIES:
            return basis
    return Basis.IDENTITY


CARRIES = 0.1  # share of the variance from which inputs of a basis decide the mark


def _log_arms(term: Term) -> tuple[float, float]:
    figure = term.figure
    if figure.low == figure.high:
        return 0.0, 0.0
    below, above = math.log(figure.value / figure.low), math.log(figure.high / figure.value)
    if term.weight < 0:
        below, above = above, below
    return abs(term.weight) * below, abs(term.weight) * above


def _plain_arm(term: Term, *, below: bool) -> float:
    figure = term.figure
    towards_low = below == (term.weight >= 0)
    return abs(term.weight) * (figure.value - figure.low if towards_low else figure.high - figure.value)


def decimals_for(value: float, spread: float) -> int:
    """Decimals that a spread supports: its leading digit, and one more when that digit is 1.

    >>> decimals_for(245.7, 8), decimals_for(24.704, 2.15), decimals_for(6.15, 0.0)
    (0, 0, 2)
    """
    if spread > 0:
        decade = math.floor(math.log10(spread))
        leading = spread / 10**decade
        return max(0, -decade + (1 if leading < 2 else 0))
    if value == 0:
        return 0
    most = max(0, EXACT_DIGITS - math.ceil(math.log10(abs(value))))
    near = 0.5 * 10**-most
    return next((decimals for decimals in range(most) if abs(round(value, decimals) - value) <= near), most)


EXACT_DIGITS = 4  # digits of a value that has no spread; trailing noughts are left out


def decimals_of(figure: Figure) -> int:
    """Decimals to print a figure with: money to the cent, else as its spread supports."""
    return 2 if is_money(figure.unit) else decimals_for(figure.value, figure.spread)


def is_money(unit: str) -> bool:
    """Whether a unit is a currency code, alone or per something ("EUR", "EUR/kg")."""
    code = unit.partition("/")[0]
    return len(code) == 3 and code.isalpha() and code.isupper() and code not in COUNT_SYMBOLS


COUNT_SYMBOLS = ("YSW",)  # symbols of count systems that look like a currency code


def shown(figure: Figure) -> str:
    """The value with the digits that its band supports, true minus sign."""
    return plain(figure.value, decimals_of(figure))


def plain(value: float, decimals: int) -> str:
    """A number with fixed decimals, a no-break space between thousands and a true minus.

    >>> plain(-1234.5, 1)
    '−1\\xa0234.5'
    """
    text = f"{value:,.{decimals}f}".replace(",", "\u00a0")
    if float(f"{value:.{decimals}f}") == 0:
        return text.lstrip("-")
    return text.replace("-", "−")


def spread_shown(figure: Figure) -> str:
    """ " ± 8" for an even band, ", 22.6 to 26.9" for a lopsided one, nothing for an exact figure."""
    if figure.high <= figure.low:
        return ""
    decimals = decimals_of(figure)
    below, above = figure.value - figure.low, figure.high - figure.value
    if max(below, above) <= 1.25 * min(below, above):
        return f" ± {plain(figure.spread, decimals)}"
    return f" ({plain(figure.low, decimals)} to {plain(figure.high, decimals)})"


def gap(unit: str) -> str:
    """The space before a unit; none when there is no unit."""
    return "\u00a0" if unit else ""
