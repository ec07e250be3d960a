"""Which swatch to knit next: the order, the reasons, and the promised fall of the spread against simulated knitting."""

import math
import tomllib
from pathlib import Path

import numpy as np
import pytest

from loopwright.figure import NINE_IN_TEN_SD
from loopwright.problems import Problem
from loopwright.study.goals import goals_of
from loopwright.study.next_swatch import Advice, NextSwatch, hours_of, next_swatches, planning_drawer
from loopwright.study.study import StyleStudy, study_style
from loopwright.study.style import read_style
from loopwright.swatch.learning.drawer import Drawer, Wanted, learnt
from loopwright.swatch.learning.scale import from_scale, slope
from loopwright.swatch.observed import Observed, Quantity

EXAMPLE = Path(__file__).parents[2] / "examples" / "attendant-pullover.toml"


@pytest.fixture(scope="module")
def study() -> StyleStudy:
    document = tomllib.loads(EXAMPLE.read_text("utf-8"))
    document["garment"]["sizes"], document["garment"]["hand_set_cm"] = ["M"], {}
    document["order"]["size_mix"] = {"M": 100}
    return study_style(read_style(document))


@pytest.fixture(scope="module")
def advice(study) -> dict[str, Advice]:
    return {goal: next_swatches(study, goal) for goal in ("price", "lean", "width")}


def test_the_best_hour_comes_first_and_no_swatch_makes_anything_less_sure(advice):
    for each in advice.values():
        gains = [swatch.gain_per_hour for swatch in each.swatches]
        assert gains == sorted(gains, reverse=True)
        assert min(swatch.gain for swatch in each.swatches) > -1e-12


def test_for_the_width_a_washed_swatch_of_the_body_comes_first(advice):
    best = advice["width"].swatches[0]
    assert "body" in best.candidate.zones
    assert best.candidate.is_washed
    assert best.after < 0.7 * best.before
    assert "takes the spread of the half chest after washing" in best.reason


def test_more_readings_and_a_wash_take_longer_and_tell_more(advice):
    for each in advice.values():
        by_plan = {(s.candidate.cloth, s.candidate.readings): s for s in each.swatches}
        for (cloth, readings), swatch in by_plan.items():
            if readings == 5:
                more = by_plan[cloth, 10]
                assert more.after <= swatch.after + 1e-12
                assert more.candidate.hours > swatch.candidate.hours
    assert hours_of(5, is_washed=True) > hours_of(5, is_washed=False) + 0.9


def test_the_price_is_as_unsure_as_the_study_prints_it(study):
    """With the masses as sure as the study has them, their part and the rest add up to the spread on the sheet.

    The sheet says which part of the variance the kilograms carry; what the masses do not carry of it are losses.
    """
    goal = goals_of(study, learnt([]))["price"]
    masses = [study.fabrics[zone].mass for zone in goal.zones]
    printed = np.diag([(math.log(mass.high / mass.low) / (2 * NINE_IN_TEN_SD)) ** 2 for mass in masses])
    assert goal.spread(printed) == pytest.approx(study.pricing.sheet["fob"].figure.spread, rel=1e-6)
    carried = sum(each.share for each in study.pricing.spread.fob.shares if each.key.startswith("kg "))
    assert 0.5 * carried < sum(goal.shares(printed).values()) < carried


def test_the_risk_of_a_lean_is_that_of_either_side(advice):
    goal, spread = advice["lean"].goal, advice["lean"].spread
    draws = np.random.default_rng(3).normal(goal.value, spread / NINE_IN_TEN_SD, 200_000)
    assert advice["lean"].risk == pytest.approx(np.mean(np.abs(draws) > goal.limit), abs=0.002)


def test_without_being_told_it_knits_for_what_the_cloth_leaves_least_known(study):
    drawer = planning_drawer(study)
    unsure = {key: goal.unsure(drawer) for key, goal in goals_of(study, drawer).items()}
    assert next_swatches(study).goal.key == max(unsure, key=unsure.get)


def test_nothing_can_be_knitted_for_a_thing_that_no_swatch_tells(study):
    with pytest.raises(Problem, match="price, lean, width"):
        next_swatches(study, "colour")


@pytest.mark.parametrize("goal", ["price", "width"])
def test_knitting_the_first_swatch_makes_it_as_much_surer_as_was_promised(study, advice, goal):
    """Simulated: the swatch is knitted 40 times as the drawer believes cloth to be, and learnt; mean variance left.

    Promised in closed form; the size of departures is learnt anew each time, which no closed form knows: 12 %.
    """
    best, rng = advice[goal].swatches[0], np.random.default_rng(17)
    drawer, aim = planning_drawer(study), advice[goal].goal
    planned = best.candidate.planned
    joint = drawer.joint([Wanted(each.cloth, each.quantity) for each in planned])
    spread = joint.covariance + np.diag([each.sd**2 for each in planned])
    left = [
        aim.spread_of(learnt((*drawer.observations, *_read(best, values)))) ** 2
        for values in rng.multivariate_normal(joint.mean, spread, size=40)
    ]
    fell = best.before**2 - np.mean(left)
    error = np.std(left) / math.sqrt(len(left))
    assert fell == pytest.approx(best.before**2 - best.after**2, abs=2.5 * error + 0.12 * best.after**2)


def _read(swatch: NextSwatch, values: np.ndarray) -> list[Observed]:
    told = []
    for planned, scaled in zip(swatch.candidate.planned, values, strict=True):
        cloth, quantity = planned.cloth, planned.quantity
        value = from_scale(quantity, float(scaled))
        error = planned.sd * slope(quantity, value) if quantity is not Quantity.LEAN else planned.sd
        told.append(
            Observed("knitted", cloth.structure, cloth.yarn, cloth.loop_length_mm, cloth.state, quantity, value, error)
        )
    return told


def test_what_was_knitted_is_not_asked_for_again(study):
    """After the best swatch for the width is measured, the same swatch is worth less than half of what it was."""
    first = next_swatches(study, "width")
    best = first.swatches[0]
    drawer: Drawer = planning_drawer(study)
    means = drawer.joint([Wanted(each.cloth, each.quantity) for each in best.candidate.planned]).mean
    again = next_swatches(study, "width", _read(best, means))
    assert again.swatches[0].gain < 0.5 * best.gain
