"""What a specimen tells the learning: one `Observed` for each quantity at each stage of its life.

In: a specimen, and today's date where the age of a swatch shall count. Out: observations with the error of their
mean, ruler and confirmed picture already one number. An unreliable swatch or sitting gives none, nor does one without
a yarn or a loop length. Changes are told only from the dry-relaxed state, so that they mean the same on every swatch.
Not covered: the learning itself (`learning`).
"""

from __future__ import annotations

from loopwright.figure import State
from loopwright.swatch.bench import Bench, Stage, bench_of
from loopwright.swatch.observed import Observed, Quantity
from loopwright.swatch.reduction import sitting_before
from loopwright.swatch.specimen import Specimen

CHANGES = {Quantity.WIDTH_CHANGE: "width", Quantity.LENGTH_CHANGE: "length"}


def observations_of(specimen: Specimen, *, today: str = "") -> tuple[Observed, ...]:
    """The observations of a specimen; `today` is a day as year-month-day, "" when age shall not count."""
    return told_by(bench_of(specimen), today=today)


def told_by(bench: Bench, *, today: str = "") -> tuple[Observed, ...]:
    """The observations of a specimen that is worked through already."""
    specimen = bench.specimen
    if specimen.yarn is None or bench.loop_length_mm is None:
        return ()
    return tuple(
        Observed(
            swatch=specimen.name,
            structure=specimen.structure,
            yarn=specimen.yarn,
            loop_length_mm=bench.loop_length_mm,
            state=stage.state,
            quantity=quantity,
            value=measured.estimate.value,
            standard_error=measured.estimate.standard_error,
            washes=stage.washes,
            lot=specimen.lot,
            days_old=_days_old(stage, today),
        )
        for stage in bench.stages
        for quantity, measured in stage.measured.items()
        if _is_told(specimen, stage, quantity)
    )


def _is_told(specimen: Specimen, stage: Stage, quantity: Quantity) -> bool:
    if quantity not in CHANGES:
        return True
    befores = [sitting_before(specimen, sitting, CHANGES[quantity]) for sitting in stage.sittings]
    return any(before is not None and before.state is State.DRY_RELAXED for before in befores)


def _days_old(stage: Stage, today: str) -> float:
    on = stage.sittings[-1].on
    return float(max(0, day_number(today) - day_number(on))) if today and on else 0.0


def day_number(day: str) -> int:
    """Days since the first of March of the year nought, so that two days can be told apart without a clock.

    >>> day_number("2026-11-29") - day_number("2026-10-02"), day_number("2024-03-01") - day_number("2024-02-28")
    (58, 2)
    """
    year, month, date = (int(part) for part in day.split("-"))
    year, month = (year - 1, month + 9) if month < 3 else (year, month - 3)
    return 365 * year + year // 4 - year // 100 + year // 400 + (153 * month + 2) // 5 + date - 1
