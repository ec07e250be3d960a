"""Sheet, page and document of styles at the far ends of the trade: slow machines, dear orders, odd fits and loops."""

import json
from typing import Any

import pytest

from loopwright.garment.set_in import ellipse_cap_height_cm
from loopwright.problems import Sign
from loopwright.report.files import study_json, study_page
from loopwright.report.sheet import sheet_of
from loopwright.study.study import StyleStudy, study_style
from loopwright.study.style import read_style

STYLE: dict[str, Any] = {
    "yarns": {"main": {"count": "2/30 Nm merino", "price_per_kg": 30}},
    "zones": {"body": {"structure": "plain"}, "hem": {"structure": "rib-2x1"}},
    "garment": {"sizes": ["M"]},
    "machine": {"gauge": 12},
    "order": {"pieces": 300},
}


def studied(**parts: Any) -> StyleStudy:
    study = study_style(read_style({**STYLE, **parts}))
    assert json.loads(study_json(study))["format"]
    assert study_page(study).endswith("</html>\n")
    return study


@pytest.mark.parametrize("speed_m_per_s", [0.01, 0.1, 5.0])
def test_strokes_are_drawn_for_the_slowest_and_the_fastest_carriage(speed_m_per_s):
    study = studied(machine={"gauge": 12, "speed_m_per_s": speed_m_per_s})
    assert "Knitting strokes, size M" in study_page(study)


@pytest.mark.parametrize("sample_cost", [0, 600, 1e6, 1e9])
def test_the_curve_of_one_piece_carries_any_cost_of_samples(sample_cost):
    study = studied(order={"pieces": 1}, rates={"sample_cost": sample_cost}, targets={"price": 100})
    if study.pricing is None:
        assert any(finding.sign is Sign.STOPS and "samples" in finding.where for finding in study.findings)
    else:
        assert "Price and quantity" in study_page(study)


def test_nothing_that_costs_nothing_stops_the_sheet():
    free = dict.fromkeys(
        ("machine_hour", "programming_rate", "sample_cost", "makeup_wage", "wash_per_piece", "press_wage", "check_wage",
         "trims", "packing", "freight_per_piece", "clearance_per_piece"), 0
    )  # fmt: skip
    study = studied(rates=free, yarns={"main": {"count": "2/30 Nm merino", "price_per_kg": 0}})
    assert study.pricing is not None
    assert study.pricing.sheet.landed.amount.amount == 0


@pytest.mark.parametrize("population", ["women", "men", "children"])
@pytest.mark.parametrize("fit", ["very close", "oversized"])
def test_any_fit_has_its_cap_line(population, fit):
    sizes = {"women": ["XS", "5XL"], "men": ["S", "2XL"], "children": ["98", "104"]}[population]
    studied(garment={"population": population, "sizes": sizes, "fit": fit})


def test_the_ellipse_method_has_no_height_for_a_sleeve_wider_than_its_ellipse():
    """P = 38 round is π·√2 · 8.55: no ellipse of that perimeter is 40/4 = 10 wide."""
    assert ellipse_cap_height_cm(armhole_round=38, upper_arm=40) is None
    assert ellipse_cap_height_cm(armhole_round=46, upper_arm=40) > 0


@pytest.mark.parametrize("loop_length_mm", [1.0, 2.5, 4.0, 12.0, 40.0])
def test_a_loop_far_from_its_yarn_is_studied_and_told(loop_length_mm):
    study = studied(zones={**STYLE["zones"], "body": {"structure": "plain", "loop_length_mm": loop_length_mm}})
    told = [finding for finding in study.findings if "jam" in finding.sentence]
    assert told
    if loop_length_mm < 4:
        assert all(finding.sign in (Sign.STOPS, Sign.DECIDE) for finding in told)
    if "body" not in study.fabrics:
        assert "stops it" in "".join(str(part) for part in sheet_of(study).lede.parts)


def test_a_very_small_and_a_very_large_order_differ_only_in_what_is_spent_once():
    few, many = studied(order={"pieces": 1}), studied(order={"pieces": 10_000_000})
    once, each = few.pricing.law, many.pricing.law
    assert once.variable == pytest.approx(each.variable)
    assert once.fixed == pytest.approx(each.fixed)
