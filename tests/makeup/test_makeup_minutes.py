"""Make-up minutes: defaults, own minutes, counts, and how their spread adds up."""

import json
import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from loopwright.figure import Basis
from loopwright.makeup.minutes import makeup_minutes
from loopwright.makeup.operations import GROUPS, operations, order_of_work
from loopwright.makeup.seams import Seam
from loopwright.problems import Problem

SHOULDERS = Seam("shoulders", "front to back", "loop to loop", points=65, count=2)
NECK = Seam("neckband", "neck", "loop to loop", points=314)
SIDES = Seam("sides", "side", "along a wale", length_cm=40.5, count=2)
SEAMS = (SHOULDERS, NECK, SIDES)


def test_seams_that_nobody_knows_yet_take_the_usual_linking_minutes() -> None:
    linking = makeup_minutes(None).group_minutes["linking"]
    assert (linking.value, linking.low, linking.high) == (20, 12, 35)


def test_a_garment_without_seams_has_no_linking() -> None:
    assert makeup_minutes(()).group_minutes["linking"].high == 0


def test_groups_add_up_to_the_whole_make_up() -> None:
    sheet = makeup_minutes(SEAMS)
    assert tuple(sheet.group_minutes) == GROUPS
    assert sum(group.value for group in sheet.group_minutes.values()) == pytest.approx(sheet.total.value)
    parts = sum(each.minutes.value for each in (*sheet.seams, *sheet.operations))
    assert parts == pytest.approx(sheet.total.value)


def test_a_slow_linker_is_slow_in_every_seam_so_their_spread_does_not_average_out() -> None:
    together = makeup_minutes((SHOULDERS, NECK)).group_minutes["linking"]
    assert (together.low, together.high) == pytest.approx((444 / 70, 444 / 30))


def test_different_methods_of_joining_average_out_a_little() -> None:
    linking = makeup_minutes(SEAMS).group_minutes["linking"]
    loop, wale = 444 / 45, 81 / 25
    assert linking.high - linking.value == pytest.approx(math.hypot(444 / 30 - loop, 81 / 15 - wale))


def test_timed_minutes_replace_a_default_and_count_as_measured() -> None:
    sheet = makeup_minutes(SEAMS, {"hand_finish": 9.5}, timed=["hand_finish"])
    hand = sheet.group_minutes["hand finish"]
    assert (hand.value, hand.basis) == (9.5, Basis.MEASURED)
    assert makeup_minutes(SEAMS, {"hand_finish": 9.5}).group_minutes["hand finish"].basis is Basis.ENTERED


def test_own_minutes_of_one_seam_leave_the_others_alone() -> None:
    usual, own = makeup_minutes(SEAMS), makeup_minutes(SEAMS, {"neckband": 5.0})
    saved = 314 / 45 - 5.0
    assert own.total.value == pytest.approx(usual.total.value - saved)


def test_own_minutes_of_linking_replace_all_seams() -> None:
    assert makeup_minutes(SEAMS, {"linking": 18.0}).group_minutes["linking"].value == 18
    assert makeup_minutes(None, {"linking": 18.0}).group_minutes["linking"].value == 18
    assert makeup_minutes((), {"linking": 2.0}).group_minutes["linking"].value == 2


def test_six_buttons_with_their_holes_and_a_zip_are_counted() -> None:
    plain = makeup_minutes(SEAMS).total.value
    assert makeup_minutes(SEAMS, counts={"button": 6, "buttonhole": 6}).total.value == pytest.approx(
        plain + 6 * 0.35 + 6 * 0.5
    )
    assert makeup_minutes(SEAMS, counts={"zip": 1}).total.value == pytest.approx(plain + 5)
    assert makeup_minutes(SEAMS, {"zip": 4.5}).total.value == pytest.approx(plain + 4.5)


@given(minutes=st.floats(0, 200), count=st.integers(0, 20))
def test_own_minutes_of_a_button_count_for_every_button(minutes: float, count: int) -> None:
    hand = makeup_minutes(SEAMS, {"button": minutes, "hand_finish": 0.0}, counts={"button": count})
    assert hand.group_minutes["hand finish"].value == pytest.approx(minutes * count)


def test_ranges_of_practice_hold_their_defaults() -> None:
    for operation in operations().values():
        assert operation.minutes.low <= operation.minutes.value <= operation.minutes.high
        assert operation.group in GROUPS


def test_linking_comes_after_panel_inspection_and_packing_comes_last() -> None:
    steps = order_of_work()
    assert steps.index("panel inspection") < steps.index("linking") < steps.index("washing") < steps.index("pressing")
    assert steps[-1] == "packing"


@pytest.mark.parametrize(
    ("own", "timed", "counts"),
    [
        ({"glueing": 3.0}, (), {}),
        ({"hand_finish": -1.0}, (), {}),
        ({"hand_finish": float("nan")}, (), {}),
        ({"hand_finish": 2000.0}, (), {}),
        ({}, ("glueing",), {}),
        ({}, (), {"button": -2}),
        ({}, (), {"glue": 1}),
    ],
)
def test_minutes_that_cannot_be_are_refused_with_what_to_try(own: dict, timed: tuple, counts: dict) -> None:
    with pytest.raises(Problem) as caught:
        makeup_minutes(SEAMS, own, timed=timed, counts=counts)
    assert caught.value.tries


def test_two_seams_of_one_name_are_refused() -> None:
    with pytest.raises(Problem, match="neckband"):
        makeup_minutes((NECK, NECK))


def test_the_sheet_can_be_written_as_json() -> None:
    document = json.loads(json.dumps(makeup_minutes(SEAMS, {"zip": 5.0}).as_dict()))
    assert document["groups"]["linking"]["unit"] == "min"
    assert document["seams"][0]["stitch"].startswith("101")
