"""One cell of a measurement table as a length in cm: decimals, fractions of an inch, units beside the number.

In: the text of a cell, the unit of its table (cm, mm, in). Out: cm. A decimal comma and a decimal point are both
understood; a whole group of three digits behind one of them ("1,250") is settled by the other cells of the table, and
refused when they do not settle it. Assumption: nobody writes thousands of a measure.
Not covered: finding the cells (`table_layout`); numbers of a style file, which `units.quantity` reads.
Source of the factors: `units`.
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterable

from loopwright.problems import Problem
from loopwright.units import quantity

UNIT_WORDS = {
    "cm": ("cm", "cms", "centimetre", "centimetres", "centimeter", "centimeters"),
    "mm": ("mm", "mms", "millimetre", "millimetres", "millimeter", "millimeters"),
    "in": ("in", "ins", "inch", "inches", '"', "''", "″", "”", "“", "’’"),
    "m": ("m", "metre", "metres", "meter", "meters"),
}
TABLE_UNITS = ("cm", "mm", "in")

_UNIT_OF = {word: unit for unit, words in UNIT_WORDS.items() for word in words}
_NUMBER_AND_UNIT = re.compile(r"(.*[0-9])\s*([^0-9]*)")
_DECIMAL = re.compile(r"[0-9]{1,9}|[0-9]{0,9}[.,][0-9]{1,20}")
_FRACTION = re.compile(r"(?:([0-9]{1,9})(?:\s|\s?[-‐‑–]\s?))?([0-9]{1,9})\s?/\s?([0-9]{1,9})")
_GROUP_OF_THREE = re.compile(r"[1-9][0-9]{0,2}([.,])[0-9]{3}")
_NOT_SEEN = re.compile("[\u200b\u2060\ufeff]")
_DATE = re.compile(r"[0-9]{4}-[0-9]{2}-[0-9]{2}.*")


def length_cm(text: str, *, unit: str, decimal_signs: frozenset[str] = frozenset()) -> float:
    """Cm of a cell written in `unit` unless it names its own; `decimal_signs` are those that the table surely uses.

    >>> length_cm("19 1/4", unit="in"), length_cm('19-1/4"', unit="cm"), length_cm("19¼ in", unit="cm")
    (48.895, 48.895, 48.895)
    >>> length_cm("46,5", unit="cm"), length_cm("465 mm", unit="cm")
    (46.5, 46.5)

    Raises:
        Problem: no number, a number that can be read in two ways, a unit of another kind, less than nothing.
    """
    number, written = _parted(text)
    own = unit_named(written) if written else unit
    value = _number(number, text, own or unit, decimal_signs)
    if own is None:
        raise Problem("measure", f"“{text}” is in “{written}”.", limit="units: cm, mm, in, m", tries=["give it in cm"])
    return value * quantity(f"1 {own}", "cm")


def unit_named(word: str) -> str | None:
    """The unit that a word or sign names: "inches" is "in"; none when it names no length."""
    return _UNIT_OF.get(word.casefold().strip().rstrip("."))


def decimal_signs_of(texts: Iterable[str]) -> frozenset[str]:
    """Decimal signs that a table surely uses: those before one, two, four or more digits.

    >>> sorted(decimal_signs_of(["46,5", "1,250", "49"]))
    [',']
    """
    numbers = [_parted(text)[0] for text in texts]
    decimals = (number for number in numbers if _DECIMAL.fullmatch(number) and not _GROUP_OF_THREE.fullmatch(number))
    return frozenset(sign for number in decimals for sign in ".," if sign in number)


def _parted(text: str) -> tuple[str, str]:
    """(number, unit) of a cell, vulgar fractions spelled out, spaces single."""
    spelled = "".join(_spelled(sign) for sign in _NOT_SEEN.sub("", text))
    words = " ".join(spelled.split())
    match = _NUMBER_AND_UNIT.fullmatch(words)
    return (match[1].strip(), match[2].strip().rstrip(".")) if match else (words, "")


def _spelled(sign: str) -> str:
    if sign == "⁄":  # the slash that belongs to fractions, U+2044
        return "/"
    if unicodedata.name(sign, "").startswith("VULGAR FRACTION"):
        return " " + unicodedata.normalize("NFKC", sign).replace("⁄", "/")
    return sign


def _number(number: str, text: str, unit: str, decimal_signs: frozenset[str]) -> float:
    if match := _FRACTION.fullmatch(number):
        return _mixed(match, text)
    if match := _GROUP_OF_THREE.fullmatch(number):
        _require_settled(match[1], number, text, unit, decimal_signs)
    if _DECIMAL.fullmatch(number):
        return float(number.replace(",", "."))
    raise Problem("measure", f"“{text}” {_what_is_wrong(number)}.", tries=_tries(number))


def _mixed(match: re.Match[str], text: str) -> float:
    whole, over, under = match[1] or "", int(match[2]), int(match[3])
    if under == 0:
        raise Problem("measure", f"“{text}” divides by nothing.", tries=["write a number, for instance 19 1/4"])
    if over >= under:
        what = f"“{text}” holds a fraction of one or more, {over}/{under}."
        raise Problem("measure", what, tries=["a space between the whole number and the fraction, such as 19 1/4"])
    return float(whole or 0) + over / under


def _require_settled(sign: str, number: str, text: str, unit: str, decimal_signs: frozenset[str]) -> None:
    """Let a group of three digits pass only as decimals: by the other cells, or as a point in cm or inches."""
    settled = decimal_signs or (frozenset(".") if unit != "mm" else frozenset())
    if settled != {sign}:
        whole, decimal = number.replace(sign, ""), number.replace(",", ".").rstrip("0").rstrip(".")
        raise Problem("measure", f"“{text}” can be {whole} or {decimal}.", tries=[f"write {whole} or {decimal}"])


def _what_is_wrong(number: str) -> str:
    if _DATE.fullmatch(number):
        return "is a date: a spreadsheet makes one of 1/4"
    if number.startswith("="):
        return "is a formula that was never worked out"
    if number.startswith("#"):
        return "is the error of a formula"
    if re.fullmatch(r"[-−–]\s?[0-9][^-–]*", number):
        return "is less than nothing"
    signs = len(re.findall(r"[.,]", number))
    if signs > 1 and re.fullmatch(r"[0-9.,]+", number):
        return f"has {signs} decimal signs"
    numbers = len(re.findall(r"[0-9]+(?:[.,/][0-9]+)?", number))
    return f"holds {numbers} numbers" if numbers > 1 else "is no number"


def _tries(number: str) -> list[str]:
    if _DATE.fullmatch(number):
        return ["make the cell text and write 0.25 or 1/4"]
    if number.startswith("="):
        return ["open the file in a spreadsheet, let it compute and save it"]
    return ["write one number, for instance 46.5 or 19 1/4 in"]
