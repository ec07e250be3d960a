"""The yarn sheet: what the workroom wants to know about a yarn before it is knitted.

In: a `Yarn` and the market whose regains are agreed. Out: figures by key: counts in every system (`count_Nm` …), the
resultant of one end, diameter, twist where known (else the usual one), regain, and the invoice mass of 100 kg oven-dry.
A count without its fibre still tells its counts.
Not covered: what suits the yarn (`fabric`), how the sheet looks (`cli`, `report`).
Sources: those of `yarn`, `regain` and `twist`; section 1 of the fabric reference.
"""

from __future__ import annotations

from dataclasses import replace

from loopwright.figure import Figure, Term, exact, linear, power_law
from loopwright.problems import Problem
from loopwright.yarn.count import Count
from loopwright.yarn.regain import invoice_mass_from_delivery_kg, invoice_mass_from_dry_kg
from loopwright.yarn.twist import (
    alpha_metric_from_tex,
    english_multiplier,
    twist_tpm_of,
    usual_twist_factor,
)
from loopwright.yarn.yarn import Yarn, in_every_system

OVEN_DRY_KG = 100.0


def yarn_figures(yarn: Yarn, market: str = "EU") -> dict[str, Figure]:
    """All figures of a yarn by key, in reading order.

    Raises:
        Problem: no such market, or a fibre without an agreed regain in it.
    """
    figures = count_figures(yarn.count, yarn.ends)
    figures |= {"density_g_per_cm3": yarn.density, "packing_fraction": yarn.packing, "diameter_mm": yarn.diameter_mm}
    figures |= _twists(yarn)
    regain = yarn.blend.regain_percent(market)
    return figures | {"regain_percent": regain, "invoice_mass_of_100_kg_dry_kg": invoice_mass(regain)}


def count_figures(count: Count, ends: int = 1) -> dict[str, Figure]:
    """What the count alone tells, whatever the fibre: the count at the needle in every system, one end's resultant.

    >>> from loopwright.yarn.notation import parse_count
    >>> figures = count_figures(parse_count("2/30 Nm"))    # F-01
    >>> [round(figures[f"count_{system}"].value, 3) for system in ("Nm", "Ne", "NeW", "denier")]
    [15.0, 8.858, 13.287, 600.0]
    """
    fed = in_every_system("count at the needle", count.tex * ends)
    one = in_every_system("resultant count of one end", count.resultant_tex)
    figures = {f"count_{system}": figure for system, figure in fed.items()}
    return figures | {"resultant_tex": one["tex"], "resultant_number": one[count.system]}


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


def delivery_figure(regain: Figure, delivered_kg: float | None, actual_regain_percent: float | None) -> Figure:
    """Mass to pay for a delivery: its mass brought from its actual to the agreed regain.

    Raises:
        Problem: one of the two is missing, or out of reach.
    """
    if delivered_kg is None or actual_regain_percent is None:
        raise Problem(
            "delivery", "mass and actual regain belong together.", tries=["--delivered 1000 --actual-regain 9.5"]
        )
    if not 0 < delivered_kg <= MOST_KG or not 0 <= actual_regain_percent <= MOST_REGAIN_PERCENT:
        raise Problem(
            "delivery",
            f"{delivered_kg:g} kg at a regain of {actual_regain_percent:g} %.",
            limit=f"above 0 to {MOST_KG:.0e} kg, 0 to {MOST_REGAIN_PERCENT:g} %",
            tries=["regain is water over dry mass, in per cent"],
        )
    value = invoice_mass_from_delivery_kg(
        delivered_kg, regain_percent=regain.value, actual_regain_percent=actual_regain_percent
    )
    return linear(
        "payable mass of the delivery",
        value,
        "kg",
        [Term("R", regain, delivered_kg / (100 + actual_regain_percent))],
        words="mass delivered, brought from its actual to the agreed regain",
        formula="m·(1 + R/100)/(1 + R_a/100)",
        source="eq 1.6",
    )


MOST_KG = 1e9
MOST_REGAIN_PERCENT = 100.0


def _twists(yarn: Yarn) -> dict[str, Figure]:
    alpha, helix, ratio = yarn.twist_factor, yarn.surface_helix_deg, yarn.fold_to_single_ratio
    if alpha is None or helix is None:
        return _usual_twist(yarn)
    figures = {
        "twist_factor_tpm_sqrt_tex": alpha,
        "twist_factor_tpm_per_sqrt_nm": _scaled(
            "twist factor, metric", alpha, alpha_metric_from_tex(alpha.value), "tpm/√Nm"
        ),
        "twist_multiplier_tpi_per_sqrt_ne": _scaled(
            "English twist multiplier", alpha, english_multiplier(alpha.value), "tpi/√Ne"
        ),
        "surface_helix_deg": helix,
    }
    return figures | ({"fold_to_singles_ratio": ratio} if ratio is not None else {})


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
    return {"usual_twist_factor_tpm_sqrt_tex": alpha, "usual_singles_twist_tpm": tpm}
