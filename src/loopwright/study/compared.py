"""Two styles side by side: every quantity that both have, what differs surely, and what the spread leaves open.

In: two `StyleStudy`s. Out: `Compared`: rows in order of what matters (price, mass, minutes, gauge, shrinkage, hand),
differences as figures, findings that only one has. A difference is sure when its own nine-in-ten band does not hold
nothing. What both figures rest on alike (the same rate, and in one and the same yarn the same constant of the cloth)
moves both and is taken out of the band; all else is taken as independent, so that a band is rather too wide than too
narrow. Between two yarns a constant of the cloth is not alike: its band is what yarns differ by.
Not covered: how it is shown (`report.comparison`), two versions of one style (`store`).
"""

from __future__ import annotations

import math
import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from enum import IntEnum, StrEnum

from loopwright.fabric.fabric import Fabric
from loopwright.figure import Figure, Input, Term, entered, linear, shown
from loopwright.problems import Finding, Problem, Sign
from loopwright.study.study import StyleStudy
from loopwright.study.style import Header
from loopwright.yarn.yarn import Yarn


class Matter(IntEnum):
    """What a row is about, in order of consequence."""

    PRICE = 0
    MASS = 1
    MINUTES = 2
    GAUGE = 3
    SHRINKAGE = 4
    HAND = 5

    @property
    def word(self) -> str:
        """As it is said."""
        return self.name.lower()


class Verdict(StrEnum):
    """How sure a difference is."""

    DIFFERENT = "surely different"
    OPEN = "not surely different"
    UNTOLD = "cannot be told"
    ALIKE = "alike"


_OF_CLOTH: Mapping[Matter, tuple[str, ...]] = {
    Matter.MASS: ("mass_g_per_m2",),
    Matter.GAUGE: ("wales_per_cm", "courses_per_cm", "loop_length_mm", "tightness_over_jam"),
    Matter.SHRINKAGE: ("length_change_from_dry_percent", "width_change_from_dry_percent", "spirality_percent"),
    Matter.HAND: ("thickness_mm", "width_stretch_percent", "length_stretch_percent", "side_curl_rank", "run_risk"),
}
_NUMBERS = re.compile(r"[−-]?\d[\d.,\u00a0]*")


@dataclass(frozen=True, slots=True)
class CompareRow:
    """One quantity of both: figures, the second less the first with its own band, and how sure that is.

    `missing` says why there is no difference.
    """

    key: str
    matter: Matter
    words: str
    first: Figure | None
    second: Figure | None
    difference: Figure | None
    verdict: Verdict
    missing: str = ""


@dataclass(frozen=True, slots=True)
class Compared:
    """Two styles with their names, rows in order, and the findings that only one of them has."""

    first: StyleStudy
    second: StyleStudy
    names: tuple[str, str]
    rows: tuple[CompareRow, ...]
    only_first: tuple[Finding, ...]
    only_second: tuple[Finding, ...]

    @property
    def zones_of_one(self) -> tuple[tuple[str, ...], tuple[str, ...]]:
        """Zones with a cloth in the first alone, and in the second alone; their figures stand beside nothing."""
        one, two = self.first.fabrics, self.second.fabrics
        return tuple(zone for zone in one if zone not in two), tuple(zone for zone in two if zone not in one)

    def of(self, *verdicts: Verdict) -> tuple[CompareRow, ...]:
        """Rows of these verdicts, in their order."""
        return tuple(row for row in self.rows if row.verdict in verdicts)

    def row(self, key: str) -> CompareRow | None:
        """A row by its key; none when neither style has it."""
        return next((row for row in self.rows if row.key == key), None)

    @property
    def is_alike(self) -> bool:
        """Whether nothing that was compared differs."""
        lonely = (*self.only_first, *self.only_second, *self.zones_of_one[0], *self.zones_of_one[1])
        return not lonely and all(row.verdict is Verdict.ALIKE for row in self.rows)


def compare(first: StyleStudy, second: StyleStudy) -> Compared:
    """Two studies beside each other, the larger matters first.

    Raises:
        Problem: neither says anything that could be compared.
    """
    groups = [zones for zones in zone_groups(first, second) if zones[0] in first.fabrics and zones[0] in second.fabrics]
    one, two = quantities(first, groups), quantities(second, groups)
    if not one and not two:
        raise Problem("compare", "Neither of the two has a figure yet.", tries=["name a yarn in one of them"])
    names = names_of(first, second)
    rows = [_row(key, one.get(key), two.get(key), names) for key in dict.fromkeys([*one, *two])]
    rows.sort(key=_rank)
    only = _only(first.findings, second.findings), _only(second.findings, first.findings)
    return Compared(first, second, names, tuple(rows), *only)


def names_of(first: StyleStudy, second: StyleStudy) -> tuple[str, str]:
    """What tells two styles apart in a word: their numbers, else their names, else their order."""
    one, two = first.style.style, second.style.style
    for pair in ((one.number, two.number), (one.name, two.name)):
        if pair[0] != pair[1] and not set(pair) & UNTOLD_NAMES:
            return pair
    return "the first", "the second"


UNTOLD_NAMES = {field.default for name, field in Header.model_fields.items() if name in ("number", "name")}


@dataclass(frozen=True, slots=True)
class Quantity:
    """A figure of a style, what it is about, and the yarn whose cloth it is of; none where it is of no one yarn."""

    matter: Matter
    words: str
    figure: Figure
    yarn: Yarn | None = None


Groups = Sequence[tuple[str, ...]]


def zone_groups(first: StyleStudy, second: StyleStudy) -> list[tuple[str, ...]]:
    """Zones of either style; those that are one cloth in the first and one in the second are a group."""
    groups: dict[tuple[object, ...], list[str]] = {}
    for zone in dict.fromkeys([*first.fabrics, *second.fabrics]):
        cloths = tuple(fabric.identity if (fabric := each.fabrics.get(zone)) else None for each in (first, second))
        groups.setdefault(cloths, []).append(zone)
    return [tuple(group) for group in groups.values()]


def quantities(study: StyleStudy, groups: Groups) -> dict[str, Quantity]:
    """By key: what can be compared of a study; `groups` are zones that it has a cloth of."""
    found: dict[str, Quantity] = {}
    if study.pricing is not None:
        sheet = study.pricing.sheet
        found["price"] = Quantity(Matter.PRICE, "price free on board", sheet.fob.figure)
        found["landed"] = Quantity(Matter.PRICE, "landed cost", sheet.landed.figure)
    of_piece = (
        ("yarn_g", Matter.MASS, "yarn in a piece", study.grams),
        ("knitting_min", Matter.MINUTES, "knitting, with stops", study.minutes),
        ("makeup_min", Matter.MINUTES, "make-up", study.makeup_minutes),
    )
    found |= {key: Quantity(matter, words, figure) for key, matter, words, figure in of_piece if figure is not None}
    if study.style.machine is not None:
        gauge = entered("machine gauge", study.style.machine.gauge, "needles per inch")
        found["machine_gauge"] = Quantity(Matter.GAUGE, gauge.name, gauge)
    for zones in groups:
        found |= _of_cloth(", ".join(zones), study.fabrics[zones[0]])
    for place, yarn in enumerate(study.yarns.values(), start=1):
        found[f"yarn_{place}.tex"] = Quantity(Matter.GAUGE, f"yarn {place}: count at the needle", yarn.tex)
    return found


def _of_cloth(zones: str, fabric: Fabric) -> dict[str, Quantity]:
    figures, yarn = fabric.figures(), replace(fabric.yarn, name="")  # one yarn, whatever it is called
    return {
        f"{zones}.{key}": Quantity(matter, f"{zones}: {figures[key].name}", figures[key], yarn)
        for matter, keys in _OF_CLOTH.items()
        for key in keys
        if key in figures
    }


def _row(key: str, one: Quantity | None, two: Quantity | None, names: tuple[str, str]) -> CompareRow:
    told = one or two
    assert told is not None
    first, second = (each.figure if each else None for each in (one, two))
    row = CompareRow(key, told.matter, told.words, first, second, None, Verdict.UNTOLD)
    if one is None or two is None or first is None or second is None:
        return replace(row, missing=f"{names[0] if one is None else names[1]} has none")
    if first.unit != second.unit:
        return replace(row, missing=f"{first.unit} and {second.unit} are not compared")
    gap = difference(told.words, first, second, are_kin=one.yarn == two.yarn)
    return replace(row, difference=gap, verdict=verdict_of(first, second, gap))


def verdict_of(first: Figure, second: Figure, gap: Figure) -> Verdict:
    """How sure it is that two figures differ."""
    if math.isclose(first.value, second.value, rel_tol=1e-9) or (shown(first), first.unit) == (
        shown(second),
        second.unit,
    ):
        return Verdict.ALIKE
    return Verdict.OPEN if gap.low <= 0 <= gap.high else Verdict.DIFFERENT


def difference(words: str, first: Figure, second: Figure, *, are_kin: bool = True) -> Figure:
    """The second less the first: bands by the root of their squares, less what both share when they `are_kin`.

    >>> from loopwright.figure import Basis, banded
    >>> a = banded("wage", 10, "EUR", low=7, high=13, basis=Basis.ASSUMED, words="asked")
    >>> gap = difference("wage", a, replace(a, value=14, low=11, high=17))
    >>> round(gap.value, 2), round(gap.spread, 2)
    (4, 4.24)
    """
    apart = linear(
        f"difference, {words}",
        second.value - first.value,
        first.unit,
        [Term("second", second), Term("first", first, -1)],
        words="the second less the first; what moves both alike is taken out of the spread",
        formula="second − first",
        state=second.state if second.state is first.state else None,
    )
    alike = list(shared(first, second)) if are_kin else []
    down, up = _arms(first, second, alike)
    return replace(apart, low=apart.value - down, high=apart.value + up)


def _arms(first: Figure, second: Figure, alike: Sequence[tuple[float, float]]) -> tuple[float, float]:
    """How far the difference reaches down and up: own parts by the root of their squares, shared parts moved at once.

    A shared input that goes up moves both figures up, each by its own arm; one that goes down moves both down.
    """
    own = [max(1 - math.fsum(shares), 0.0) for shares in zip(*alike, strict=True)] or [1.0, 1.0]
    (low_1, high_1), (low_2, high_2) = ((each.value - each.low, each.high - each.value) for each in (first, second))
    down = [math.sqrt(own[1]) * low_2, math.sqrt(own[0]) * high_1]
    up = [math.sqrt(own[1]) * high_2, math.sqrt(own[0]) * low_1]
    for one, two in alike:
        moved = (
            math.sqrt(two) * high_2 - math.sqrt(one) * high_1,
            math.sqrt(one) * low_1 - math.sqrt(two) * low_2,
        )
        up.append(max(*moved, 0.0))
        down.append(-min(*moved, 0.0))
    return math.hypot(*down), math.hypot(*up)


def shared(first: Figure, second: Figure) -> Iterator[tuple[float, float]]:
    """Shares of variance of every input that both figures have alike: of one formula, and the same in all it says."""
    if first.why.formula != second.why.formula:
        return
    others = {each.symbol: each for each in second.why.inputs}
    for own in first.why.inputs:
        other = others.get(own.symbol)
        if other is not None and _said(own) == _said(other):
            yield own.share, other.share


def _said(given: Input) -> tuple[object, ...]:
    figure = given.figure
    return (figure.name, figure.value, figure.unit, figure.low, figure.high, figure.basis, figure.why.source)


def _rank(row: CompareRow) -> tuple[int, Matter, bool, float]:
    """What differs, then what cannot be told, then what is alike; in each larger matters first, what is sure before."""
    tier = {Verdict.UNTOLD: 1, Verdict.ALIKE: 2}.get(row.verdict, 0)
    gap, first = row.difference, row.first
    apart = abs(gap.value / first.value) if gap and first and first.value else 0.0
    return tier, row.matter, row.verdict is Verdict.OPEN, -apart


def _only(own: Sequence[Finding], others: Sequence[Finding]) -> tuple[Finding, ...]:
    """Findings that the other has not, whatever its numbers are; what only holds is no difference."""
    known = {_kind(each) for each in others}
    return tuple(each for each in own if each.sign is not Sign.HOLDS and _kind(each) not in known)


def _kind(finding: Finding) -> tuple[str, str]:
    """What a finding is about: its place, and how its sentence begins, without numbers."""
    words = _NUMBERS.sub("#", finding.sentence).split()
    return finding.where.partition(",")[0], " ".join(words[:SAME_WORDS])


SAME_WORDS = 5  # of two sentences that begin alike: one finding with other numbers
