"""Exact constants and the plain conversions of the trade; whole parts of a whole; the reader of a typed quantity.

Inside the package every number is a float in one unit, named by suffix (`_mm`, `_cm`, `_tex`, `_g_per_m2`). Conversion
happens once, at the door: a style file may say `half_chest = "19 1/4 in"` where the field is in centimetres.
Not covered: yarn counts (indirect systems), which live in `yarn.count`; money, which lives in `cost.money`.
Sources: yard and pound as fixed in 1959, 0.9144 m and 0.45359237 kg exactly (NIST Handbook 44, appendix C).
"""

from __future__ import annotations

import re
from collections.abc import Sequence

from loopwright.problems import Problem

METRES_PER_YARD = 0.9144
GRAMS_PER_POUND = 453.59237
MM_PER_INCH = 25.4
CM_PER_INCH = 2.54
SECONDS_PER_MINUTE = 60.0
MINUTES_PER_HOUR = 60.0

_PER_UNIT: dict[str, dict[str, float]] = {
    "mm": {"mm": 1.0, "cm": 10.0, "m": 1000.0, "in": MM_PER_INCH, "inch": MM_PER_INCH, '"': MM_PER_INCH},
    "cm": {"mm": 0.1, "cm": 1.0, "m": 100.0, "in": CM_PER_INCH, "inch": CM_PER_INCH, '"': CM_PER_INCH},
    "in": {"in": 1.0, "inch": 1.0, '"': 1.0, "cm": 1 / CM_PER_INCH, "mm": 1 / MM_PER_INCH},
    "m/s": {"m/s": 1.0, "cm/s": 0.01},
    "m": {"m": 1.0, "cm": 0.01, "mm": 0.001, "in": 0.0254},
    "s": {"s": 1.0, "min": 60.0},
    "min": {"min": 1.0, "s": 1 / 60.0, "h": 60.0},
    "h": {"h": 1.0, "min": 1 / 60.0},
    "g": {"g": 1.0, "kg": 1000.0, "oz": GRAMS_PER_POUND / 16, "lb": GRAMS_PER_POUND},
    "kg": {"kg": 1.0, "g": 0.001, "lb": GRAMS_PER_POUND / 1000},
    "%": {"%": 1.0, "per cent": 1.0},
    "1/cm": {"1/cm": 1.0, "/cm": 1.0, "per cm": 1.0, "/in": 1 / CM_PER_INCH, "per inch": 1 / CM_PER_INCH, "/10cm": 0.1},
    "needles": {"needles": 1.0, "needle": 1.0},
    "deg": {"deg": 1.0, "°": 1.0},
}

_VULGAR = {"½": " 1/2", "¼": " 1/4", "¾": " 3/4", "⅛": " 1/8", "⅜": " 3/8", "⅝": " 5/8", "⅞": " 7/8"}
_FRACTION = re.compile(r"^([+-]?)(?:(\d+)\s+)?(\d+)\s*/\s*(\d+)\s*(\D.*)?$")
_NUMBER = re.compile(r"^([+-]?(?:\d+(?:[\s\u00a0]\d{3})*)?(?:[.,]\d+)?)\s*(\D.*)?$")


def whole_parts(whole: int, shares: Sequence[float]) -> list[int]:
    """Whole parts that add to `whole` by shares that add to 1, the largest remainders first; equal ones in order.

    >>> whole_parts(100, [1 / 3, 1 / 3, 1 / 3]), whole_parts(640, [0.4, 0.6])
    ([34, 33, 33], [256, 384])
    """
    exact = [whole * share for share in shares]
    parts = [int(part) for part in exact]
    by_remainder = sorted(range(len(shares)), key=lambda index: parts[index] - exact[index])
    for index in by_remainder[: whole - sum(parts)]:
        parts[index] += 1
    return parts


def quantity(text: str, unit: str) -> float:
    """Read a number that a person typed, in `unit`, from text that may carry its own unit.

    A decimal comma is understood, and so are fractions of an inch.

    >>> quantity("6,15", "mm")
    6.15
    >>> quantity("19 1/4 in", "cm")
    48.895
    >>> quantity("1.5 kg", "g")
    1500.0

    Raises:
        Problem: the text is no number, or its unit is of another kind (a mass where a length is asked).
    """
    words = text.strip().replace("−", "-")
    for sign, spelled in _VULGAR.items():
        words = words.replace(sign, spelled)
    words = words.strip()
    if match := _FRACTION.match(words):
        minus, whole, over, under, written_unit = match.groups()
        if float(under) == 0:
            raise Problem("quantity", f"“{text}” divides by nothing.", tries=[f"write a number in {unit}"])
        value = float(whole or 0) + float(over) / float(under)
        return (-value if minus == "-" else value) * _factor(written_unit or "", unit, text)
    match = _NUMBER.match(words)
    if match is None or not match[1].strip("+-"):
        kind = f" in {unit}" if unit else ""
        raise Problem("quantity", f"“{text}” is no number{kind}.", tries=["write a number, for instance 6.15"])
    number = re.sub(r"[\s\u00a0]", "", match[1]).replace(",", ".")
    if re.fullmatch(r"[+-]?[1-9]\d{0,2},\d{3}", match[1].strip()):
        whole = match[1].replace(",", "").strip()
        raise Problem("quantity", f"“{text}” can be {whole} or {number}.", tries=[whole, f"{number}0"])
    return float(number) * _factor(match[2] or "", unit, text)


def _factor(written_unit: str, unit: str, text: str) -> float:
    if not written_unit:
        return 1.0
    known = _PER_UNIT.get(unit, {unit: 1.0})
    key = written_unit.casefold().rstrip(".")
    if key not in known:
        raise Problem(
            "quantity",
            f"“{text}” is in “{written_unit}”, and this field is in {unit}.",
            limit=f"units understood here: {', '.join(known)}",
            tries=[f"give it in {unit}"],
        )
    return known[key]
