"""Calibration: what was put into synthetic swatches comes out within its band as often as the band says; published
plain is foretold better with swatches than without; swatches that no yarn gives are refused in words.
"""

import math
from dataclasses import replace

import numpy as np
import pytest

from loopwright.fabric.geometry import constants
from loopwright.figure import NINE_IN_TEN_SD, State, entered
from loopwright.mechanics.calibration import calibrated
from loopwright.mechanics.cloth import force_n_per_cm, simulated_cloth
from loopwright.mechanics.fields import PLACE, TENSIONS
from loopwright.mechanics.posterior import (
    ALIKE,
    HELD_SETS,
    log_counts,
    measuring,
    model_sd,
    pages_at,
)
from loopwright.mechanics.swatches import Swatch
from loopwright.problems import Problem
from loopwright.structure.library import find_structure, structure_from
from loopwright.yarn.diameter import diameter_mm
from loopwright.yarn.yarn import yarn_from_words

YARN = yarn_from_words("2/30 Nm wool", spinning="worsted_two_fold")
PLAIN = find_structure("plain")
D = YARN.diameter_mm.value
RATIOS = (15.0, 18.0, 21.0)
TRIALS = 80


def plain_swatch(ratio=17.0, name="swatch", **changes):
    """A plain swatch with the textbook constants of washed plain."""
    loop = ratio * D
    given = {"wales_per_cm": 41 / loop, "courses_per_cm": 53 / loop, **changes}
    return Swatch(name, PLAIN, YARN, loop, **given)


class Truth:
    """A yarn drawn from the prior, and swatches of it with the scatter that the calibration reckons with."""

    def __init__(self, seed):
        self.random = np.random.default_rng(seed)
        packing = YARN.packing
        sd = math.log(packing.high / packing.low) / (2 * NINE_IN_TEN_SD)
        self.packing = packing.value * math.exp(sd * float(np.clip(self.random.normal(), -3, 3)))
        self.held_set = float(self.random.choice(HELD_SETS))
        self.share = self.random.uniform(0.55, 0.93)
        self.twist = self.random.uniform(-50, 50)
        self.rigidity = math.exp(self.random.uniform(math.log(0.002), math.log(0.05)))
        self.common = self.random.normal(size=2)

    def swatch(self, ratio):
        loop, at = ratio * D, np.array([self.packing])
        said = log_counts(PLAIN, YARN, loop, at)
        place = int(np.abs(HELD_SETS - self.held_set).argmin())
        own, counting = model_sd(PLAIN, ratio, "wales"), math.log1p(0.03) / NINE_IN_TEN_SD
        counts = []
        for way, common in zip(("wale", "course"), self.common, strict=True):
            alone = math.sqrt(1 - ALIKE) * self.random.normal()
            error = own * (math.sqrt(ALIKE) * common + alone) + counting * self.random.normal()
            counts.append(math.exp(said[way][0, place] + error))
        page = pages_at(PLAIN, YARN, loop, at)[0]
        d = diameter_mm(YARN.tex.value, YARN.density.value, self.packing)
        return Swatch(f"at {ratio:g}", PLAIN, YARN, loop, *counts, **self.rolled(page, d), **self.pulled(page, d))

    def rolled(self, page, d):
        radius_sd = math.hypot(self.sd(measuring("radius")), model_sd(PLAIN, page.ratio, "radius"))
        radius = d / abs(page.curvature("sides", self.share).value) * math.exp(radius_sd * self.random.normal())
        lean = page.lean(self.twist * page.ratio * d / 1000, self.share).value
        lean *= 1 + model_sd(PLAIN, page.ratio, "lean") * self.random.normal()
        lean += measuring("lean") / NINE_IN_TEN_SD * self.random.normal()
        return {"side_radius_mm": radius, "lean_deg": lean}

    def pulled(self, page, d):
        tension = self.random.uniform(0.1, 0.6)
        strains = [0.0, *(page[f"stretch_length_{n}"].value for n in range(len(TENSIONS)))]
        strain_sd = math.hypot(self.sd(measuring("extension")), model_sd(PLAIN, page.ratio, "stretch"))
        strain = np.interp(tension, (0.0, *TENSIONS), strains) * math.exp(strain_sd * self.random.normal())
        force = force_n_per_cm(reduced_tension=tension, rigidity_n_mm2=self.rigidity, diameter_mm=d)
        strain = min(strain, 0.99 * strains[-1])
        return {"extension_percent": 100 * strain, "weight_n": 5 * force, "strip_width_cm": 5.0}

    @staticmethod
    def sd(spread):
        return math.log1p(spread) / NINE_IN_TEN_SD


@pytest.fixture(scope="module")
def trials():
    truths = [Truth(seed) for seed in range(TRIALS)]
    return [(truth, calibrated([truth.swatch(ratio) for ratio in RATIOS])) for truth in truths]


@pytest.mark.slow
@pytest.mark.parametrize(
    ("of_truth", "of_fit"),
    [
        ("packing", "packing"),
        ("held_set", "held_set"),
        ("share", "share"),
        ("twist", "residual_turns_per_m"),
        ("rigidity", "rigidity_n_mm2"),
    ],
)
def test_nine_in_ten_means_nine_in_ten(trials, of_truth, of_fit):
    inside = [
        getattr(fit, of_fit).low <= getattr(truth, of_truth) <= getattr(fit, of_fit).high for truth, fit in trials
    ]
    assert 0.80 <= np.mean(inside) <= 0.98


@pytest.mark.slow
def test_swatches_narrow_the_packing_of_the_yarn(trials):
    before = YARN.packing.high - YARN.packing.low
    assert np.median([fit.packing.high - fit.packing.low for _, fit in trials]) < 0.9 * before


@pytest.mark.slow
def test_predictions_hold_the_cloth_that_the_yarn_makes_as_often_as_they_say(trials):
    """A fourth swatch, never seen; the count of a person adds its own spread, so the band may miss a little more."""
    inside = []
    for truth, fit in trials:
        seen = truth.swatch(17.0)
        told = fit.predict(PLAIN, YARN, entered("loop length", 17.0 * D, "mm")).geometry
        for figure, counted in ((told.wales_per_cm, seen.wales_per_cm), (told.courses_per_cm, seen.courses_per_cm)):
            inside.append(figure.low <= counted <= figure.high)
    assert 0.78 <= np.mean(inside) <= 0.98


@pytest.mark.parametrize("state", [State.DRY_RELAXED, State.WET_RELAXED, State.FULLY_RELAXED])
def test_published_plain_is_foretold_from_two_loop_lengths(state):
    """Outside check. Published plain keeps counts × loop length constant; the model without a swatch doesn't.

    Measured here: without swatches 8 to 9 % off (root mean square), from the other two swatches 3 to 4 %. The limit is
    what is left of the frictionless model's error in slack cloth.
    """
    kc, kw = (figure.value for figure in constants(PLAIN, state))
    swatches = [
        plain_swatch(ratio, f"at {ratio:g}", wales_per_cm=10 * kw / (ratio * D), courses_per_cm=10 * kc / (ratio * D))
        for ratio in RATIOS
    ]
    left = calibrated(swatches).leave_one_out
    assert left.rms_percent < 5
    assert left.rms_percent < 0.6 * left.rms_without_percent
    middle = calibrated([swatches[0], swatches[2]]).predict(PLAIN, YARN, entered("loop length", 18 * D, "mm"))
    assert middle.geometry.wales_per_cm.value == pytest.approx(swatches[1].wales_per_cm, rel=0.06)
    assert middle.geometry.courses_per_cm.value == pytest.approx(swatches[1].courses_per_cm, rel=0.06)


def test_more_swatches_that_agree_narrow_the_prediction():
    loop = entered("loop length", 18 * D, "mm")
    one = calibrated([plain_swatch(17.0)]).predict(PLAIN, YARN, loop).geometry.wales_per_cm
    three = [plain_swatch(ratio, f"{ratio}") for ratio in (17.0, 17.5, 19.0)]
    many = calibrated(three).predict(PLAIN, YARN, loop).geometry.wales_per_cm
    bare = simulated_cloth(PLAIN, YARN, loop).geometry.wales_per_cm
    assert many.spread < one.spread < bare.spread


def test_swatches_of_one_structure_serve_another_one():
    loop = entered("loop length", 17 * D, "mm")
    rib = find_structure("rib-1x1")
    told = calibrated([plain_swatch(17.0)]).predict(rib, YARN, loop)
    assert told.structure == rib
    assert told.geometry.wales_per_cm.why.words.startswith("calibrated on swatch")


def test_one_swatch_cannot_check_itself():
    left = calibrated([plain_swatch()]).leave_one_out
    assert left.rms_percent is None
    assert "second swatch" in left.words


def test_what_was_not_measured_is_named():
    fit = calibrated([plain_swatch()])
    assert [line.partition(":")[0] for line in fit.missing] == ["set", "residual twist", "bending rigidity"]
    assert fit.finish.residual_turns_per_m is None
    assert fit.finish.share.value == 0.8


def test_balanced_cloth_says_nothing_of_twist_and_set():
    rib = Swatch("rib", find_structure("rib-1x1"), YARN, 17 * D, 5.8, 8.6, side_radius_mm=4.0, lean_deg=2.0)
    fit = calibrated([rib])
    assert fit.residual_turns_per_m is None
    assert fit.missing[0].startswith("set")


def test_a_lean_to_the_left_means_an_s_lively_yarn():
    right, left = (calibrated([plain_swatch(lean_deg=angle)]).residual_turns_per_m for angle in (5.0, -5.0))
    assert right.low > 0
    assert left.value == pytest.approx(-right.value, rel=1e-6)


def refusal(*swatches):
    with pytest.raises(Problem) as caught:
        calibrated(swatches)
    return caught.value


def test_counts_that_no_yarn_gives_are_refused_with_both_numbers():
    problem = refusal(plain_swatch(name="swatch 3", wales_per_cm=20.0))
    assert problem.where == "swatch 3"
    assert "20 wales" in problem.what
    assert "nearest that this yarn can give" in problem.what


def test_swatches_that_contradict_each_other_are_refused_at_the_second():
    fine = plain_swatch(17.0, "first")
    wide = replace(fine, name="second", wales_per_cm=fine.wales_per_cm * 0.62, courses_per_cm=fine.courses_per_cm * 0.8)
    problem = refusal(fine, wide)
    assert problem.where == "second"
    assert "with the other swatches as they are" in problem.what


def test_a_structure_that_was_never_simulated_is_named():
    own = structure_from("own", {"name": "Zopf-Müsterchen", "courses": ["F:KKKTKKMKK", "F:KKKKKKKKK"]})
    problem = refusal(replace(plain_swatch(), structure=own))
    assert "Zopf-Müsterchen" in problem.what
    assert "plain" in problem.limit


def test_a_loop_outside_the_atlas_is_refused_with_its_length_in_diameters():
    problem = refusal(replace(plain_swatch(), loop_length_mm=50 * D))
    assert "yarn diameters" in problem.what
    assert "12 to 26" in problem.limit


def test_a_strip_pulled_past_its_lock_is_refused():
    problem = refusal(plain_swatch(extension_percent=300.0, weight_n=5.0, strip_width_cm=5.0))
    assert "before the yarn locks" in problem.what


def test_yarns_of_different_spinning_are_calibrated_apart():
    woollen = yarn_from_words("2/30 Nm wool", spinning="woollen")
    assert "spinning" in refusal(plain_swatch(), replace(plain_swatch(), yarn=woollen)).what


def test_no_swatch_at_all_is_said():
    assert "none" in refusal().what


@pytest.mark.parametrize(
    ("field", "value"),
    [("wales_per_cm", math.nan), ("courses_per_cm", -3.0), ("loop_length_mm", 0.0), ("lean_deg", 90.0),
     ("thickness_mm", math.inf), ("pulled", "sideways"), ("extension_percent", 12.0)],
)  # fmt: skip
def test_numbers_that_no_swatch_has_are_refused(field, value):
    with pytest.raises(Problem) as caught:
        plain_swatch(name="čtverec", **{field: value}) if "per_cm" in field else replace(
            plain_swatch(name="čtverec"), **{field: value}
        )
    assert caught.value.where == "čtverec"


def test_a_held_set_that_did_not_settle_is_bridged():
    page = pages_at(PLAIN, YARN, 20 * D, np.array([YARN.packing.value]))[0]
    numbers = page.numbers.copy()
    numbers[PLACE["held_wale_1"]] = math.nan
    holed = replace(page, numbers=numbers)
    ends = page["held_wale_0"].value, page["held_wale_2"].value
    assert min(ends) <= holed.spacing("wale", 0.8).value <= max(ends)
    assert holed.spacing("wale", 0.0).value == page.spacing("wale", 0.0).value


def test_a_folding_rib_is_trusted_less_in_width_than_in_length():
    """Outside check: 2x1 rib of worked example B, 6.9 to 7.4 needles per cm at 5.6 mm, lies at the edge of the band."""
    rib = find_structure("rib-2x1")
    cloth = simulated_cloth(rib, YARN, entered("loop length", 5.6, "mm"))
    wales, courses = cloth.geometry.wales_per_cm, cloth.geometry.courses_per_cm
    needles = rib.anatomy.needles / rib.anatomy.visible_wales
    assert wales.low * needles < 7.4
    assert wales.spread / wales.value > 2 * courses.spread / courses.value
