"""Seams: their minutes, their stitches, and what is refused."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from loopwright.figure import Basis
from loopwright.makeup.seams import Seam, method_minutes, methods, stitch_words
from loopwright.problems import Problem


@given(points=st.integers(1, 2000), count=st.integers(1, 6))
def test_twice_the_points_take_twice_the_minutes(points: int, count: int) -> None:
    once = Seam("neckband", "neck", "loop to loop", points=points, count=count).minutes()
    twice = Seam("neckband", "neck", "loop to loop", points=2 * points, count=count).minutes()
    assert twice.value == pytest.approx(2 * once.value)
    assert (twice.low, twice.high) == pytest.approx((2 * once.low, 2 * once.high))


def test_a_slow_and_a_fast_linker_bound_the_minutes_of_a_neckband() -> None:
    minutes = Seam("neckband", "neck", "loop to loop", points=314).minutes()
    assert (minutes.low, minutes.high) == pytest.approx((314 / 70, 314 / 30))  # 30 to 70 points a minute
    assert minutes.basis is Basis.COMMON_PRACTICE


def test_an_overlocked_metre_pays_its_pick_up_for_every_seam() -> None:
    one = Seam("side", "side", "overlock", length_cm=100).minutes().value
    two = Seam("side", "side", "overlock", length_cm=50, count=2).minutes().value
    assert one == pytest.approx(0.35 + 0.125)
    assert two == pytest.approx(0.35 + 2 * 0.125)


def test_a_seam_takes_the_usual_stitch_of_its_method_unless_it_names_one() -> None:
    assert Seam("side", "side", "overlock", length_cm=40).stitch == "514 four-thread overlock"
    assert Seam("side", "side", "overlock", length_cm=40, stitch_code="504").stitch == "504 three-thread overedge"


def test_every_method_has_one_rate_and_a_known_stitch() -> None:
    for name, row in methods().items():
        rates = [row.has(column) for column in ("points_per_min", "cm_per_min", "min_per_m")]
        assert sum(rates) == 1, name
        assert stitch_words(row.text("stitch_code"))
        assert method_minutes(name, amount=10, pick_ups=1).value > 0


def test_linking_loop_by_loop_without_points_is_refused_with_what_to_give() -> None:
    with pytest.raises(Problem) as caught:
        Seam("neckband", "neck", "loop to loop", length_cm=45)
    assert caught.value.where == "seam neckband"
    assert "points" in caught.value.what
    assert caught.value.tries


@pytest.mark.parametrize(
    "wrong",
    [
        {"method": "glue", "length_cm": 10},
        {"method": "overlock", "length_cm": -3.0},
        {"method": "overlock", "length_cm": float("nan")},
        {"method": "overlock", "length_cm": 10, "count": 0},
        {"method": "overlock", "length_cm": 10, "stitch_code": "999"},
    ],
)
def test_a_seam_that_cannot_be_made_is_refused(wrong: dict) -> None:
    with pytest.raises(Problem) as caught:
        Seam("side", "side", **wrong)
    assert caught.value.tries
