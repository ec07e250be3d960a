"""Remedies for curl and lean, the edge that holds a roll, and what the simulated cloth says: only what it may claim."""

import math
from dataclasses import replace

import pytest

from loopwright.fabric.tightness import usual_loop_length
from loopwright.figure import entered
from loopwright.mechanics.cloth import simulated_cloth, washed
from loopwright.mechanics.edges import curl_per_mm, holding_edge, is_two_layers
from loopwright.mechanics.findings import cloth_findings, unsolved_finding
from loopwright.mechanics.remedies import mass_g_per_m2, ranked, remedies
from loopwright.problems import Sign
from loopwright.structure.library import find_structure, library, structure_from
from loopwright.yarn.yarn import yarn_from_words

YARN = yarn_from_words("2/48 Nm merino")


def cloth_of(name="plain", *, twist=None, share=None):
    structure, finish = find_structure(name), washed()
    if twist is not None:
        finish = replace(finish, residual_turns_per_m=entered("residual twist", twist, "turns/m"))
    if share is not None:
        finish = replace(finish, share=entered("set", share, ""))
    return simulated_cloth(structure, YARN, usual_loop_length(structure, YARN), finish)


def by_key(cloth):
    return {each.key: each for each in remedies(cloth)}


def test_a_slacker_loop_curls_less_and_a_tighter_one_more():
    found = by_key(cloth_of())
    assert found["loop-slacker"].curl_left < 1 < found["loop-tighter"].curl_left


def test_a_shorter_loop_makes_cloth_narrower_heavier_and_slower():
    shorter = by_key(cloth_of())["loop-tighter"]
    assert shorter.width_percent < 0 < shorter.mass_percent
    assert shorter.minutes_percent > 0


def test_loops_change_by_whole_steps_of_the_machine():
    cloth = cloth_of()
    found = {each.key: each for each in remedies(cloth, step_mm=0.08)}
    changed = found["loop-tighter"].cloth.geometry.loop_length_mm.value - cloth.geometry.loop_length_mm.value
    assert changed / 0.08 == pytest.approx(round(changed / 0.08))
    assert changed < 0


def test_what_a_remedy_changes_follows_from_the_cloths_before_and_after():
    cloth = cloth_of()
    for remedy in remedies(cloth):
        if remedy.cloth is not None:
            assert remedy.mass_percent == pytest.approx(
                100 * (mass_g_per_m2(remedy.cloth).value / mass_g_per_m2(cloth).value - 1)
            )


def test_more_set_rolls_slacker_and_is_not_offered_twice():
    cloth = cloth_of(share=0.8)
    more = by_key(cloth)["more-set"]
    assert more.cloth.side_radius.value > cloth.side_radius.value
    assert "more-set" not in by_key(cloth_of(share=0.95))


@pytest.mark.parametrize("key", ["balanced-fold", "alternate-twist"])
def test_net_twist_of_nothing_takes_the_lean_away_and_leaves_the_curl(key):
    cloth = cloth_of(twist=60.0)
    remedy = by_key(cloth)[key]
    assert remedy.lean_deg.value == pytest.approx(0.0, abs=1e-9)
    assert remedy.lean_left == 0
    assert remedy.curl_left == pytest.approx(1.0)


def test_s_and_z_in_turn_need_two_yarns():
    assert "two yarns" in by_key(cloth_of(twist=60.0))["alternate-twist"].cost


def test_lean_is_not_told_while_the_twist_is_unknown():
    found = by_key(cloth_of())
    assert found["loop-tighter"].lean_left is None
    assert found["balanced-fold"].lean_deg is None


@pytest.mark.parametrize("aim", ["curl", "lean"])
def test_the_most_effective_remedy_stands_first(aim):
    order = ranked(remedies(cloth_of(twist=60.0)), aim)
    left = [each.curl_left if aim == "curl" else each.lean_left for each in order]
    assert len(order) >= 3
    assert [round(each, 1) for each in left] == sorted(round(each, 1) for each in left)
    assert max(left) < 1


def test_related_structures_are_one_cloth_of_one_yarn_and_hardly_roll():
    cloth = cloth_of()
    related = [each for each in remedies(cloth) if each.key.startswith("structure-")]
    assert related
    for each in related:
        assert each.curl_left <= 1 / 3 + 1e-9
        assert len(each.cloth.structure.anatomy.yarns) == 1
        assert not is_two_layers(each.cloth.structure)


def test_two_layers_are_tubular_ones():
    assert [key for key, structure in library().items() if is_two_layers(structure)] == ["tubular"]


@pytest.mark.parametrize("name", ["rib-1x1", "purl-1x1"])
def test_balanced_cloth_needs_no_remedy_and_no_edge(name):
    cloth = cloth_of(name, twist=60.0)
    assert holding_edge(cloth) is None
    assert ranked(remedies(cloth), "curl") == ()
    assert cloth_findings(cloth) == ()


def test_the_edge_that_holds_plain_lies_in_its_courses_and_spans_half_a_turn_of_the_roll():
    cloth = cloth_of()
    edge = holding_edge(cloth)
    assert edge.cloth.geometry.courses_per_cm.value == pytest.approx(cloth.geometry.courses_per_cm.value, rel=0.28)
    assert edge.cloth.structure.anatomy.passes_per_course == cloth.structure.anatomy.passes_per_course
    assert curl_per_mm(edge.cloth) <= curl_per_mm(cloth) / 3
    half_turn_mm = math.pi * cloth.side_radius.high
    spacing_mm = 10 / edge.cloth.geometry.wales_per_cm.value
    assert edge.wales.value - 1 < half_turn_mm / spacing_mm <= edge.wales.value
    assert "working rule" in edge.wales.why.words


@pytest.mark.parametrize("name", sorted(library()))
def test_no_edge_is_as_wide_as_a_panel(name):
    cloth = cloth_of(name)
    edge = holding_edge(cloth) if cloth else None
    assert edge is None or 2 <= edge.wales.value <= 40


def test_sides_of_plain_roll_to_the_back_and_those_of_its_reverse_to_the_face():
    face, back = (cloth_findings(cloth_of(name))[0].sentence for name in ("plain", "reverse-plain"))
    assert face.startswith("Side edges will roll to the back, radius ")
    assert back.startswith("Side edges will roll to the face, radius ")
    assert "edge of" in face


def test_no_radius_is_promised_of_cloth_with_tucks():
    told = cloth_findings(cloth_of("half-cardigan"))
    roll = next(each for each in told if each.sentence.startswith("Side edges"))
    assert "mm" not in roll.sentence
    assert "indicative" in roll.sentence


@pytest.mark.parametrize(("twist", "side"), [(60.0, "right"), (-60.0, "left")])
def test_a_z_lively_yarn_leans_plain_to_the_right(twist, side):
    lean = next(each for each in cloth_findings(cloth_of(twist=twist)) if "leans" in each.sentence)
    assert f"to the {side}" in lean.sentence
    assert lean.sign is Sign.DECIDE
    assert lean.tries


def test_a_little_twist_is_only_to_know():
    lean = next(each for each in cloth_findings(cloth_of(twist=3.0)) if "leans" in each.sentence)
    assert lean.sign is Sign.KNOW


@pytest.mark.parametrize("name", sorted(library()))
def test_no_finding_claims_what_the_model_cannot_know(name):
    cloth = cloth_of(name, twist=60.0)
    told = cloth_findings(cloth) if cloth else (unsolved_finding(library()[name], 17.0),)
    for finding in told:
        words = f"{finding.sentence} {finding.consequence} {' '.join(finding.tries)}".casefold()
        assert not {"recover", "bagging", "wins", "hysteresis"} & set(words.replace(",", " ").replace(".", " ").split())


def test_loops_past_the_atlas_are_told_with_its_reach():
    said = unsolved_finding(find_structure("plain"), 31.0).sentence
    assert "31.0 yarn diameters" in said
    assert "12 to 26" in said


def test_a_structure_that_was_never_solved_says_so():
    own = structure_from("own", {"name": "čipka", "courses": ["F:KKKTKKMKK", "F:KKKKKKKKK"]})
    assert unsolved_finding(own, 17.0).sentence.startswith("Čipka has not been simulated yet")


def test_remedies_as_json_carry_their_unit_in_every_number():
    for remedy in remedies(cloth_of(twist=60.0)):
        for key, value in remedy.as_dict().items():
            if isinstance(value, float):
                assert key.endswith(("_percent", "_share"))
