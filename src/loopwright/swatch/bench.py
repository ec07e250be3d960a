"""Everything that one specimen says: each quantity at each stage of its life, by hand, by picture, and together.

In: a `Specimen`. Out: `Bench`: stages (a state and a number of washes) in the order of time, each with what was
measured, what was expected, the limit and the chance of keeping it; how far people differ. A half-described specimen
gives what it can; an unreliable one keeps its readings on show and gives no estimate. Pure.
Not covered: sentences about it (`consistency`), learning from many swatches (`learning`).
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from loopwright.figure import Basis, Figure, State, banded
from loopwright.swatch.combining import combined
from loopwright.swatch.expected import expected_fabric, expected_figures
from loopwright.swatch.limits import Verdict, verdict
from loopwright.swatch.observed import Quantity
from loopwright.swatch.operators import Precision, precision
from loopwright.swatch.reduction import by_hand, from_photos, loop_length_of, loop_length_summary, sitting_before
from loopwright.swatch.specimen import Sitting, Specimen
from loopwright.swatch.statistics import Estimate, Summary, usual_spread

NAMES = {
    Quantity.WALES: "wales per cm",
    Quantity.COURSES: "courses per cm",
    Quantity.MASS: "mass per area",
    Quantity.THICKNESS: "thickness",
    Quantity.WIDTH_CHANGE: "width change",
    Quantity.LENGTH_CHANGE: "length change",
    Quantity.LEAN: "lean",
    Quantity.WIDTH_STRETCH: "stretch in width",
    Quantity.LENGTH_STRETCH: "stretch in length",
}


@dataclass(frozen=True, slots=True)
class Measured:
    """One quantity at one stage: `hand` by the key of the sitting, `photo` from confirmed pictures, all together."""

    quantity: Quantity
    hand: Mapping[str, Summary]
    by_hand: Estimate | None
    by_photo: Estimate | None
    estimate: Estimate
    expected: Figure | None
    verdict: Verdict | None
    people: Precision | None


@dataclass(frozen=True, slots=True)
class Stage:
    """A state and a number of washes, with the sittings that found the swatch in it."""

    state: State
    washes: int
    sittings: tuple[Sitting, ...]
    measured: Mapping[Quantity, Measured]

    @property
    def words(self) -> str:
        """The stage in words."""
        return self.sittings[-1].state_words

    def figure(self, quantity: Quantity, estimate: Estimate, words: str) -> Figure:
        """An estimate as a figure with its nine-in-ten band."""
        return banded(
            NAMES[quantity],
            estimate.value,
            quantity.unit,
            low=estimate.value - estimate.half_90,
            high=estimate.value + estimate.half_90,
            basis=Basis.MEASURED,
            words=words,
            state=self.state,
        )


@dataclass(frozen=True, slots=True)
class Bench:
    """A specimen with all that follows from its readings."""

    specimen: Specimen
    loop_length_mm: float | None
    unroved: Summary | None
    stages: tuple[Stage, ...]

    def latest(self, quantity: Quantity) -> tuple[Stage, Measured] | None:
        """The last stage at which a quantity was measured."""
        found = [(stage, stage.measured[quantity]) for stage in self.stages if quantity in stage.measured]
        return found[-1] if found else None


def bench_of(specimen: Specimen) -> Bench:
    """Work a specimen through."""
    loop = loop_length_of(specimen)
    stages = tuple(_stage(specimen, key, sittings, loop) for key, sittings in _grouped(specimen).items())
    return Bench(specimen, loop, loop_length_summary(specimen.reliable_sittings), stages)


def _grouped(specimen: Specimen) -> dict[tuple[State, int], list[Sitting]]:
    groups: dict[tuple[State, int], list[Sitting]] = {}
    for sitting in specimen.reliable_sittings:
        groups.setdefault((sitting.state, sitting.washes), []).append(sitting)
    return groups


def _stage(specimen: Specimen, key: tuple[State, int], sittings: list[Sitting], loop_length_mm: float | None) -> Stage:
    state, washes = key
    hand: dict[Quantity, dict[str, Summary]] = {}
    photo: dict[Quantity, list[Estimate]] = {}
    for sitting in sittings:
        for quantity, summary in by_hand(specimen, sitting).items():
            hand.setdefault(quantity, {})[sitting.key] = summary
        for quantity, estimates in from_photos(sitting).items():
            photo.setdefault(quantity, []).extend(estimates)
    expected = expected_figures(expected_fabric(specimen, loop_length_mm, state), _states_before(specimen, sittings))
    people = {sitting.key: sitting.by for sitting in sittings}
    measured = {
        quantity: _measured(
            specimen, quantity, hand.get(quantity, {}), photo.get(quantity, []), expected.get(quantity), people
        )
        for quantity in Quantity
        if quantity in hand or quantity in photo
    }
    return Stage(state, washes, tuple(sittings), measured)


def _states_before(specimen: Specimen, sittings: list[Sitting]) -> dict[str, State]:
    """The states that changes are counted from."""
    return {
        way: before.state
        for way in ("width", "length")
        for sitting in sittings
        if (before := sitting_before(specimen, sitting, way)) is not None
    }


def _measured(
    specimen: Specimen,
    quantity: Quantity,
    hand: Mapping[str, Summary],
    photo: list[Estimate],
    expected: Figure | None,
    people: Mapping[str, str],
) -> Measured:
    estimates = [each.estimate for each in hand.values()]
    value = (estimates or photo)[0].value
    usual = usual_spread(quantity.value, value)
    by_hand = combined(estimates, common_error=0.0) if estimates else None
    by_photo = combined(photo, common_error=0.0) if photo else None
    both = [each for each in (by_hand, by_photo) if each is not None]
    estimate = combined(both, common_error=usual.common)
    limit = specimen.limits.get(quantity)
    readings: dict[str, list[float]] = {}
    for key, summary in hand.items():
        readings.setdefault(people[key], []).extend(summary.values)
    return Measured(
        quantity,
        dict(hand),
        by_hand,
        by_photo,
        estimate,
        expected,
        verdict(estimate, usual.piece_sd, limit) if limit is not None else None,
        precision(readings),
    )
