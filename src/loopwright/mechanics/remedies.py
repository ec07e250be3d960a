"""What if, and what helps: changes of a simulated cloth, with their effect on roll, lean, stretch, width and cost.

In: a `SimulatedCloth`. Out: `Remedy` values, each with the cloth after the change where it can be simulated, what is
left of curl and lean, and what it costs in yarn and machine minutes. Ranking is by what is left, then by cost: the
model ranks well; sizes carry the model's spread. Valid: yarn of one kind, cloth in the atlas.
Not covered: friction, how long a set lasts in wear, whether a mill keeps the yarn.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace
from typing import Any, Literal

from loopwright.fabric.mass import fabric_mass, piece_lengths
from loopwright.fabric.tightness import SETTING_STEP_MM
from loopwright.figure import Basis, Figure, banded, entered, plain
from loopwright.mechanics.cloth import SimulatedCloth, simulated_cloth
from loopwright.mechanics.edges import NEARLY_FLAT, curl_per_mm, holding_edge, neighbours

Aim = Literal["curl", "lean"]
LOOP_CHANGE = 0.05  # share by which the loop is shortened or lengthened, in whole steps of the machine
WELL_SET = (0.95, 0.9, 0.97)  # share of set after a thorough setting (prior)
BALANCED_TURNS_PER_M = 15.0  # residual twist of a fold called balanced lies within this (prior)
UNLIKE_PAIR = 0.15  # of the twist: by so much S and Z yarn of one lot may differ (prior)
MOST_RELATED = 3  # other structures that are offered


@dataclass(frozen=True, slots=True, eq=False)
class Remedy:
    """One change and what it does.

    `cloth` is the cloth after it; none where the change is no cloth of its own (an edge). `curl_left` and `lean_left`
    are shares of what there was (0 gone, 1 as before, above 1 worse), none where they are not known. Changes are in
    per cent of the cloth before: `width_percent` of the same wales, `mass_percent` per area (yarn too, for the same
    area), `minutes_percent` for the same length; none where they do not follow from the cloth.
    """

    key: str
    words: str
    cost: str
    cloth: SimulatedCloth | None
    curl_left: float | None
    lean_left: float | None
    width_percent: float | None
    mass_percent: float | None
    minutes_percent: float | None

    @property
    def side_radius_mm(self) -> Figure | None:
        """Radius of the roll of the side edges afterwards; none when they lie flat or it is not known."""
        return self.cloth.side_radius if self.cloth else None

    @property
    def lean_deg(self) -> Figure | None:
        """Lean afterwards; none while the residual twist of the yarn is not known."""
        return self.cloth.lean if self.cloth else None

    def as_dict(self) -> dict[str, Any]:
        """JSON form."""
        cloth = self.cloth
        after = {
            "side_roll_radius_mm": cloth and cloth.side_radius,
            "simulated_lean_deg": cloth and cloth.lean,
            "simulated_width_stretch_percent": cloth and cloth.width_stretch,
            "simulated_length_stretch_percent": cloth and cloth.length_stretch,
        }
        return {
            "key": self.key,
            "words": self.words,
            "cost": self.cost,
            "curl_left_share": self.curl_left,
            "lean_left_share": self.lean_left,
            "width_change_percent": self.width_percent,
            "mass_change_percent": self.mass_percent,
            "minutes_change_percent": self.minutes_percent,
            **{key: figure.as_dict() if figure else None for key, figure in after.items()},
        }


def remedies(cloth: SimulatedCloth, *, step_mm: float = SETTING_STEP_MM) -> tuple[Remedy, ...]:
    """Everything that may be changed, in no order; `step_mm` is one step of the machine's loop length."""
    return (
        *_other_loops(cloth, step_mm),
        *_other_finish(cloth),
        *_other_twist(cloth),
        *_related(cloth),
        *_edge(cloth),
    )


def ranked(found: Iterable[Remedy], aim: Aim) -> tuple[Remedy, ...]:
    """Those that lessen curl or lean, the most effective first, the cheaper of two alike before the other."""
    left = [(each.curl_left if aim == "curl" else each.lean_left, each) for each in found]
    helping = [(share, each) for share, each in left if share is not None and share < HELPS]
    return tuple(each for _, each in sorted(helping, key=lambda pair: (round(pair[0], 1), _price(pair[1]))))


HELPS = 0.95  # a remedy that leaves more is none


def _price(remedy: Remedy) -> float:
    """Yarn and minutes that a remedy adds, per cent, as one number to tell the cheaper of two alike."""
    return max(0.0, remedy.mass_percent or 0.0) + max(0.0, remedy.minutes_percent or 0.0)


def _other_loops(cloth: SimulatedCloth, step_mm: float) -> Iterator[Remedy]:
    loop = cloth.geometry.loop_length_mm
    steps = max(1, round(LOOP_CHANGE * loop.value / step_mm))
    for key, way, sign in (("tighter", "shorter", -1), ("slacker", "longer", 1)):
        length = loop.value + sign * steps * step_mm
        after = simulated_cloth(cloth.structure, cloth.yarn, entered("loop length", length, "mm"), cloth.finish)
        if after is None:
            continue
        words = f"A {way} loop: {plain(length, 2)} mm, {steps} step{'s' * (steps > 1)} of {plain(step_mm, 2)} mm"
        cost = "firmer handle, harder on the yarn" if sign < 0 else "softer and less stable in washing"
        yield _remedy(f"loop-{key}", words, cost, cloth, after)


def _other_finish(cloth: SimulatedCloth) -> Iterator[Remedy]:
    value, low, high = WELL_SET
    if cloth.finish.share.value >= low or cloth.is_balanced:
        return
    share = banded(
        "set of the yarn",
        value,
        "",
        low=low,
        high=high,
        basis=Basis.ASSUMED,
        words="steamed or heat-set until it hardly springs back",
        source="mechanics reference, section 10 (assumed)",
    )
    finish = replace(cloth.finish, share=share)
    after = simulated_cloth(cloth.structure, cloth.yarn, cloth.geometry.loop_length_mm, finish)
    if after is not None:
        words = "More set in finishing: steam longer, flat and without tension"
        yield _remedy("more-set", words, "steaming time; washing may undo a part of it", cloth, after)


def _other_twist(cloth: SimulatedCloth) -> Iterator[Remedy]:
    if cloth.is_balanced:
        return
    twist = cloth.finish.residual_turns_per_m
    unlike = UNLIKE_PAIR * max(abs(twist.low), abs(twist.high)) if twist else 0.0
    ways = (
        (
            "balanced-fold",
            "A balanced fold: singles and fold twisted so that a hanging loop does not snarl",
            "another yarn, or folding; ask the spinner",
            BALANCED_TURNS_PER_M,
        ),
        (
            "alternate-twist",
            "S and Z yarn in alternate feeds: each course leans against the next",
            "two yarns to buy and to keep apart, an even number of feeds",
            unlike,
        ),
    )
    for key, words, cost, spread in ways:
        near_zero = banded(
            "residual twist",
            0.0,
            "turns/m",
            low=-spread,
            high=spread,
            basis=Basis.ASSUMED,
            words="net twist that is left to turn the loops",
            source="house (assumed)",
        )
        finish = replace(cloth.finish, residual_turns_per_m=near_zero if twist else None)
        after = simulated_cloth(cloth.structure, cloth.yarn, cloth.geometry.loop_length_mm, finish)
        if after is not None:
            yield replace(_remedy(key, words, cost, cloth, after), lean_left=0.0)


def _related(cloth: SimulatedCloth) -> Iterator[Remedy]:
    """Structures that roll at most a third as tightly, those nearest in width first."""
    own, wales = curl_per_mm(cloth), cloth.geometry.wales_per_cm.value
    if not own > 0:
        return
    flat = list(neighbours(cloth, same_loop=False, flatter_than=NEARLY_FLAT * own))
    flat.sort(key=lambda other: abs(math.log(other.geometry.wales_per_cm.value / wales)))
    for other in _unlike(flat)[:MOST_RELATED]:
        cost = "another surface, handle and thickness" + _bed_words(cloth, other)
        words = f"{other.structure.name[:1].upper()}{other.structure.name[1:]} in its place"
        made = _remedy(f"structure-{other.structure.key}", words, cost, cloth, other)
        yield replace(made, lean_left=0.0) if other.is_balanced else made


def _unlike(cloths: Iterable[SimulatedCloth]) -> list[SimulatedCloth]:
    """One of each kind: the same cloth on other needles is no other remedy."""
    kept: dict[tuple[float, float], SimulatedCloth] = {}
    for cloth in cloths:
        counts = (round(cloth.geometry.wales_per_cm.value, 1), round(cloth.geometry.courses_per_cm.value, 1))
        kept.setdefault(counts, cloth)
    return list(kept.values())


def _bed_words(cloth: SimulatedCloth, other: SimulatedCloth) -> str:
    if other.structure.anatomy.transfer_passes > cloth.structure.anatomy.transfer_passes:
        return "; a transfer pass more, which takes time"
    return "; the second bed" if other.structure.anatomy.beds > cloth.structure.anatomy.beds else ""


def _edge(cloth: SimulatedCloth) -> Iterator[Remedy]:
    edge = holding_edge(cloth)
    if edge is None or cloth.side_radius is None:
        return
    words = f"{edge.words[:1].upper()}{edge.words[1:]} on each side"
    cost = "needles of the second bed at both sides" if edge.cloth.structure.anatomy.beds > 1 else "none to speak of"
    yield Remedy("edge", words, cost, None, curl_per_mm(edge.cloth) / curl_per_mm(cloth), None, None, None, None)


def _remedy(key: str, words: str, cost: str, before: SimulatedCloth, after: SimulatedCloth) -> Remedy:
    return Remedy(
        key,
        words,
        cost,
        after,
        curl_left=_share(curl_per_mm(after), curl_per_mm(before)),
        lean_left=_share(_lean_size(after), _lean_size(before)),
        width_percent=_change(before.geometry.wales_per_cm.value, after.geometry.wales_per_cm.value),
        mass_percent=_change(mass_g_per_m2(after).value, mass_g_per_m2(before).value),
        minutes_percent=_change(_passes_per_cm(after), _passes_per_cm(before)),
    )


def mass_g_per_m2(cloth: SimulatedCloth) -> Figure:
    """Mass per area at the simulated counts."""
    geometry = cloth.geometry
    lengths = piece_lengths(
        cloth.structure, loop_length_mm=geometry.loop_length_mm.value, wales_per_cm=geometry.wales_per_cm.value
    )
    return fabric_mass(geometry, cloth.yarn, lengths)


def _passes_per_cm(cloth: SimulatedCloth) -> float:
    """Passes of a carriage for a centimetre of length, transfers counted as passes."""
    anatomy = cloth.structure.anatomy
    per_course = anatomy.passes_per_course + anatomy.transfer_passes / anatomy.visible_courses
    return per_course * cloth.geometry.courses_per_cm.value


def _lean_size(cloth: SimulatedCloth) -> float:
    return abs(cloth.lean.value) if cloth.lean is not None else math.nan


def _share(after: float, before: float) -> float | None:
    return after / before if math.isfinite(after) and before > 0 else None


def _change(after: float, before: float) -> float:
    return 100 * (after / before - 1)
