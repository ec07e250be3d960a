"""The pullover of the worked cost example (production reference 7.3), to be changed by each test."""

from collections.abc import Callable, Mapping

import pytest

from loopwright.cost.piece import CostInputs, PieceInputs, YarnLine
from loopwright.cost.rates import MarginRule, rate_card
from loopwright.figure import Figure, entered


def _job(
    *,
    kg: float = 0.2226,
    price: float = 24.0,
    minutes: float = 37.3,
    makeup: Mapping[str, float] | None = None,
    hours: float = 14.0,
    pieces: int = 300,
    currency: str = "EUR",
    rule: MarginRule = MarginRule.ON_PRICE,
    **rates: float | Figure,
) -> CostInputs:
    makeup = {"linking": 26.0, "press": 9.0, "check": 6.0} if makeup is None else makeup
    piece = PieceInputs(
        yarn_lines=(YarnLine("main", entered("kg", kg, "kg"), entered("price", price, f"{currency}/kg")),),
        knitting_minutes=entered("minutes", minutes, "min"),
        makeup_minutes={group: entered(group, value, "min") for group, value in makeup.items()},
        programming_hours=entered("hours", hours, "h"),
        pieces=pieces,
    )
    return CostInputs(piece, rate_card(currency, {"machine_hour": 2.666, **rates}, margin_rule=rule))


@pytest.fixture(scope="session")
def job() -> Callable[..., CostInputs]:
    """Makes the inputs of a price; every keyword changes one of them."""
    return _job
