"""One structure of the atlas: everything the mechanics says of it over a range of loop lengths.

In: a structure and the loop lengths over diameter to solve. Out: a `Chapter`: one row of numbers per loop length (see
`fields`), the nodes of the rest state, and how it was got. The rest state is followed from a slack cloth to tighter and
slacker ones; at each loop length a fresh start is taken too, and the state of lower energy goes on. Where they differ
the chapter keeps the range between them. What cannot be settled stays empty (nan).
Held set: the yarn is set while the cloth is held at the proportions that this structure has at `FIRM`, and let go.
Not covered: reading it (`atlas`). Source: mechanics reference, sections 4, 5 and 11.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from loopwright.mechanics.fields import FIELDS, LEAN_SETS, SETS, TENSIONS, TURNS
from loopwright.mechanics.kernels.repeat import Floats
from loopwright.mechanics.loops import Material, repeat_of
from loopwright.mechanics.newton import polished
from loopwright.mechanics.relax import (
    UPRIGHT,
    CarryOn,
    always,
    best_of,
    descended,
    from_start,
    relaxed,
    tightened,
)
from loopwright.mechanics.response import (
    ENDS,
    SIDES,
    Stretched,
    curl_moment,
    curl_of,
    lean_of,
    moduli_of,
    stretch_of,
)
from loopwright.mechanics.result import Relaxed
from loopwright.mechanics.setting import with_set
from loopwright.structure.library import Structure

DENSITY = 2.6  # nodes per diameter at the loop length where the chapter begins, so that the slackest has two
START = 20.0  # loop length over diameter from which the rest state is followed
FIRM = 17.0  # loop length over diameter whose proportions a held cloth is held at


@dataclass(frozen=True, slots=True, eq=False)
class Chapter:
    """A structure over loop lengths: `ratios` (n,), `numbers` (n, fields), `nodes` (n, N, 3) with `lattices` (n, 3).

    `feeds`, `letters` and `diameters` tell the yarn of each strand, `first` (R + 1,) its nodes. `pulled` (n, 4, N, 3)
    and `pulled_lattices` (n, 4, 3) are the cloth pulled in width and in length to the tensions 0.2 and 1 (nan where it
    locks before). `messages` says per loop length how it ended.
    """

    key: str
    lines: tuple[str, ...]
    gating: str
    ratios: Floats
    numbers: Floats
    nodes: Floats
    lattices: Floats
    pulled: Floats
    pulled_lattices: Floats
    first: NDArray[np.int64]
    feeds: tuple[int, ...]
    letters: tuple[str, ...]
    diameters: tuple[float, ...]
    messages: tuple[str, ...]


def chapter_of(
    structure: Structure,
    ratios: Sequence[float],
    *,
    full: bool = True,
    material: Material | None = None,
    carry_on: CarryOn = always,
    report: Callable[[str], None] = lambda _: None,
) -> Chapter:
    """Solve a structure at loop lengths over diameter (rising). `full` adds stretch, curl, lean and held set."""
    found = dict(_followed(structure, ratios, material, carry_on, report))
    firm = min(found.values(), key=lambda each: abs(each.repeat.loop_over_diameter - FIRM))
    rows, pulled = [], []
    for ratio in ratios:
        report(f"{structure.name}, loop {ratio:g} diameters: response")
        row, states = _row(found[ratio], firm, full=full, carry_on=carry_on)
        rows.append(row)
        pulled.append(states)
    any_one = found[ratios[0]]
    return Chapter(
        key=structure.key,
        lines=structure.notation.lines(),
        gating=structure.notation.gating.value,
        ratios=np.array(ratios, float),
        numbers=np.array(rows),
        nodes=np.array([found[ratio].state.q for ratio in ratios]),
        lattices=np.array([found[ratio].state.lattice[:3] for ratio in ratios]),
        pulled=np.array([[nodes for nodes, _ in states] for states in pulled]),
        pulled_lattices=np.array([[lattice for _, lattice in states] for states in pulled]),
        first=any_one.system.yarns.first,
        feeds=any_one.repeat.feeds,
        letters=any_one.repeat.letters,
        diameters=tuple(float(each) for each in any_one.system.yarns.diameter),
        messages=tuple(found[ratio].message for ratio in ratios),
    )


def _followed(
    structure: Structure,
    ratios: Sequence[float],
    material: Material | None,
    carry_on: CarryOn,
    report: Callable[[str], None],
) -> Iterator[tuple[float, Relaxed]]:
    """Rest states along the loop lengths: from the one nearest `START` down and up."""
    middle = min(range(len(ratios)), key=lambda index: abs(ratios[index] - START))
    density = DENSITY * START / ratios[middle]
    report(f"{structure.name}, loop {ratios[middle]:g} diameters: at rest")
    first = relaxed(structure, ratios[middle], material, density=density, carry_on=carry_on)
    yield ratios[middle], first
    for order in (range(middle - 1, -1, -1), range(middle + 1, len(ratios))):
        last = first
        for index in order:
            ratio = ratios[index]
            report(f"{structure.name}, loop {ratio:g} diameters: at rest")
            follow = tightened(last, ratio, carry_on=carry_on)
            again = repeat_of(structure, ratio, material, density=density * ratios[middle] / ratio)
            fresh = from_start(again, carry_on=carry_on)
            candidates = [follow] + ([fresh] if fresh.state.q.shape == follow.state.q.shape else [])
            last = best_of(candidates)
            yield ratio, last


def _row(
    answer: Relaxed, firm: Relaxed, *, full: bool, carry_on: CarryOn
) -> tuple[Floats, list[tuple[Floats, Floats]]]:
    """Numbers of one loop length in the order of `FIELDS`, and the cloth pulled (nodes, lattice)."""
    values: dict[str, float] = {}
    rest = [(other.energy, other.wale, other.course) for other in answer.others]
    form = answer.form
    rest.append((answer.energy_per_loop, form.wale_spacing, form.course_spacing))
    energies, wales, courses = zip(*rest, strict=True)
    values |= {
        "settled": float(answer.is_sound),
        "energy": answer.energy_per_loop,
        "wale": form.wale_spacing,
        "course": form.course_spacing,
        "depth": form.depth,
        "contact_share": answer.contact_share,
        "energy_high": max(energies),
        "wale_low": min(wales),
        "wale_high": max(wales),
        "course_low": min(courses),
        "course_high": max(courses),
    }
    unknown = (np.full_like(answer.state.q, np.nan), np.full(3, np.nan))
    pulled = [unknown] * 4
    if answer.is_sound:
        values |= _small_strain(answer)
        if full:
            values |= _curls(answer, carry_on) | _leans(answer, carry_on) | _held(answer, firm, carry_on)
            for place, way in enumerate(("width", "length")):
                stretched = stretch_of(answer, way, carry_on=carry_on)
                values |= _stretches(stretched, way)
                for offset, tension in enumerate((0.2, 1.0)):
                    pulled[2 * place + offset] = _pulled(stretched, tension) or unknown
    return np.array([values.get(name, math.nan) for name in FIELDS]), pulled


def _small_strain(answer: Relaxed) -> dict[str, float]:
    moduli = moduli_of(answer)
    return {
        "modulus_width": moduli.width,
        "modulus_length": moduli.length,
        "modulus_shear": moduli.shear,
        "moment_sides": curl_moment(answer.system, answer.state, SIDES),
        "moment_ends": curl_moment(answer.system, answer.state, ENDS),
    }


def _curls(answer: Relaxed, carry_on: CarryOn) -> dict[str, float]:
    values: dict[str, float] = {}
    for way, alpha in (("sides", SIDES), ("ends", ENDS)):
        for n, share in enumerate(SETS):
            curl = curl_of(answer, alpha, share, carry_on=carry_on)
            values[f"curl_{way}_{n}"] = curl.curvature if curl.is_settled else math.nan
            values[f"stiffness_{way}_{n}"] = curl.stiffness
            values[f"bound_{way}_{n}"] = float(curl.is_bound)
    return values


def _leans(answer: Relaxed, carry_on: CarryOn) -> dict[str, float]:
    return {
        f"lean_{s}_{n}": lean_of(answer, turns, share, carry_on=carry_on)
        for s, share in enumerate(LEAN_SETS)
        for n, turns in enumerate(TURNS)
    }


def _stretches(stretched: Stretched, way: str) -> dict[str, float]:
    strains = {f"stretch_{way}_{n}": strain for n, strain in enumerate(stretched.strains)}
    return strains | {f"sideways_{way}_{n}": side for n, side in enumerate(stretched.sideways)}


def _pulled(stretched: Stretched, tension: float) -> tuple[Floats, Floats] | None:
    place = TENSIONS.index(tension)
    if place >= len(stretched.states):
        return None
    state = stretched.states[place]
    return state.q, state.lattice[:3]


def _held(answer: Relaxed, firm: Relaxed, carry_on: CarryOn) -> dict[str, float]:
    """Spacings after set in the held state; of a cloth as tight as the firm one or tighter, those at rest."""
    form = answer.form
    values = {f"held_wale_{n}": form.wale_spacing for n in range(len(SETS))}
    values |= {f"held_course_{n}": form.course_spacing for n in range(len(SETS))}
    slack = answer.repeat.loop_over_diameter / firm.repeat.loop_over_diameter
    if slack <= 1 + 1e-9:
        return values
    width, height = (float(firm.state.lattice[n]) * slack for n in (0, 2))
    held = answer.state.with_lattice(width=width, height=height)
    fixed = (False, False, False, False)
    held, *_ = descended(answer.system, held, fixed, 200, 1e-3)
    held = polished(answer.system, held, fixed, tolerance=1e-5, most_steps=40, carry_on=carry_on).state
    for n, share in enumerate(SETS):
        system, state = with_set(answer.system, held, share)
        state, *_ = descended(system, state, UPRIGHT, 200, 1e-4)
        polish = polished(system, state, UPRIGHT, tolerance=1e-6, most_steps=60, carry_on=carry_on)
        ratio = polish.state.lattice / answer.state.lattice.clip(1e-300)
        settled = float(np.abs(polish.reading.gradient).max()) < 1e-4
        values[f"held_wale_{n}"] = form.wale_spacing * float(ratio[0]) if settled else math.nan
        values[f"held_course_{n}"] = form.course_spacing * float(ratio[2]) if settled else math.nan
    return values
