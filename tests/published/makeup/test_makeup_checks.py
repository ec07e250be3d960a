"""Check values of make-up and inspection: P-49, P-58, P-59, P-61 and the dial pairing of production reference 6.

Tolerances: printed digits. P-58 and P-61 are readings of ISO 2859-1; P-59 is binomial arithmetic.
"""

import pytest

from loopwright.makeup.dial import dial_for_gauge, draw_ratio, points_per_cm
from loopwright.makeup.inspection import acceptance_probability, quality_at_acceptance, sampling_plan
from loopwright.makeup.minutes import makeup_minutes
from loopwright.makeup.seams import Seam

BLOCK_B = (
    Seam("shoulders", "front to back", "loop to loop", points=65, count=2),
    Seam("neckband", "neck", "loop to loop", points=314),
    Seam("armholes", "sleeve to body", "along a wale", length_cm=43.05, count=2),
    Seam("sides and sleeves", "side", "along a wale", length_cm=40.5 + 43, count=2),
)


def test_p49_block_b_is_linked_in_20_minutes_and_hand_finish_makes_26() -> None:
    sheet = makeup_minutes(BLOCK_B)
    linking, hand = sheet.group_minutes["linking"].value, sheet.group_minutes["hand finish"].value
    assert linking == pytest.approx(20.0, abs=0.1)
    assert linking + hand == pytest.approx(26, abs=0.1)


SEAM_MINUTES = [("shoulders", 2.9), ("neckband", 7.0)]  # production reference 6, printed to 0.1


@pytest.mark.parametrize(("name", "minutes"), SEAM_MINUTES)
def test_seams_of_block_b_take_the_minutes_of_the_worked_list(name: str, minutes: float) -> None:
    seam = next(seam for seam in BLOCK_B if seam.name == name)
    assert seam.minutes().value == pytest.approx(minutes, abs=0.05)


def test_armholes_sides_and_sleeves_of_block_b_take_10_1_minutes_together() -> None:
    run_on = [seam.minutes().value for seam in BLOCK_B if seam.method == "along a wale"]
    assert sum(run_on) == pytest.approx(10.1, abs=0.05)


PLANS = [  # id, lot, AQL, letter, n, accept, reject
    ("P-58", 1000, 2.5, "J", 80, 5, 6),
    ("P-58", 1000, 4.0, "J", 80, 7, 8),
    ("P-58", 500, 2.5, "H", 50, 3, 4),
    ("P-58", 500, 4.0, "H", 50, 5, 6),
    ("P-58", 150, 2.5, "F", 20, 1, 2),
    ("P-58", 150, 4.0, "F", 20, 2, 3),
    ("P-61", 100, 1.0, "F", 13, 0, 1),
    ("P-61", 100, 1.5, "F", 32, 1, 2),
]


@pytest.mark.parametrize(("check", "lot", "aql", "letter", "n", "accept", "reject"), PLANS)
def test_a_lot_is_sampled_by_the_standard_plan(
    check: str, lot: int, aql: float, letter: str, n: int, accept: int, reject: int
) -> None:
    plan = sampling_plan(lot, aql)
    assert (plan.letter, plan.sample_pieces, plan.accept, plan.reject) == (letter, n, accept, reject)


ACCEPTANCE = [(0.01, 0.9998, 5e-5), (0.025, 0.985, 5e-4), (0.04, 0.899, 5e-4), (0.05, 0.789, 5e-4), (0.10, 0.177, 5e-4)]


@pytest.mark.parametrize(("faulty", "passes", "tolerance"), ACCEPTANCE)
def test_p59_a_sample_of_80_with_5_allowed_passes_as_the_binomial_says(
    faulty: float, passes: float, tolerance: float
) -> None:
    assert acceptance_probability(80, 5, faulty) == pytest.approx(passes, abs=tolerance)


POINTS = [(5, 0.10, 0.113), (5, 0.95, 0.033), (7, 0.10, 0.143)]  # production reference 9.2, printed to 0.1 %


@pytest.mark.parametrize(("accept", "probability", "faulty"), POINTS)
def test_p59_the_ten_and_ninety_five_per_cent_points_of_a_sample_of_80(
    accept: int, probability: float, faulty: float
) -> None:
    assert quality_at_acceptance(80, accept, probability) == pytest.approx(faulty, abs=5e-4)


@pytest.mark.parametrize(("gauge", "dial"), [(3, 5), (5, 6), (7, 8), (12, 14), (14, 16)])
def test_each_knit_gauge_is_linked_on_its_usual_dial(gauge: float, dial: float) -> None:
    assert dial_for_gauge(gauge) == dial


def test_block_b_is_drawn_by_eighteen_per_cent_on_a_dial_of_five_and_a_half_points_per_cm() -> None:
    assert draw_ratio(wales_per_cm=6.5, dial_points_per_inch=14) == pytest.approx(1.18, abs=0.005)
    assert points_per_cm(14) == pytest.approx(5.5, abs=0.05)
