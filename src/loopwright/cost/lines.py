"""The arithmetic of the cost sheet: each line of a piece from minutes, masses and rates.

In: plain values by name (see `piece`), floats or numpy arrays of draws alike; `order_share` is what one piece carries
of a cost of the whole order, 1/pieces. Out: amounts per piece by line and total, not rounded.
Main assumption: minutes hold their efficiency already where the machine is concerned; wages are divided by the
efficiency of their line. A rejected piece costs its own work and material, not programming or samples again.
Not covered: rounding and words (`sheet`), quantity (`quantity`).
Sources: cost_sheet_practice; production reference 7.1.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from typing import TYPE_CHECKING

from loopwright.cost.piece import kg_key, price_key
from loopwright.cost.rates import MarginRule
from loopwright.units import MINUTES_PER_HOUR

if TYPE_CHECKING:
    import numpy as np
    import numpy.typing as npt

    Amount = float | npt.NDArray[np.float64]

PER_ORDER = ("dye_lots", "programming", "samples", "testing")  # spent once, spread over the pieces
NOT_CONVERSION = ("dye_lots", "trims", "packing")  # with the yarn: material, which carries no overhead


def labour_cost(minutes: Amount, *, wage: Amount, social_share: Amount, efficiency: Amount) -> Amount:
    """Cost of hand work: minutes / 60 · wage · (1 + social share) / efficiency, wage per hour.

    >>> round(labour_cost(26, wage=5.0, social_share=0, efficiency=0.75), 2)    # 7.3: make-up
    2.89
    """
    return minutes / MINUTES_PER_HOUR * wage * (1 + social_share) / efficiency


def price_with_margin(cost: Amount, *, margin: Amount, commission: Amount = 0.0) -> Amount:
    """Price of which the margin, and finance and agent's commission, are shares: cost / (1 − margin − commission).

    >>> round(price_with_margin(214.40, margin=0.10), 1)    # P-55, published mill example
    238.2
    """
    return cost / (1 - margin - commission)


def price_with_markup(cost: Amount, *, margin: Amount, commission: Amount = 0.0) -> Amount:
    """Price with the margin put on the cost: cost · (1 + margin) / (1 − commission).

    >>> round(price_with_markup(214.40, margin=0.10), 1)    # P-55
    235.8
    """
    return cost * (1 + margin) / (1 - commission)


PRICE: Mapping[MarginRule, Callable[..., Amount]] = {
    MarginRule.ON_PRICE: price_with_margin,
    MarginRule.ON_COST: price_with_markup,
}


def yarn_key(yarn: str) -> str:
    """Name of a yarn's line."""
    return f"yarn {yarn}"


def direct_lines(values: Mapping[str, Amount], yarns: Sequence[str]) -> dict[str, Amount]:
    """Lines of the direct cost in printed order."""
    share, level, social = values["order_share"], values["finishing_level"], values["social_share"]

    def work(group: str, wage: str, efficiency: str) -> Amount:
        return labour_cost(
            values[f"{group}_minutes"], wage=values[wage], social_share=social, efficiency=values[efficiency]
        )

    lines = {yarn_key(yarn): values[kg_key(yarn)] * values[price_key(yarn)] for yarn in yarns}
    lines |= {
        "dye_lots": values["dye_lot_surcharge"] * share,
        "knitting": values["knitting_minutes"] / MINUTES_PER_HOUR * values["machine_hour"],
        "programming": values["programming_hours"] * values["programming_rate"] * share,
        "samples": values["sample_cost"] * share,
        "linking": work("linking", "makeup_wage", "line_efficiency"),
        "hand_finish": work("hand_finish", "makeup_wage", "line_efficiency"),
        "wash": values["wash_per_piece"] * level,
        "press": work("press", "press_wage", "press_efficiency") * level,
        "check": work("check", "check_wage", "check_efficiency") * level,
        "testing": values["testing_cost"] * share,
        "trims": values["trims"],
        "packing": values["packing"],
    }
    rejected = values["reject_share"]
    started: Amount = sum(amount for line, amount in lines.items() if line not in PER_ORDER)
    lines["rejects"] = started * rejected / (1 - rejected)
    return lines


def conversion_base(lines: Mapping[str, Amount], yarns: Sequence[str]) -> Amount:
    """What overhead stands on: the direct lines without yarn, dye lots, trims and packing."""
    material = {*NOT_CONVERSION, *(yarn_key(yarn) for yarn in yarns)}
    return sum(amount for line, amount in lines.items() if line not in material)


def all_lines(values: Mapping[str, Amount], yarns: Sequence[str], rule: MarginRule) -> dict[str, Amount]:
    """All lines and totals up to the landed cost, not rounded: `direct`, `cost`, `fob`, `landed` are totals."""
    lines = direct_lines(values, yarns)
    direct: Amount = sum(lines.values())
    overhead = values["overhead_share"] * conversion_base(lines, yarns)
    cost = direct + overhead
    fob = PRICE[rule](cost, margin=values["margin"], commission=values["finance_share"] + values["agent_share"])
    finance, agent = values["finance_share"] * fob, values["agent_share"] * fob
    lines |= {"direct": direct, "overhead": overhead, "cost": cost}
    lines |= {"finance": finance, "agent": agent, "margin": fob - cost - finance - agent, "fob": fob}
    return lines | landed_lines(values, fob)


def landed_lines(values: Mapping[str, Amount], fob: Amount) -> dict[str, Amount]:
    """From a FOB price to the buyer's door: (FOB + freight)·(1 + duty) + clearance, value added tax not included.

    >>> terms = {"freight_share": 0.04, "freight_per_piece": 0.35, "duty_share": 0.12, "clearance_per_piece": 0.40}
    >>> round(landed_lines(terms, 19.85)["landed"], 2)    # P-54
    23.91
    """
    freight = values["freight_share"] * fob + values["freight_per_piece"]
    duty = values["duty_share"] * (fob + freight)
    clearance = values["clearance_per_piece"]
    return {"freight": freight, "duty": duty, "clearance": clearance, "landed": fob + freight + duty + clearance}
