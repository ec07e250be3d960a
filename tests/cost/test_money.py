"""Money: decimal, to the cent, one currency at a time."""

from decimal import ROUND_HALF_UP, Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from loopwright.cost.money import Money, add_up, parse_money, to_the_cent
from loopwright.problems import Problem

CENTS = st.integers(-(10**9), 10**9).map(lambda cents: Decimal(cents) / 100)


@given(amounts=st.lists(CENTS, max_size=30))
def test_amounts_add_up_without_losing_a_cent(amounts: list[Decimal]) -> None:
    total = add_up((Money(amount, "EUR") for amount in amounts), "EUR")
    assert int(total.amount * 100) == sum(int(amount * 100) for amount in amounts)


@given(first=CENTS, second=CENTS)
def test_taking_away_what_was_added_leaves_the_amount(first: Decimal, second: Decimal) -> None:
    one, other = Money(first, "EUR"), Money(second, "EUR")
    assert (one + other - other).amount == one.amount


@pytest.mark.parametrize(
    ("exact", "cents"), [("0.005", "0.01"), ("-0.005", "-0.01"), ("1.004", "1.00"), ("2.675", "2.68")]
)
def test_half_a_cent_goes_away_from_zero_and_binary_noise_does_not_decide(exact: str, cents: str) -> None:
    assert Money(Decimal(exact), "EUR").rounded().amount == Decimal(cents)
    assert to_the_cent(float(exact), "EUR").amount == Decimal(cents)


@given(amount=st.decimals(-(10**6), 10**6, places=4))
def test_a_float_is_rounded_as_the_decimal_it_stands_for(amount: Decimal) -> None:
    assert to_the_cent(float(amount), "EUR").amount == amount.quantize(Decimal("0.01"), ROUND_HALF_UP)


def test_two_currencies_are_never_added_taken_away_or_compared() -> None:
    euro, dollar = Money(Decimal("19.85"), "EUR"), Money(Decimal("4.00"), "USD")
    for together in (lambda: euro + dollar, lambda: euro - dollar, lambda: euro <= dollar):
        with pytest.raises(Problem) as caught:
            together()
        assert "19.85" in caught.value.what
        assert "4.00" in caught.value.what
        assert caught.value.tries


WRITTEN = [
    ("19.85 EUR", "19.85"),
    ("EUR 19,85", "19.85"),
    ("1 182.50 EUR", "1182.50"),
    ("1.182,50 EUR", "1182.50"),
    ("1,182,000 EUR", "1182000"),
    ("-3 EUR", "-3"),
    ("0.044 EUR", "0.044"),
    ("600EUR", "600"),
]


@pytest.mark.parametrize(("text", "amount"), WRITTEN)
def test_amounts_are_read_as_people_write_them(text: str, amount: str) -> None:
    assert parse_money(text) == Money(Decimal(amount), "EUR")


def test_an_amount_with_two_readings_is_asked_back_with_both() -> None:
    with pytest.raises(Problem) as caught:
        parse_money("1,234 EUR")
    assert "1234" in caught.value.what
    assert "1.234" in caught.value.what


@pytest.mark.parametrize(
    ("text", "currency"),
    [("", "EUR"), ("twelve EUR", ""), ("12.5", ""), ("12 USD", "EUR"), ("1.2.3 EUR", ""), ("5 eur", "")],
)
def test_words_that_are_no_amount_in_one_currency_are_refused_with_an_example(text: str, currency: str) -> None:
    with pytest.raises(Problem) as caught:
        parse_money(text, currency)
    assert caught.value.tries


@given(amount=CENTS)
def test_what_is_written_is_read_back(amount: Decimal) -> None:
    money = Money(amount, "EUR")
    assert parse_money(money.text()).amount == amount


def test_a_binary_float_is_no_money() -> None:
    with pytest.raises(ValueError, match="no decimal"):
        Money(19.85, "EUR")  # type: ignore[arg-type]


def test_a_currency_is_three_capital_letters() -> None:
    with pytest.raises(Problem, match="euro"):
        Money(Decimal(1), "euro")


def test_an_amount_keeps_its_digits_as_text_in_json() -> None:
    assert Money(Decimal("19.85"), "EUR").as_dict()["amount"] == "19.85"
