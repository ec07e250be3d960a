"""A season as pictures: machine hours by gauge, yarn by lot against the least dye lot, two prices beside each other.

In: bars with their parts by style, a whisker each, and a limit when there is one. Out: one SVG each. Bars lie down and
start at zero; fills that touch differ by pattern, and a style keeps its pattern in all pictures. Beyond eight styles
the last are drawn together as "the rest". A limit is the thread line with its word.
Not covered: adding up (the bars come finished).
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from loopwright.draw import theme
from loopwright.draw.svg import element, fill, hover, line, patterns, picture, words
from loopwright.figure import Figure, gap, plain

FILLS = ("light", "slant", "dark", "dots", "upright", "crosses", "level", "paper")
REST = "the rest"

LEFT, RIGHT, TOP = 176.0, 128.0, 18.0
BAR, PITCH = 26.0, 66.0
LETTER = 6.6  # px across of a letter at 13 px, in the mean
MOST_TICKS = 6


@dataclass(frozen=True, slots=True)
class Bar:
    """One bar: what it is, the parts of the styles in order, their sum with its spread, and what is said after it.

    `limit` is a limit of this bar alone, with its word; multiples of it are ticked as far as the bar goes. `decimals`
    are those of its numbers.
    """

    label: str
    under: str
    parts: tuple[tuple[str, float], ...]
    total: Figure
    said: str = ""
    limit: float | None = None
    limit_words: str = ""
    decimals: int = 0


@dataclass(frozen=True, slots=True)
class _Ground:
    """Where the bars lie: px to a unit, which pattern a style has, and the key of the picture."""

    px: float
    fills: dict[str, str]
    key: str

    def x(self, value: float) -> float:
        """Place of a value."""
        return LEFT + value * self.px


def hours_picture(
    bars: Sequence[Bar], styles: Sequence[str], *, width: float = 824.0, key: str = "season-hours"
) -> str:
    """Machine hours by gauge, stacked by style; the thread is what one machine works in the days given.

    `styles` are the names of all styles, those first that keep a pattern of their own.
    """
    description = "Machine hours: " + _sentence(bars)
    return _lying(bars, styles, None, width=width, key=key, title="Machine hours by gauge", description=description)


def yarn_picture(
    bars: Sequence[Bar], styles: Sequence[str], least: Figure, *, width: float = 824.0, key: str = "season-yarn"
) -> str:
    """Yarn to buy by lot, stacked by style; the thread is the least dye lot, in the band of what dyers ask."""
    description = f"Yarn to buy, a dye lot being {least.text()} or more: " + _sentence(bars)
    return _lying(bars, styles, least, width=width, key=key, title="Yarn to buy by lot", description=description)


def prices_picture(bars: Sequence[Bar], parts: Sequence[str], *, width: float = 824.0, key: str = "prices") -> str:
    """Prices of a piece of two styles, one below the other, stacked by what they are made of."""
    description = "Price of a piece: " + _sentence(bars)
    return _lying(bars, parts, None, width=width, key=key, title="Prices of a piece", description=description)


def _sentence(bars: Sequence[Bar]) -> str:
    said = (f"{bar.label}{f', {bar.under}' if bar.under else ''} {bar.total.text()}" for bar in bars)
    return f"{'; '.join(said)}."


def _lying(
    bars: Sequence[Bar],
    styles: Sequence[str],
    least: Figure | None,
    *,
    width: float,
    key: str,
    title: str,
    description: str,
) -> str:
    reach = max([*(bar.total.high for bar in bars), *(bar.limit or 0.0 for bar in bars), least.high if least else 0.0])
    ground = _Ground((width - LEFT - RIGHT) / (reach or 1.0), _fills(styles), key)
    top = TOP + (18.0 if least else 0.0)
    bottom = top + PITCH * len(bars) + 12
    parts = [patterns(key)]
    parts += _least_band(least, ground, top, bottom) if least else []
    for index, bar in enumerate(bars):
        parts += _bar(bar, ground, top + PITCH * index + 22)
    parts += _least_line(least, ground, top, bottom) if least else []
    parts += _axis(reach, bars[0].total.unit if bars else "", ground, bottom)
    seen = {name for bar in bars for name, _ in bar.parts}
    legend, rows = _legend(ground, seen, bottom + 52, width)
    tall = bottom + 34 + 22 * rows
    return picture("".join([*parts, *legend]), width=width, height=tall, title=title, description=description, key=key)


def _fills(styles: Sequence[str]) -> dict[str, str]:
    """The pattern of every style, the same in all pictures of a season; past eight, the others share the last one."""
    own = len(FILLS) if len(styles) <= len(FILLS) else len(FILLS) - 1
    return {name: FILLS[min(place, own)] for place, name in enumerate(styles)}


def _sharing(ground: _Ground) -> list[str]:
    """Styles that have no pattern of their own."""
    last = [name for name, pattern in ground.fills.items() if pattern == FILLS[-1]]
    return last if len(last) > 1 else []


def _grouped(bar: Bar, ground: _Ground) -> list[tuple[str, float]]:
    """Parts of a bar as drawn: those that share the last pattern are one, at the end."""
    shared = _sharing(ground)
    own = [part for part in bar.parts if part[0] not in shared]
    rest = math.fsum(value for name, value in bar.parts if name in shared)
    return [*own, (REST, rest)] if rest > 0 else own


def _bar(bar: Bar, ground: _Ground, y: float) -> Iterator[str]:
    """Label, parts with their names above, limit, whisker, and the sum after it."""
    yield words(0, y + 11, _fitting(bar.label, LEFT - 14), size=14, font_weight=600)
    yield words(0, y + 27, _fitting(bar.under, LEFT - 14), size=13, fill=theme.INK_2)
    at = 0.0
    for name, value in _grouped(bar, ground):
        yield _part(name, value, at, bar, ground, y)
        at += value
    yield from _whisker(bar.total, ground, y + BAR / 2)
    yield from _limits(bar, ground, y)
    x = ground.x(max(bar.total.high, bar.limit or 0.0 if bar.said else 0.0)) + 10
    total = f"{plain(bar.total.value, bar.decimals)}{gap(bar.total.unit)}{bar.total.unit}"
    yield words(x, y + 11, total, size=14, font_weight=600)
    yield words(x, y + 27, bar.said, size=13, fill=theme.INK_2)


def _part(name: str, value: float, at: float, bar: Bar, ground: _Ground, y: float) -> str:
    """One style's part, its name above it where there is room."""
    x, across = ground.x(at), value * ground.px
    pattern = ground.fills.get(name, FILLS[-1])
    said = f"{name}: {plain(value, bar.decimals)} {bar.total.unit}"
    box = element("rect", x=x, y=y, width=across, height=BAR, fill=fill(ground.key, pattern), stroke=theme.INK)
    text = words(x + 2, y - 6, name, size=13, fill=theme.INK_2) if across >= LETTER * len(name) + 4 else ""
    return hover(box, said, class_="mark", data_says=said) + text


def _limits(bar: Bar, ground: _Ground, y: float) -> Iterator[str]:
    """The limit of a bar with its word, and its multiples within the bar: two machines, three."""
    if not bar.limit:
        return
    half = LETTER * len(bar.limit_words) / 2
    first = max(ground.x(bar.limit), LEFT + half)
    yield words(first, y + BAR + 18, bar.limit_words, size=13, anchor="middle", fill=theme.THREAD, font_weight=600)
    free = first + half + LETTER
    for times in range(1, 1 + min(MOST_MARKS, max(1, math.floor(bar.total.high / bar.limit)))):
        x = ground.x(times * bar.limit)
        yield line(x, y - 5, x, y + BAR + 5, width=2, stroke=theme.THREAD)
        if times > 1 and x - LETTER >= free:
            yield words(x, y + BAR + 18, str(times), size=13, anchor="middle", fill=theme.THREAD, font_weight=600)
            free = x + 2 * LETTER


MOST_MARKS = 12


def _whisker(total: Figure, ground: _Ground, y: float) -> Iterator[str]:
    """Nine cases in ten about the end of a bar, in the dash of how it is known, on a ground of paper."""
    if total.high <= total.low:
        return
    low, high = ground.x(max(total.low, 0.0)), ground.x(total.high)
    yield line(low, y, high, y, width=5, stroke=theme.PAPER)
    yield line(low, y, high, y, width=theme.VALUE_LINE, dash=theme.EVIDENCE_DASH[total.basis.value])
    yield from (line(x, y - 5, x, y + 5, width=1.5) for x in (low, high))
    yield element("circle", cx=ground.x(total.value), cy=y, r=3.5, fill=theme.INK)


def _least_band(least: Figure, ground: _Ground, top: float, bottom: float) -> list[str]:
    """What dyers ask, from the least to the most of them, as a tone behind the bars."""
    x, across = ground.x(least.low), (least.high - least.low) * ground.px
    return [element("rect", x=x, y=top, width=across, height=bottom - top, fill=theme.TONE_1)] if across > 0 else []


def _least_line(least: Figure, ground: _Ground, top: float, bottom: float) -> list[str]:
    x = ground.x(least.value)
    text = f"a dye lot, {plain(least.value, 0)}{gap(least.unit)}{least.unit}"
    if least.high > least.low:
        text += f"; dyers ask {plain(least.low, 0)} to {plain(least.high, 0)}"
    return [
        line(x, top - 4, x, bottom, width=2, stroke=theme.THREAD),
        words(x, top - 12, text, size=13, anchor="middle", fill=theme.THREAD, font_weight=600),
    ]


def _axis(reach: float, unit: str, ground: _Ground, y: float) -> Iterator[str]:
    """One ink line from zero, at most six numbers, the unit once at the zero."""
    yield line(LEFT, y, ground.x(reach), y)
    step = _step(reach)
    for index in range(math.floor(reach / step) + 1):
        x = ground.x(index * step)
        yield line(x, y, x, y + 5)
        number = plain(index * step, 0 if step >= 1 else 1)
        text = f"{number}{gap(unit)}{unit}" if index == 0 else number
        yield words(x, y + 20, text, size=13, anchor="middle", fill=theme.INK_2)


def _step(reach: float) -> float:
    """The finest round step with few enough numbers.

    >>> _step(480), _step(26), _step(0)
    (100.0, 5.0, 1.0)
    """
    if not reach > 0:
        return 1.0
    power = 10.0 ** math.floor(math.log10(reach / MOST_TICKS))
    return next(first * power for first in (1, 2, 5, 10, 20) if reach / (first * power) < MOST_TICKS)


def _legend(ground: _Ground, seen: set[str], y: float, width: float) -> tuple[list[str], int]:
    """Every style that is in a bar with its pattern, in rows."""
    shared = _sharing(ground)
    shown = [(name, pattern) for name, pattern in ground.fills.items() if name in seen and name not in shared]
    if together := len(seen.intersection(shared)):
        shown.append((f"{REST}, {together} style{'s' * (together != 1)}", FILLS[-1]))
    parts, at, rows = [], LEFT, 1
    for name, pattern in shown:
        room = 40 + LETTER * len(name)
        if at > LEFT and at + room > width:
            at, y, rows = LEFT, y + 22, rows + 1
        box = element("rect", x=at, y=y - 11, width=18, height=13, fill=fill(ground.key, pattern), stroke=theme.INK)
        parts += [box, words(at + 24, y, name, size=13)]
        at += room
    return parts, rows + 1


def _fitting(text: str, room: float) -> str:
    """A label that stays left of the bars; the whole of it stands in the description."""
    most = int(room / LETTER)
    return text if len(text) <= most else f"{text[: most - 1].rstrip()}…"
