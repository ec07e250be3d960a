"""The fibre label of a style: all yarns of a mean piece together, in every market that has agreed regains for them.

In: `StyleStudy`. Out: labels, and a sentence for each market that cannot have one. Assumption: the piece is its yarns;
sewing thread, buttons and tapes are not weighed.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from loopwright.problems import Problem
from loopwright.study.study import StyleStudy
from loopwright.yarn.care import Care, care_of
from loopwright.yarn.label import FibreLabel, fibre_label
from loopwright.yarn.regain import MARKETS


@dataclass(frozen=True, slots=True)
class StyleLabels:
    """Labels by market, and why a market has none."""

    labels: tuple[FibreLabel, ...]
    remarks: tuple[str, ...]


def labels_of(study: StyleStudy) -> StyleLabels:
    """The labels of a mean piece; none while there is no piece."""
    labels, remarks = [], []
    for market in MARKETS if study.sizes else ():
        try:
            labels.append(fibre_label(dry_fibre_mass_g(study, market), market))
        except Problem as problem:
            remarks.append(problem.sentence())
    return StyleLabels(tuple(labels), tuple(remarks))


def care_of_style(study: StyleStudy) -> Care:
    """The usual care of a piece: that of the most delicate fibre among the yarns that are knitted into it."""
    knitted = study.sizes[0].grams_by_yarn
    blends = [yarn.blend for yarn in study.yarns.values() if yarn.name in knitted]
    return care_of(fibre for blend in blends for fibre in blend.fractions)


def dry_fibre_mass_g(study: StyleStudy, market: str) -> dict[str, float]:
    """Oven-dry mass of every fibre in a mean piece, g: the yarn's mass less the agreed regain of its blend.

    Raises:
        Problem: a fibre has no agreed regain in the market.
    """
    blends = {yarn.name: yarn.blend for yarn in study.yarns.values()}
    masses: dict[str, float] = {}
    for name in study.sizes[0].grams_by_yarn:
        grams = math.fsum(study.shares[size.size] * size.grams_by_yarn[name].value for size in study.sizes)
        blend = blends[name]
        dry = grams / (1 + blend.regain_percent(market).value / 100)
        for fibre, fraction in blend.fractions.items():
            masses[fibre] = masses.get(fibre, 0.0) + dry * fraction
    return masses
