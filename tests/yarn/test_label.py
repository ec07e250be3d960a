"""Fibre labels beside the rule's own example and by laws that any rounding must keep; usual care by fibre."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from loopwright.problems import Problem
from loopwright.sources.table import table
from loopwright.yarn.care import STEPS, care_of
from loopwright.yarn.fibre import fibres
from loopwright.yarn.label import OTHER, fibre_label, whole_percents
from loopwright.yarn.regain import agreed_regain


def dry_of(conditioned_g: dict[str, float], market: str) -> dict[str, float]:
    """Oven-dry masses that weigh so much with the agreed regain."""
    return {
        fibre: mass / (1 + agreed_regain(fibre, fibre, market)["regain_percent"] / 100)
        for fibre, mass in conditioned_g.items()
    }


def test_the_example_of_the_rule_comes_out_word_for_word():
    """16 CFR 303.3: "96 percent acetate, 4 percent spandex": a functional fibre under 5 % is named."""
    label = fibre_label(dry_of({"elastane": 4, "acetate": 96}, "US"), "US")
    assert label.text == "96% acetate, 4% spandex"


def test_below_five_per_cent_a_fibre_without_a_use_is_other_in_the_us_and_named_in_the_eu():
    """16 CFR 303.3 and 303.6 beside Regulation (EU) 1007/2011, article 9 (from memory): naming is always allowed."""
    masses = {"cotton": 97.0, "polyester": 3.0}
    assert fibre_label(dry_of(masses, "US"), "US").text == "97% cotton, 3% other fibers"
    assert fibre_label(dry_of(masses, "EU"), "EU").text == "97 % cotton, 3 % polyester"


def test_wool_is_named_at_any_share():
    """16 CFR 300 (wool act, from memory)."""
    assert "2% wool" in fibre_label(dry_of({"acrylic": 98, "wool_combed": 2}, "US"), "US").text


def test_kinds_of_one_name_add_up():
    label = fibre_label(dry_of({"wool_combed": 40, "wool_carded": 30, "polyamide_filament": 30}, "EU"), "EU")
    assert label.text == "70 % wool, 30 % polyamide"


def test_moisture_counts_as_the_market_agrees():
    """Half and half by dry mass is more wool on the label: 118.25 to 101.5 (annex IX), 53.8 % rounded."""
    label = fibre_label({"wool_combed": 50, "polyester": 50}, "EU")
    assert label.exact_percent["wool"] == pytest.approx(100 * 118.25 / (118.25 + 101.5))
    assert label.text == "54 % wool, 46 % polyester"


@given(st.lists(st.floats(0.001, 1e6), min_size=1, max_size=12))
def test_whole_per_cents_add_to_a_hundred_and_miss_by_less_than_one(shares):
    percents = whole_percents(shares)
    assert sum(percents) == 100
    total = math.fsum(shares)
    assert all(abs(percent - 100 * share / total) < 1 for percent, share in zip(percents, shares, strict=True))


@given(
    st.dictionaries(
        st.sampled_from(["wool_combed", "cotton", "elastane", "polyester", "viscose", "silk"]),
        st.floats(0.01, 1000),
        min_size=1,
    ),
    st.sampled_from(["EU", "US"]),
)
def test_a_label_adds_up_descends_and_names_nothing_twice(masses, market):
    label = fibre_label(masses, market)
    named = [percent for name, percent in label.parts if name != OTHER[market]]
    assert sum(percent for _, percent in label.parts) == 100
    assert named == sorted(named, reverse=True)
    assert len({name for name, _ in label.parts}) == len(label.parts)
    assert label.worst_rounding < 1


def test_what_cannot_be_labelled_is_said():
    with pytest.raises(Problem, match="no fibre mass"):
        fibre_label({}, "EU")
    with pytest.raises(Problem, match="no fibre known"):
        fibre_label({"unobtainium": 1}, "EU")
    with pytest.raises(Problem, match="no market"):
        fibre_label({"cotton": 1}, "MARS")


def test_every_fibre_has_a_name_in_both_markets_and_a_care():
    names = table("loopwright.yarn", "label_names").by("fibre", "market")
    for fibre in fibres():
        assert names[fibre, "EU"].text("name")
        assert names[fibre, "US"].text("name")
        assert [step for step, _ in care_of([fibre]).lines] == list(STEPS)


def test_the_most_delicate_fibre_decides():
    """Defaults of production reference 10.3, common practice, no source."""
    assert dict(care_of(["cotton"]).lines)["washing"] == "40 °C, mild process"
    assert "30 °C, very mild" in dict(care_of(["cotton", "cashmere"]).lines)["washing"]
