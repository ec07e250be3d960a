"""From the document of a swatch to its value: how it was made, and readings of the trade.

In: `SpecimenSpec`, structure, yarn. Out: `Specimen`. A swatch whose yarn cannot be read keeps everything else.
Not covered: finding its structure and yarn in a style, the counts a zone takes (`taken_swatch`), what follows from the
readings (`loopwright.swatch.bench`).
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from loopwright.figure import State
from loopwright.structure.library import Structure
from loopwright.study.swatch_parts import AirSpec, LimitsSpec, PhotoSpec, SittingSpec, SpecimenSpec, UnrovedSpec
from loopwright.swatch.limits import Limit, limit_of
from loopwright.swatch.observed import Quantity
from loopwright.swatch.specimen import PhotoReading, Sitting, Specimen, Stretched, Unroved, in_order_of_time
from loopwright.yarn.yarn import Yarn

STATES = {state.value: state for state in State} | {"off-machine": State.ON_MACHINE}


def specimen_from(key: str, spec: SpecimenSpec, structure: Structure, yarn: Yarn | None) -> Specimen:
    """The value of a swatch.

    Raises:
        Problem: a limit that says nothing, or that nothing can keep.
    """
    return Specimen(
        key=key,
        name=spec.name or key,
        structure=structure,
        yarn=yarn,
        lot=spec.lot,
        cone=spec.cone,
        machine=spec.machine,
        gauge=spec.gauge,
        needles=spec.needles,
        courses=spec.courses,
        cam_setting=spec.cam_setting,
        loop_length_mm=spec.loop_length_mm,
        knitted_on=spec.knitted_on,
        is_invented=spec.invented,
        unreliable=spec.unreliable,
        note=spec.note,
        limits=_limits(spec.limits, f"swatches.{key}.limits") if spec.limits else {},
        sittings=in_order_of_time(tuple(_sitting(name, sitting) for name, sitting in spec.sittings.items())),
    )


def _limits(spec: LimitsSpec, place: str) -> dict[Quantity, Limit]:
    found = {}
    for quantity in Quantity:
        given = getattr(spec, quantity.value)
        if given is not None:
            is_lean = quantity is Quantity.LEAN
            found[quantity] = limit_of(f"{place}.{quantity.value}", **given.model_dump(), either_way=is_lean)
    return found


def _sitting(key: str, spec: SittingSpec) -> Sitting:
    return Sitting(
        key=key,
        state=STATES[spec.state],
        washes=spec.washes,
        on=spec.on,
        by=spec.by,
        wash=spec.wash,
        dried=spec.dried,
        air=_air(spec.air),
        side=spec.side,
        unreliable=spec.unreliable,
        note=spec.note,
        count_over_cm=spec.count_over_cm,
        wales=tuple(spec.wales),
        courses=tuple(spec.courses),
        mass_g=tuple(spec.mass_g),
        width_cm=tuple(spec.width_cm),
        length_cm=tuple(spec.length_cm),
        area_cm2=spec.area_cm2,
        thickness_mm=tuple(spec.thickness_mm),
        unroved=_unroved(spec),
        marks_width_mm=tuple(spec.marks_width_mm),
        marks_length_mm=tuple(spec.marks_length_mm),
        diagonals_mm=_pairs(spec.diagonals_mm),
        mark_offset_mm=_pairs(spec.mark_offset_mm),
        lean_deg=tuple(spec.lean_deg),
        roll_sides_mm=spec.roll_radius_mm.sides if spec.roll_radius_mm else None,
        roll_ends_mm=spec.roll_radius_mm.ends if spec.roll_radius_mm else None,
        stretches=_stretches(spec),
        photos=tuple(_photo(name, photo) for name, photo in spec.photos.items()),
    )


def _air(spec: AirSpec | None) -> str:
    """ "20 °C, 65 %, 24 h"."""
    if spec is None:
        return ""
    parts = ((spec.temperature_c, "°C"), (spec.humidity_percent, "%"), (spec.hours, "h"))
    return ", ".join(f"{value:g} {unit}" for value, unit in parts if value is not None)


def _unroved(spec: SittingSpec) -> tuple[Unroved, ...]:
    feeds: Mapping[str, UnrovedSpec] = {**({"": spec.unroved} if spec.unroved else {}), **spec.unroved_feeds}
    return tuple(
        Unroved(each.loops, tuple(each.lengths_mm), feed, each.tension_cn_per_tex) for feed, each in feeds.items()
    )


def _pairs(pairs: Sequence[Sequence[float]]) -> tuple[tuple[float, float], ...]:
    return tuple((first, second) for first, second in pairs)


def _stretches(spec: SittingSpec) -> tuple[Stretched, ...]:
    return tuple(
        Stretched(
            way=each.way,
            extension_percent=tuple(each.extension_percent),
            left_percent=tuple(each.left_percent),
            load_n=each.load_n,
            strip_cm=each.strip_cm,
            cycles=each.cycles,
            rest_minutes=each.rest_minutes,
        )
        for each in spec.stretches.values()
    )


def _photo(name: str, spec: PhotoSpec) -> PhotoReading:
    return PhotoReading(
        photo=name,
        is_confirmed=spec.confirmed,
        side=spec.side,
        wales_per_cm=_per_cm(spec.wales_per_10_cm),
        wales_u95=_per_cm(spec.wales_u95),
        courses_per_cm=_per_cm(spec.courses_per_10_cm),
        courses_u95=_per_cm(spec.courses_u95),
        lean_deg=spec.lean_deg,
        lean_u95_deg=spec.lean_u95_deg,
    )


def _per_cm(per_10_cm: float | None) -> float | None:
    return None if per_10_cm is None else per_10_cm / 10
