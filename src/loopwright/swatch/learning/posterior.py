"""Conditioning: what readings leave of the unknown effects, in closed form.

In: readings as sums of effects (`prior`), how far each lies from its mean, the variance of its reading. Out: `Block`,
factorised once: mean and covariance of any other sums of effects. Linear and Gaussian, with the Cholesky factor of the
covariance of the readings; the size of the effects between and within cloths is learnt too (`scales`) and integrated
over a few points, so that few swatches promise little. n readings, p unknowns, m questions.
Sources: identity (conditional normal distribution).
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.linalg import cho_solve, cholesky, solve_triangular

from loopwright.swatch.learning.levels import rule
from loopwright.swatch.learning.prior import Unknown
from loopwright.swatch.learning.scales import Scale, scales_of

Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True, eq=False)
class Node:
    """One size of the effects: its weight, the lower factor of the readings' covariance (n, n), and their pull (n,)."""

    scale: Scale
    lower: Floats
    pull: Floats


@dataclass(frozen=True, slots=True, eq=False)
class Answer:
    """m questions: departures from their means (m,), covariance (m, m), that of before (m, m).

    `moves` (m, n) is what each reading adds to the departure, `narrows` (m, n) its part of the variance taken away.
    """

    mean: Floats
    covariance: Floats
    before: Floats
    moves: Floats
    narrows: Floats


@dataclass(frozen=True, slots=True, eq=False)
class Block:
    """Readings of quantities that hang together. `away` (n,) is their distance from the mean before."""

    columns: Mapping[Unknown, int]
    design: Floats
    away: Floats
    noise: Floats
    nodes: tuple[Node, ...]

    def ask(self, questions: Sequence[Mapping[Unknown, float]]) -> Answer:
        """Sums of effects, given the readings."""
        columns = dict(self.columns)
        asked = design_of(questions, columns)
        known = asked[:, : len(self.columns)]
        shape = (len(questions), len(self.away))
        means, covariances = [], []
        moves, narrows = np.zeros(shape), np.zeros(shape)
        for node in self.nodes:
            factors = factors_of(columns, node.scale)
            prior = (asked * factors) @ asked.T
            shared = (known * factors[: len(self.columns)]) @ self.design.T
            half = solve_triangular(node.lower, shared.T, lower=True, check_finite=False)
            pulled = solve_triangular(node.lower, half, lower=True, trans=1, check_finite=False).T
            means.append(shared @ node.pull)
            covariances.append(prior - half.T @ half)
            moves += node.scale.weight * shared * node.pull
            narrows += node.scale.weight * shared * pulled
        weights = np.array([node.scale.weight for node in self.nodes])
        mean, covariance = mixed(weights, np.array(means), np.array(covariances))
        return Answer(mean, covariance, asked @ asked.T, moves, narrows)

    def left_out(self, rows: Sequence[int]) -> tuple[Floats, Floats]:
        """How far readings lie from what all the others say (k,), and the covariance of that (k, k)."""
        weights = np.array([node.scale.weight for node in self.nodes])
        aways, spreads = [], []
        for node in self.nodes:
            unit = np.zeros((len(self.away), len(rows)))
            unit[list(rows), range(len(rows))] = 1.0
            inverse = cho_solve((node.lower, True), unit, check_finite=False)[list(rows)]
            spread = np.linalg.inv(inverse)
            aways.append(spread @ node.pull[list(rows)])
            spreads.append(spread)
        return mixed(weights, np.array(aways), np.array(spreads))


def mixed(weights: Floats, means: Floats, covariances: Floats) -> tuple[Floats, Floats]:
    """Mean and covariance of a mixture; means (k, m), covariances (k, m, m)."""
    mean = weights @ means
    apart = means - mean
    covariance = np.einsum("k,kij->ij", weights, covariances) + np.einsum("k,ki,kj->ij", weights, apart, apart)
    return mean, np.asarray(covariance)


def design_of(sums: Sequence[Mapping[Unknown, float]], columns: dict[Unknown, int]) -> Floats:
    """Coefficients of sums of effects, (sums, columns); unknowns not met before get further columns."""
    rows = [(columns.setdefault(unknown, len(columns)), place, coefficient)
            for place, effects in enumerate(sums) for unknown, coefficient in effects.items()]  # fmt: skip
    design = np.zeros((len(sums), len(columns)))
    if rows:
        at, places, coefficients = zip(*rows, strict=True)
        design[places, at] = coefficients
    return design


def factors_of(columns: Mapping[Unknown, int], scale: Scale) -> Floats:
    """The factor on the variance of every unknown."""
    return np.where(np.fromiter((each[0] is True for each in columns), bool, len(columns)), scale.within, scale.between)


def doubted(departures: Floats, away: Floats, noise: Floats) -> Floats:
    """The variance of each reading, raised where the others cannot believe it, so that a slip does not rule the drawer.

    The reading that is furthest off is doubted until it lies `reading_trusted` deviations off; then the next.
    """
    noise, limit = noise.copy(), rule("reading_trusted")
    for _ in range(len(away)):
        inverse = np.linalg.inv(departures + np.diag(noise))
        off = inverse @ away / np.sqrt(np.diag(inverse))
        worst = int(np.argmax(np.abs(off)))
        if abs(off[worst]) <= limit:
            break
        noise[worst] += ((off[worst] / limit) ** 2 - 1) / inverse[worst, worst]
    return noise


def conditioned(sums: Sequence[Mapping[Unknown, float]], away: Floats, noise: Floats) -> Block:
    """Readings as sums of effects, how far they lie from their means, and the variance of each reading."""
    columns: dict[Unknown, int] = {}
    design = design_of(sums, columns)
    if not len(away):
        return Block(columns, design, away, noise, (Node(Scale(1.0, 1.0, 1.0), np.zeros((0, 0)), away),))
    is_within = np.array([each[0] is True for each in columns])
    between = design[:, ~is_within] @ design[:, ~is_within].T
    within = design[:, is_within] @ design[:, is_within].T
    noise = doubted(between + within, away, noise)

    def factor(scale: tuple[float, float]) -> Floats:
        covariance = scale[0] * between + scale[1] * within
        covariance[np.diag_indices_from(covariance)] += noise
        return np.asarray(cholesky(covariance, lower=True, overwrite_a=True, check_finite=False))

    def log_likelihood(log_between: float, log_within: float) -> float:
        lower = factor((math.exp(log_between), math.exp(log_within)))
        whitened = solve_triangular(lower, away, lower=True, check_finite=False)
        return -0.5 * float(whitened @ whitened) - float(np.log(np.diag(lower)).sum())

    nodes = []
    for scale in scales_of(log_likelihood):
        lower = factor((scale.between, scale.within))
        nodes.append(Node(scale, lower, cho_solve((lower, True), away, check_finite=False)))
    return Block(columns, design, away, noise, tuple(nodes))
