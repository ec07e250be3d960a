"""Bodies: the measures of a person that a garment starts from.

In: bust or chest in cm (women, men) or height in cm (children). Out: `Body`, figures with the spread of a person around
the mean (residual standard deviation × 1.645). Assumption: the public surveys stand for the wearer; measure your own
customers. Outside the surveyed range the line is continued and `is_outside` says so.
What a survey lacks follows by proportion and says so.
Not covered: ease (`ease`), garments (`blocks`). Sources: army_women_2012, johnson_1996, army_men_2012, children_retail.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise

from loopwright.figure import NINE_IN_TEN_SD, Figure, banded
from loopwright.problems import Problem
from loopwright.sources.table import Row, table

WOMEN_BUST_CM = (78.0, 122.0)
MEN_CHEST_CM = (80.0, 136.0)
CHILD_HEIGHT_CM = (50.0, 176.0)
MEAN_STATURE_WOMAN_CM = 163.0


@dataclass(frozen=True, slots=True)
class Body:
    """A body by its girth or height; figures in cm by dimension."""

    population: str
    girth_cm: float
    figures: dict[str, Figure]
    is_outside: bool = False

    def __getitem__(self, dimension: str) -> float:
        """The mean of a dimension, cm."""
        return self.figures[dimension].value


def woman(bust_cm: float, stature_cm: float = MEAN_STATURE_WOMAN_CM) -> Body:
    """A woman of a bust and stature, from the fitted lines (production reference 1.3).

    >>> body = woman(92)    # P-02
    >>> round(body["waist"], 2), round(body["hip"], 2), round(body["upper_arm"], 2)
    (83.36, 100.46, 29.83)
    """
    figures = {}
    for row in table(__package__, "women_fit"):
        value = row["a_cm"] + row["per_bust"] * (bust_cm - 95) + row["per_stature"] * (stature_cm - 163)
        figures[row.text("dimension")] = _around(row.text("dimension"), value, row, row["residual_sd_cm"])
    rows = table(__package__, "women_by_bust").rows
    for spread in table(__package__, "women_spread"):
        name = spread.text("dimension")
        value = _interpolated(rows, "bust_cm", f"{name}_cm", bust_cm)
        low, high = value - spread["below_cm"], value + spread["above_cm"]
        figures[name] = _banded(name, value, low, high, rows[0], "mean of the survey by bust")
    return Body("women", bust_cm, figures, not WOMEN_BUST_CM[0] <= bust_cm <= WOMEN_BUST_CM[1])


def man(chest_cm: float) -> Body:
    """A man of a chest, from the fitted lines and survey means (production reference 1.4).

    >>> body = man(100)    # P-03
    >>> round(body["neck"], 1), round(body["waist"], 1), round(body["upper_arm"], 1)
    (37.8, 91.6, 32.1)
    """
    figures = {}
    for row in table(__package__, "men_fit"):
        value = row["a_cm"] + row["per_chest"] * (chest_cm - 100)
        figures[row.text("dimension")] = _around(row.text("dimension"), value, row, row["residual_sd_cm"])
    for row in table(__package__, "men_means"):
        figures[row.text("dimension")] = _around(row.text("dimension"), row["mean_cm"], row, row["sd_cm"])
    figures |= _in_proportion("men", {name: figure.value for name, figure in figures.items()})
    return Body("men", chest_cm, figures, not MEN_CHEST_CM[0] <= chest_cm <= MEN_CHEST_CM[1])


def child(height_cm: float) -> Body:
    """A child of a body height; gaps of the table are interpolated (production reference 1.5).

    >>> body = child(128)    # P-09
    >>> body["chest"], body["arm"]
    (64.0, 45.0)
    """
    rows = table(__package__, "children").rows
    figures = {}
    for column in ("chest_cm", "waist_cm", "arm_cm"):
        filled = [row for row in rows if row.has(column)]
        name = column.removesuffix("_cm")
        value = _interpolated(filled, "height_cm", column, height_cm)
        figures[name] = _around(name, value, rows[0], CHILD_SD_CM, CHILD_WORDS)
    known = {name: figure.value for name, figure in figures.items()} | {"height": height_cm}
    figures |= _in_proportion("children", known)
    is_outside = not CHILD_HEIGHT_CM[0] <= height_cm <= CHILD_HEIGHT_CM[1]
    return Body("children", figures["chest"].value, figures, is_outside)


CHILD_SD_CM = 1.5  # prior: children of one height round a retail chart, which gives bands of 2 cm and no spread
CHILD_WORDS = "middle of the retail charts by height"


def age_of_height(height_cm: float) -> str:
    """Nominal age of a height, as text for the label.

    >>> age_of_height(98)    # P-09
    '3 y'
    """
    rows = table(__package__, "children").rows
    return min(rows, key=lambda row: abs(row["height_cm"] - height_cm)).text("age")


def require_girth(population: str, girth_cm: float, place: str) -> None:
    """Refuse a girth or height that is no body.

    Raises:
        Problem: outside 30 to 250 cm.
    """
    if not 30 <= girth_cm <= 250:
        raise Problem(
            place, f"{girth_cm:g} cm is no {population} measure.", limit="30 to 250 cm", tries=["check the unit"]
        )


def _interpolated(rows: Sequence[Row], along: str, column: str, at: float) -> float:
    """Linear between rows; outside, on from the nearest end by the slope of the whole table: end bins hold few."""
    first, last = rows[0], rows[-1]
    if not first[along] <= at <= last[along]:
        end = first if at < first[along] else last
        return end[column] + (last[column] - first[column]) / (last[along] - first[along]) * (at - end[along])
    low, high = next((low, high) for low, high in pairwise(rows) if at <= high[along])
    return low[column] + (high[column] - low[column]) / (high[along] - low[along]) * (at - low[along])


def _in_proportion(population: str, known: Mapping[str, float]) -> dict[str, Figure]:
    """What no survey gives, from what is known of the body (table of proportions)."""
    figures = {}
    for row in table(__package__, "proportions"):
        if row.text("population") != population:
            continue
        name = row.text("dimension")
        times = row["times"] if row.has("times") else _over_stature(name)
        value = row["plus_cm"] + times * max(0.0, known[row.text("of")] - row["above_cm"])
        figures[name] = _around(name, value, row, row["residual_sd_cm"], row.text("words"))
    return figures


def _over_stature(dimension: str) -> float:
    """Ratio of a dimension to stature in the best filled bin of the women's survey."""
    row = max(table(__package__, "women_by_bust"), key=lambda row: row["n"])
    return row[f"{dimension}_cm"] / row["stature_cm"]


def _around(name: str, value: float, row: Row, sd: float, words: str = "mean of the survey") -> Figure:
    """A mean with the spread of people round it: 1.645 standard deviations each way."""
    arm = NINE_IN_TEN_SD * sd
    return _banded(name, value, value - arm, value + arm, row, words)


def _banded(name: str, value: float, low: float, high: float, row: Row, words: str) -> Figure:
    words = f"{words}; the spread is that of people"
    name = name.replace("_", " ")
    return banded(name, value, "cm", low=low, high=high, basis=row.basis, words=words, source=row.source)
