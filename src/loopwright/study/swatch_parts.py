"""Swatches in a style document: counts typed once (`SwatchSpec`), or the record of a specimen with its sittings.

A specimen is one knitted piece; a sitting is one time at the table with it: its state, and what was measured then.
Readings are lists, so that their spread is known; each may be a decimal, a fraction ("65 1/2") or text with its own
unit. Lean is positive when the upper end of the wales leans right, seen from the side named.
Not covered: what follows from the readings (`loopwright.swatch`), photo files (`store.photos`).
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from typing import Annotated, Any, Literal

from pydantic import AfterValidator, BeforeValidator, Field, ValidationInfo, field_validator

from loopwright.problems import Problem
from loopwright.study.written import Day, Mm, Name, Part, PerCm, SomeCm, SomeMm, StateName, Words, in_unit, refused
from loopwright.units import CM_PER_INCH, quantity

MOST_READINGS = 200
SpecimenState = Literal["off-machine", "dry-relaxed", "wet-relaxed", "fully-relaxed", "finished"]

Grams = Annotated[float, in_unit("g"), Field(gt=0, le=1e5)]
Degrees = Annotated[float, in_unit("deg"), Field(ge=-60, le=60)]
Percent = Annotated[float, in_unit("%"), Field(ge=-90, le=1000)]
Thickness = Annotated[float, in_unit("mm"), Field(gt=0, le=100)]
SignedMm = Annotated[float, in_unit("mm"), Field(ge=-1000, le=1000)]
Count = Annotated[float, in_unit(""), Field(gt=0, le=5000)]


def _several(value: Any) -> Any:
    """Readings; a single one may stand without brackets."""
    return [value] if isinstance(value, int | float | str) and not isinstance(value, bool) else value


Several = BeforeValidator(_several)
Most = Field(max_length=MOST_READINGS)
Millimetres = Annotated[list[SomeMm], Several, Most]


class SwatchSpec(Part):
    """What was counted on a swatch of the zone's structure and yarn, in which state.

    Give `wales_per_cm` (visible face wales) or `needles_per_cm` (all needle places across the width), not both.
    """

    name: Name = "swatch"
    loop_length_mm: Mm
    courses_per_cm: PerCm
    wales_per_cm: PerCm | None = None
    needles_per_cm: PerCm | None = None
    state: StateName = "finished"
    mass_g_per_m2: float | None = Field(None, gt=0, le=10000)
    thickness_mm: float | None = Field(None, gt=0, le=100)


class AirSpec(Part):
    """The air that the swatch lay in before it was measured, and for how long."""

    temperature_c: float | None = Field(None, ge=-20, le=60)
    humidity_percent: float | None = Field(None, ge=0, le=100)
    hours: float | None = Field(None, ge=0, le=10000)


class UnrovedSpec(Part):
    """Courses pulled out of the swatch: how many loops each had, and the lengths of their yarn."""

    loops: int = Field(gt=0, le=10000)
    lengths_mm: Millimetres = Field(default_factory=list)
    tension_cn_per_tex: float | None = Field(None, gt=0, le=20)


class RollSpec(Part):
    """How tightly the edges roll: the radius of the roll at the sides and at the ends."""

    sides: SomeMm | None = None
    ends: SomeMm | None = None


class StretchSpec(Part):
    """A strip pulled to a load, way by way: its extension, and what was left after letting go and resting."""

    way: Literal["width", "length"]
    load_n: float | None = Field(None, gt=0, le=10000)
    strip_cm: SomeCm | None = None
    cycles: int = Field(1, ge=1, le=1000)
    extension_percent: Annotated[list[Percent], Several, Most] = Field(default_factory=list)
    left_percent: Annotated[list[Percent], Several, Most] = Field(default_factory=list)
    rest_minutes: float | None = Field(None, ge=0, le=1e5)


class PhotoSpec(Part):
    """A picture of the sitting and what was read from it, with the half-width of its 95 % interval.

    A reading moves something only when it is `confirmed`. `corners_px` are those of a patch drawn over the picture,
    which holds `stitches` wales and courses. The picture itself is kept by the SHA-256 of its bytes.
    """

    wales_per_10_cm: float | None = Field(None, gt=0, le=2000)
    wales_u95: float | None = Field(None, gt=0, le=2000)
    courses_per_10_cm: float | None = Field(None, gt=0, le=2000)
    courses_u95: float | None = Field(None, gt=0, le=2000)
    lean_deg: Degrees | None = None
    lean_u95_deg: float | None = Field(None, gt=0, le=60)
    side: Literal["face", "back"] = "face"
    confirmed: bool = False
    reference: Words = ""
    corners_px: list[Annotated[list[float], Field(min_length=2, max_length=2)]] = Field(
        default_factory=list, max_length=8
    )
    stitches: list[int] = Field(default_factory=list, max_length=2)
    note: str = Field("", max_length=2000)


def _pair(value: Any) -> Any:
    """Two numbers in brackets."""
    if isinstance(value, list) and len(value) != 2:
        what = f"{len(value)} number{'' if len(value) == 1 else 's'} where two belong together."
        raise refused(Problem("", what, limit="two numbers in brackets", tries=["[[283, 271], [282, 270]]"]))
    return value


def _along(value: list[float]) -> list[float]:
    """An offset is measured over a height."""
    if value[1] <= 0:
        tries = ["[[14.5, 200]]: 14.5 to the right over a height of 200"]
        raise refused(Problem("", f"{value[1]:g} is no height.", limit="above 0", tries=tries))
    return value


def _sha256(value: str) -> str:
    """The name under which the shelf keeps a picture."""
    if re.fullmatch(r"[0-9a-f]{64}", value) is None:
        what = f"“{value[:70]}” is not how a picture is named here."
        raise refused(Problem("", what, limit="the SHA-256 of its bytes, 64 signs", tries=["add the picture again"]))
    return value


Sha256 = Annotated[str, AfterValidator(_sha256)]
Pair = Annotated[list[SomeMm], BeforeValidator(_pair)]
Offset = Annotated[list[SignedMm], BeforeValidator(_pair), AfterValidator(_along)]


class SittingSpec(Part):
    """One time at the table: the state of the swatch, who measured, and every reading, each a list.

    `wales` and `courses` are counted over `count_over_cm` at several places. `marks_…_mm` are the distances between
    the same marks at every sitting; the first sitting that has them is the one before. `diagonals_mm` are of a marked
    square, the one from lower left to upper right first. `mark_offset_mm` holds pairs: how far the upper end of a wale
    lies to the right, over its height at right angles to the courses.
    """

    state: SpecimenState = "off-machine"
    washes: int = Field(0, ge=0, le=200)
    on: Day = ""
    by: Words = ""
    wash: Words = ""
    dried: Words = ""
    air: AirSpec | None = None
    side: Literal["face", "back"] = "face"
    unreliable: str = Field("", max_length=500)
    note: str = Field("", max_length=5000)
    count_over_cm: SomeCm = 10.0
    wales: Annotated[list[Count], Several, Most] = Field(default_factory=list)
    courses: Annotated[list[Count], Several, Most] = Field(default_factory=list)
    mass_g: Annotated[list[Grams], Several, Most] = Field(default_factory=list)
    width_cm: Annotated[list[SomeCm], Several, Most] = Field(default_factory=list)
    length_cm: Annotated[list[SomeCm], Several, Most] = Field(default_factory=list)
    area_cm2: float | None = Field(None, gt=0, le=1e6)
    thickness_mm: Annotated[list[Thickness], Several, Most] = Field(default_factory=list)
    unroved: UnrovedSpec | None = None
    unroved_feeds: dict[str, UnrovedSpec] = Field(default_factory=dict, max_length=40)
    marks_width_mm: Millimetres = Field(default_factory=list)
    marks_length_mm: Millimetres = Field(default_factory=list)
    diagonals_mm: list[Pair] = Field(default_factory=list, max_length=MOST_READINGS)
    mark_offset_mm: list[Offset] = Field(default_factory=list, max_length=MOST_READINGS)
    lean_deg: Annotated[list[Degrees], Several, Most] = Field(default_factory=list)
    roll_radius_mm: RollSpec | None = None
    stretches: dict[str, StretchSpec] = Field(default_factory=dict, max_length=40)
    photos: dict[Sha256, PhotoSpec] = Field(default_factory=dict, max_length=40)

    @field_validator("wales", "courses", mode="before")
    @classmethod
    def _counted(cls, given: Any, info: ValidationInfo) -> Any:
        """Counts with a unit of their own, per cm or per inch, as counts over the length that this sitting counts."""
        over = info.data.get("count_over_cm")
        given = _several(given)
        if not isinstance(given, list) or over is None:
            return given
        return [_count_over(each, over) if isinstance(each, str) else each for each in given]


PER_CM = {"per cm": 1.0, "/cm": 1.0, "1/cm": 1.0, "per 10 cm": 0.1, "/10cm": 0.1, "/10 cm": 0.1}
PER_CM |= dict.fromkeys(("per inch", "per in", "/in", "/inch", "1/in", "wpi", "cpi"), 1 / CM_PER_INCH)


def _count_over(words: str, over_cm: float) -> Any:
    """A count as typed, or a density turned into the count over the length counted.

    >>> _count_over("65 1/2", 10), round(_count_over("16.5 per inch", 10), 2), _count_over("6.5 /cm", 10)
    (65.5, 64.96, 65.0)
    """
    spoken = words.strip().casefold().rstrip(".")
    unit = next((unit for unit in sorted(PER_CM, key=len, reverse=True) if spoken.endswith(unit)), None)
    try:
        if unit is None:
            return quantity(words, "")
        return quantity(spoken.removesuffix(unit), "") * PER_CM[unit] * over_cm
    except Problem:
        tries = ["65", "65 1/2", "16.5 per inch", "6.5 per cm"]
        raise refused(
            Problem("", f"“{words[:60]}” is no count.", limit="a count, or one per cm or inch", tries=tries)
        ) from None


class LimitSpec(Part):
    """What a reading must keep to: from, to; or a wanted value with a tolerance in per cent."""

    wanted: float | None = Field(None, ge=-1e5, le=1e5)
    percent: float | None = Field(None, gt=0, le=100)
    at_least: float | None = Field(None, ge=-1e5, le=1e5)
    at_most: float | None = Field(None, ge=-1e5, le=1e5)


def _limit(value: Any) -> Any:
    """A limit in short: a number is the most; two numbers are the least and the most."""
    if isinstance(value, str):
        try:
            return {"at_most": quantity(value, "%")}
        except Problem as problem:
            raise refused(problem) from None
    if isinstance(value, list):
        return _from_to(value)
    return {"at_most": value} if isinstance(value, int | float) and not isinstance(value, bool) else value


def _from_to(ends: list[Any]) -> dict[str, float]:
    """The least and the most.

    Raises:
        PydanticCustomError: not two numbers, or the wrong way round.
    """
    numbers = [end for end in ends if isinstance(end, int | float) and not isinstance(end, bool)]
    if len(numbers) != 2 or len(ends) != 2 or numbers[0] > numbers[1]:
        raise refused(Problem("", "a limit in brackets is the least and the most.", tries=["[-5, 3]"]))
    return {"at_least": numbers[0], "at_most": numbers[1]}


Limit = Annotated[LimitSpec, BeforeValidator(_limit)]


class LimitsSpec(Part):
    """Limits of one specimen by quantity; a lean in either direction is held against its limit."""

    wales_per_cm: Limit | None = None
    courses_per_cm: Limit | None = None
    mass_g_per_m2: Limit | None = None
    thickness_mm: Limit | None = None
    width_change_percent: Limit | None = None
    length_change_percent: Limit | None = None
    lean_percent: Limit | None = None
    width_stretch_percent: Limit | None = None
    length_stretch_percent: Limit | None = None


def _sittings(value: Any) -> Any:
    """Sittings are tables with names, so that two people can write in one swatch."""
    if isinstance(value, list):
        tries = ["[swatches.s3.sittings.dry]", "[swatches.s3.sittings.washed-1]"]
        raise refused(Problem("", "each sitting is a table with a name of its own.", tries=tries))
    return value


class SpecimenSpec(Part):
    """One knitted swatch: what it was knitted of and on, its sittings in the order of time, its limits.

    `unreliable` holds a reason, and the swatch drops out of everything. Without `loop_length_mm` the loop length is
    that of its unroved courses.
    """

    name: Words = ""
    structure: Name = "plain"
    yarn: Name | None = None
    lot: Words = ""
    cone: Words = ""
    machine: Words = ""
    gauge: float | None = Field(None, ge=0.5, le=60)
    needles: int | None = Field(None, gt=0, le=5000)
    courses: int | None = Field(None, gt=0, le=20000)
    cam_setting: Words = ""
    loop_length_mm: Mm | None = None
    knitted_on: Day = ""
    invented: bool = False
    unreliable: str = Field("", max_length=500)
    note: str = Field("", max_length=5000)
    limits: LimitsSpec | None = None
    sittings: Annotated[dict[Name, SittingSpec], BeforeValidator(_sittings), Field(max_length=100)] = Field(
        default_factory=dict
    )


def swatch_or_name(value: Any) -> str:
    """Whether a zone holds counts of its own, or names a swatch of the style; tags of the validator."""
    return "(name)" if isinstance(value, str) else "(counts)"


def is_of_swatches(document: Mapping[str, Any]) -> bool:
    """Whether a document holds swatches and what they are knitted of, and nothing else."""
    return bool(document.get("swatches")) and set(document) <= {"yarns", "structures", "swatches"}
