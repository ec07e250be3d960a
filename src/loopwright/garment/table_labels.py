"""Labels of a measurement table: which point of measure, which size and which column of words a cell names.

In: the text of a cell, and the points of the garment. Out: our own name of it, or none. A point is known by its letter,
by its words and by its field name, whatever the capitals, signs and plurals. Assumption: words beside a letter are
worth more than the letter, since every buyer has letters of their own.
Not covered: where the labels stand (`table_layout`). Source of letters and words: `measures`.
"""

from __future__ import annotations

import difflib
import re
from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from enum import Enum

from loopwright.garment.length_text import TABLE_UNITS, UNIT_WORDS, unit_named
from loopwright.garment.measures import letter_of_point, words_of
from loopwright.garment.sizes import letter_of

_WORD_UNITS = "|".join(sorted((re.escape(word) for unit in TABLE_UNITS for word in UNIT_WORDS[unit]), key=len)[::-1])
_UNIT_BEHIND = re.compile(rf"(.*?)(?:\s*[,(\[]\s*|^)({_WORD_UNITS})\.?\s*[)\]]?", re.IGNORECASE)
_PLAIN_UNITS = "cm|mm|centimet(?:re|er)s?|millimet(?:re|er)s?|inch(?:es)?"
_UNIT_AMONG_WORDS = re.compile(rf"(?<![0-9½¼¾⅛⅜⅝⅞/])(?<![0-9½¼¾⅛⅜⅝⅞]\s)(?<!per\s)\b({_PLAIN_UNITS})\b", re.IGNORECASE)
_IN_IN = re.compile(r"(?:\bin|\bunits?|[:=])\s+(in|ins)\.?", re.IGNORECASE)
_BASE_MARK = re.compile(r"\s*[,(\[*]?\s*base(?:\s+size)?\s*[)\]]?$", re.IGNORECASE)
_NUMBER_SIZE = re.compile(r"1?[0-9]{1,2}")
_TOLERANCE = re.compile(r"tol\b|tolerance|±|\+\s?/\s?[-−–]", re.IGNORECASE)


class Role(Enum):
    """What a column that is no size is for, by its head."""

    TOLERANCE = "tolerance"
    UNIT = "unit"
    WORDS = "words"


_ROLE_WORDS = {
    Role.UNIT: ("unit",),
    Role.WORDS: ("how", "how to measure", "note", "comment", "remark", "grade", "step", "set by hand"),
}


@dataclass(frozen=True, slots=True)
class PointLabels:
    """What the points of a garment are called: point by plain words, point by letter."""

    by_words: Mapping[str, str]
    by_letter: Mapping[str, str]

    def by_words_of(self, text: str) -> str | None:
        """The point whose words or field name a cell holds, a letter of the same point before or behind allowed.

        >>> labels_of(["half_chest", "hem_rib"]).by_words_of("B. Half chests")
        'half_chest'
        """
        words = plain_words(text)
        if words in self.by_words:
            return self.by_words[words]
        first, _, rest = words.partition(" ")
        start, _, last = words.rpartition(" ")
        for letter, named in ((first, rest), (last, start)):
            point = self.by_words.get(named)
            if point is not None and self.by_letter.get(letter) == point:
                return point
        return None

    def by_letter_of(self, text: str) -> str | None:
        """The point that a letter alone names."""
        return self.by_letter.get(text.casefold().strip(" .):("))

    def nearest(self, text: str) -> list[str]:
        """Words of up to two points that a label comes near."""
        near = difflib.get_close_matches(plain_words(text)[:80], self.by_words, n=3, cutoff=0.6)
        return [words_of(point) for point in dict.fromkeys(self.by_words[words] for words in near)][:2]


def labels_of(points: Iterable[str]) -> PointLabels:
    """The labels of points of measure; one that two points share names neither."""
    names = tuple(points)
    words = [(plain_words(label), name) for name in names for label in {name.replace("_", " "), words_of(name)}]
    letters = [(letter_of_point(name).casefold(), name) for name in names]
    return PointLabels(_of_one(set(words)), _of_one(set(letters)))


def _of_one(pairs: Iterable[tuple[str, str]]) -> dict[str, str]:
    listed = sorted(pairs)
    times = Counter(label for label, _ in listed)
    return {label: name for label, name in listed if times[label] == 1}


def plain_words(text: str) -> str:
    """A label without capitals, signs and plurals.

    >>> plain_words("Half_hem – relaxed"), plain_words("Across Shoulders")
    ('half hem relaxed', 'across shoulder')
    """
    words = re.sub(r"[\W_]+", " ", text.casefold()).split()
    return " ".join(word[:-1] if len(word) > 3 and word.endswith("s") and word[-2] != "s" else word for word in words)


def size_named(text: str, known: Sequence[str] = ()) -> str | None:
    """The size that the head of a column names, spelled as among the `known` sizes; none when it is no size.

    >>> size_named("size xxl"), size_named("2XL", ["XXL"]), size_named("M (base)"), size_named("104"), size_named("How")
    ('2XL', 'XXL', 'M', '104', None)
    """
    label = re.sub(r"^size\s+", "", _BASE_MARK.sub("", text.strip()), flags=re.IGNORECASE)
    letter = letter_of(label)
    for size in known:
        if size.casefold().strip() == label.casefold() or (letter is not None and letter_of(size) == letter):
            return size
    return letter or (label if _NUMBER_SIZE.fullmatch(label) else None)


def role_of(head: str) -> Role | None:
    """What a column is for, by its head.

    >>> role_of("Tol. +/-"), role_of("Units"), role_of("How to measure")
    (<Role.TOLERANCE: 'tolerance'>, <Role.UNIT: 'unit'>, <Role.WORDS: 'words'>)
    """
    if _TOLERANCE.search(head):
        return Role.TOLERANCE
    words = plain_words(head)
    return next((role for role, heads in _ROLE_WORDS.items() if words in heads), None)


def parted_label(label: str) -> tuple[str, str | None]:
    """(label, unit) of a label that carries its unit behind it.

    >>> parted_label("Neck width (in)"), parted_label("measure, cm"), parted_label("Sleeve in")
    (('Neck width', 'in'), ('measure', 'cm'), ('Sleeve in', None))
    """
    match = _UNIT_BEHIND.fullmatch(label.strip())
    return (match[1].strip(), unit_named(match[2])) if match else (label, None)


def unit_said(text: str) -> str | None:
    """The unit that a title, a head or a note gives to the whole table; a length such as "2.5 cm" gives none.

    >>> unit_said("All in inches, flat"), unit_said("cm"), unit_said("2.5 cm below underarm"), unit_said("all in in")
    ('in', 'cm', None, 'in')
    """
    behind = parted_label(text)[1]
    match = _UNIT_AMONG_WORDS.search(text) or _IN_IN.search(text)
    return behind or (unit_named(match[1]) if match else None)
