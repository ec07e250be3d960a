"""The linking dial and how far a panel is drawn on it."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from loopwright.makeup.dial import dial_for_gauge, draw_findings, draw_ratio
from loopwright.problems import Problem, Sign


@given(gauge=st.floats(1, 19.9))
def test_the_dial_is_always_finer_than_the_knitting(gauge: float) -> None:
    assert dial_for_gauge(gauge) > gauge


@given(wales=st.floats(1, 15), dial=st.sampled_from([5, 8, 12, 14, 16]))
def test_a_panel_is_drawn_in_proportion_to_its_wales(wales: float, dial: float) -> None:
    once = draw_ratio(wales_per_cm=wales, dial_points_per_inch=dial)
    assert draw_ratio(wales_per_cm=2 * wales, dial_points_per_inch=dial) == pytest.approx(2 * once)


def test_a_seam_shorter_than_the_fabric_is_said_to_pucker() -> None:
    (finding,) = draw_findings(wales_per_cm=5.0, dial_points_per_inch=14)
    assert finding.sign is Sign.KNOW
    assert "pucker" in finding.sentence
    assert "0.91" in finding.sentence
    assert "disputed" in finding.sentence


def test_a_panel_drawn_too_far_is_said_to_gape() -> None:
    (finding,) = draw_findings(wales_per_cm=6.5, dial_points_per_inch=10)
    assert "gape" in finding.sentence
    assert finding.tries


def test_block_b_on_its_usual_dial_needs_no_word() -> None:
    assert draw_findings(wales_per_cm=6.5, dial_points_per_inch=14) == ()


@pytest.mark.parametrize("gauge", [0, -5, 24, float("nan")])
def test_a_gauge_without_a_dial_is_refused_with_another_way_to_join(gauge: float) -> None:
    with pytest.raises(Problem) as caught:
        dial_for_gauge(gauge)
    assert caught.value.tries
