"""Money: an amount of decimal digits with its currency.

In: digits as text, whole numbers or Decimals, never binary floats; one door (`to_the_cent`) takes the float of a
physical calculation and rounds it. Out: sums that refuse to mix currencies.
Main assumption: every currency has cents; half a cent goes away from zero (ROUND_HALF_UP).
Not covered: exchange rates; rates per hour or per kilogram, which are Figures with a spread (`rates`).
Sources: identity.
"""

from __future__ import annotations

import math
import re
from collections.abc import Iterable
from dataclasses import dataclass
from decimal import ROUND_HALF_UP, Decimal

from loopwright.figure import plain
from loopwright.problems import Problem

CENT = Decimal("0.01")
DECIMALS_KEPT = 9  # a float is written with nine decimals first, so that binary noise never decides half a cent
LARGEST = 10**12

_MONEY = re.compile(r"^(?P<before>[A-Z]{3})?\s*(?P<digits>[+-]?\d[\d\s\u00a0.,]*)\s*(?P<after>[A-Z]{3})?$")

_WHOLE = re.compile(r"^[+-]?(\d+|\d{1,3}([.,])\d{3}(\2\d{3})*)$")


@dataclass(frozen=True, slots=True)
class Money:
    """A decimal amount in a currency, named by its three-letter code.

    >>> (Money(Decimal("17.86"), "EUR") + Money(Decimal("1.99"), "EUR")).text()    # 7.3: cost and margin
    '19.85\\xa0EUR'
    """

    amount: Decimal
    currency: str

    def __post_init__(self) -> None:
        """Check once, at the door.

        Raises:
            Problem: the currency is no three-letter code.
            ValueError: the amount is no finite Decimal (a mistake of ours).
        """
        check_currency(self.currency)
        if not isinstance(self.amount, Decimal) or not self.amount.is_finite():
            raise ValueError(f"{self.amount!r} is no decimal amount")

    def __add__(self, other: Money) -> Money:
        return Money(self.amount + self._same(other).amount, self.currency)

    def __sub__(self, other: Money) -> Money:
        return Money(self.amount - self._same(other).amount, self.currency)

    def __mul__(self, times: Decimal | int) -> Money:
        return Money(self.amount * times, self.currency)

    def __le__(self, other: Money) -> bool:
        return self.amount <= self._same(other).amount

    def _same(self, other: Money) -> Money:
        """The other amount, when it is in the same currency.

        Raises:
            Problem: two currencies.
        """
        if other.currency != self.currency:
            raise Problem(
                "money",
                f"{self.text()} and {other.text()} are in two currencies.",
                tries=[f"give both in {self.currency}", f"give both in {other.currency}"],
            )
        return other

    def rounded(self) -> Money:
        """The amount to the cent, half a cent away from zero.

        >>> Money(Decimal("0.5625"), "EUR").rounded().text(), Money(Decimal("2.345"), "EUR").rounded().text()
        ('0.56\\xa0EUR', '2.35\\xa0EUR')
        """
        return Money(self.amount.quantize(CENT, ROUND_HALF_UP), self.currency)

    def text(self) -> str:
        """Amount to the cent with its currency: "1 234.50 EUR"."""
        return f"{plain(float(self.rounded().amount), 2)}\u00a0{self.currency}"

    def as_dict(self) -> dict[str, str]:
        """JSON form: the digits as text, so that no reader turns them into a binary float."""
        return {"amount": str(self.amount), "currency": self.currency, "shown": self.text()}


def to_the_cent(value: float, currency: str) -> Money:
    """The float of a calculation as money, rounded once.

    >>> to_the_cent(0.2226 * 24, "EUR").text()    # 7.3: yarn
    '5.34\\xa0EUR'

    Raises:
        Problem: the amount is beyond a million million.
        ValueError: no finite number (a mistake of ours).
    """
    if not math.isfinite(value):
        raise ValueError(f"{value} is no amount")
    if abs(value) > LARGEST:
        raise Problem(
            "money",
            f"{value:.3g} {currency} is beyond the largest amount reckoned here, {LARGEST:.0e}.",
            tries=["check quantity, minutes and rates for a slip of the decimal point"],
        )
    return Money(Decimal(f"{value:.{DECIMALS_KEPT}f}"), currency).rounded()


def add_up(amounts: Iterable[Money], currency: str) -> Money:
    """Sum of amounts in one currency; nothing adds up to zero of it."""
    return sum(amounts, start=Money(Decimal("0.00"), currency))


def check_currency(currency: str) -> str:
    """The code itself, when it is one.

    Raises:
        Problem: not three capital letters.
    """
    if not re.fullmatch(r"[A-Z]{3}", currency):
        raise Problem(
            "currency", f"“{currency}” is no currency code.", tries=["three capital letters, for instance EUR"]
        )
    return currency


def parse_money(text: str, currency: str = "") -> Money:
    """Money that a person typed; `currency` is taken when the text names none, and must agree when it does.

    >>> parse_money("1 182,50 EUR").amount, parse_money("19.85", "EUR").amount
    (Decimal('1182.50'), Decimal('19.85'))

    Raises:
        Problem: no amount, two readings ("1,234"), no currency, or two of them.
    """
    match = _MONEY.match(text.strip().replace("−", "-"))
    if match is None:
        raise Problem("money", f"“{text}” is no amount of money.", tries=["write it as 19.85 EUR"])
    written = {code for code in (match["before"], match["after"], currency) if code}
    if len(written) != 1:
        what = (
            f"“{text}” names no currency." if not written else f"“{text}” is asked in {' and '.join(sorted(written))}."
        )
        raise Problem("money", what, tries=["write one currency, for instance 19.85 EUR"])
    return Money(_decimal(match["digits"], text), written.pop())


def _decimal(digits: str, text: str) -> Decimal:
    """Digits with a decimal point or comma; blanks part thousands, and so does the other mark."""
    joined = re.sub(r"[\s\u00a0]", "", digits)
    if re.fullmatch(r"[+-]?[1-9]\d{0,2}[.,]\d{3}", joined):
        whole = re.sub(r"[.,]", "", joined)
        raise Problem(
            "money",
            f"“{text}” can be read as {whole} or as {joined.replace(',', '.')}.",
            tries=[f"write {whole} or {joined.replace(',', '.')}0"],
        )
    last = max(joined.rfind("."), joined.rfind(","))
    is_decimal = last >= 0 and joined.count(joined[last]) == 1  # a mark that comes twice parts thousands
    head, tail = (joined[:last], joined[last + 1 :]) if is_decimal else (joined, "")
    if not _WHOLE.match(head) or not (tail.isdigit() or not is_decimal):
        raise Problem("money", f"“{text}” is no amount of money.", tries=["write it as 19.85 EUR"])
    return Decimal(re.sub(r"[.,]", "", head) + (f".{tail}" if tail else ""))
