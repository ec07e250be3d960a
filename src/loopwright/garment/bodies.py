"""Bodies: the measures of a person that a garment starts from.

In: bust or chest in cm (women, men) or height in cm (children). Out: `Body`, figures with the spread of a person around
the mean (residual standard deviation × 1.645). Assumption: the public surveys stand for the wearer; measure your own
customers. Outside the surveyed range the line is continued and `is_outside` says so.
Not covered: ease (`ease`), garments (`blocks`). Sources: army_women_2012, johnson_1996, army_men_2012, children_retail.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from loopwright.figure import NINE_IN_TEN_SD, Basis, Figure, banded
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
    for column in ("nape_to_armpit_cm", "head_cm", "shoulder_length_cm"):
        value = _interpolated(rows, "bust_cm", column, bust_cm)
        name = column.removesuffix("_cm")
        figures[name] = _around(name, value, rows[0], 1.5 if name != "shoulder_length" else 1.0)
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
    stature = figures["stature"].value
    figures["outseam"] = _assumed(
        "outseam", stature * OUTSEAM_OVER_STATURE, 2.5, "women's outseam over stature, times stature"
    )
    figures["spine_to_wrist"] = _assumed("spine_to_wrist", stature / 2, 3.0, "half the stature")
    figures["nape_to_armpit"] = _assumed(
        "nape_to_armpit", stature * ARMPIT_OVER_STATURE, 2.0, "women's level over stature, times stature"
    )
    return Body("men", chest_cm, figures, not MEN_CHEST_CM[0] <= chest_cm <= MEN_CHEST_CM[1])


OUTSEAM_OVER_STATURE = 54.4 / 163.2  # women at bust 92, army_women_2012
ARMPIT_OVER_STATURE = 15.7 / 163.2  # women at bust 92, army_women_2012


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
        figures[name] = _around(name, _interpolated(filled, "height_cm", column, height_cm), rows[0], 1.5)
    chest = figures["chest"].value
    stature = height_cm
    figures["upper_arm"] = _assumed("upper_arm", 0.31 * chest, 1.5, "0.31 of the chest, as a youth chart has it")
    figures["wrist"] = _assumed(
        "wrist", 10.5 + 0.045 * max(0.0, height_cm - 74), 1.0, "from 10.5 cm, growing with height"
    )
    figures["biacromial"] = _assumed("biacromial", 0.228 * stature, 1.2, "0.228 of the height")
    figures["nape_to_armpit"] = _assumed(
        "nape_to_armpit", ARMPIT_OVER_STATURE * stature, 1.0, "women's level over stature"
    )
    figures["back_waist"] = _assumed("back_waist", 0.25 * stature, 1.2, "a quarter of the height")
    figures["outseam"] = figures["arm"].named("outseam")
    return Body("children", chest, figures, not CHILD_HEIGHT_CM[0] <= height_cm <= CHILD_HEIGHT_CM[1])


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
    """Linear between rows, the end slopes continued outside."""
    places = [row[along] for row in rows]
    index = next((i for i in range(1, len(places) - 1) if places[i] >= at), len(places) - 1)
    low, high = rows[index - 1], rows[index]
    slope = (high[column] - low[column]) / (high[along] - low[along])
    return low[column] + slope * (at - low[along])


def _around(name: str, value: float, row: Row, sd: float) -> Figure:
    arm = NINE_IN_TEN_SD * sd
    words = "mean of the survey; the spread is that of people"
    return banded(
        name.replace("_", " "),
        value,
        "cm",
        low=value - arm,
        high=value + arm,
        basis=row.basis,
        words=words,
        source=row.source,
    )


def _assumed(name: str, value: float, sd: float, words: str) -> Figure:
    arm = NINE_IN_TEN_SD * sd
    low, high = value - arm, value + arm
    return banded(name.replace("_", " "), value, "cm", low=low, high=high, basis=Basis.ASSUMED, words=words)
