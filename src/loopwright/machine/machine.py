"""The V-bed as a style describes it, and its settings with the trade's defaults.

In: gauge, bed width, systems, what the person knows of speeds and stops. Out: `VBed`, its settings figures with spread,
so that the minutes can say what moves them. Source: production reference 4.1; ask and time your own machine.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from loopwright.figure import Basis, Figure, banded, entered
from loopwright.problems import Problem
from loopwright.sources.table import Row, table
from loopwright.units import MM_PER_INCH

SETTINGS = ("speed_plain", "overrun", "reversal", "rack", "running_share")


@dataclass(frozen=True, slots=True)
class VBed:
    """A flat V-bed machine.

    Speeds other than plain keep the table's ratio to plain. `carriers` is how many carriers hold each yarn of a
    structure (default: one for each system, so that plain runs all systems).
    """

    gauge: float
    bed_in: float
    systems: int
    speed_plain: Figure
    overrun: Figure
    reversal: Figure
    rack: Figure
    running_share: Figure
    carriers: int

    @property
    def needles(self) -> int:
        """Whole needles of a bed."""
        return int(self.bed_in * self.gauge)

    @property
    def pitch_m(self) -> float:
        """Needle pitch in metres."""
        return MM_PER_INCH / self.gauge / 1000

    def speed(self, name: str) -> float:
        """Speed in m/s for "plain", "rib", "transfer" or "join"."""
        usual = _carriage()
        return self.speed_plain.value * usual[f"speed_{name}"]["value"] / usual["speed_plain"]["value"]


def v_bed(
    *,
    gauge: float,
    bed_in: float,
    systems: int,
    carriers: int | None = None,
    settings: Mapping[str, float] | None = None,
) -> VBed:
    """A machine with the trade's defaults, and the person's own `settings` in their place.

    Raises:
        Problem: a number of systems or a gauge that no flat machine has.
    """
    if systems not in (1, 2, 3, 4):
        raise Problem("machine.systems", f"{systems} knitting systems.", limit="1 to 4 on a flat machine", tries=["2"])
    own = dict(settings or {})
    usual = {name: _usual(name, systems) for name in SETTINGS}
    chosen = {
        name: entered(figure.name, own[name], figure.unit, words="given for this machine") if name in own else figure
        for name, figure in usual.items()
    }
    if not 0 < chosen["running_share"].value <= 1:
        raise Problem(
            "machine.running_share", f"{chosen['running_share'].value:g} of the time.", limit="above 0, at most 1"
        )
    return VBed(gauge=gauge, bed_in=bed_in, systems=systems, carriers=carriers or systems, **chosen)


_NAMES = {
    "speed_plain": "carriage speed, plain",
    "reversal": "time of a reversal",
    "rack": "time of a rack",
    "running_share": "running share of the time",
    "narrowing_traverses": "traverses of one narrowing",
    "bind_off_move": "time of a bind-off move",
}


def carriage_figure(name: str) -> Figure:
    """A default of the carriage table with its spread."""
    return _figure(name, _NAMES[name])


def _usual(name: str, systems: int) -> Figure:
    if name == "overrun":
        return _figure(f"overrun_{systems}", f"overrun past the fabric, {systems} systems")
    return carriage_figure(name)


def _figure(row_name: str, words: str) -> Figure:
    row = _carriage()[row_name]
    return row.figure(words, "value", row.text("unit"), words="common practice; time two panels to settle it")


@dataclass(frozen=True, slots=True)
class Calibration:
    """Speed and fixed time per traverse from timed pieces: t = α·N + β."""

    seconds_per_needle: float
    fixed_seconds: float
    speed_m_per_s: float
    reversal_s: float


def calibrate(timed: Sequence[tuple[int, float]], *, gauge: float, overrun_m: float) -> Calibration:
    """Carriage speed and reversal from timed traverses of different width: v = p/α, t_r = β − X/v.

    >>> found = calibrate([(200, 1.10), (400, 1.52)], gauge=12, overrun_m=0.30)    # P-39
    >>> round(found.seconds_per_needle, 4), round(found.fixed_seconds, 2), round(found.speed_m_per_s, 3)
    (0.0021, 0.68, 1.008)

    Raises:
        Problem: fewer than two widths, or times that do not grow with the width.
    """
    widths = {needles for needles, _ in timed}
    if len(widths) < 2:
        raise Problem(
            "machine.timed",
            f"{len(widths)} width timed.",
            limit="two panels of different width",
            tries=["time a sleeve and a back"],
        )
    n = len(timed)
    mean_needles = sum(needles for needles, _ in timed) / n
    mean_seconds = sum(seconds for _, seconds in timed) / n
    spread = sum((needles - mean_needles) ** 2 for needles, _ in timed)
    slope = sum((needles - mean_needles) * (seconds - mean_seconds) for needles, seconds in timed) / spread
    fixed = mean_seconds - slope * mean_needles
    if slope <= 0:
        raise Problem(
            "machine.timed",
            "the wider panel took no longer per traverse than the narrow one.",
            tries=["time them again"],
        )
    speed = MM_PER_INCH / gauge / 1000 / slope
    reversal = fixed - overrun_m / speed
    if reversal < 0:
        raise Problem(
            "machine.timed",
            f"the fixed part of a traverse is {fixed:.2f} s, less than the overrun of {overrun_m:g} m alone takes.",
            tries=["a smaller overrun", "time them again"],
        )
    return Calibration(slope, fixed, speed, reversal)


def timed_figures(calibration: Calibration) -> dict[str, Figure]:
    """Speed and reversal as measured figures (two panels leave about 5 % on each)."""
    return {
        "speed_plain": _timed("carriage speed, plain", calibration.speed_m_per_s, "m/s"),
        "reversal": _timed("time of a reversal", calibration.reversal_s, "s"),
    }


TIMED_SPREAD = 0.05  # prior: spread left on speed and reversal after two timed panels


def _timed(name: str, value: float, unit: str) -> Figure:
    low, high = value * (1 - TIMED_SPREAD), value * (1 + TIMED_SPREAD)
    words = "from two timed panels of different width"
    return banded(name, value, unit, low=low, high=high, basis=Basis.MEASURED, words=words, formula="t = α·N + β")


def carriage(name: str) -> float:
    """A default of the carriage table by name."""
    return _carriage()[name]["value"]


def _carriage() -> Mapping[str, Row]:
    return table(__package__, "carriage").by("quantity")
