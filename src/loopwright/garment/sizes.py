"""Sizes: what a size label means for the body, for women, men and children.

In: population and label (a letter, a bust or chest in cm, a men's code, a child's height). Out: the bust, chest or
height in cm. Not covered: body measures (`bodies`). Sources: en_13402_3, metric_sizing_note, size_range_2017.
"""

from __future__ import annotations

import math
from functools import cache

from loopwright.garment.bodies import age_of_height
from loopwright.problems import Problem
from loopwright.sources.table import table
from loopwright.units import quantity

LETTERS = ("XXS", "XS", "S", "M", "L", "XL", "2XL", "3XL", "4XL", "5XL")
_SAME_LETTER = {"XXL": "2XL", "XXXL": "3XL", "XXXXL": "4XL", "2XS": "XXS"}
LAST_REGULAR = "XL"  # beyond it half chest and half hem grade by their larger step


def girth_of_size(population: str, size: str) -> float:
    """Bust (women), chest (men) or height (children) of a size label, cm.

    >>> girth_of_size("women", "M"), girth_of_size("men", "52"), girth_of_size("women", "92")    # P-06: code 52
    (92.0, 104.0, 92.0)

    Raises:
        Problem: the label is no size of that population.
    """
    letter = letter_of(size)
    letters = table(__package__, "letters").by("population", "letter")
    if population != "children" and letter is not None:
        return letters[population, letter]["girth_cm"]
    try:
        number = float(size.replace(",", "."))
    except ValueError:
        number = -1.0
    if population == "men" and 40 <= number <= 72:
        return 2 * number
    if (population == "children" and 44 <= number <= 188) or (population != "children" and 73 <= number <= 160):
        return number
    known = (
        "a body height in cm such as 98" if population == "children" else "XXS to 5XL, or the girth in cm such as 92"
    )
    raise Problem(
        "sizes",
        f"“{size}” is no size for {population}.",
        limit=known,
        tries=["M" if population != "children" else "98"],
    )


def letter_of(size: str) -> str | None:
    """The letter size of a label, whichever way it is written; none for numbers."""
    label = size.strip().upper()
    label = _SAME_LETTER.get(label, label)
    return label if label in LETTERS else None


def bust_intervals() -> tuple[tuple[float, float, float], ...]:
    """(lower, upper, nominal) of the women's bust intervals, cm."""
    return tuple((row["lower_cm"], row["upper_cm"], row["nominal_cm"]) for row in table(__package__, "bust_limits"))


def code_of_chest(chest_cm: float) -> float:
    """Continental men's code: half the chest.

    >>> code_of_chest(116)    # P-06
    58.0
    """
    return chest_cm / 2


def labels_of_body(population: str, girth_cm: float) -> dict[str, str]:
    """What other systems call a body, by the name of the system; a body outside a system has none.

    >>> labels_of_body("women", 92.08)    # bust 36 1/4 in is misses 8 (P-01)
    {'EN bust': '92', 'US misses': '8'}
    >>> labels_of_body("men", 104)
    {"men's code": '52'}
    """
    if population == "men":
        return {"men's code": _even_code(code_of_chest(girth_cm))}
    if population == "children":
        return {"age": age_of_height(girth_cm)}
    labels = {}
    for lower, upper, nominal in bust_intervals():
        if lower <= girth_cm < upper:
            labels["EN bust"] = f"{nominal:g}"
    misses = _misses_by_bust()
    if misses[0][0] - HALF_STEP_CM <= girth_cm <= misses[-1][0] + HALF_STEP_CM:
        labels["US misses"] = min(misses, key=lambda each: abs(each[0] - girth_cm))[1]
    return labels


def _even_code(code: float) -> str:
    """The code as the trade uses it, even; between two it names both."""
    low = 2 * math.floor(code / 2)
    return f"{low:g}" if code - low < 0.5 else f"{low + 2:g}" if code - low > 1.5 else f"{low:g}–{low + 2:g}"


HALF_STEP_CM = 2.5  # how far past the first and last misses bust a body still takes that size


@cache
def _misses_by_bust() -> tuple[tuple[float, str], ...]:
    """(bust in cm, misses size) of the printed table in inches."""
    rows = table(__package__, "misses_inches").rows
    return tuple((quantity(f"{row.text('bust_in')} in", "cm"), row.text("size")) for row in rows)
