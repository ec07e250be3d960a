"""One cell of a measurement table: decimals, fractions of an inch, units, and what cannot be told apart."""

from fractions import Fraction

import pint
import pytest
from hypothesis import given
from hypothesis import strategies as st

from loopwright.garment.length_text import length_cm
from loopwright.problems import Problem

UNITS = pint.UnitRegistry()
PINT_NAME = {"cm": "centimeter", "mm": "millimeter", "in": "inch"}
VULGAR = {Fraction(1, 2): "½", Fraction(1, 4): "¼", Fraction(3, 4): "¾", Fraction(1, 8): "⅛", Fraction(7, 8): "⅞"}
ANY_UNIT = st.sampled_from(["cm", "mm", "in"])


def cm_by_pint(value: float | Fraction, unit: str) -> float:
    return UNITS.Quantity(float(value), PINT_NAME[unit]).to("centimeter").magnitude


@given(st.integers(0, 2999), st.integers(1, 2), st.sampled_from(".,"), ANY_UNIT)
def test_a_decimal_comma_and_a_decimal_point_say_the_same_length(digits, decimals, sign, unit):
    value = digits / 10**decimals
    text = f"{value:.{decimals}f}".replace(".", sign)
    assert length_cm(text, unit=unit) == pytest.approx(cm_by_pint(value, unit), abs=1e-9)


@given(
    st.integers(0, 60),
    st.sampled_from([2, 4, 8, 16]),
    st.data(),
    st.sampled_from([" {}/{}", "-{}/{}", " - {}/{}", "\u00a0{}⁄{}"]),
    st.sampled_from(["", '"', " in", "in.", " inches", "”"]),
)
def test_fractions_of_an_inch_are_read_as_the_workroom_writes_them(whole, under, data, shape, unit):
    over = data.draw(st.integers(1, under - 1))
    text = f"{whole}{shape.format(over, under)}{unit}"
    expected = cm_by_pint(whole + Fraction(over, under), "in")
    assert length_cm(text, unit="in") == pytest.approx(expected, abs=1e-9)


@given(st.integers(0, 60), st.sampled_from(list(VULGAR)), st.sampled_from(["", " "]))
def test_a_fraction_in_one_sign_stands_beside_its_whole_number(whole, part, gap):
    text = f"{whole}{gap}{VULGAR[part]}"
    assert length_cm(text, unit="in") == pytest.approx(cm_by_pint(whole + part, "in"), abs=1e-9)


@given(st.integers(1, 2999), ANY_UNIT, ANY_UNIT)
def test_a_unit_beside_the_number_wins_over_the_unit_of_the_table(tenths, own, table):
    text = f"{tenths / 10:g} {own}"
    assert length_cm(text, unit=table) == pytest.approx(cm_by_pint(tenths / 10, own), abs=1e-9)


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("1,250", "“1,250” can be 1250 or 1.25."),
        ("12.5.3", "has 2 decimal signs"),
        ("1,250.5", "has 2 decimal signs"),
        ("191/4", "fraction of one or more"),
        ("19 5/4", "fraction of one or more"),
        ("3/0", "divides by nothing"),
        ("19–20", "holds 2 numbers"),
        ("46 (47)", "holds 2 numbers"),
        ("46 ± 1", "holds 2 numbers"),
        ("1 250", "holds 2 numbers"),
        ("-5", "less than nothing"),
        ("46 kg", "is in “kg”"),
        ("19²", "is in “²”"),
        ("2026-01-04", "is a date"),
        ("=B3+1", "never worked out"),
        ("#REF!", "error of a formula"),
        ("ca. 46", "is no number"),
        ("٤٦", "is no number"),
        ("9" * 400, "is no number"),
    ],
)
def test_a_cell_that_can_be_read_in_two_ways_or_none_is_refused_with_its_reason(text, said):
    with pytest.raises(Problem) as refused:
        length_cm(text, unit="cm")
    assert said in refused.value.what
    assert refused.value.tries


def test_three_digits_behind_a_sign_are_settled_by_the_rest_of_the_table():
    assert length_cm("1,250", unit="cm", decimal_signs=frozenset(",")) == 1.25
    assert length_cm("0,625", unit="in") == pytest.approx(cm_by_pint(Fraction(5, 8), "in"))
    assert length_cm("48.895", unit="cm") == 48.895
    for text, unit, signs in [("48.895", "cm", ","), ("48.895", "mm", ""), ("48.895", "cm", ".,")]:
        with pytest.raises(Problem):
            length_cm(text, unit=unit, decimal_signs=frozenset(signs))


@given(st.text(max_size=30))
def test_whatever_is_pasted_becomes_a_length_or_a_reason(text):
    try:
        value = length_cm(text, unit="cm")
    except Problem:
        value = None
    assert value is None or value >= 0
