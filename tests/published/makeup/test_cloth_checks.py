"""Cloth of a cut piece against P-48 (production reference 5.1 and 11).

Source: tshirt_consumption. It prints 3.795 kg a dozen and 3 162.5 kg an order, from a rounded step; tolerance 0.1 %.
"""

import pytest

from loopwright.figure import entered
from loopwright.makeup.cutting import tshirt_cloth_grams


def grams(extra: float) -> float:
    return tshirt_cloth_grams(
        body_length_cm=79,
        sleeve_length_cm=43,
        half_chest_cm=61,
        mass_g_per_m2=entered("mass", 160, "g/m²"),
        extra=entered("extra", extra, ""),
    ).value


@pytest.mark.parametrize(("extra", "kg_per_dozen"), [(0.0, 3.448), (0.10, 3.795)])
def test_cloth_of_a_dozen_t_shirts_p48(extra: float, kg_per_dozen: float) -> None:
    assert 12 * grams(extra) / 1000 == pytest.approx(kg_per_dozen, rel=0.001)


def test_cloth_of_an_order_p48() -> None:
    assert 10_000 * grams(0.10) / 1000 == pytest.approx(3162.5, rel=0.001)
