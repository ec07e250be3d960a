"""The structures we know by name, and finding one by any of its trade names.

The data file holds, for each structure, its notation once and the names it goes by. A name that houses use for
different structures ("cardigan", "Milano") is refused with the question instead of guessed.
Not covered: counting (`anatomy`). Sources: spencer_2001, cardigan_note, milano_slides, buck_1921, birdseye_note.
"""

from __future__ import annotations

import difflib
import re
import unicodedata
from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import cache
from types import MappingProxyType
from typing import Any

from loopwright.problems import Problem
from loopwright.sources.table import toml
from loopwright.structure.anatomy import Anatomy, anatomy
from loopwright.structure.notation import Notation, read


@dataclass(frozen=True, slots=True)
class Structure:
    """A stitch structure: its key, its name in words, its notation, and the lengths of its other loops.

    `ratios` gives, for each length role other than "knit", the loop length over that of the knit loops, as
    (value, low, high).
    """

    key: str
    name: str
    notation: Notation
    synonyms: tuple[str, ...] = ()
    ratios: Mapping[str, tuple[float, float, float]] = field(default_factory=dict, hash=False)
    note: str = ""
    source: str = "identity"

    @property
    def anatomy(self) -> Anatomy:
        """What a repeat is made of."""
        return anatomy(self.notation)


@cache
def library() -> Mapping[str, Structure]:
    """All structures of the data file by key."""
    entries = {key: value for key, value in toml(__package__, "structures").items() if key != "questions"}
    return MappingProxyType({key: structure_from(key, entry) for key, entry in entries.items()})


def structure_from(key: str, entry: Mapping[str, Any]) -> Structure:
    """A structure from its data-file form: `name`, `courses` (notation lines), and optional `gating`, `ratios` …

    Raises:
        Problem: the notation cannot be read, or a length role has no ratio.
    """
    notation = read(entry["courses"], entry.get("gating", "rib"))
    ratios = {role: _ratio(value) for role, value in entry.get("ratios", {}).items()}
    for feed in notation.feeds:
        if feed.role != "knit" and feed.role not in ratios:
            raise Problem(
                f"structure {key}", f"loops of role “{feed.role}” have no length.", tries=[f"ratios.{feed.role} = 0.85"]
            )
    return Structure(
        key,
        entry.get("name", key),
        notation,
        tuple(entry.get("synonyms", ())),
        MappingProxyType(ratios),
        entry.get("note", ""),
        entry.get("source", "identity"),
    )


def _ratio(value: float | list[float]) -> tuple[float, float, float]:
    if isinstance(value, list):
        likely, low, high = value
        return likely, low, high
    return value, value, value


def find_structure(name: str) -> Structure:
    """The structure that a trade name means.

    >>> find_structure("royal rib").key, find_structure("Jersey").key, find_structure("2×2 rib").key
    ('half-cardigan', 'plain', 'rib-2x2')

    Raises:
        Problem: nobody here calls a structure so, or houses differ and the person has to say which.
    """
    wanted = normal_name(name)
    questions: Mapping[str, list[str]] = toml(__package__, "structures")["questions"]
    for word, meant in questions.items():
        if wanted == normal_name(word):
            options = " or ".join(library()[key].name for key in meant)
            raise Problem("structure", f"“{name}” is used for different structures.", tries=[f"say {options}"])
    names = _names()
    if wanted in names:
        return library()[names[wanted]]
    near = difflib.get_close_matches(wanted, names, n=3, cutoff=0.6)
    suggestions = list(dict.fromkeys(names[each] for each in near)) or ["plain", "rib-1x1", "interlock"]
    raise Problem(
        "structure", f"no structure here is called “{name}”.", tries=[f"did you mean {', '.join(suggestions)}?"]
    )


@cache
def _names() -> Mapping[str, str]:
    names: dict[str, str] = {}
    for key, structure in library().items():
        for name in (key, structure.name, *structure.synonyms):
            other = names.setdefault(normal_name(name), key)
            if other != key:
                raise ValueError(f"“{name}” names both {other} and {key}")
    return MappingProxyType(names)


def normal_name(name: str) -> str:
    """A name without case, accents, hyphens and the ways to write "1×1": "Côte  anglaise" is "cote anglaise".

    >>> normal_name("Rib 1 × 1"), normal_name("1/1 rib"), normal_name("rib-1x1")
    ('1x1 rib', '1x1 rib', '1x1 rib')
    """
    bare = "".join(sign for sign in unicodedata.normalize("NFKD", name) if not unicodedata.combining(sign))
    bare = re.sub(r"(\d)\s*[x×*/:]\s*(\d)", r"\1x\2", bare.casefold())
    words = re.sub(r"[\s_’'\-–]+", " ", bare).strip().split(" ")
    return " ".join(sorted(words))
