"""The generic machines: what they hold, how they are found, what they refuse."""

import pytest

from loopwright.figure import Basis
from loopwright.machine.circular import rim_speed_m_per_s
from loopwright.machine.hosiery import Zone
from loopwright.machine.models import (
    circular_models,
    cylinder,
    cylinders,
    flat_model,
    flat_models,
    flat_models_of_gauge,
)
from loopwright.problems import Problem

every_flat = pytest.mark.parametrize("model", flat_models().values(), ids=lambda model: model.name)


def test_every_usual_gauge_has_a_v_bed():
    assert {model.gauge for model in flat_models().values()} == {3, 5, 7, 10, 12, 14, 16, 18}


@every_flat
def test_beds_are_of_the_usual_widths_and_say_that_they_are_invented(model):
    assert 45 <= model.bed_in <= 50 or 72 <= model.bed_in <= 84
    assert "working assumption" in model.source


@every_flat
def test_every_v_bed_can_be_timed(model):
    machine = model.v_bed()
    assert machine.needles == model.most_needles == int(model.bed_in * model.gauge)
    assert machine.systems == model.systems
    assert model.fewest_needles < model.most_needles
    assert model.intarsia_carriers <= model.carriers


@every_flat
def test_holding_loops_down_never_narrows_what_a_machine_can_do(model):
    bare = [other for other in flat_models().values() if not other.holds_down]
    if model.holds_down:
        assert model.most_held_courses > max(other.most_held_courses for other in bare)
        assert model.least_courses_between_narrowings <= min(other.least_courses_between_narrowings for other in bare)
    else:
        assert not model.knits_complete_garments


def test_own_settings_take_the_place_of_the_usual_ones():
    assert flat_model("compact 12").v_bed({"speed_plain": 1.2}).speed_plain.value == 1.2


def test_a_machine_is_found_whatever_the_case_and_by_its_gauge():
    assert flat_model("  Long  12").name == "long 12"
    beds = [model.bed_in for model in flat_models_of_gauge(12)]
    assert beds == sorted(beds)
    assert len(beds) > 1


@pytest.mark.parametrize("find", [flat_model, cylinder])
def test_an_unknown_name_is_answered_with_near_ones(find):
    with pytest.raises(Problem) as caught:
        find("compact twelve")
    assert caught.value.tries


def test_an_unlisted_gauge_is_answered_with_the_nearest():
    with pytest.raises(Problem, match="12 gauge"):
        flat_models_of_gauge(12.4)


@pytest.mark.parametrize(
    ("asked", "numbers"),
    [
        (lambda model: model.check_needles(700), ("700", "600")),
        (lambda model: model.check_needles(8), ("8", "24")),
        (lambda model: model.check_carriers(17), ("17", "16")),
        (lambda model: model.check_intarsia(3), ("3", "0")),
    ],
)
def test_what_a_machine_cannot_take_is_refused_with_both_numbers(asked, numbers):
    with pytest.raises(Problem) as caught:
        asked(flat_model("compact 12"))
    assert all(number in caught.value.sentence() for number in numbers)
    assert caught.value.tries


def test_what_a_machine_can_take_passes():
    model = flat_model("long 12")
    model.check_needles(318)
    model.check_carriers(6)
    model.check_intarsia(9)


@pytest.mark.parametrize("name", circular_models())
def test_every_circular_machine_turns_within_the_usual_speed_of_its_kind(name):
    machine = circular_models()[name]
    assert machine.speed_findings() == ()
    assert machine.rpm.basis is Basis.ASSUMED
    assert rim_speed_m_per_s(diameter_in=machine.diameter_in, rpm=machine.rpm.value) > 0.8


def test_cylinders_are_fine_for_tights_and_coarser_for_socks():
    gauges = {name: each.gauge for name, each in cylinders().items()}
    assert gauges["tights 400"] == max(gauges.values())
    assert gauges["sock 108"] == min(gauges.values())
    assert gauges["tights 400"] == pytest.approx(31.8, abs=0.1)


@pytest.mark.parametrize("zone", [Zone("leg", 2300, 8, 900), Zone("leg", 2300, 4, 1500)])
def test_a_cylinder_refuses_more_feeds_or_turns_than_it_has(zone):
    with pytest.raises(Problem):
        cylinder("tights 400").check([zone])
    cylinder("tights 400").check([Zone("leg", 2300, 4, 900)])
