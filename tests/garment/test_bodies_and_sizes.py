"""Bodies and size labels: what a person's figures carry, and what happens past the surveys."""

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from loopwright.figure import Basis
from loopwright.garment.bodies import child, man, woman
from loopwright.garment.ease import ease_of_fit, fit_of_ease
from loopwright.garment.sizes import LETTERS, girth_of_size
from loopwright.garment.spec import body_of_size, size_table_of
from loopwright.problems import Problem
from loopwright.sources.table import table

GARMENT = "loopwright.garment"
NEEDED = {"biacromial", "upper_arm", "wrist", "outseam", "back_waist", "nape_to_armpit", "waist"}


@pytest.mark.parametrize("body", [woman(92), man(100), child(110)], ids=["woman", "man", "child"])
def test_every_body_has_what_a_pullover_needs(body):
    assert set(body.figures) >= NEEDED
    for figure in body.figures.values():
        assert figure.low < figure.value < figure.high
        assert figure.why.words
        assert figure.unit == "cm"


@pytest.mark.parametrize("row", table(GARMENT, "women_fit").rows, ids=lambda row: row.text("dimension"))
def test_nine_women_in_ten_lie_inside_the_spread(row):
    """Residual standard deviation × 1.645 either way, as for any normal spread."""
    assert woman(92).figures[row.text("dimension")].spread == pytest.approx(1.645 * row["residual_sd_cm"], rel=1e-3)


def test_what_no_survey_gives_says_that_it_is_assumed():
    assert man(100).figures["outseam"].basis is Basis.ASSUMED
    assert "women's ratio" in man(100).figures["outseam"].why.words
    assert child(110).figures["biacromial"].basis is Basis.ASSUMED
    assert woman(92).figures["outseam"].basis is Basis.PUBLISHED


def test_mens_sleeve_from_the_spine_is_88_to_90_at_a_stature_of_178():
    """Production reference 1.4, from memory."""
    body = man(100)
    assert body["stature"] == pytest.approx(178.4)
    assert 88 <= body["spine_to_wrist"] <= 90


@pytest.mark.parametrize("bust_cm", [60, 128, 150])
def test_past_the_survey_a_body_is_continued_and_says_so(bust_cm):
    body = woman(bust_cm)
    assert body.is_outside
    assert 12 < body["shoulder_length"] < 15  # bones hardly follow the bust
    assert 52 < body["head"] < 62
    assert 14 < body["nape_to_armpit"] < 17


def test_a_size_past_the_survey_is_told_to_the_developer():
    made = size_table_of(population="women", sizes=["5XL"], base_size="5XL", typed_cm={}, hand_set_cm={}, grade_cm={})
    assert any("surveyed range" in finding.sentence for finding in made.findings)


@settings(deadline=None)
@given(st.floats(50, 176), st.floats(0, 20))
def test_a_taller_child_is_no_smaller_in_any_figure(height_cm, more_cm):
    small, tall = child(height_cm), child(min(height_cm + more_cm, 176))
    for name, figure in small.figures.items():
        assert tall[name] >= figure.value - 1e-9, name


@settings(deadline=None)
@given(st.floats(70, 150))
def test_a_man_is_larger_round_the_chest_than_the_arm(chest_cm):
    body = man(chest_cm)
    assert body["upper_arm"] < body["waist"] < body.girth_cm * 1.2
    assert body["wrist"] < body["forearm"] < body["upper_arm"] + 5


@pytest.mark.parametrize("label", ["xxl", " 2XL ", "XXL", "2xl"])
def test_a_letter_is_understood_however_it_is_written(label):
    assert girth_of_size("women", label) == girth_of_size("women", "2XL")


@pytest.mark.parametrize("population", ["women", "men"])
def test_letters_grow_in_body(population):
    girths = [girth_of_size(population, letter) for letter in LETTERS]
    assert girths == sorted(girths)


def test_numbers_are_sizes_too():
    assert girth_of_size("women", "96") == 96
    assert girth_of_size("men", "50") == girth_of_size("men", "100") == 100
    assert body_of_size("children", "98").girth_cm == 55


@pytest.mark.parametrize(
    ("population", "label"), [("women", "Q"), ("women", "12"), ("children", "M"), ("men", "nan"), ("children", "300")]
)
def test_a_label_that_is_no_size_is_refused_in_trade_words(population, label):
    with pytest.raises(Problem) as caught:
        girth_of_size(population, label)
    assert label in caught.value.what
    assert caught.value.limit
    assert caught.value.tries


@settings(deadline=None)
@given(st.floats(-10, 59))
def test_every_ease_has_a_class(ease_cm):
    row = table(GARMENT, "ease").by("fit")[fit_of_ease(ease_cm)]
    assert row["lower_cm"] <= ease_cm <= row["upper_cm"]


@pytest.mark.parametrize("fit", [row.text("fit") for row in table(GARMENT, "ease")])
def test_the_usual_ease_of_a_fit_belongs_to_that_fit(fit):
    assert fit_of_ease(ease_of_fit(fit)) == fit


def test_an_unknown_fit_names_the_known_ones():
    with pytest.raises(Problem, match="classic"):
        ease_of_fit("roomy")
