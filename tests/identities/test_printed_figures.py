"""What is printed of a figure is the figure: never moved by more than its digits, never a fault, money to the cent."""

import math

import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from loopwright.figure import Basis, Term, banded, decimals_for, entered, exact, linear, plain, power_law, shown

VALUES = st.floats(-1e9, 1e9, allow_nan=False)
POSITIVE = st.floats(1e-6, 1e6)


@given(VALUES, st.one_of(st.just(0.0), st.floats(1e-9, 1e6)))
def test_a_figure_is_printed_within_a_tenth_of_its_spread_or_in_four_digits(value, spread):
    figure = banded("x", value, "cm", low=value - spread, high=value + spread, basis=Basis.MEASURED, words="ruler")
    printed = float(shown(figure).replace("\u00a0", "").replace("−", "-"))
    allowed = figure.spread / 2 if figure.spread else abs(value) * 1e-3
    assert abs(printed - value) <= allowed + 0.5 * 10 ** -decimals_for(value, figure.spread) + 1e-12 * abs(value)


@given(VALUES)
@example(0.072615)  # ends in a five that binary numbers cannot hold
@example(0.0027895)
def test_a_number_without_spread_keeps_four_digits(value):
    printed = float(shown(exact("x", value, "cm", words="counted")).replace("\u00a0", "").replace("−", "-"))
    assert printed == pytest.approx(value, rel=6e-4, abs=1e-12)


@given(st.floats(-1e9, 1e9))
def test_money_is_printed_to_the_cent(value):
    text = shown(entered("price", value, "EUR"))
    assert text.rpartition(".")[2].isdigit()
    assert len(text.rpartition(".")[2]) == 2


@given(VALUES, st.integers(0, 6))
def test_thousands_part_and_nothing_is_not_minus_nothing(value, decimals):
    text = plain(value, decimals)
    assert "-" not in text
    if not any(digit in text for digit in "123456789"):
        assert "−" not in text


@given(
    POSITIVE, POSITIVE, st.floats(0.001, 0.5), st.floats(0.001, 0.5), st.floats(-3, 3).filter(lambda p: abs(p) > 0.1)
)
def test_a_power_law_holds_its_value_and_never_crosses_nothing(a, b, spread_a, spread_b, power):
    first, second = (
        banded(name, value, "cm", low=value * (1 - spread), high=value * (1 + spread), basis=Basis.MEASURED, words="")
        for name, value, spread in (("a", a, spread_a), ("b", b, spread_b))
    )
    made = power_law("y", a * b**power, "", [Term("a", first), Term("b", second, power)], words="")
    assert 0 < made.low <= made.value <= made.high
    assert sum(each.share for each in made.why.inputs) == pytest.approx(1)


@given(VALUES, VALUES, st.floats(0.001, 1e3), st.floats(0.001, 1e3), st.floats(-10, 10).filter(lambda p: abs(p) > 0.1))
def test_a_sum_spreads_like_independent_parts(a, b, spread_a, spread_b, slope):
    """Half bands add as squares, as standard deviations do."""
    first, second = (
        banded(name, value, "cm", low=value - spread, high=value + spread, basis=Basis.MEASURED, words="")
        for name, value, spread in (("a", a, spread_a), ("b", b, spread_b))
    )
    made = linear("y", a + slope * b, "", [Term("a", first), Term("b", second, slope)], words="")
    assert made.spread == pytest.approx(math.hypot(first.spread, slope * second.spread), rel=1e-6, abs=1e-6)
    assert sum(each.share for each in made.why.inputs) == pytest.approx(1)
