"""What a swatch's roll, lean and extension say of the yarn: share of set, residual twist, bending rigidity.

In: swatches and the posterior of packing. Out: figures with a nine-in-ten band, or none where nothing was measured.
Set: flat from 0.5 to 0.95 (below, contact decides the roll). Residual twist: flat between ± 400 turns per metre, Z
positive. Rigidity: the strain gives the reduced tension by the stretch curve, the force per width then the scale; it
carries d³ of every packing that is still possible. Balanced cloth says nothing of set and twist and is passed over.
Source: mechanics reference, sections 8 and 10.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np

from loopwright.figure import NINE_IN_TEN_SD, Basis, Figure, banded
from loopwright.mechanics.balance import is_balanced
from loopwright.mechanics.fields import LEAN_SETS, SETS, TENSIONS, TURNS
from loopwright.mechanics.posterior import (
    Floats,
    Posterior,
    diameters,
    measuring,
    model_sd,
    pages_at,
)
from loopwright.mechanics.stored import Page
from loopwright.mechanics.swatches import Swatch
from loopwright.problems import Problem

SHARES: Floats = np.linspace(SETS[0], SETS[-1], 46)
TWISTS: Floats = np.linspace(-400.0, 400.0, 801)  # turns per metre
SOURCE = "fitted to swatches with the loop mechanics"


def share_of(swatches: Sequence[Swatch], posterior: Posterior) -> Figure | None:
    """Share of set from the radius of rolling side edges."""
    log_weight, told = np.zeros(len(SHARES)), list[str]()
    by_packing = posterior.weights.sum(axis=1)
    for swatch in swatches:
        if swatch.side_radius_mm is None or is_balanced(swatch.structure.notation):
            continue
        pages = pages_at(swatch.structure, swatch.yarn, swatch.loop_length_mm, posterior.packings)
        radii = [
            _radii(page) * d if page else np.full(len(SHARES), math.nan)
            for page, d in zip(pages, diameters(swatch.yarn, posterior.packings), strict=True)
        ]
        sd = math.hypot(_sd(measuring("radius")), model_sd(swatch.structure, 0.0, "radius"))
        away = (np.log(np.array(radii)) - math.log(swatch.side_radius_mm)) / sd
        likely = np.where(np.isfinite(away), np.exp(-0.5 * away**2), 0.0)
        log_weight += np.log(by_packing @ likely + 1e-300)
        told.append(swatch.name)
    if not told:
        return None
    value, low, high = _band(SHARES, np.exp(log_weight - log_weight.max()))
    return _figure("set of the yarn", value, "", low, high, "the roll of side edges", told)


def _radii(page: Page) -> Floats:
    """Radius of the roll of side edges in diameters at every share of set."""
    at = np.array([page[f"curl_sides_{n}"].value for n in range(len(SETS))])
    with np.errstate(divide="ignore"):
        return np.asarray(1 / np.abs(np.interp(SHARES, SETS, at)))


def residual_twist(swatches: Sequence[Swatch], posterior: Posterior, share: float) -> Figure | None:
    """Residual turns per metre, Z positive, from the lean of the wales."""
    log_weight, told = np.zeros(len(TWISTS)), []
    packing = np.array([float(posterior.weights.sum(axis=1) @ posterior.packings)])
    for swatch in swatches:
        if swatch.lean_deg is None or is_balanced(swatch.structure.notation):
            continue
        page = pages_at(swatch.structure, swatch.yarn, swatch.loop_length_mm, packing)[0]
        if page is None:
            continue
        leans = _leans(page, TWISTS * swatch.loop_length_mm / 1000, share)
        own = model_sd(swatch.structure, page.ratio, "lean")
        sd = np.hypot(measuring("lean") / NINE_IN_TEN_SD, own * leans)
        log_weight += -0.5 * ((leans - swatch.lean_deg) / sd) ** 2 - np.log(sd)
        told.append(swatch.name)
    if not told or not np.isfinite(log_weight).all():
        return None
    value, low, high = _band(TWISTS, np.exp(log_weight - log_weight.max()))
    return _figure("residual twist, Z positive", value, "turns/m", low, high, "the lean of the wales", told)


def _leans(page: Page, turns: Floats, share: float) -> Floats:
    """Lean in degrees at turns per loop: linear between the solved twists, odd, carried on in proportion past them."""
    at = np.array((0.0, *TURNS))
    part = min(max(share, LEAN_SETS[0]), LEAN_SETS[-1]) / LEAN_SETS[-1]
    solved = [np.array((0.0, *(page[f"lean_{s}_{n}"].value for n in range(len(TURNS))))) for s in range(len(LEAN_SETS))]
    values = solved[0] * (1 - part) + solved[1] * part
    size = np.abs(turns)
    inside = np.interp(size, at, values)
    return np.asarray(np.sign(turns) * np.where(size > at[-1], values[-1] * size / at[-1], inside))


def rigidity(swatches: Sequence[Swatch], posterior: Posterior) -> Figure | None:
    """Bending rigidity of the yarn in N·mm² from strips stretched by a known weight.

    Raises:
        Problem: a strip was stretched further than the loops go.
    """
    by_packing = posterior.weights.sum(axis=1)
    weighed = np.zeros(len(posterior.packings))
    precision = np.zeros(len(posterior.packings))
    told = []
    for swatch in swatches:
        if swatch.force_n_per_cm is None or swatch.extension_percent is None:
            continue
        logs, sds = _log_rigidities(swatch, posterior.packings)
        if not np.isfinite(logs[by_packing > 0]).any():
            raise _locked(swatch)
        known = np.isfinite(logs)
        weighed += np.where(known, logs / sds**2, 0.0)
        precision += np.where(known, 1 / sds**2, 0.0)
        told.append(swatch.name)
    if not told:
        return None
    known = precision > 0
    shares = np.where(known, by_packing, 0.0)
    means = np.where(known, weighed / np.where(known, precision, 1.0), 0.0)
    sds = np.where(known, 1 / np.sqrt(np.where(known, precision, 1.0)), 1.0)
    at = np.linspace((means - 5 * sds)[known].min(), (means + 5 * sds)[known].max(), 801)
    density = (shares / sds * np.exp(-0.5 * ((at[:, None] - means) / sds) ** 2)).sum(axis=1)
    value, low, high = (math.exp(each) for each in _band(at, density))
    return _figure("bending rigidity of the yarn", value, "N·mm²", low, high, "the extension under a weight", told)


def _log_rigidities(swatch: Swatch, packings: Floats) -> tuple[Floats, Floats]:
    """Logarithm of the rigidity that a strip gives at every packing, and its standard deviation."""
    assert swatch.force_n_per_cm is not None
    assert swatch.extension_percent is not None
    strain = swatch.extension_percent / 100
    sd_strain = math.hypot(_sd(measuring("extension")), model_sd(swatch.structure, 0.0, "stretch"))
    logs, sds = np.full(len(packings), math.nan), np.ones(len(packings))
    pages = pages_at(swatch.structure, swatch.yarn, swatch.loop_length_mm, packings)
    for place, (page, d) in enumerate(zip(pages, diameters(swatch.yarn, packings), strict=True)):
        if page is None:
            continue
        tension, steepness = reduced_tension(page, swatch.pulled, strain)
        logs[place] = math.log(swatch.force_n_per_cm * d**3 / (10 * tension)) if tension > 0 else math.nan
        sds[place] = max(steepness, 1.0) * sd_strain
    return logs, sds


def reduced_tension(page: Page, way: str, strain: float) -> tuple[float, float]:
    """Tension in B/d³ at a strain, and d ln(tension) / d ln(strain); nan past what the loops reach."""
    strains = np.array((0.0, *(page[f"stretch_{way}_{n}"].value for n in range(len(TENSIONS)))))
    known = np.isfinite(strains)
    at, tensions = strains[known], np.array((0.0, *TENSIONS))[known]
    if not 0 < strain <= at[-1]:
        return math.nan, 1.0
    place = int(np.searchsorted(at, strain))
    slope = (tensions[place] - tensions[place - 1]) / (at[place] - at[place - 1])
    tension = float(tensions[place - 1] + slope * (strain - at[place - 1]))
    return tension, float(slope * strain / tension)


def _locked(swatch: Swatch) -> Problem:
    return Problem(
        swatch.name,
        f"{swatch.extension_percent:g} % in {swatch.pulled} is past what its loops can give before the yarn locks.",
        tries=["a lighter weight", "check which way the strip was pulled"],
    )


def _sd(spread: float) -> float:
    return math.log1p(spread) / NINE_IN_TEN_SD


def _band(at: Floats, density: Floats) -> tuple[float, float, float]:
    """Mean, and the points with a twentieth of the weight below and above."""
    share = density / density.sum()
    mean = float(share @ at)
    below = np.cumsum(share) - share / 2
    low, high = (float(np.interp(each, below, at)) for each in (0.05, 0.95))
    return mean, min(low, mean), max(high, mean)


def _figure(name: str, value: float, unit: str, low: float, high: float, what: str, told: list[str]) -> Figure:
    words = f"fitted so that the model gives {what} of {', '.join(told)}"
    return banded(name, value, unit, low=low, high=high, basis=Basis.SIMULATED, words=words, source=SOURCE)
