"""What is asked of the loop page: a structure and how it is knitted and finished, as an address says it; one or two.

In: a query. Out: `Asked`, and `Setting`: the values of the trade it stands for. `structure` is the key or name of one
of the library, or the number of an item on the shelf: a structure drawn there, or a style, of which `zone` is meant.
What is left out is what that structure or style has. Not covered: the mechanics (`cloth`).
"""

from __future__ import annotations

import asyncio
from dataclasses import dataclass, replace
from typing import Annotated, Any
from urllib.parse import urlencode

from pydantic import BaseModel, ConfigDict, Field

from loopwright.fabric.tightness import usual_loop_length
from loopwright.figure import Figure, entered
from loopwright.mechanics import atlas
from loopwright.mechanics.cloth import Finish, washed
from loopwright.problems import Problem
from loopwright.store.shelf import Shelf
from loopwright.store.values import Item, Kind
from loopwright.structure.library import Structure, find_structure, library, structure_from
from loopwright.structure.repeat import beginnings, smallest
from loopwright.web.desk import Desk
from loopwright.yarn.yarn import Yarn, yarn_from_words

LEAST_LOOP_MM, MOST_LOOP_MM, MOST_SET, MOST_TWIST = 0.3, 60.0, 95.0, 200.0
TRIAL_YARN = "2/30 Nm merino"
SECOND = "b_"  # front of the names that ask for the cloth beside

Loop = Annotated[float, Field(ge=LEAST_LOOP_MM, le=MOST_LOOP_MM, allow_inf_nan=False)]
Share = Annotated[float, Field(ge=0, le=MOST_SET, allow_inf_nan=False)]
Twist = Annotated[float, Field(ge=-MOST_TWIST, le=MOST_TWIST, allow_inf_nan=False)]
Words = Annotated[str, Field(max_length=120)]


class Asked(BaseModel):
    """One cloth; `version` only makes the address another one when an item changed, so that a browser may keep it."""

    model_config = ConfigDict(extra="forbid", frozen=True)

    structure: Words = "plain"
    zone: Annotated[str, Field(max_length=20)] = ""
    yarn: Words = ""
    loop_mm: Loop | None = None
    set_percent: Share | None = None
    twist_per_m: Twist | None = None
    version: Annotated[int, Field(ge=0, le=2**31 - 1)] = 0

    def query(self) -> str:
        """The address part that asks for this again."""
        return urlencode(self.said())

    def said(self) -> dict[str, Any]:
        """What it says; what was left out stays out."""
        return {"structure": self.structure} | self.model_dump(exclude_defaults=True)


class AskedBeside(Asked):
    """One cloth, and another beside it when `b_structure` names one."""

    b_structure: Words = ""
    b_zone: Annotated[str, Field(max_length=20)] = ""
    b_yarn: Words = ""
    b_loop_mm: Loop | None = None
    b_set_percent: Share | None = None
    b_twist_per_m: Twist | None = None

    def first(self) -> Asked:
        """The cloth itself."""
        return Asked(**{key: value for key, value in self.said().items() if key in Asked.model_fields})

    def second(self) -> Asked | None:
        """The cloth beside it."""
        if not self.b_structure:
            return None
        said = {key.removeprefix(SECOND): value for key, value in self.said().items() if key.startswith(SECOND)}
        return Asked(**said)


@dataclass(frozen=True, slots=True)
class Setting:
    """A cloth to be simulated. `usual_mm` is the loop that it has when none is asked for; `place` says whose it is."""

    asked: Asked
    structure: Structure
    yarn: Yarn
    usual_mm: float
    loop: Figure
    finish: Finish
    place: str

    @property
    def ratio(self) -> float:
        """Loop length over yarn diameter."""
        return self.loop.value / self.yarn.diameter_mm.value


@dataclass(frozen=True, slots=True)
class _Found:
    """Whose cloth it is before anything is changed."""

    structure: Structure
    yarn: Yarn
    loop: Figure | None
    place: str
    version: int = 0


async def setting_of(shelf: Shelf, desk: Desk, asked: Asked) -> Setting:
    """What an address stands for.

    Raises:
        Problem: no such structure, item, zone or yarn.
    """
    found = await _found(shelf, desk, asked)
    yarn = _yarn(asked.yarn.strip()) if asked.yarn.strip() else found.yarn
    usual = found.loop if found.loop is not None and yarn is found.yarn else usual_loop_length(found.structure, yarn)
    loop = usual
    if asked.loop_mm is not None:
        loop = entered("loop length", asked.loop_mm, "mm", words="set on this page")
    kept = asked.model_copy(update={"version": found.version})
    return Setting(kept, found.structure, yarn, usual.value, loop, finish_of(asked), found.place)


def finish_of(asked: Asked) -> Finish:
    """The finish that is asked for; what is left out stays as assumed, or unknown."""
    finish = washed()
    if asked.set_percent is not None:
        words = "set on this page: the part of its bend that the yarn keeps by itself"
        finish = replace(finish, share=entered("set of the yarn", asked.set_percent / 100, "", words=words))
    if asked.twist_per_m is not None:
        words = "set on this page: turns left in the yarn, Z positive"
        twist = entered("residual twist", asked.twist_per_m, "turns per m", words=words)
        finish = replace(finish, residual_turns_per_m=twist)
    return finish


async def _found(shelf: Shelf, desk: Desk, asked: Asked) -> _Found:
    name = asked.structure.strip()
    if name.isdecimal():
        return await _on_the_shelf(shelf, desk, _number(name), asked.zone or "body")
    structure = library()[name] if name in library() else find_structure(name)
    return _Found(structure, _yarn(TRIAL_YARN), None, "from the library")


def _number(name: str) -> int:
    number = int(name) if len(name) < TOO_LONG else 0
    if not 1 <= number < 2**31:
        raise Problem("structure", f"no item on the shelf has the number {name[:40]}.", tries=["plain"])
    return number


TOO_LONG = 12


async def _on_the_shelf(shelf: Shelf, desk: Desk, item_id: int, zone: str) -> _Found:
    item = await asyncio.to_thread(shelf.load, item_id)
    if item.kind is Kind.STRUCTURE:
        return _Found(_drawn(item), _yarn(TRIAL_YARN), None, item.name, item.version)
    answer = await desk.answer(item_id)
    if answer.study is None:
        raise answer.problem or Problem(item.name, "it cannot be read.")
    fabric = answer.study.fabrics.get(zone)
    if fabric is None:
        has = list(answer.study.fabrics) or ["name a structure and a yarn for its body"]
        raise Problem(item.name, f"it has no fabric for “{zone}” yet.", tries=has)
    loop = fabric.geometry.loop_length_mm
    return _Found(as_solved(fabric.structure), fabric.yarn, loop, f"{zone} of {item.name}", answer.item.version)


def _drawn(item: Item) -> Structure:
    key, spec = next(iter(item.document["structures"].items()))
    return as_solved(structure_from(key, {**spec, "name": spec.get("name") or key}))


def as_solved(structure: Structure) -> Structure:
    """The structure in the writing in which the atlas knows it, else in its smallest repeat: the same cloth."""
    small = smallest(structure.notation)
    known = (each for each in beginnings(small) if atlas.chapter_for(each) is not None)
    return replace(structure, notation=next(known, small))


def _yarn(words: str) -> Yarn:
    """A yarn under the words that it was asked by."""
    return yarn_from_words(words, name=words)
