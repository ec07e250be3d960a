"""Cloth for cut-and-sew: what is lost when blanks are cut, and the grams of cloth that a garment takes.

In: pieces with their outlines (or a T-shirt's measures), the mass of the cloth in g/m², efficiency of the marker and
loss at the ends as shares. Out: shares and grams as figures with spread.
Main assumption: losses are counted on the cloth put in. Not covered: the laying itself (`marker`); the whole chain of
losses from yarn to garment (`cost.yarn_purchase`).
Sources: common_practice, tshirt_consumption; production reference 5.1.
"""

from __future__ import annotations

from collections.abc import Sequence

from loopwright.figure import Figure, Term, exact, power_law
from loopwright.makeup.marker import Piece, marker_row, marker_value
from loopwright.problems import Problem

CM2_PER_M2 = 10_000


def usual_efficiency() -> Figure:
    """Efficiency of a marker of knit tops, for when there are no outlines yet.

    >>> usual_efficiency().low, usual_efficiency().high    # production reference 5.1
    (0.78, 0.88)
    """
    return marker_row("usual_efficiency").figure("marker efficiency", "value", "", words="usual for knit tops")


def blank_loss(pieces: Sequence[Piece], *, seam_allowance_cm: float) -> Figure:
    """Share of the fabric lost when pieces are cut from knitted blanks, each as wide and long as its piece at most.

    >>> triangle = Piece("gusset", ((0, 0), (10, 0), (0, 10)))
    >>> blank_loss([triangle], seam_allowance_cm=0).value    # half of the square round it
    0.5
    """
    cut = [(piece.cut(seam_allowance_cm), piece.count) for piece in pieces]
    used = sum(count * shape.area for shape, count in cut)
    knitted = sum(count * shape.envelope.area for shape, count in cut)
    words = "area of the blanks that is no piece, each blank the rectangle round its piece with seam allowance"
    return exact(
        "loss in cutting blanks", 1 - used / knitted, "", words=words, formula="1 − Σ areas / Σ (width·length)"
    )


def usual_end_loss() -> Figure:
    """Share of cloth lost at its ends and to its defects."""
    return marker_row("end_loss").figure("ends and defects", "value", "", words="share of the cloth put in")


def cloth_grams(
    cut_area_cm2: float, *, mass_g_per_m2: Figure, efficiency: Figure, end_loss: Figure | None = None
) -> Figure:
    """Grams of cloth put in for pieces of an area: A·M / (efficiency·(1 − end loss)).

    Raises:
        Problem: an efficiency or a loss that leaves nothing.
    """
    ends = end_loss or usual_end_loss()
    if not (0 < efficiency.value <= 1 and 0 <= ends.value < 1):
        raise Problem(
            "cloth",
            f"efficiency {efficiency.value:g} and end loss {ends.value:g}.",
            limit="efficiency above 0 to 1, loss from 0 to below 1",
            tries=["give shares of one: 83 % is 0.83"],
        )
    value = cut_area_cm2 / CM2_PER_M2 * mass_g_per_m2.value / (efficiency.value * (1 - ends.value))
    terms = [Term("M", mass_g_per_m2), Term("e", efficiency, -1), Term("w", ends, ends.value / (1 - ends.value))]
    words = "area of the pieces by the mass of the cloth, over what the marker uses and what ends and defects leave"
    return power_law("cloth put in", value, "g", terms, words=words, formula="A·M / (e·(1−w))")


def tshirt_cloth_grams(
    *, body_length_cm: float, sleeve_length_cm: float, half_chest_cm: float, mass_g_per_m2: Figure, extra: Figure
) -> Figure:
    """Grams of cloth ordered for one T-shirt before there is a marker: (L + S + 12)·(B + 6)·2·M·(1 + w).

    The rule sees a rectangle of body and sleeve length by half chest, twice, with seams and hems in the 12 and 6 cm;
    `extra` for cutting and sewing is added, not divided, as its source does.

    >>> from loopwright.figure import entered
    >>> shirt = tshirt_cloth_grams(
    ...     body_length_cm=79, sleeve_length_cm=43, half_chest_cm=61,
    ...     mass_g_per_m2=entered("M", 160, "g/m²"), extra=entered("w", 0.10, ""),
    ... )
    >>> round(12 * shirt.value / 1000, 2)    # P-48, kilograms a dozen
    3.79
    """
    length = body_length_cm + sleeve_length_cm + marker_value("tshirt_length_allowance")
    width = half_chest_cm + marker_value("tshirt_width_allowance")
    area_m2 = 2 * length * width / CM2_PER_M2
    return power_law(
        "cloth put in",
        area_m2 * mass_g_per_m2.value * (1 + extra.value),
        "g",
        [Term("M", mass_g_per_m2), Term("w", extra, extra.value / (1 + extra.value))],
        words="rule for a T-shirt: two rectangles of body and sleeve length by half chest, allowances and extra added",
        formula="(L + S + 12)·(B + 6)·2·M·(1+w)",
        source=marker_row("tshirt_length_allowance").source,
        model_spread=marker_value("tshirt_rule_spread"),
    )
