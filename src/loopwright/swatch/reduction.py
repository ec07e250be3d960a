"""From the readings of a sitting to quantities per cm, per m² and in per cent.

In: a `Sitting`, and for changes the sitting before. Out: a `Summary` for every quantity that was read by hand, and an
`Estimate` for what was read from confirmed pictures. Nothing is combined here, nothing dropped.
Not covered: several sittings in one state, ruler and picture together (`combining`).
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from loopwright.fabric.spirality import lean_percent
from loopwright.figure import U95_SD
from loopwright.swatch import change, lean, weight
from loopwright.swatch.observed import Quantity
from loopwright.swatch.specimen import PhotoReading, Sitting, Specimen, Stretched
from loopwright.swatch.statistics import Estimate, Summary, scale_step, summary, usual_spread

PHOTO_DEGREES = 60.0  # the spread of a picture's reading is well known: it comes from many stitches
RULER_STEP_MM = 0.5  # common practice: marks are read to half a millimetre


def by_hand(specimen: Specimen, sitting: Sitting) -> dict[Quantity, Summary]:
    """Every quantity read by hand at a sitting."""
    found = {
        Quantity.WALES: _counts(Quantity.WALES, sitting.wales, sitting.count_over_cm),
        Quantity.COURSES: _counts(Quantity.COURSES, sitting.courses, sitting.count_over_cm),
        Quantity.MASS: mass_summary(sitting),
        Quantity.THICKNESS: _of("thickness_mm", sitting.thickness_mm),
        Quantity.LEAN: lean_summary(sitting),
        Quantity.WIDTH_STRETCH: _stretch(sitting, "width"),
        Quantity.LENGTH_STRETCH: _stretch(sitting, "length"),
        Quantity.WIDTH_CHANGE: change_summary(specimen, sitting, "width"),
        Quantity.LENGTH_CHANGE: change_summary(specimen, sitting, "length"),
    }
    return {quantity: each for quantity, each in found.items() if each is not None}


def _of(name: str, values: Sequence[float], *, resolution: float | None = None) -> Summary | None:
    if not values:
        return None
    return summary(values, usual_spread(name, sum(values) / len(values), resolution=resolution))


def _counts(quantity: Quantity, counts: Sequence[float], over_cm: float) -> Summary | None:
    step = scale_step(quantity.value) / over_cm
    return _of(quantity.value, [count / over_cm for count in counts], resolution=step)


def mass_summary(sitting: Sitting) -> Summary | None:
    """Mass per area of each weighed piece; the size of the piece is that of the sitting."""
    area = area_cm2(sitting)
    if not sitting.mass_g or area is None:
        return None
    masses = [weight.mass_per_area(mass_g=mass, area_cm2=area) for mass in sitting.mass_g]
    name = "mass_g_per_m2" if sitting.area_cm2 is not None else "mass_whole_g_per_m2"
    return _of(name, masses, resolution=weight.mass_per_area(mass_g=scale_step(name), area_cm2=area))


def area_cm2(sitting: Sitting) -> float | None:
    """The area that was weighed: the cut circle, or mean width × mean length; none while unknown."""
    if sitting.area_cm2 is not None:
        return sitting.area_cm2
    if not sitting.width_cm or not sitting.length_cm:
        return None
    return _mean(sitting.width_cm) * _mean(sitting.length_cm)


def _mean(values: Sequence[float]) -> float:
    return sum(values) / len(values)


def lean_summary(sitting: Sitting) -> Summary | None:
    """Lean by every method that was used at the sitting, taken together."""
    readings = [value for values in lean_by_method(sitting).values() for value in values]
    return _of("lean_percent", readings)


def lean_by_method(sitting: Sitting) -> dict[str, tuple[float, ...]]:
    """Lean in per cent on the technical face, by the way it was measured."""
    found = {
        "mark offset": lean.from_offsets(sitting.mark_offset_mm, sitting.side),
        "diagonals": lean.from_diagonals(sitting.diagonals_mm, sitting.side),
        "angle": lean.from_angles(sitting.lean_deg, sitting.side),
    }
    return {method: values for method, values in found.items() if values}


def _stretch(sitting: Sitting, way: str) -> Summary | None:
    pulled = stretched(sitting, way)
    return _of(f"{way}_stretch_percent", pulled.extension_percent) if pulled else None


def stretched(sitting: Sitting, way: str) -> Stretched | None:
    """The first strip pulled in a way that has readings; results of other loads stand beside it, not in it."""
    return next((each for each in sitting.stretches if each.way == way and each.extension_percent), None)


def change_summary(specimen: Specimen, sitting: Sitting, way: str) -> Summary | None:
    """Change since the first reliable sitting with marks, or with a size where there are no marks."""
    before = sitting_before(specimen, sitting, way)
    if before is None:
        return None
    was, now, step_mm = _distances(before, sitting, way)
    step = change.reading_step_percent(step_mm, was)
    return _of(f"{way}_change_percent", change.changes_percent(was, now), resolution=step)


def sitting_before(specimen: Specimen, sitting: Sitting, way: str) -> Sitting | None:
    """The sitting that a change is counted from; none for that sitting itself, or without marks or sizes in both."""
    for attribute in (f"marks_{way}_mm", f"{way}_cm"):
        first = next((each for each in specimen.reliable_sittings if getattr(each, attribute)), None)
        if first is not None and first is not sitting and getattr(sitting, attribute):
            return first
    return None


def _distances(before: Sitting, after: Sitting, way: str) -> tuple[tuple[float, ...], tuple[float, ...], float]:
    """Distances before and after, and the step in mm to which they are read."""
    marks = f"marks_{way}_mm"
    if getattr(before, marks) and getattr(after, marks):
        return getattr(before, marks), getattr(after, marks), RULER_STEP_MM
    was, now = (tuple(10 * each for each in getattr(one, f"{way}_cm")) for one in (before, after))
    return was, now, 10 * scale_step("size_cm")


def loop_length_summary(sittings: Iterable[Sitting]) -> Summary | None:
    """Loop length from every unroved course of the sittings that count, mm."""
    pulled = [each for sitting in sittings for each in sitting.unroved if each.lengths_mm]
    loops = [weight.loop_length_mm(length_mm=mm, loops=each.loops) for each in pulled for mm in each.lengths_mm]
    if not loops:
        return None
    step = scale_step("loop_length_mm") / (sum(each.loops for each in pulled) / len(pulled))
    return _of("loop_length_mm", loops, resolution=step)


def loop_length_of(specimen: Specimen) -> float | None:
    """The loop length typed, else that of the unroved courses; none while neither is known."""
    if specimen.loop_length_mm is not None:
        return specimen.loop_length_mm
    unroved = loop_length_summary(each for each in specimen.sittings if not each.unreliable)
    return unroved.mean if unroved else None


def from_photos(sitting: Sitting) -> dict[Quantity, list[Estimate]]:
    """What confirmed pictures of a sitting say; a reading without its interval takes the usual spread by hand."""
    found: dict[Quantity, list[Estimate]] = {}
    for photo in sitting.photos:
        if photo.is_confirmed:
            for quantity, estimate in photo_estimates(photo).items():
                found.setdefault(quantity, []).append(estimate)
    return found


def photo_estimates(photo: PhotoReading) -> dict[Quantity, Estimate]:
    """The readings of one picture."""
    found = {}
    for quantity, value, u95 in (
        (Quantity.WALES, photo.wales_per_cm, photo.wales_u95),
        (Quantity.COURSES, photo.courses_per_cm, photo.courses_u95),
    ):
        if value is not None:
            found[quantity] = _photo_estimate(quantity, value, u95)
    if photo.lean_deg is not None:
        (value,) = lean.from_angles([photo.lean_deg], photo.side)
        slope = 1 + (value / 100) ** 2  # of the tangent
        u95 = None if photo.lean_u95_deg is None else lean_percent(photo.lean_u95_deg) * slope
        found[Quantity.LEAN] = _photo_estimate(Quantity.LEAN, value, u95)
    return found


def _photo_estimate(quantity: Quantity, value: float, u95: float | None) -> Estimate:
    error = usual_spread(quantity.value, value).sd if u95 is None else u95 / U95_SD
    return Estimate(value, error, PHOTO_DEGREES)
