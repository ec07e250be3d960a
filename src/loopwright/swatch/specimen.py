"""A specimen: one knitted swatch, how it was made, and every sitting at which it was measured.

In: values checked at the door (`study.specimens` builds them from a document). Out: frozen values; readings are tuples
in the order they were taken, lengths as the names say. Lean is positive to the right on the side named. Assumption: a
sitting belongs to one state of relaxation. Not covered: what follows from the readings (`reduction`, `bench`).
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from loopwright.figure import State
from loopwright.structure.library import Structure
from loopwright.swatch.limits import Limit
from loopwright.swatch.observed import Quantity
from loopwright.yarn.yarn import Yarn


@dataclass(frozen=True, slots=True)
class Unroved:
    """Courses pulled out: loops in each, lengths of their yarn, the pull on it; `feed` is empty for all feeds."""

    loops: int
    lengths_mm: tuple[float, ...]
    feed: str = ""
    tension_cn_per_tex: float | None = None


@dataclass(frozen=True, slots=True)
class Stretched:
    """A strip pulled in one way: extensions and what was left, in per cent."""

    way: str
    extension_percent: tuple[float, ...]
    left_percent: tuple[float, ...] = ()
    load_n: float | None = None
    strip_cm: float | None = None
    cycles: int = 1
    rest_minutes: float | None = None


@dataclass(frozen=True, slots=True)
class PhotoReading:
    """What was read from a picture, per cm and in degrees, each with the half-width of its 95 % interval."""

    photo: str
    is_confirmed: bool
    side: str = "face"
    wales_per_cm: float | None = None
    wales_u95: float | None = None
    courses_per_cm: float | None = None
    courses_u95: float | None = None
    lean_deg: float | None = None
    lean_u95_deg: float | None = None


@dataclass(frozen=True, slots=True)
class Sitting:
    """One time at the table; `counts` are over `count_over_cm`. `unreliable` holds a reason and drops the sitting."""

    key: str
    state: State
    washes: int = 0
    on: str = ""
    by: str = ""
    wash: str = ""
    dried: str = ""
    air: str = ""
    side: str = "face"
    unreliable: str = ""
    note: str = ""
    count_over_cm: float = 10.0
    wales: tuple[float, ...] = ()
    courses: tuple[float, ...] = ()
    mass_g: tuple[float, ...] = ()
    width_cm: tuple[float, ...] = ()
    length_cm: tuple[float, ...] = ()
    area_cm2: float | None = None
    thickness_mm: tuple[float, ...] = ()
    unroved: tuple[Unroved, ...] = ()
    marks_width_mm: tuple[float, ...] = ()
    marks_length_mm: tuple[float, ...] = ()
    diagonals_mm: tuple[tuple[float, float], ...] = ()
    mark_offset_mm: tuple[tuple[float, float], ...] = ()
    lean_deg: tuple[float, ...] = ()
    roll_sides_mm: float | None = None
    roll_ends_mm: float | None = None
    stretches: tuple[Stretched, ...] = ()
    photos: tuple[PhotoReading, ...] = ()

    @property
    def state_words(self) -> str:
        """Where the swatch was in its life: "off machine", "fully relaxed, washed 3 times"."""
        state = "off machine" if self.state is State.ON_MACHINE else self.state.value.replace("-", " ")
        washed = {0: "", 1: ", washed once", 2: ", washed twice"}.get(self.washes, f", washed {self.washes} times")
        return f"{state}{washed}"


@dataclass(frozen=True, slots=True)
class Specimen:
    """A swatch with its sittings in the order of time. `yarn` is none while none is named."""

    key: str
    name: str
    structure: Structure
    yarn: Yarn | None = None
    lot: str = ""
    cone: str = ""
    machine: str = ""
    gauge: float | None = None
    needles: int | None = None
    courses: int | None = None
    cam_setting: str = ""
    loop_length_mm: float | None = None
    knitted_on: str = ""
    is_invented: bool = False
    unreliable: str = ""
    note: str = ""
    limits: Mapping[Quantity, Limit] = field(default_factory=dict)
    sittings: tuple[Sitting, ...] = ()

    @property
    def reliable_sittings(self) -> tuple[Sitting, ...]:
        """The sittings that count; none when the swatch itself is marked unreliable."""
        return () if self.unreliable else tuple(each for each in self.sittings if not each.unreliable)


def in_order_of_time(sittings: tuple[Sitting, ...]) -> tuple[Sitting, ...]:
    """By day where every sitting has one, else by washes; sittings of one day stay as they were written."""
    if all(each.on for each in sittings):
        return tuple(sorted(sittings, key=lambda each: each.on))
    return tuple(sorted(sittings, key=lambda each: each.washes))
