"""Fibres and blends: names, density, agreed regain and invoice mass."""

import copy
import pickle

import pytest
from hypothesis import given
from hypothesis import strategies as st

from loopwright.figure import Basis
from loopwright.problems import Problem
from loopwright.yarn.fibre import Blend, density_of, fibres
from loopwright.yarn.naming import blend_from_words, fibre_named
from loopwright.yarn.regain import invoice_mass_from_delivery_kg, invoice_mass_from_dry_kg

keys = sorted(fibres())
blends = st.dictionaries(st.sampled_from(keys), st.integers(1, 100), min_size=1, max_size=5).map(
    lambda shares: Blend({key: share / sum(shares.values()) for key, share in shares.items()})
)
masses_kg = st.floats(min_value=0.1, max_value=10_000)
regains_percent = st.floats(min_value=0, max_value=30)


def within(value: float, values: list[float]) -> bool:
    return min(values) * (1 - 1e-12) <= value <= max(values) * (1 + 1e-12)


@given(blends)
def test_the_regain_of_a_blend_lies_between_those_of_its_fibres(blend: Blend) -> None:
    alone = [Blend({key: 1}).regain_percent("EU").value for key in blend.fractions]
    assert within(blend.regain_percent("EU").value, alone)


@given(blends)
def test_the_density_of_a_blend_lies_between_those_of_its_fibres(blend: Blend) -> None:
    density = blend.density_g_per_cm3()
    assert within(density.value, [density_of(key).value for key in blend.fractions])
    assert density.low <= density.value <= density.high


@given(blends)
def test_the_volumes_of_the_fibres_add_to_the_volume_of_the_blend(blend: Blend) -> None:
    volumes_cm3 = [fraction / density_of(key).value for key, fraction in blend.parts]
    assert sum(volumes_cm3) == pytest.approx(1 / blend.density_g_per_cm3().value, rel=1e-12)


@given(blends)
def test_a_blend_is_read_back_from_its_own_words(blend: Blend) -> None:
    again = blend_from_words(blend.words).fractions
    assert list(again) == list(blend.fractions)
    assert list(again.values()) == pytest.approx(list(blend.fractions.values()), abs=1e-5)


@given(blends)
def test_the_fractions_of_a_blend_are_the_whole(blend: Blend) -> None:
    assert sum(blend.fractions.values()) == pytest.approx(1, rel=1e-12)
    assert blend.fractions[blend.main_fibre] == max(blend.fractions.values())


@given(blends)
def test_a_blend_declared_with_its_agreed_moisture_weighs_the_same_fibre_by_fibre(dry: Blend) -> None:
    conditioned = {
        key: fraction * (1 + Blend({key: 1}).regain_percent("EU").value / 100) for key, fraction in dry.parts
    }
    total = sum(conditioned.values())
    again = Blend.from_conditioned({key: mass / total for key, mass in conditioned.items()})
    assert list(again.fractions.values()) == pytest.approx(list(dry.fractions.values()), rel=1e-9)


def test_taking_the_moisture_out_leaves_less_of_the_thirsty_fibre() -> None:
    assert Blend.from_conditioned({"wool_combed": 0.5, "polyester": 0.5}).fractions["wool_combed"] < 0.5


@given(masses_kg, regains_percent, regains_percent)
def test_an_invoice_from_a_delivery_is_the_invoice_of_its_oven_dry_mass(
    dry_kg: float, agreed: float, actual: float
) -> None:
    delivered_kg = dry_kg * (1 + actual / 100)
    from_delivery = invoice_mass_from_delivery_kg(delivered_kg, regain_percent=agreed, actual_regain_percent=actual)
    assert from_delivery == pytest.approx(invoice_mass_from_dry_kg(dry_kg, agreed), rel=1e-12)


@given(masses_kg, regains_percent)
def test_a_delivery_at_the_agreed_regain_is_invoiced_as_weighed(delivered_kg: float, agreed: float) -> None:
    payable = invoice_mass_from_delivery_kg(delivered_kg, regain_percent=agreed, actual_regain_percent=agreed)
    assert payable == pytest.approx(delivered_kg, rel=1e-12)


@pytest.mark.parametrize("short", [0.99, 0.994, 1.006, 0.5, 2.0])
def test_fractions_that_miss_the_whole_are_refused_with_both_numbers(short: float) -> None:
    with pytest.raises(Problem, match="a yarn is 100 %") as refused:
        Blend({"wool_combed": short / 2, "silk": short / 2})
    assert f"{100 * short:.4g} %" in refused.value.what


def test_rounded_thirds_are_a_blend() -> None:
    assert Blend({"wool_combed": 0.333, "silk": 0.333, "cotton": 0.333}).fractions["silk"] == pytest.approx(1 / 3)


@pytest.mark.parametrize("fraction", [0.0, -0.2, float("nan"), float("inf")])
def test_a_fraction_that_is_no_fraction_is_refused(fraction: float) -> None:
    with pytest.raises(Problem, match="no fraction"):
        Blend({"wool_combed": 1 - 0.0, "silk": fraction})


def test_an_empty_blend_and_an_unknown_fibre_are_refused() -> None:
    with pytest.raises(Problem, match="0 %"):
        Blend({})
    with pytest.raises(Problem, match="no fibre known"):
        Blend({"gravel": 1})
    with pytest.raises(Problem, match="no fibre known"):
        Blend.from_conditioned({"gravel": 1})


def test_a_fibre_without_an_agreed_figure_is_not_mixed_in_from_another_market() -> None:
    blend = Blend({"cotton": 0.7, "polylactide": 0.3})
    with pytest.raises(Problem, match="polylactide in the US market") as refused:
        blend.regain_percent("US")
    assert "not mixed" in refused.value.limit
    assert "EU" in refused.value.tries[0]
    assert blend.regain_percent("EU").value == pytest.approx(0.7 * 8.5 + 0.3 * 1.5)


@pytest.mark.parametrize("market", ["", "eu", "JP"])
def test_an_unknown_market_is_refused_with_the_known_ones(market: str) -> None:
    with pytest.raises(Problem, match="EU") as refused:
        Blend({"cotton": 1}).regain_percent(market)
    assert len(refused.value.tries) == 2


def test_a_printed_regain_is_marked_published_and_a_remembered_one_common_practice() -> None:
    assert Blend({"wool_combed": 1}).regain_percent("EU").basis is Basis.PUBLISHED
    assert Blend({"cashmere": 1}).regain_percent("EU").basis is Basis.COMMON_PRACTICE
    assert Blend({"wool_combed": 0.9, "cashmere": 0.1}).regain_percent("EU").basis is Basis.COMMON_PRACTICE


def test_the_why_of_a_blend_names_each_fibre_and_its_source() -> None:
    regain = Blend({"wool_combed": 0.7, "polyamide_staple": 0.3}).regain_percent("EU")
    assert [each.figure.value for each in regain.why.inputs] == [18.25, 6.25]
    assert "1007/2011" in regain.why.source


def test_a_blend_can_be_kept_compared_and_sent_to_another_process() -> None:
    blend = Blend({"wool_combed": 0.7, "silk": 0.3})
    assert pickle.loads(pickle.dumps(blend)) == copy.deepcopy(blend) == blend
    assert len({blend, Blend({"wool_combed": 0.7, "silk": 0.3})}) == 1


@pytest.mark.parametrize(
    ("heard", "made", "key"),
    [
        ("merino", "spun", "wool_combed"),
        ("Wool", "spun", "wool_combed"),
        ("wool", "woollen", "wool_carded"),
        ("lambswool", "spun", "wool_carded"),
        ("nylon", "spun", "polyamide_staple"),
        ("nylon", "filament", "polyamide_filament"),
        ("Polyamide", "filament", "polyamide_filament"),
        ("flax", "spun", "linen"),
        ("rayon", "spun", "viscose"),
        ("spandex", "filament", "elastane"),
        ("elastane", "spun", "elastane"),
        ("high-bulk acrylic", "spun", "acrylic"),
        ("wool_carded", "spun", "wool_carded"),
        ("ＣＯＴＴＯＮ", "spun", "cotton"),
        ("kid\u00a0mohair", "spun", "mohair"),
    ],
)
def test_a_fibre_is_known_by_the_names_of_the_trade(heard: str, made: str, key: str) -> None:
    assert fibre_named(heard, made) == key


def test_a_misspelt_fibre_is_met_with_the_names_like_it() -> None:
    with pytest.raises(Problem) as refused:
        fibre_named("cashmeer")
    assert "“cashmere”" in refused.value.tries


def test_two_names_of_one_fibre_are_one_part_of_the_blend() -> None:
    assert blend_from_words("50 merino 50 wool") == Blend({"wool_combed": 1})


def test_fractions_are_read_like_percentages() -> None:
    assert blend_from_words("0.7 wool 0.3 nylon").words == blend_from_words("70 wool 30 nylon").words


def blend_or_problem(words: str) -> Blend | Problem:
    try:
        return blend_from_words(words)
    except Problem as problem:
        return problem


@given(st.one_of(st.text(max_size=60), st.text(alphabet="0123456789/%,. wolnyk", max_size=40)))
def test_any_words_for_a_fibre_are_a_blend_or_a_problem_and_nothing_else(words: str) -> None:
    assert isinstance(blend_or_problem(words), Blend | Problem)


@pytest.mark.parametrize(
    "words", ["30 a " * 40 + "/", "a 30 " * 40 + "/", "1/" * 100, "1 " * 100, "a " * 100 + "1", "9" * 200]
)
def test_long_nonsense_for_a_fibre_is_refused_at_once(words: str) -> None:
    with pytest.raises(Problem):
        blend_from_words(words)
