"""The words for fibres: which fibre a person means by "merino", "nylon" or "70/30 wool/polyamide".

In: words as typed, and how the yarn is made (spun, woollen, filament), which decides "wool" and "polyamide". Out:
fibre keys and blends; percentages are taken as fractions of oven-dry mass. Assumption: "wool" in a spun count is
combed, in a woollen count carded; "polyamide" in a filament count is filament, else staple.
Not covered: blends declared by conditioned mass (`fibre.Blend.from_conditioned`), brands of fibres.
Sources: common_practice, house; each word with its own in the table.
"""

from __future__ import annotations

import difflib
import re
import unicodedata
from collections.abc import Mapping, Sequence
from functools import cache
from types import MappingProxyType

from loopwright.problems import Problem
from loopwright.sources.table import table
from loopwright.yarn.fibre import Blend, fibres

_PERCENT = r"([0-9]{1,3}(?:\.[0-9]{1,9})?)"
_NAME = r"([^0-9/\s](?:[^0-9/]*[^0-9/\s])?)"  # opens and ends without a space, so that it can match in one way only


def fibre_named(words: str, made: str = "spun") -> str:
    """The key of the fibre that `words` mean in a yarn made so.

    >>> fibre_named("merino"), fibre_named("nylon", "filament"), fibre_named("spandex")
    ('wool_combed', 'polyamide_filament', 'elastane')

    Raises:
        Problem: no such fibre.
    """
    name = _plain(words)
    by_making = _meanings().get(name)
    if by_making is None:
        close = difflib.get_close_matches(name, list(_meanings()), n=3, cutoff=0.6)
        tries = [f"“{each}”" for each in close] or [f"one of {', '.join(fibres())}"]
        raise Problem("fibre", f"“{words}” is no fibre known here.", tries=tries)
    return by_making[made]


def blend_from_words(words: str, made: str = "spun") -> Blend:
    """The blend that `words` mean: one fibre, or fibres with percentages of oven-dry mass.

    >>> blend_from_words("70 wool 30 polyamide").words
    '70 wool_combed 30 polyamide_staple'
    >>> blend_from_words("55/45 cotton/acrylic").words
    '55 cotton 45 acrylic'

    Raises:
        Problem: an unknown fibre, or percentages that do not add to 100.
    """
    plain = _plain(words)
    if not re.search(r"[0-9]", plain):
        return Blend({fibre_named(plain, made): 1.0})
    percents, names = _percents_and_names(plain, words)
    scale = 1.0 if sum(percents) <= 1.5 else 100.0
    fractions: dict[str, float] = {}
    for percent, name in zip(percents, names, strict=True):
        key = fibre_named(name, made)
        fractions[key] = fractions.get(key, 0.0) + percent / scale
    return Blend(fractions)


def _percents_and_names(plain: str, words: str) -> tuple[Sequence[float], Sequence[str]]:
    if slashed := re.fullmatch(rf"({_PERCENT}(?:\s*/\s*{_PERCENT})+)\s+(.+)", plain):
        percents = slashed[1].split("/")
        names = _split_names(slashed[slashed.re.groups], len(percents))
    elif re.fullmatch(rf"(?:{_PERCENT}\s*{_NAME}\s*)+", plain):
        percents, names = _columns(rf"{_PERCENT}\s*{_NAME}", plain)
    elif re.fullmatch(rf"(?:{_NAME}\s*{_PERCENT}\s*)+", plain):
        names, percents = _columns(rf"{_NAME}\s*{_PERCENT}", plain)
    elif "/" in plain and not re.match(rf"{_PERCENT}\s*/\s*{_PERCENT}", plain):
        return _percents_and_names(" ".join(plain.replace("/", " ").split()), words)
    else:
        percents, names = [], []
    if not percents or len(percents) != len(names):
        raise Problem(
            "blend",
            f"“{words}” does not say which fibre has which percentage.",
            tries=["write “70 wool 30 polyamide”"],
        )
    return [float(percent) for percent in percents], names


def _columns(pair: str, plain: str) -> tuple[list[str], list[str]]:
    found = re.findall(pair, plain)
    return [first for first, _ in found], [second for _, second in found]


def _split_names(names: str, wanted: int) -> list[str]:
    by_slash = [name.strip() for name in names.split("/")]
    return by_slash if len(by_slash) == wanted else names.split()


def _plain(words: str) -> str:
    text = unicodedata.normalize("NFKC", words).casefold().replace("’", "'")
    text = re.sub(r"(?<=[0-9]),(?=[0-9])", ".", text)
    text = re.sub(r"per ?cent\b|%|\band\b|[,;&+_-]", " ", text)
    return " ".join(text.split())


@cache
def _meanings() -> Mapping[str, Mapping[str, str]]:
    own = {key.replace("_", " "): dict.fromkeys(("spun", "woollen", "filament"), key) for key in fibres()}
    heard: dict[str, Mapping[str, str]] = {}
    for row in table(__package__, "fibre_words"):
        spun = row.text("spun")
        heard[row.text("word")] = {
            "spun": spun,
            "woollen": row.text("woollen") or spun,
            "filament": row.text("filament") or spun,
        }
    return MappingProxyType({**own, **heard})
