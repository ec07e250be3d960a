"""The letters of a written count: what a person types, made plain, and a cursor that takes it piece by piece.

In: text as typed, with upper or lower case, decimal commas, no-break spaces, full-width figures, × for x. Out: plain
lower-case text, and its numbers, systems, filaments, folds and twists as they are asked for. Assumption: a comma
between figures is a decimal comma (with three figures behind it, it is asked about).
Not covered: what the pieces mean together (`notation`). Sources: iso_1139 (S, Z, x, R and f), common practice.
"""

from __future__ import annotations

import re
import unicodedata
from dataclasses import dataclass
from functools import cache

from loopwright.yarn import asking
from loopwright.yarn.count import systems

LONGEST_TEXT = 200  # characters; no yarn is described at such length
NUMBER = r"((?:[0-9]{1,9}(?:\.[0-9]{1,9})?|\.[0-9]{1,9})(?!\.?[0-9]))"
ENDS_WORDS = ("one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten", "eleven", "twelve")
_ENDS = re.compile(rf"(?<![0-9./x])([0-9]{{1,9}}|\b(?:{'|'.join(ENDS_WORDS)}))\s*ends?\b(?:\s+of\b)?")
_ALIKE = str.maketrans("×’−–", "x'--")
_UNREAD = ("<super>", "<sub>", "<fraction>", "<circle>")


@dataclass(slots=True)
class Cursor:
    """A place in plain text; each `take` skips spaces, and moves on only when it finds what it was asked for."""

    text: str
    at: int = 0

    def take(self, pattern: str) -> re.Match[str] | None:
        """The next piece if it matches `pattern`."""
        match = re.compile(rf"\s*(?:{pattern})").match(self.text, self.at)
        if match is not None:
            self.at = match.end()
        return match

    def number(self) -> str | None:
        """The next piece if it is a number."""
        match = self.take(NUMBER)
        return match[1] if match else None

    def system(self) -> str | None:
        """The key of the count system named next."""
        match = self.take(_system_words()[0])
        return _system_words()[1][" ".join(match[0].split())] if match else None

    def filaments(self) -> str | None:
        """The number of filaments said next: f 34, /34f."""
        match = self.take(r"/?\s*f\s*([0-9]{1,6})(?![0-9])") or self.take(r"/\s*([0-9]{1,6})\s*f(?![a-z0-9])")
        return match[1] if match else None

    def folds(self, sign: str) -> str | None:
        """The number that follows `sign` ("x" or "/")."""
        match = self.take(rf"{sign}\s*{NUMBER}")
        return match[1] if match else None

    def twist(self) -> tuple[str, float] | None:
        """The twist said next: direction and turns per metre."""
        match = self.take(rf"([sz])\s*{NUMBER}(?:\s*(?:tpm|t/m))?")
        return (match[1].upper(), float(match[2])) if match else None

    def plural(self) -> None:
        """Pass over the s of "2/30s", which says nothing."""
        self.take(r"(?<=[0-9])'?s(?![a-z0-9])")

    def rest(self) -> str:
        """What has not been taken, without the marks around it."""
        return self.text[self.at :].strip(" ,;.")


@dataclass(frozen=True, slots=True)
class Asides:
    """What may stand anywhere in a count: the ends fed together, and whether its number is the resultant."""

    text: str
    ends: str | None
    number_is: str | None


def plainly(text: str) -> str:
    """The text in plain lower-case letters and figures, decimal points for commas.

    >>> plainly("Nm\u00a02／30,5 × ２")
    'nm 2/30.5 x 2'

    Raises:
        Problem: signs that a count cannot have, or a comma that may part thousands.
    """
    for sign in text[:LONGEST_TEXT]:
        if unicodedata.decomposition(sign).startswith(_UNREAD):
            raise asking.signs(text[:LONGEST_TEXT], sign)
    plain = unicodedata.normalize("NFKC", text[: LONGEST_TEXT + 1]).casefold()
    plain = plain.translate(_ALIKE)
    if not plain.strip() or len(plain) > LONGEST_TEXT:
        raise asking.not_a_count(text[:LONGEST_TEXT])
    if minus := re.search(r"-\s*[0-9.]+", plain):
        raise asking.minus(plain.strip(), minus[0])
    if comma := re.search(r"(?<![0-9.,])[1-9][0-9]{0,2},[0-9]{3}(?![0-9])", plain):
        raise asking.thousands(plain.strip(), comma[0])
    return re.sub(r"(?<=[0-9]),(?=[0-9])", ".", plain).strip()


def without_asides(plain: str, text: str) -> Asides:
    """The ends ("3 ends of", "two ends") and the word resultant or singles, taken out of the text.

    Raises:
        Problem: either is said twice.
    """
    found = _ENDS.findall(plain)
    left = _ENDS.sub(" ", plain)
    number_is = re.findall(r"\b(?:by\s+)?(resultant|singles)\b", left)
    left = re.sub(r"\b(?:by\s+)?(?:resultant|singles)\b", " ", left)
    if len(found) > 1:
        raise asking.two_answers(text, "the ends")
    if len(number_is) > 1:
        raise asking.two_answers(text, "what the number counts")
    return Asides(" ".join(left.split()).strip(" ,;"), _figures(found[0]) if found else None, *(number_is or [None]))


def _figures(word: str) -> str:
    return str(ENDS_WORDS.index(word) + 1) if word in ENDS_WORDS else word


@cache
def _system_words() -> tuple[str, dict[str, str]]:
    keys = {word: key for key, system in systems().items() for word in system.words}
    longest_first = sorted(keys, key=len, reverse=True)
    alternatives = "|".join(r"\s+".join(map(re.escape, word.split())) for word in longest_first)
    return rf"(?:{alternatives})(?![a-z])", keys
