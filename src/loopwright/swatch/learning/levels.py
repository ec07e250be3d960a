"""Which swatches are alike: the levels on which cloth differs, and how far at each (tables `effects`, `families`).

In: a `Cloth`, what a number belongs to. Out: keys of its levels (structure, family, fibre, yarn, state, lot, swatch),
and how far its loop length lies from the usual. Finished counts as fully relaxed, which it practically is (Munden).
A lot that was not named counts as a lot of its own name. Not covered: sizes of the effects of one cloth (`prior`).
Sources: house (table `effects`, all priors, each with its reason).
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import cache, lru_cache

from loopwright.fabric.geometry import fibre_family
from loopwright.fabric.kin import kin_by_anatomy, kin_key, row_for
from loopwright.figure import State
from loopwright.sources.table import Row, table
from loopwright.structure.library import Structure
from loopwright.yarn.yarn import Yarn

WITHIN = "within"


@dataclass(frozen=True, slots=True)
class Cloth:
    """What a number belongs to: a swatch that was measured, or (with the mark of a cloth asked for) one to come."""

    structure: Structure
    yarn: Yarn
    loop_length_mm: float
    state: State
    lot: str = ""
    swatch: str = ""
    days_old: float = 0.0

    @property
    def settled(self) -> State:
        """Its state; finished counts as fully relaxed."""
        return State.FULLY_RELAXED if self.state is State.FINISHED else self.state


@dataclass(frozen=True, slots=True)
class Effect:
    """A row of the table: standard deviation or share of the published variance, correlation, between or within."""

    name: str
    sd: float
    share: float
    alike: float
    is_within: bool


@cache
def effects(block: str) -> tuple[Effect, ...]:
    """Effects of a block of quantities in the order of the table."""
    return tuple(
        Effect(
            row.text("effect"),
            row["sd"] if row.has("sd") else 0.0,
            row["share"] if row.has("share") else 0.0,
            row["alike"],
            row.text("scale") == WITHIN,
        )
        for row in table(__package__, "effects")
        if row.text("block") == block
    )


@cache
def rule(name: str) -> float:
    """A number of the table of rules."""
    row: Row = table(__package__, "rules").by("rule")[name]
    return row["value"]


@lru_cache(maxsize=256)
def family(structure: Structure) -> str:
    """Structures that err alike."""
    return table(__package__, "families").by("kin")[kin_by_anatomy(structure.anatomy)].text("family")


def yarn_key(yarn: Yarn) -> tuple[str, float]:
    """What makes two yarns one: name and what is fed to the needle."""
    return yarn.name.casefold(), round(yarn.count.tex * yarn.ends, 1)


def fibre_key(yarn: Yarn) -> tuple[str, str]:
    """Fibre and spinning."""
    return fibre_family(yarn.blend.main_fibre), yarn.spinning


@lru_cache(maxsize=256)
def structure_key(structure: Structure) -> str:
    """Plain is plain from either side; anything else is itself by its notation."""
    kin = kin_key("geometry", structure)
    if kin == "plain" and structure.key in ("plain", "reverse-plain"):
        return kin
    return " / ".join(structure.notation.lines())


@cache
def _usual_tightness(structure: Structure) -> float:
    return row_for("tightness", structure)["target"]


def slackness(cloth: Cloth) -> float:
    """Logarithm of the loop length over the usual one of the structure in worsted of this count."""
    tex = cloth.yarn.count.tex * cloth.yarn.ends
    return math.log(cloth.loop_length_mm * _usual_tightness(cloth.structure) / (10 * math.sqrt(tex)))
