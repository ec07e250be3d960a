"""Learning from swatches: how often its bands hold, and its time beside a dense conditional distribution by scipy.

Coverage: drawers of a house that the learning does not know, and drawers drawn from its own prior; held-out counts and
masses must lie in their nine-in-ten band 87 to 93 times in a hundred. Time: 50 swatches of 3 readings learnt, and one
cloth predicted, beside one numpy solve of the same readings for every size of departures on a 9 × 9 grid, with scipy's
normal density as its likelihood.

    python benchmarks/swatch_learning.py [--drawers 150]
"""

import argparse
import math
import sys
import time
from collections.abc import Callable
from pathlib import Path

import numpy as np
from scipy.stats import multivariate_normal

sys.path.insert(0, str(Path(__file__).resolve().parents[1]))

from devtools.simulated_drawers import SimulatedDrawer, another_house, drawn_from_prior

from loopwright.swatch.learning import drawer as learning
from loopwright.swatch.learning.levels import Cloth
from loopwright.swatch.learning.posterior import design_of
from loopwright.swatch.learning.prior import belief, count_effects
from loopwright.swatch.learning.scale import reading_sd, to_scale

SIZES = (2, 5, 10, 20)
HELD = 3


def inside(make: Callable[[int, int, int], SimulatedDrawer], kept: int, drawers: int) -> tuple[float, float, float]:
    """Share of held-out numbers in their band, its error from drawer to drawer, and the mean narrowing."""
    shares, narrowings = [], []
    for seed in range(1000, 1000 + drawers):
        simulated = make(seed, kept + HELD, kept)
        known = learning.learnt(simulated.observations)
        said = known.predict_all([learning.Wanted(_bare(each.cloth), each.quantity) for each in simulated.held])
        pairs = list(zip(said, simulated.held, strict=True))
        shares.append(np.mean([p.mean - 1.6449 * p.sd <= _scaled(h) <= p.mean + 1.6449 * p.sd for p, h in pairs]))
        narrowings.append(np.mean([p.sd / p.prior_sd for p in said]))
    return 100 * float(np.mean(shares)), 100 * float(np.std(shares)) / math.sqrt(drawers), float(np.mean(narrowings))


def _scaled(held) -> float:
    return to_scale(held.quantity, held.true)


def _bare(cloth: Cloth) -> Cloth:
    return Cloth(cloth.structure, cloth.yarn, cloth.loop_length_mm, cloth.state, cloth.lot)


def dense(simulated: SimulatedDrawer) -> float:
    """The same by a grid of sizes, a dense density and a dense solve at each; the mean of one prediction."""
    held = simulated.held[0]
    told = [belief(learning.cloth_of(each), each.quantity) for each in simulated.observations]
    asked = belief(_bare(held.cloth), held.quantity)
    columns: dict = {}
    design = design_of([*(each.effects for each in told), asked.effects], columns)
    is_within = np.array([key[0] for key in columns])
    away = np.array([to_scale(o.quantity, o.value) - b.mean for o, b in zip(simulated.observations, told, strict=True)])
    noise = np.diag([reading_sd(each) ** 2 for each in simulated.observations])
    weights, means = [], []
    for between in np.exp(np.linspace(-2.4, 2.4, 9)):
        for within in np.exp(np.linspace(-2.4, 2.4, 9)):
            whole = (design * np.where(is_within, within, between)) @ design.T
            read = whole[:-1, :-1] + noise
            prior = -(math.log(between) ** 2 + math.log(within) ** 2) / (2 * 0.8**2)
            weights.append(multivariate_normal(np.zeros(len(away)), read).logpdf(away) + prior)
            means.append(float(whole[-1, :-1] @ np.linalg.solve(read, away)))
    shares = np.exp(np.array(weights) - max(weights))
    return float(np.average(means, weights=shares)) + asked.mean


def times(rounds: int = 5) -> tuple[float, float]:
    """Best of some rounds, ms: learning 50 swatches and predicting one cloth, and the dense way."""
    simulated = another_house(7, 51, 50)
    held = simulated.held[0]
    own, other = [], []
    for _ in range(rounds):
        learning._learnt.cache_clear()
        count_effects.cache_clear()
        start = time.perf_counter()
        known = learning.learnt(simulated.observations)
        known.predict_all([learning.Wanted(_bare(held.cloth), held.quantity)])
        own.append(time.perf_counter() - start)
    start = time.perf_counter()
    dense(simulated)
    other.append(time.perf_counter() - start)
    return 1000 * min(own), 1000 * min(other)


def main() -> None:
    words = argparse.ArgumentParser(description=__doc__)
    words.add_argument("--drawers", type=int, default=150)
    drawers = words.parse_args().drawers
    print("Held-out numbers inside their nine-in-ten band, per cent (asked: 87 to 93)")
    print(f"{'swatches':>9} {'another house':>22} {'drawn from the prior':>22} {'band left':>10}")
    for kept in SIZES:
        house, prior = (inside(make, kept, drawers) for make in (another_house, drawn_from_prior))
        print(f"{kept:>9} {house[0]:>14.1f} ± {house[1]:.1f} {prior[0]:>15.1f} ± {prior[1]:.1f} {house[2]:>10.2f}")
    own, other = times()
    print(f"50 swatches, 150 readings: {own:.1f} ms; dense by scipy over 81 sizes: {other:.1f} ms; {other / own:.1f} ×")


if __name__ == "__main__":
    main()
