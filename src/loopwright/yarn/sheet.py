"""The yarn sheet: what the workroom wants to know about a yarn before it is knitted.

In: a `Yarn` and the market whose regains are agreed. Out: figures by key: counts in every system (`count_Nm` …), the
resultant of one end, diameter, twist where known (else the usual one), regain, and the invoice mass of 100 kg oven-dry.
Not covered: what suits the yarn (`fabric`), how the sheet looks (`cli`, `report`).
Sources: those of `yarn`, `regain` and `twist`; section 1 of the fabric reference.
"""

from __future__ import annotations

from dataclasses import replace

from loopwright.figure import Figure, Term, exact, linear, power_law
from loopwright.yarn.regain import invoice_mass_from_dry_kg
from loopwright.yarn.twist import (
    alpha_metric_from_tex,
    english_multiplier,
    twist_tpm_of,
    usual_twist_factor,
)
from loopwright.yarn.yarn import Yarn

OVEN_DRY_KG = 100.0


def yarn_figures(yarn: Yarn, market: str = "EU") -> dict[str, Figure]:
    """All figures of a yarn by key, in reading order.

    Raises:
        Problem: no such market, or a fibre without an agreed regain in it.
    """
    figures = {f"count_{system}": figure for system, figure in yarn.counts().items()}
    figures |= _resultant(yarn)
    figures |= {"density": yarn.density, "packing": yarn.packing, "diameter": yarn.diameter_mm}
    figures |= _twists(yarn)
    regain = yarn.blend.regain_percent(market)
    return figures | {"regain": regain, "invoice_mass": invoice_mass(regain)}


def invoice_mass(regain: Figure) -> Figure:
    """What 100 kg oven-dry weigh on the invoice at an agreed regain; as well known as the regain."""
    mass = linear(
        "invoice mass of 100 kg oven-dry",
        invoice_mass_from_dry_kg(OVEN_DRY_KG, regain.value),
        "kg",
        [Term("R", regain, OVEN_DRY_KG / 100)],
        words="oven-dry mass with the agreed regain",
        formula="m = m_dry·(1 + R/100)",
        source="eq 1.6",
    )
    return replace(mass, basis=regain.basis)


def _resultant(yarn: Yarn) -> dict[str, Figure]:
    counts = yarn.resultant_counts()
    return {"resultant_tex": counts["tex"], "resultant": counts[yarn.count.system]}


def _twists(yarn: Yarn) -> dict[str, Figure]:
    alpha, helix, ratio = yarn.twist_factor, yarn.surface_helix_deg, yarn.fold_to_single_ratio
    if alpha is None or helix is None:
        return _usual_twist(yarn)
    figures = {
        "twist_factor": alpha,
        "twist_factor_metric": _scaled("twist factor, metric", alpha, alpha_metric_from_tex(alpha.value), "tpm/√Nm"),
        "twist_multiplier": _scaled("English twist multiplier", alpha, english_multiplier(alpha.value), "tpi/√Ne"),
        "surface_helix": helix,
    }
    return figures | ({"fold_to_single": ratio} if ratio is not None else {})


def _scaled(name: str, alpha: Figure, value: float, unit: str) -> Figure:
    return power_law(
        name, value, unit, [Term("α", alpha)], words="the same twist factor in another scale", source="eq 1.8"
    )


def _usual_twist(yarn: Yarn) -> dict[str, Figure]:
    alpha = usual_twist_factor(yarn.spinning)
    if alpha is None:
        return {}
    single = exact("count of a single", yarn.count.single_tex, "tex", words=f"from {yarn.count.label}")
    tpm = power_law(
        "usual twist of the singles",
        twist_tpm_of(alpha.value, single.value),
        "turns/m",
        [Term("α", alpha), Term("T", single, -0.5)],
        words="twist not given; what such a knitting yarn usually has",
        formula="tpm = α/√T",
        source=alpha.why.source,
    )
    return {"usual_twist_factor": alpha, "usual_singles_twist": tpm}
