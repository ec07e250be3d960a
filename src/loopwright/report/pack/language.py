"""A pack in another language: every text of its pages by one list of terms (`data/terms.csv`).

In: the pages as data (`pages.document_of`), a language. Out: the same data with what the list knows put in its place,
and a leaf that shows every term beside its English, for the factory to check. A text is known when the list has it,
when it fits a phrase of the list and what stands in its gaps is known in turn, or when all its parts are known. What
is not known stays in English: names, and the sentences of findings and cautions.
Not covered: decimal commas (a pack has points in every language), data files, whose keys and words stay English.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from functools import cache
from html import escape, unescape
from typing import Any

from loopwright.problems import Problem
from loopwright.sources.table import table

LANGUAGES: Mapping[str, str] = {
    "en": "English",
    "de": "Deutsch",
    "it": "Italiano",
    "pt": "Português",
    "tr": "Türkçe",
    "zh": "简体中文",
}
ENGLISH = "en"
NOTICE = "Translated terms: check with your factory. What stands in English has no translation yet."
TERMS, TO_CHECK = "Terms of this pack", "check with your factory"
NOT_WORDS = frozenset({"svg", "kind", "basis", "letter", "paper", "language", "sans", "serif"})  # keys of the data
STEP, SEPARATORS = " + ", ("; ", " · ", ": ", ", ")
UNITS = frozenset(
    ["mm", "mm²", "cm", "m", "m²", "km", "g", "kg", "tex", "Nm", "Ne", "dtex", "kPa", "cN", "min", "in", "s", "h", "y"]
)
NUMBER = r"[+−-]?\d+(?:[.,\u00a0]\d+)*"
CODE = r"[^a-z·]+"
NUMBERS, CODES, NAMES = "nmkjih", "s", "xyz"  # gaps of numbers, of sizes or points, of names; others are looked up
LONGEST_TERM = 32  # letters; a longer one is a sentence, which stands translated in its place


def require_language(language: str) -> None:
    """Check the language before anything is worked out.

    Raises:
        Problem: no such language.
    """
    if language not in LANGUAGES:
        said = ", ".join(f"{key} ({name})" for key, name in LANGUAGES.items())
        raise Problem("language", f"“{language}” is no language of a pack.", tries=[said])


def in_language(document: Mapping[str, Any], language: str) -> dict[str, Any]:
    """The data of the pages in a language; English comes back as it is.

    Raises:
        Problem: no such language.
    """
    require_language(language)
    if language == ENGLISH:
        return {**document, "language": language}
    tongue = Tongue(language)
    made: dict[str, Any] = {**tongue.told(document), "language": language}
    notice = {"kind": "lines", "lines": [tongue.text(NOTICE)]}
    first, *rest = made["leaves"]
    made["leaves"] = [{**first, "main": [notice, *first["main"]]}, *rest, _terms(tongue)]
    return made


def _terms(tongue: Tongue) -> dict[str, Any]:
    """The leaf of terms, in two columns."""
    words = [(english, said) for english, said in tongue.used.items() if len(english) <= LONGEST_TERM]
    lines = sorted(words, key=lambda pair: pair[0].casefold())
    half = (len(lines) + 1) // 2
    flow = [
        {"kind": "steps", "heading": tongue.text(TO_CHECK), "lines": [list(line) for line in part], "is_short": False}
        for part in (lines[:half], lines[half:])
        if part
    ]
    return {"title": tongue.text(TERMS), "note": tongue.text(TO_CHECK), "main": [], "side": [], "flow": flow}


@dataclass(frozen=True, slots=True)
class _Phrase:
    """A phrase with gaps: the words between them, how it is met, and how it is said."""

    between: tuple[str, ...]
    met: re.Pattern[str]
    said: str


@cache
def _list_of(language: str) -> tuple[Mapping[str, tuple[str, str]], tuple[_Phrase, ...]]:
    """Whole terms by their English with a small first letter, and phrases with gaps, the longest first."""
    terms: dict[str, tuple[str, str]] = {}
    phrases: list[tuple[int, _Phrase]] = []
    for row in table(__package__, "terms"):
        english, said = row.text("english"), row.text(language)
        if "{" not in english:
            terms[_small(english)] = (english, said)
            continue
        plain = re.sub(r"\{\w\}", "", english)
        between = tuple(part for part in re.split(r"\{\w\}| ", english) if part)
        for words in (".+?", ".+"):  # the shortest words in a gap, and the longest
            met = "".join(_piece(part, words) for part in re.split(r"(\{\w\})", english))
            phrases.append((len(plain), _Phrase(between, re.compile(met), said)))
    return terms, tuple(phrase for _, phrase in sorted(phrases, key=lambda pair: -pair[0]))


def _piece(part: str, words: str) -> str:
    if not re.fullmatch(r"\{\w\}", part):
        return re.escape(part).replace(r"\ ", "[ \u00a0]")
    gap = NUMBER if part[1] in NUMBERS else CODE if part[1] in CODES else words
    return f"(?P<{part[1]}>{gap})"


def _small(text: str) -> str:
    return text[:1].lower() + text[1:]


def _is_neutral(text: str) -> bool:
    """Whether a text reads the same everywhere: numbers, codes, units."""
    return all(word in UNITS for word in re.findall(r"(?<![\w:])[^\W\d_]*[a-zà-ž][^\W\d_]*", text))


@dataclass(slots=True)
class Tongue:
    """One language at work on one pack; `used` gathers the whole terms that were met, `left` what was not known.

    In English everything stays as it is.
    """

    language: str
    used: dict[str, str] = field(default_factory=dict)
    left: dict[str, int] = field(default_factory=dict)
    _known: dict[str, str | None] = field(default_factory=dict)

    def told(self, value: Any) -> Any:
        """Data with its texts put into the language."""
        if isinstance(value, str):
            return self.text(value)
        if isinstance(value, Mapping):
            return {key: self._of_key(str(key), each) for key, each in value.items()}
        if isinstance(value, list | tuple):
            return [self.told(each) for each in value]
        return value

    def _of_key(self, key: str, value: Any) -> Any:
        if key == "svg":
            return self.picture(value)
        return value if key in NOT_WORDS else self.told(value)

    def picture(self, svg: str) -> str:
        """A drawing with its words put into the language."""
        if self.language == ENGLISH:
            return svg

        def put(found: re.Match[str]) -> str:
            return f"{found[1]}{escape(self.text(unescape(found[2])), quote=False)}{found[3]}"

        return re.sub(r"(<(?:text|tspan)[^>]*>)([^<]+)(<)", put, svg)

    def text(self, text: str) -> str:
        """A text in the language, as far as it is known."""
        core = text.strip()
        if not core or self.language == ENGLISH or _is_neutral(core):
            return text
        said = self._said(core)
        if said is None:
            self.left[core] = self.left.get(core, 0) + 1
            return text
        return text.replace(core, said, 1)

    def _said(self, text: str) -> str | None:
        if text not in self._known:
            self._known[text] = None  # a phrase that meets itself in its own gap is not known
            self._known[text] = self._term(text) or self._row(text) or self._phrase(text) or self._parts(text)
        return self._known[text]

    def _term(self, text: str) -> str | None:
        terms, _ = _list_of(self.language)
        found = terms.get(_small(text).replace("\u00a0", " "))
        if found is None:
            return None
        english, said = found
        self.used[english] = said
        if text[0].isupper() and not english[0].isupper():
            return self._large(said)
        if english[0].isupper() and not text[0].isupper() and self.language != "de":
            return _small(said)
        return said

    def _large(self, text: str) -> str:
        first = "İ" if self.language == "tr" and text[0] == "i" else text[0].upper()
        return first + text[1:]

    def _phrase(self, text: str) -> str | None:
        _, phrases = _list_of(self.language)
        for phrase in phrases:
            if not all(words in text or words in _small(text) for words in phrase.between):
                continue
            for tried in dict.fromkeys((text, _small(text))):
                met = phrase.met.fullmatch(tried)
                if met is None:
                    continue
                gaps = dict(self._gaps(met))
                if None in gaps.values():
                    continue
                whole = phrase.said.format(**gaps)
                return whole if tried == text else self._large(whole)
        return None

    def _gaps(self, met: re.Match[str]) -> Iterator[tuple[str, str | None]]:
        for key, words in met.groupdict().items():
            yield key, words if key in NAMES + CODES else self._known_or_same(words)

    def _row(self, text: str) -> str | None:
        """A row of like steps, each known by itself."""
        steps = [self._known_or_same(step) for step in text.split(STEP)] if STEP in text else [None]
        return None if None in steps else STEP.join(step for step in steps if step is not None)

    def _parts(self, text: str) -> str | None:
        if coded := re.fullmatch(r"([A-Z]\d?|\d?X*[SML]) (.+)", text):  # behind a point of measure or a size
            said = self._said(coded[2])
            return said and f"{coded[1]} {said}"
        for separator in SEPARATORS:
            pieces = text.split(separator)
            for number in range(1, len(pieces)):
                first, rest = (self._known_or_same(separator.join(each)) for each in (pieces[:number], pieces[number:]))
                if first is not None and rest is not None:
                    return f"{first}{separator}{rest}"
        return None

    def _known_or_same(self, text: str) -> str | None:
        return text if _is_neutral(text) else self._said(text)
