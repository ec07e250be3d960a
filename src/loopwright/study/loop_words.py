"""From trade words to a cloth of the loop mechanics, as the command line gives them.

In: structure, loop over diameter or yarn and loop, set, residual twist ("Z60"), swatches. Out: a `Setting`, and with it
a `LoopAnswer`: the page of the atlas (or of a chapter solved now), and the cloth in trade units when a yarn is known.
What is missing is said, never guessed: without a yarn or a loop in mm there are no millimetres and no turns per loop.
"""

from __future__ import annotations

import math
import re
from collections.abc import Sequence
from dataclasses import dataclass, replace

from loopwright.fabric.tightness import usual_loop_length
from loopwright.figure import Figure, entered
from loopwright.mechanics import atlas
from loopwright.mechanics.calibration import Calibration, calibrated
from loopwright.mechanics.cloth import Finish, SimulatedCloth, simulated_cloth, washed
from loopwright.mechanics.findings import cloth_findings, unsolved_finding
from loopwright.mechanics.stored import Page, Stored, page_at
from loopwright.mechanics.swatches import Swatch
from loopwright.problems import Finding, Problem
from loopwright.structure.library import Structure
from loopwright.units import quantity
from loopwright.yarn.yarn import Yarn, yarn_from_words

TIGHTEST, SLACKEST = 10.0, 40.0  # loop over diameter outside which nothing is cloth
MOST_TURNS_PER_M = 1000.0  # residual twist of the liveliest yarn
MOST_SET = 0.95
THINNEST_PLATING, THICKEST_PLATING = 0.2, 1.2  # diameters of a plating yarn over the first that can be solved


@dataclass(frozen=True, slots=True)
class Asked:
    """What the person asked for, in words and numbers as typed."""

    loop_over_diameter: float | None = None
    set_share: float | None = None
    residual_twist: str | None = None
    yarn: str | None = None
    loop: str | None = None
    plated: float | None = None


@dataclass(frozen=True, slots=True, eq=False)
class Setting:
    """One cloth to be told of: `loop_length` and `yarn` where they are known, `finish` of the yarn.

    `plating` is the diameter of a second yarn, laid behind the first in every feed, over that of the first; 0 for none.
    """

    structure: Structure
    loop_over_diameter: float
    loop_length: Figure | None
    yarn: Yarn | None
    finish: Finish
    calibration: Calibration | None
    plating: float = 0.0

    @property
    def diameter_mm(self) -> float | None:
        """Yarn diameter in mm; none without a loop length."""
        return self.loop_length.value / self.loop_over_diameter if self.loop_length else None

    @property
    def turns_per_loop(self) -> float | None:
        """Residual turns in one loop, Z positive; none when twist or loop length is not known."""
        twist = self.finish.residual_turns_per_m
        return twist.value * self.loop_length.value / 1000 if twist and self.loop_length else None


@dataclass(frozen=True, slots=True, eq=False)
class LoopAnswer:
    """The cloth as simulated: its page, the cloth in trade units (none without a yarn), findings, what is missing."""

    setting: Setting
    page: Page
    cloth: SimulatedCloth | None
    is_live: bool
    findings: tuple[Finding, ...]
    missing: tuple[str, ...]


def setting_of(structure: Structure, asked: Asked, swatches: Sequence[Swatch] = ()) -> Setting:
    """The cloth that is asked for.

    Raises:
        Problem: words that are not understood, numbers out of reach, or too much or too little to know the loop.
    """
    plain_setting = _unplated(structure, asked, swatches)
    if asked.plated is None:
        return plain_setting
    if not THINNEST_PLATING <= asked.plated <= THICKEST_PLATING:
        raise Problem(
            "plating",
            f"a plating yarn {asked.plated:g} times as thick as the face yarn.",
            limit=f"{THINNEST_PLATING:g} to {THICKEST_PLATING:g}",
            tries=["0.5 for a yarn of a quarter of the count"],
        )
    return replace(plain_setting, plating=asked.plated)


def _unplated(structure: Structure, asked: Asked, swatches: Sequence[Swatch]) -> Setting:
    known = swatches[0].yarn if swatches else None
    yarn = known if asked.yarn is None else yarn_from_words(asked.yarn)
    calibration = calibrated(swatches) if swatches else None
    finish = _finish(asked, calibration, yarn)
    diameter = (finish.diameter_mm or yarn.diameter_mm) if yarn else None
    length = entered("loop length", _loop_mm(asked.loop), "mm") if asked.loop is not None else None
    ratio = asked.loop_over_diameter
    if ratio is not None and not TIGHTEST <= ratio <= SLACKEST:
        raise Problem(
            "loop over diameter",
            f"{ratio:g} yarn diameters in a loop.",
            limit=f"cloth comes from {TIGHTEST:g} to {SLACKEST:g}",
            tries=["17, where plain is firm"],
        )
    if diameter is not None and yarn is not None:
        return _with_yarn(structure, yarn, diameter, length, ratio, finish, calibration)
    if ratio is None:
        raise Problem(
            "loop",
            "how long the loops are is not known.",
            tries=["--loop-over-diameter 17", '--yarn "2/48 Nm merino" and, where it is known, --loop 4.8'],
            is_gap=True,
        )
    return Setting(structure, ratio, length, None, finish, calibration)


def _with_yarn(
    structure: Structure,
    yarn: Yarn,
    diameter: Figure,
    length: Figure | None,
    ratio: float | None,
    finish: Finish,
    calibration: Calibration | None,
) -> Setting:
    if length is not None and ratio is not None:
        own = length.value / diameter.value
        raise Problem(
            "loop",
            f"a loop of {length.value:g} mm and one of {ratio:g} diameters are both named.",
            limit=f"in this yarn {length.value:g} mm are {own:.1f} diameters",
            tries=["keep one of the two"],
        )
    if ratio is not None:
        words = f"{ratio:g} diameters of the yarn"
        length = entered("loop length", ratio * diameter.value, "mm", words=words)
    length = length or usual_loop_length(structure, yarn)
    made = length.value / diameter.value
    if not TIGHTEST <= made <= SLACKEST:
        low, high = (diameter.value * each for each in (TIGHTEST, SLACKEST))
        raise Problem(
            "loop length",
            f"{length.value:g} mm are {made:.1f} diameters of this yarn.",
            limit=f"cloth comes from {TIGHTEST:g} to {SLACKEST:g}",
            tries=[f"a loop between {low:.1f} and {high:.1f} mm", "check the unit and the count"],
        )
    return Setting(structure, made, length, yarn, finish, calibration)


def _loop_mm(words: str) -> float:
    length = quantity(words, "mm")
    if not 0 < length <= LONGEST_MM:
        limit = f"above 0, at most {LONGEST_MM:g}"
        raise Problem("loop length", f"{length:g} mm is out of reach.", limit=limit, tries=["check the unit"])
    return length


LONGEST_MM = 1000.0


def _finish(asked: Asked, calibration: Calibration | None, yarn: Yarn | None) -> Finish:
    finish = calibration.finish_of(yarn) if calibration and yarn else washed()
    if asked.set_share is not None:
        if not 0 <= asked.set_share <= MOST_SET:
            raise Problem(
                "set",
                f"{asked.set_share:g} is no share of set.",
                limit=f"0 (none) to {MOST_SET:g}",
                tries=["0.8 for washed wool", "0.5 for cloth that was only rested"],
            )
        finish = replace(finish, share=entered("set of the yarn", asked.set_share, ""))
    if asked.residual_twist is not None:
        finish = replace(finish, residual_turns_per_m=residual_turns(asked.residual_twist))
    return finish


def residual_turns(words: str) -> Figure:
    """Residual turns per metre from "Z60" or "S 40", Z positive.

    >>> residual_turns("Z60").value, residual_turns("s 12,5").value
    (60.0, -12.5)

    Raises:
        Problem: no direction S or Z, or no number of turns.
    """
    found = re.fullmatch(r"\s*([sz])\s*(\d{1,6}(?:[.,]\d{1,6})?)\s*", words, re.IGNORECASE | re.ASCII)
    turns = float(found[2].replace(",", ".")) if found else math.nan
    if found is None or not turns <= MOST_TURNS_PER_M:
        raise Problem(
            "residual twist",
            f"“{words}” is no residual twist.",
            limit=f"S or Z and turns per metre, up to {MOST_TURNS_PER_M:g}",
            tries=["Z60 for 60 turns per metre to the Z side", "hang a loop of the yarn in water and count its turns"],
        )
    value = turns if found[1].upper() == "Z" else -turns
    return entered("residual twist, Z positive", value, "turns/m")


def needs_solving(setting: Setting) -> bool:
    """Whether the atlas does not hold the structure, so that it has to be solved now."""
    return setting.plating > 0 or atlas.chapter_for(setting.structure.notation) is None


def answer_of(setting: Setting, solved: Stored | None = None) -> LoopAnswer:
    """What the mechanics says of a setting, from the atlas or from a chapter solved now.

    Raises:
        Problem: the atlas doesn't reach this loop length.
    """
    chapter = solved or atlas.chapter_for(setting.structure.notation)
    ratio = setting.loop_over_diameter
    page = None if chapter is None else page_at(chapter, chapter.reach[0] if solved else ratio)
    if page is None:
        said = unsolved_finding(setting.structure, ratio)
        raise Problem("loop", said.sentence, tries=(*said.tries, "--live solves it now, with no promise"))
    cloth = None
    if setting.yarn is not None and setting.loop_length is not None:
        cloth = _cloth(setting, setting.yarn, setting.loop_length, solved)
    findings = cloth_findings(cloth, setting.structure.name) if cloth else ()
    return LoopAnswer(setting, page, cloth, solved is not None, findings, (*_missing(setting), *_unsaid(cloth)))


def _cloth(setting: Setting, yarn: Yarn, length: Figure, solved: Stored | None) -> SimulatedCloth | None:
    if setting.calibration is None or solved is not None:
        return simulated_cloth(setting.structure, yarn, length, setting.finish, chapter=solved)
    told = setting.calibration.predict(setting.structure, yarn, length)
    own = simulated_cloth(setting.structure, yarn, length, setting.finish)
    return replace(own, geometry=told.geometry) if own and told else own


def _unsaid(cloth: SimulatedCloth | None) -> tuple[str, ...]:
    return cloth.missing if cloth else ()


def _missing(setting: Setting) -> tuple[str, ...]:
    """What is not told for want of a word from the person."""
    lines = []
    if setting.yarn is None:
        lines.append('counts per cm, mm and mass: name the yarn, --yarn "2/48 Nm merino"')
    if setting.finish.rigidity_n_mm2 is None:
        lines.append("newtons: the yarn's bending rigidity; a strip stretched by a known weight gives it (--swatch)")
    if setting.finish.residual_turns_per_m is not None and setting.turns_per_loop is None:
        lines.append("lean: turns per metre become turns per loop by the loop length; add --yarn, or --loop in mm")
    return tuple(lines)
