"""How sure a price is: the spread of direct cost and FOB price, by straight propagation and by drawing lots.

In: `CostInputs` whose figures carry bands (see `piece.early_quote`), a seed, a target price. Out: nine-in-ten band,
P10 to P90, chance of meeting the target, and which input carries how much of the variance.
Main assumption: inputs are independent. Each draw is lognormal with the input's value as its mean and its half band
over 1.645 as its standard deviation, so no draw is negative and both ways start from the same means and deviations;
they differ only where products of wide inputs bend the price, and in the skew.
Not covered: how wide an input is (`spreads`). Sources: identity; production reference 7.4.
"""

from __future__ import annotations

from dataclasses import dataclass
from statistics import NormalDist
from typing import Any

import numpy as np
import numpy.typing as npt

from loopwright.cost.lines import all_lines
from loopwright.cost.money import CENT, Money, to_the_cent
from loopwright.cost.piece import CostInputs
from loopwright.cost.propagate import has_spread, values_of
from loopwright.cost.sheet import CostSheet, order_share
from loopwright.figure import NINE_IN_TEN_SD, Figure, Why
from loopwright.problems import Problem

Draws = npt.NDArray[np.float64]

USUAL_DRAWS = 20_000
MOST_DRAWS = 1_000_000
PRICES = ("direct", "fob")
LEVELS = (0.05, 0.10, 0.50, 0.90, 0.95)


@dataclass(frozen=True, slots=True)
class Share:
    """The part of the variance, 0 to 1, that one input carries."""

    key: str
    words: str
    share: float


@dataclass(frozen=True, slots=True)
class PriceSpread:
    """How sure a price is. `figure` holds its mean and nine-in-ten band; shares are ranked and add up to one.

    `chance` is the probability that the price is at or under the target; None without a target.
    """

    key: str
    figure: Figure
    sd: float
    p10: Money
    p50: Money
    p90: Money
    shares: tuple[Share, ...]
    chance: float | None

    def as_dict(self) -> dict[str, Any]:
        """JSON form."""
        return {
            "key": self.key,
            "figure": self.figure.as_dict(),
            "sd": self.sd,
            "p10": self.p10.as_dict(),
            "p50": self.p50.as_dict(),
            "p90": self.p90.as_dict(),
            "shares": [{"key": each.key, "words": each.words, "share": each.share} for each in self.shares],
            "chance": self.chance,
        }


@dataclass(frozen=True, slots=True)
class CostSpread:
    """The spread of direct cost and of the FOB price."""

    direct: PriceSpread
    fob: PriceSpread

    def as_dict(self) -> dict[str, Any]:
        """JSON form."""
        return {"direct": self.direct.as_dict(), "fob": self.fob.as_dict()}


def standard_deviation(figure: Figure) -> float:
    """Standard deviation behind a nine-in-ten band: half its width over 1.645."""
    return figure.spread / NINE_IN_TEN_SD


def variance_shares(figure: Figure) -> tuple[Share, ...]:
    """Inputs of a propagated figure by the part of its variance they carry, largest first; they add up to one."""
    carrying = [Share(each.symbol, each.figure.name, each.share) for each in figure.why.inputs if each.share > 0]
    return tuple(sorted(carrying, key=lambda each: -each.share))


def propagated_spread(sheet: CostSheet, target: Money | None = None) -> CostSpread:
    """The spread by linear propagation, as the sheet's figures carry it; the price is taken as normal.

    `target` is a FOB price.

    Raises:
        Problem: the target is in another currency.
    """
    _check_target(target, sheet.currency)
    return CostSpread(_propagated("direct", sheet, None), _propagated("fob", sheet, target))


def _propagated(key: str, sheet: CostSheet, target: Money | None) -> PriceSpread:
    figure = sheet[key].figure
    sd = standard_deviation(figure)
    levels = [figure.value + sd * NormalDist().inv_cdf(level) for level in (0.10, 0.50, 0.90)]
    p10, p50, p90 = (to_the_cent(level, sheet.currency) for level in levels)
    chance = None
    if target is not None:
        room = _most_that_meets(target) - figure.value
        chance = NormalDist().cdf(room / sd) if sd else float(room >= 0)
    return PriceSpread(key, figure, sd, p10, p50, p90, variance_shares(figure), chance)


def sampled_spread(
    inputs: CostInputs, *, seed: int, draws: int = USUAL_DRAWS, target: Money | None = None
) -> CostSpread:
    """The spread by `draws` seeded draws of every input that has one. The same seed gives the same answer.

    Shares are squared correlations of each input with the price, scaled to add up to one. `target` is a FOB price.

    Raises:
        Problem: the target is in another currency, or more draws than are sensible.
    """
    _check_target(target, inputs.rates.currency)
    if not 2 <= draws <= MOST_DRAWS:
        raise Problem(
            "spread by draws",
            f"{draws} draws; between 2 and {MOST_DRAWS} are made.",
            tries=[f"{USUAL_DRAWS} are plenty"],
        )
    figures = inputs.figures()
    loose = {key: figure for key, figure in figures.items() if has_spread(figure)}
    drawn = lognormal_draws(loose, draws, seed)
    values: dict[str, float | Draws] = {**values_of(figures), "order_share": order_share(inputs.piece.pieces)}
    values |= dict(zip(loose, drawn, strict=True))
    prices = all_lines(values, inputs.yarn_names, inputs.rates.margin_rule)
    direct, fob = (
        _sampled(key, np.broadcast_to(prices[key], draws), drawn, loose, inputs, target if key == "fob" else None)
        for key in PRICES
    )
    return CostSpread(direct, fob)


def lognormal_draws(figures: dict[str, Figure], draws: int, seed: int) -> Draws:
    """Draws of each figure, shape (figures, draws), each row lognormal with the figure's value and deviation."""
    mean = np.array([figure.value for figure in figures.values()])[:, None]
    variation = np.array([standard_deviation(figure) for figure in figures.values()])[:, None] / mean
    log_variance = np.log1p(variation**2)
    drawn = np.random.default_rng(seed).standard_normal((len(figures), draws))
    drawn *= np.sqrt(log_variance)
    drawn += np.log(mean) - log_variance / 2
    return np.exp(drawn, out=drawn)


def _sampled(
    key: str, prices: Draws, drawn: Draws, loose: dict[str, Figure], inputs: CostInputs, target: Money | None
) -> PriceSpread:
    currency, draws = inputs.rates.currency, len(prices)
    low, p10, p50, p90, high = np.quantile(prices, LEVELS)
    mean, sd = float(prices.mean()), float(prices.std())
    words = f"{draws} seeded draws of every input that has a spread"
    name = "direct cost" if key == "direct" else "FOB price"
    shares = _correlation_shares(prices - mean, drawn, loose)
    basis = loose[shares[0].key].basis if shares else inputs.rates.margin.basis
    # The mean of prices that are all alike may miss their quantiles by the last bit of a float.
    figure = Figure(name, mean, currency, min(float(low), mean), max(float(high), mean), basis, Why(words))
    chance = None if target is None else float(np.mean(prices <= _most_that_meets(target)))
    p10, p50, p90 = (to_the_cent(float(level), currency) for level in (p10, p50, p90))
    return PriceSpread(key, figure, sd, p10, p50, p90, shares, chance)


def _correlation_shares(departures: Draws, drawn: Draws, loose: dict[str, Figure]) -> tuple[Share, ...]:
    """Squared correlations of the inputs with the price, ranked, scaled to one."""
    deviations = np.array([standard_deviation(figure) for figure in loose.values()])
    squares = (drawn @ departures / deviations) ** 2
    total = float(squares.sum())
    if not total > 0:
        return ()
    found = [Share(key, loose[key].name, float(square) / total) for key, square in zip(loose, squares, strict=True)]
    return tuple(sorted(found, key=lambda each: -each.share))


def _most_that_meets(target: Money) -> float:
    """The exact price that still rounds to the target."""
    return float(target.amount + CENT / 2)


def _check_target(target: Money | None, currency: str) -> None:
    if target is not None and target.currency != currency:
        raise Problem(
            "target price",
            f"The target is {target.text()}, the rate card is in {currency}.",
            tries=[f"give the target in {currency}"],
        )
