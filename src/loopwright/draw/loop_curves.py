"""Small charts side by side: what a cloth does over its loop length, each with its band, and where one stands.

In: `Curve`s over loop length (mm), the loop length on show. Out: one SVG. Line as solid as simulated figures are, the
nine-in-ten band in tone; the place where one stands is a line of thread with a dot. Not covered: what is simulated.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass

from loopwright.draw import theme
from loopwright.draw.svg import element, line, path, picture, words
from loopwright.figure import plain

PANEL, GAP, HEIGHT, TOP, FOOT = 166.0, 32.0, 84.0, 34.0, 34.0
MOST_TICKS = 4


@dataclass(frozen=True, slots=True)
class Point:
    """A figure at a loop length (mm)."""

    loop_mm: float
    value: float
    low: float
    high: float


@dataclass(frozen=True, slots=True)
class Curve:
    """One quantity over the loop length."""

    name: str
    unit: str
    points: tuple[Point, ...]


def loop_curves(curves: Sequence[Curve], loop_mm: float, *, key: str = "loop-curves") -> str:
    """All curves in a row; each has its own scale."""
    panels = "".join(
        element("g", _panel(curve, loop_mm), transform=f"translate({index * (PANEL + GAP):g} 0)")
        for index, curve in enumerate(curves)
    )
    return picture(
        panels,
        width=len(curves) * (PANEL + GAP) - GAP,
        height=TOP + HEIGHT + FOOT,
        title="What the loop length does",
        description=" ".join(_sentence(curve) for curve in curves),
        key=key,
    )


def _sentence(curve: Curve) -> str:
    first, last = curve.points[0], curve.points[-1]
    return (
        f"{curve.name}: {plain(first.value, 1)} {curve.unit} at {plain(first.loop_mm, 1)} mm, "
        f"{plain(last.value, 1)} at {plain(last.loop_mm, 1)} mm."
    )


def _panel(curve: Curve, loop_mm: float) -> str:
    points = curve.points
    left, right = points[0].loop_mm, points[-1].loop_mm
    bottom, top = _room(points)

    def at(loop: float, value: float) -> tuple[float, float]:
        across = (loop - left) / (right - left)
        return PANEL * across, TOP + HEIGHT * (1 - (min(max(value, bottom), top) - bottom) / (top - bottom))

    band = [at(each.loop_mm, each.low) for each in points] + [at(each.loop_mm, each.high) for each in reversed(points)]
    drawn = path(band, closed=True, fill=theme.TONE_2)
    drawn += path([at(each.loop_mm, each.value) for each in points], fill="none", stroke=theme.INK, stroke_width=1.8)
    drawn += line(0, TOP + HEIGHT, PANEL, TOP + HEIGHT)
    for tick in _ticks(left, right):
        x = at(tick, bottom)[0]
        drawn += line(x, TOP + HEIGHT, x, TOP + HEIGHT + 4)
        drawn += words(x, TOP + HEIGHT + 18, plain(tick, 0), anchor="middle", fill=theme.INK_2)
    drawn += words(0, 12, curve.name, font_weight=600)
    drawn += words(0, 27, f"{plain(bottom, _digits(top))} to {plain(top, _digits(top))} {curve.unit}", fill=theme.INK_2)
    return drawn + _here(curve, loop_mm, at(loop_mm, bottom)[0], at)


def _here(curve: Curve, loop_mm: float, x: float, at: Callable[[float, float], tuple[float, float]]) -> str:
    """The thread line where one stands, with the value on the curve."""
    if not curve.points[0].loop_mm <= loop_mm <= curve.points[-1].loop_mm:
        return ""
    after = next(each for each in curve.points if each.loop_mm >= loop_mm)
    before = [each for each in curve.points if each.loop_mm <= loop_mm][-1]
    span = after.loop_mm - before.loop_mm
    part = (loop_mm - before.loop_mm) / span if span else 0.0
    y = at(loop_mm, before.value + part * (after.value - before.value))[1]
    dot = element("circle", cx=x, cy=y, r=3.5, fill=theme.INK, stroke=theme.PAPER)
    return line(x, TOP, x, TOP + HEIGHT, stroke=theme.THREAD, width=1.2) + dot


def _room(points: Iterable[Point]) -> tuple[float, float]:
    """Lower and upper end of a scale: round numbers about the curve and most of its band."""
    every = list(points)
    most, least = max(each.value for each in every), min(each.value for each in every)
    high = min(max(each.high for each in every), most + abs(most - least) + abs(most))
    low = max(min(each.low for each in every), least - abs(most - least) - abs(least))
    step = 10 ** math.floor(math.log10(max(high - low, 1e-6) / 2))
    bottom, top = step * math.floor(low / step), step * math.ceil(high / step)
    return bottom, top if top > bottom else bottom + step


def _digits(top: float) -> int:
    return 0 if abs(top) >= TEN else 1


TEN = 10.0


def _ticks(left: float, right: float) -> list[float]:
    step = next((each for each in (1, 2, 5, 10, 20) if (right - left) / each <= MOST_TICKS), 50)
    return [float(step * n) for n in range(math.ceil(left / step), math.floor(right / step) + 1)]
