"""Fabric to buy for cut and sewn garments: from the areas of the pieces, or by the trade's T-shirt rule.

In: areas in cm² or three measures in cm, mass per area in g/m². Out: kilograms of fabric for a garment or an order.
Main assumption: usual marker efficiency and losses unless the maker's own are given; the rule is for ordering, before a
marker is laid.
Not covered: yarn that went into the fabric (`yarn_purchase`, losses of circular knitting).
Sources: common_practice, tshirt_consumption; production reference 5.1.
"""

from __future__ import annotations

from loopwright.cost.propagate import derived
from loopwright.figure import Figure, Term
from loopwright.problems import Problem
from loopwright.sources.table import Row, table

CM2_PER_M2 = 10_000
G_PER_KG = 1000


def usual_of_marker(item: str) -> Figure:
    """Usual `marker_efficiency` or `end_loss`, a part of one."""
    row = _row(item)
    return row.figure(row.text("words"), "value", "", words="usual share; your own marker replaces it")


def marker_fabric_kg(*, area_cm2: float, mass_g_per_m2: float, efficiency: float, end_loss: float) -> float:
    """Fabric for a garment: area · mass per area / (marker efficiency · (1 − end and defect loss))."""
    return area_cm2 / CM2_PER_M2 * mass_g_per_m2 / G_PER_KG / (efficiency * (1 - end_loss))


def fabric_issued(
    area_cm2: float, mass: Figure, efficiency: Figure | None = None, end_loss: Figure | None = None
) -> Figure:
    """Kilograms of fabric issued for a garment whose pieces have so much area together, with the spread.

    Args:
        area_cm2: area of all pieces of the garment, seam allowance included.
        mass: mass per area of the fabric in g/m².
        efficiency: share of the marker that is garment; the usual one when left out.
        end_loss: share lost at ends and defects; the usual one when left out.

    Raises:
        Problem: a share that leaves no garment, or no area.
    """
    efficiency = efficiency or usual_of_marker("marker_efficiency")
    end_loss = end_loss or usual_of_marker("end_loss")
    if not (area_cm2 > 0 and 0 < efficiency.value <= 1 and 0 <= end_loss.value < 1):
        raise Problem(
            "fabric",
            f"{area_cm2:g} cm² of pieces, {efficiency.value:.0%} of the marker used, {end_loss.value:.0%} lost.",
            limit="more than 0 cm², more than 0% used, less than 100% lost",
            tries=["give shares as parts of one: 83 % is 0.83"],
        )
    kg = marker_fabric_kg(
        area_cm2=area_cm2, mass_g_per_m2=mass.value, efficiency=efficiency.value, end_loss=end_loss.value
    )
    terms = [
        Term("g/m²", mass, kg / mass.value),
        Term("e", efficiency, -kg / efficiency.value),
        Term("w", end_loss, kg / (1 - end_loss.value)),
    ]
    words = "area of the pieces times mass per area, over what marker and losses leave"
    return derived("fabric issued", kg, "kg", terms, words=words, formula="A·M / (e·(1−w))")


def tshirt_rule_kg(
    *, body_length_cm: float, sleeve_length_cm: float, half_chest_cm: float, mass_g_per_m2: float, pieces: int
) -> float:
    """Fabric for T-shirts by the trade's rule, without waste: (body + sleeve + 12)·(half chest + 6)·2·g/m² a piece.

    >>> from loopwright.cost.yarn_purchase import mass_with_waste_added
    >>> dozen = {"body_length_cm": 79, "sleeve_length_cm": 43, "half_chest_cm": 61, "mass_g_per_m2": 160, "pieces": 12}
    >>> round(tshirt_rule_kg(**dozen), 3), round(mass_with_waste_added(tshirt_rule_kg(**dozen), 0.10), 2)    # P-48
    (3.448, 3.79)
    """
    length_cm = body_length_cm + sleeve_length_cm + _row("length_allowance")["value"]
    width_cm = half_chest_cm + _row("width_allowance")["value"]
    return length_cm * width_cm * 2 / CM2_PER_M2 * mass_g_per_m2 / G_PER_KG * pieces


def _row(item: str) -> Row:
    return table(__package__, "cut_and_sew").by("item")[item]
