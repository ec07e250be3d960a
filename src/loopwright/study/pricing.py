"""The price of the style: what a mean piece of the order takes, and the rate card it meets.

In: worked sizes with their shares, yarns, the style's order, rates and targets. Out: `Pricing`. Not covered: the
arithmetic of the sheet (`cost`).
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal

from loopwright.cost.limits import unit_in
from loopwright.cost.money import Money, parse_money
from loopwright.cost.piece import CostInputs, PieceInputs, YarnLine, early_quote
from loopwright.cost.quantity import PriceLaw, Quantity, QuantityBreak, pieces_for_price, price_law, quantity_breaks
from loopwright.cost.rates import MarginRule, RateCard, rate_card, rate_rows
from loopwright.cost.sheet import CostSheet, cost_sheet
from loopwright.cost.spreads import drivers
from loopwright.cost.uncertainty import CostSpread, propagated_spread, sampled_spread
from loopwright.cost.yarn_purchase import YarnOrder, usual_loss, usual_losses, yarn_issued, yarn_order
from loopwright.fabric.fabric import Fabric
from loopwright.figure import Figure, Term, entered, linear
from loopwright.makeup.minutes import MakeupSheet
from loopwright.makeup.operations import GROUPS
from loopwright.problems import Problem
from loopwright.sources.table import Row, table
from loopwright.study.knitting import SizeStudy, weighted
from loopwright.study.parts import Assumptions
from loopwright.study.style import Order, Style, YarnSpec
from loopwright.units import quantity, whole_parts

SEED = 20_270_914  # one seed for the draws, so that the same style gives the same sheet
CONE_KG = 1.0  # assumed mass of a cone while none is named
OWN_RATES = ("programming_hours",)  # rates of the style that are no rates of the card


@dataclass(frozen=True, slots=True)
class Pricing:
    """The price of a mean piece, how sure it is, how it moves with quantity, and the yarn to buy by colour."""

    inputs: CostInputs
    sheet: CostSheet
    spread: CostSpread
    drawn: CostSpread
    law: PriceLaw
    breaks: tuple[QuantityBreak, ...]
    meets_target: Quantity | None
    yarn_orders: tuple[YarnOrder, ...]


def price_style(
    style: Style,
    order: Order,
    sizes: Sequence[tuple[float, SizeStudy]],
    fabrics: Mapping[str, Fabric],
    assumptions: Assumptions,
) -> Pricing:
    """Price a style from its worked sizes and their shares of the order.

    Raises:
        Problem: a yarn without a price, an unknown rate, or a rate outside its limits.
    """
    currency, rates = rates_of(style, assumptions)
    lines = yarn_lines(style, kg_issued(style, with_linking(mean_grams(sizes))), currency)
    piece = PieceInputs(
        yarn_lines=lines,
        knitting_minutes=_knitting(sizes),
        makeup_minutes=mean_makeup([(share, each.makeup) for share, each in sizes]),
        programming_hours=programming_hours(style, len(sizes), fabrics),
        pieces=order.pieces,
    )
    inputs = quoted(style, piece, rates)
    sheet, law = cost_sheet(inputs), price_law(inputs)
    target = _money(style.targets.price, currency)
    return Pricing(
        inputs=inputs,
        sheet=sheet,
        spread=propagated_spread(sheet, target),
        drawn=sampled_spread(inputs, seed=SEED, target=target),
        law=law,
        breaks=quantity_breaks(inputs),
        meets_target=pieces_for_price(law, target) if target else None,
        yarn_orders=tuple(_orders(style, order, lines)),
    )


def _money(amount: float | None, currency: str) -> Money | None:
    return None if amount is None else Money(Decimal(str(amount)), currency)


def rates_of(style: Style, assumptions: Assumptions) -> tuple[str, RateCard]:
    """Currency and rate card of a style; what it left out is the packaged example and is noted.

    Raises:
        Problem: an unknown margin rule, an unknown rate, or one outside its limits.
    """
    given = dict(style.rates)
    currency = str(given.pop("currency", "EUR"))
    rule = str(given.pop("margin_rule", MarginRule.ON_PRICE))
    if rule not in tuple(MarginRule):
        raise Problem("rates.margin_rule", f"“{rule}” is no margin rule.", limit=" or ".join(MarginRule))
    numbers = {name: _number(name, value, currency) for name, value in given.items() if name not in OWN_RATES}
    try:
        card = rate_card(currency, numbers, margin_rule=MarginRule(rule))
    except Problem as problem:
        raise problem.at("rates") from None
    for name, row in rate_rows().items():
        if name not in numbers:
            assumptions.note(f"rates.{name}", f"{row.text('words')}: example rate {getattr(card, name).text()}")
    return currency, card


def _number(name: str, value: float | str, currency: str) -> float:
    """A rate as a number; text may carry its currency and unit ("4,20 EUR/h") or be a share ("12 %")."""
    if not isinstance(value, str):
        return value
    if value.strip().endswith("%"):
        try:
            return quantity(value, "%") / 100
        except Problem as problem:
            raise problem.at(f"rates.{name}") from None
    try:
        return float(parse_money(_in_its_unit(name, value, currency), currency).amount)
    except Problem as problem:
        raise problem.at(f"rates.{name}") from None


def _in_its_unit(name: str, value: str, currency: str) -> str:
    """The money of a rate, when what it is given per is what it is reckoned per."""
    money, _, per = value.partition("/")
    unit = unit_in(rate_rows()[name], currency) if name in rate_rows() else ""
    if per and per.strip() != unit.partition("/")[2]:
        raise Problem(
            "", f"“{value}” is given per {per.strip()}, and reckoned in {unit}.", tries=[f"give it in {unit}"]
        )
    return money


def quoted(style: Style, piece: PieceInputs, rates: RateCard) -> CostInputs:
    """A piece at the rate card, with the spread of an early quote on all but what the person gave.

    Raises:
        Problem: a mass, a minute or an hour outside its limits.
    """
    firm = ("yarn_price", *(name for name in drivers() if name in style.rates))
    return early_quote(CostInputs(piece, rates), firm=firm)


def mean_grams(sizes: Sequence[tuple[float, SizeStudy]]) -> dict[str, Figure]:
    """Grams of every yarn in the panels of a mean piece."""
    return {
        name: weighted(f"{name} in a piece", [(share, each.grams_by_yarn[name]) for share, each in sizes], "g")
        for name in sizes[0][1].grams_by_yarn
    }


def with_linking(grams: Mapping[str, Figure]) -> dict[str, Figure]:
    """The yarn of the panels and of linking, which is done in the first yarn."""
    first, *others = grams
    return {first: _with_linking(grams[first])} | {name: grams[name] for name in others}


def losses_of(style: Style, yarn: str) -> tuple[Figure, ...]:
    """Losses on the way of a yarn through knitting and make-up of panels, the style's own where it has one."""
    own = _yarn_spec(style, yarn)[1].knitting_loss
    knitting, *others = usual_losses("fully fashioned")
    return (knitting if own is None else entered("knitting and winding loss", own, ""), *others)


def kg_issued(style: Style, grams: Mapping[str, Figure]) -> dict[str, Figure]:
    """Kilograms of every yarn issued for the panels of a piece."""
    return {name: yarn_issued(each, losses_of(style, name)) for name, each in grams.items()}


def yarn_lines(style: Style, kg: Mapping[str, Figure], currency: str) -> tuple[YarnLine, ...]:
    """Yarns issued, with their prices.

    Raises:
        Problem: a yarn without a price.
    """
    return tuple(YarnLine(name, each, _price_of(style, name, currency)) for name, each in kg.items())


def _price_of(style: Style, yarn: str, currency: str) -> Figure:
    key, spec = _yarn_spec(style, yarn)
    if spec.price_per_kg is None:
        raise Problem(
            f"yarns.{key}", "the yarn has no price.", tries=[f"yarns.{key}.price_per_kg = 29.50"], is_gap=True
        )
    return entered("yarn price", spec.price_per_kg, f"{currency}/kg")


def _yarn_spec(style: Style, yarn: str) -> tuple[str, YarnSpec]:
    return next((key, spec) for key, spec in style.yarns.items() if (spec.name or key) == yarn)


def _with_linking(panels: Figure) -> Figure:
    linking = (
        table(__package__, "linking_yarn").by("use")["linking"].figure("linking yarn", "grams", "g", words="a piece")
    )
    terms = [Term("m", panels), Term("linking", linking)]
    words = "yarn of the panels and of linking"
    return linear(panels.name, panels.value + linking.value, "g", terms, words=words, formula="panels + linking")


def _knitting(sizes: Sequence[tuple[float, SizeStudy]]) -> Figure:
    parts = [(share, each.minutes) for share, each in sizes if each.minutes is not None]
    if not parts:
        raise Problem(
            "machine", "knitting cannot be priced without a machine.", tries=["[machine] with gauge = 12"], is_gap=True
        )
    return weighted("knitting minutes", parts, "min")


def mean_makeup(sheets: Sequence[tuple[float, MakeupSheet]]) -> dict[str, Figure]:
    """Make-up minutes of a mean piece by group."""
    return {
        group: weighted(group, [(share, each.group_minutes[group]) for share, each in sheets], "min")
        for group in GROUPS
    }


def programming_hours(style: Style, sizes: int, fabrics: Mapping[str, Fabric]) -> Figure:
    """Programming hours: given, or the trade's for a new shape and its further sizes."""
    if "programming_hours" in style.rates:
        return entered("programming hours", _hours(style.rates["programming_hours"]), "h")
    return usual_programming(("new_shape",), sizes, fabrics)


def usual_programming(works: Sequence[str], sizes: int, fabrics: Mapping[str, Fabric]) -> Figure:
    """The trade's hours for some kinds of work, for the further sizes, and what the structures add."""
    rows = table(__package__, "programming").by("work")
    parts: list[tuple[Row, float]] = [*((rows[work], 1) for work in works), (rows["extra_size"], sizes - 1)]
    structures = [fabric.structure.anatomy for fabric in fabrics.values()]
    if any(len(anatomy.yarns) > 1 for anatomy in structures):
        parts.append((rows["jacquard"], 1))
    if any(anatomy.moved_loops and anatomy.racks for anatomy in structures):
        parts.append((rows["transfers"], 1))
    terms = [
        Term("h", row.figure(row.text("work").replace("_", " "), "hours", "h", words="common practice"), count)
        for row, count in parts
        if count
    ]
    value = sum(term.figure.value * term.weight for term in terms)
    said = " and ".join(work.replace("_", " ") for work in works)
    words = f"{said}, and {sizes - 1} further sizes; weak, ask the factory"
    return linear("programming hours", value, "h", terms, words=words, source=rows[works[0]].source)


def _hours(value: float | str) -> float:
    try:
        return quantity(value, "h") if isinstance(value, str) else value
    except Problem as problem:
        raise problem.at("rates.programming_hours") from None


def _orders(style: Style, order: Order, lines: Sequence[YarnLine]) -> list[YarnOrder]:
    colours = order.colours or []
    total = sum(colour.share for colour in colours) or 1.0
    split = whole_parts(order.pieces, [colour.share / total for colour in colours]) if colours else [order.pieces]
    names = [colour.name for colour in colours] or ["one colour"]
    feeders = style.machine.systems if style.machine else 1
    return [
        yarn_order(
            line.name,
            colour,
            kg_per_piece=line.kg,
            pieces=pieces,
            cone_kg=CONE_KG,
            feeders=feeders,
            over_order=usual_loss("over_order"),
        )
        for line in lines
        for colour, pieces in zip(names, split, strict=True)
        if pieces
    ]
