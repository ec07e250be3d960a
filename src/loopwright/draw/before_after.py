"""Before and after: what was believed of a figure, dashed, and what a swatch made of it, filled; its limit as a thread.

In: two figures with their nine-in-ten bands, and a limit where one is set. Out: SVG; both are said in words on the
picture. The humps have the same area, so a narrower one stands higher. Assumption: beliefs are drawn as normal.
Not covered: how they are reckoned (`swatch.learning`).
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass

from loopwright.draw import theme
from loopwright.draw.svg import line, path, picture, words
from loopwright.figure import NINE_IN_TEN_SD, Figure, plain, shown, spread_shown

WIDTH, HEIGHT, BASE, TOP = 360.0, 158.0, 126.0, 44.0
REACH_SD = 3.2  # how far a hump is drawn from its middle
POINTS = 90
TICKS = 5


@dataclass(frozen=True, slots=True)
class Hump:
    """A belief as it is drawn: its middle and its standard deviation."""

    middle: float
    sd: float

    def at(self, value: float) -> float:
        """Its height, the area under it being one."""
        return math.exp(-0.5 * ((value - self.middle) / self.sd) ** 2) / self.sd


def before_after_picture(before: Figure, after: Figure, limits: Sequence[float], *, key: str) -> str:
    """The picture of one quantity."""
    humps = tuple(_hump(each) for each in (before, after))
    inside = [limit for limit in limits if abs(limit - after.value) < REACH_LIMIT * (after.spread + before.spread)]
    low = min([*(each.middle - REACH_SD * each.sd for each in humps), *inside])
    high = max([*(each.middle + REACH_SD * each.sd for each in humps), *inside])
    top = max(each.at(each.middle) for each in humps)

    def place(value: float) -> float:
        return 8 + (WIDTH - 16) * (value - low) / (high - low)

    def points(hump: Hump) -> list[tuple[float, float]]:
        values = [low + (high - low) * step / POINTS for step in range(POINTS + 1)]
        return [(place(value), BASE - (BASE - TOP) * hump.at(value) / top) for value in values]

    first, second = (points(each) for each in humps)
    parts = [
        path([(8, BASE), *second, (WIDTH - 8, BASE)], closed=True, fill=theme.TONE_2, stroke="none"),
        path(second, fill="none", stroke=theme.INK, stroke_width=theme.VALUE_LINE),
        path(first, fill="none", stroke=theme.INK, stroke_width=1, stroke_dasharray="5 4"),
        line(8, BASE, WIDTH - 8, BASE),
    ]
    for limit in inside:
        parts.append(line(place(limit), 34, place(limit), BASE, width=2, stroke=theme.THREAD))
        parts.append(
            words(
                _inside(place(limit)),
                30,
                f"limit {plain(limit, 0 if limit == int(limit) else 1)}",
                anchor="middle",
                fill=theme.THREAD,
            )
        )
    parts += [
        words(8, 13, f"{before.name}{', ' if before.unit else ''}{before.unit}", font_weight=600),
        words(WIDTH - 8, 13, f"after {_said(after)}", anchor="end"),
        words(WIDTH - 8, 28 if not inside else 44, f"before {_said(before)}", anchor="end", fill=theme.INK_2),
        *_axis(low, high, place),
    ]
    unit = f" {after.unit}" if after.unit else ""
    description = f"{before.name}: before {_said(before)}, after {_said(after)}{unit}."
    title = f"{before.name} before and after"
    return picture("".join(parts), width=WIDTH, height=HEIGHT, title=title, description=description, key=key)


REACH_LIMIT = 6.0  # a limit further off than so many spreads would flatten the humps


def _hump(figure: Figure) -> Hump:
    return Hump(figure.value, max(figure.spread / NINE_IN_TEN_SD, abs(figure.value) * 1e-4, 1e-9))


def _said(figure: Figure) -> str:
    return f"{shown(figure)} {spread_shown(figure).strip()}"


def _inside(x: float) -> float:
    return min(max(x, 34.0), WIDTH - 34.0)


def _axis(low: float, high: float, place: Callable[[float], float]) -> list[str]:
    """Ticks outward with round numbers."""
    step = 10 ** math.floor(math.log10((high - low) / TICKS))
    step *= next(each for each in (1, 2, 5, 10) if (high - low) / (each * step) <= TICKS)
    digits = max(0, -math.floor(math.log10(step)))
    found = []
    for number in range(math.ceil(low / step), math.floor(high / step) + 1):
        x = place(number * step)
        found.append(line(x, BASE, x, BASE + 4))
        found.append(words(_inside(x), BASE + 20, plain(number * step, digits), anchor="middle", fill=theme.INK_2))
    return found
