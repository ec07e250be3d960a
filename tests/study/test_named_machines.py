"""A style may name a generic machine: what it gives, what it cannot do, and where carriers of stripes should wait."""

from typing import Any

import pytest

from loopwright.machine.models import flat_model, flat_models
from loopwright.problems import Problem
from loopwright.study.carriers import parking_of, stripes_of
from loopwright.study.machines import held_courses, model_findings
from loopwright.study.study import StyleStudy, study_style
from loopwright.study.style import read_style

YARN = {"count": "2/30 Nm", "fibres": {"merino": 100}, "price_per_kg": 29.5}


def document(machine: dict[str, Any], **changes: Any) -> dict[str, Any]:
    return {"yarns": {"main": YARN}, "garment": {"sizes": ["M"]}, "machine": machine, **changes}


def study(machine: dict[str, Any], **changes: Any) -> StyleStudy:
    return study_style(read_style(document(machine, **changes)))


@pytest.mark.parametrize("name", flat_models())
def test_a_model_gives_gauge_bed_and_systems(name):
    machine, model = read_style(document({"model": name})).machine, flat_model(name)
    assert machine is not None
    assert (machine.gauge, machine.bed_in, machine.systems) == (model.gauge, model.bed_in, model.systems)
    assert machine.model_fields_set == {"model"}


def test_what_is_given_beside_a_model_stays():
    found = study({"model": "Compact  12", "gauge": 10})
    machine = found.style.machine
    assert machine is not None
    assert machine.gauge == 10
    assert machine.model == "compact 12"
    assert "machine.gauge" not in found.assumptions
    assert "compact 12" in found.assumptions["machine.bed_in"]
    assert "invented" in found.assumptions["machine.systems"]


def test_a_style_with_a_model_knits_as_with_the_models_own_numbers():
    by_model = study({"model": "long 12"})
    by_numbers = study({"gauge": 12, "bed_in": 84, "systems": 4})
    assert by_model.minutes is not None
    assert by_numbers.minutes is not None
    assert by_model.minutes.value == by_numbers.minutes.value


def test_a_model_that_nobody_lists_is_refused_with_what_is_near():
    with pytest.raises(Problem) as told:
        read_style(document({"model": "compct 12"}))
    assert told.value.where == "machine.model"
    assert "compact 12" in " ".join(told.value.tries)


def test_without_model_and_gauge_the_gauge_is_asked_for():
    with pytest.raises(Problem) as told:
        read_style(document({"bed_in": 50}))
    assert told.value.where == "machine.gauge"


def test_a_machine_that_does_not_hold_loops_down_is_told_of_the_shoulder():
    bare, holding = study({"model": "compact 12"}), study({"model": "long 12"})
    assert bare.base is not None
    asked = max(held_courses(panel) for panel in bare.base.plan.panels)
    told = [finding for finding in bare.findings if "short rows" in finding.where]
    most = flat_model("compact 12").most_held_courses
    assert asked > most
    assert any(f"over {most} courses while others knit; short rows of the back ask for {asked}" in each.sentence
               for each in told)  # fmt: skip
    assert holding.base is not None
    most = max(held_courses(panel) for panel in holding.base.plan.panels)
    told = [finding for finding in holding.findings if "short rows" in finding.where]
    assert bool(told) == (most > flat_model("long 12").most_held_courses)


def test_an_edge_that_narrows_sooner_than_the_machine_can_is_told_with_both_courses():
    found = study({"model": "compact 12"}, construction={"courses_between": 1, "fashioning": "line"})
    assert found.base is not None
    soonest = min(
        step.courses
        for panel in found.base.plan.panels
        for fashioning in panel.fashionings
        if not fashioning.widening
        for step in fashioning.steps
    )
    told = [each for each in model_findings(found.style, found.base.plan, found.fabrics) if "narrows" in each.sentence]
    assert bool(told) == (soonest < 2)
    for each in told:
        assert "after 2 courses" in each.sentence
        assert f"after {soonest}." in each.sentence


def test_more_carriers_than_the_machine_has_are_told():
    found = study({"model": "compact 12", "carriers": 40})
    assert any(each.where == "machine, carriers" and "16 on this machine" in each.sentence for each in found.findings)


def test_a_style_without_a_model_hears_nothing_of_models():
    found = study({"gauge": 12})
    assert not [each for each in found.findings if each.where.startswith("machine,")]


STRIPES = {"stripes": {"courses": ["F:K", "F:K", "F:K yarn:b", "F:K yarn:b"]}}


def striped(systems: int) -> StyleStudy:
    zones = {"body": {"structure": "stripes"}, "hem": {"structure": "2x1 rib"}}
    return study({"gauge": 12, "systems": systems}, structures=STRIPES, zones=zones)


def test_stripes_of_two_and_two_on_two_systems_start_from_opposite_sides():
    """Production reference 4.2: 2n + 1 traverses for n repeats from opposite sides, 4n from one side."""
    found = striped(2)
    assert found.base is not None
    assert stripes_of(found.fabrics["body"]) == (("a", 2), ("b", 2))
    for parked in parking_of(found, found.base).values():
        assert parked.traverses == 2 * parked.repeats + 1
        assert parked.from_one_side == 4 * parked.repeats
    assert set(parking_of(found, found.base)) == {"body", "sleeve"}


def test_stripes_that_lose_nothing_and_plain_cloth_have_no_word_on_parking():
    found = striped(1)
    assert found.base is not None
    assert parking_of(found, found.base) == {}
    plain = study({"gauge": 12})
    assert plain.base is not None
    assert parking_of(plain, plain.base) == {}
