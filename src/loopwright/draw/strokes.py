"""The stroke timeline: seconds to scale, a row per panel, each narrowing one stroke that stands proud of the row,
a little thinner than its time so that neighbours stay apart.

In: timelines by panel. Out: one SVG with the sum of every kind of work in its legend.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

from loopwright.draw import theme
from loopwright.draw.svg import element, fill, hover, line, patterns, picture, words
from loopwright.figure import plain
from loopwright.machine.timeline import Timeline
from loopwright.shaping.panel import Work

Row = tuple[str, int, Timeline]

_FILLS = {
    Work.START: "dots",
    Work.RIB: "upright",
    Work.PLAIN: "light",
    Work.CAP: "tone",
    Work.SPLIT: "slant",
    Work.SHORT_ROWS: "level",
    Work.NARROWING: "ink",
    Work.TRANSFER: "dark",
    Work.BIND_OFF: "crosses",
    Work.FINISH: "paper",
    Work.EMPTY: "paper",
}


def strokes_picture(rows: Sequence[Row], *, size: str, width: float = 760.0, key: str = "strokes") -> str:
    """Rows of (panel name, pieces, timeline) for one size."""
    left, right, pitch, top = 112.0, 46.0, 40.0, 34.0
    longest = max(timeline.total_s for _, _, timeline in rows)
    px_per_s = (width - left - right) / longest
    bottom = top + pitch * len(rows)
    parts = [patterns(key), *_axis(left, top, bottom, px_per_s, longest)]
    for index, (name, pieces, timeline) in enumerate(rows):
        y = top + pitch * index + 8
        label = f"{name.capitalize()} × {pieces}" if pieces > 1 else name.capitalize()
        parts.append(words(0, y + 15, label, size=14, font_weight=600))
        parts += _row(timeline, left, y, px_per_s, key)
        minutes = plain(timeline.total_s / 60, 1)
        parts.append(words(left + timeline.total_s * px_per_s + 8, y + 15, minutes, size=14, font_weight=600))
    legend, rows_used = _legend(rows, 0, bottom + 22, width, key)
    parts += legend
    total = sum(pieces * timeline.total_s for _, pieces, timeline in rows)
    description = (
        f"Net {plain(total / 60, 1)} minutes for size {size}; each row is one piece of a panel, left to right in time."
    )
    height = bottom + 22 + 24 * rows_used
    return picture(
        "".join(parts),
        width=width,
        height=height,
        title=f"Knitting strokes, size {size}",
        description=description,
        key=key,
    )


def _axis(left: float, top: float, bottom: float, px_per_s: float, longest: float) -> list[str]:
    steps = (first * 10**power for power in range(12) for first in (1, 2, 5))
    step = next(step for step in steps if longest / 60 / step <= 9)
    parts = []
    for minute in range(0, math.floor(longest / 60) + 1, step):
        x = left + minute * 60 * px_per_s
        label = f"{minute} min" if minute == 0 else f"{minute}"
        parts += [
            line(x, top - 4, x, bottom, stroke=theme.HAIR),
            words(x, top - 12, label, size=13, anchor="middle", fill=theme.INK_2),
        ]
    return parts


def _row(timeline: Timeline, left: float, y: float, px_per_s: float, key: str) -> list[str]:
    parts = []
    for kind, start, end in timeline.stretches():
        x, width = left + start * px_per_s, (end - start) * px_per_s
        text = f"{kind.words}: {plain(end - start, 1)} s from {plain(start / 60, 2)} min"
        if kind is Work.NARROWING:
            parts.append((2, _narrowing(width, x, y, text)))
            continue
        box = element(
            "rect",
            x=x,
            y=y,
            width=max(width, 0.3),
            height=22,
            fill=fill(key, _FILLS[kind]),
            stroke=theme.INK,
            stroke_width=0.7,
        )
        parts.append((1, hover(box, text)))
    return [part for _, part in sorted(parts, key=lambda each: each[0])]


def _narrowing(width: float, x: float, y: float, text: str) -> str:
    """One stroke for the event; it stands 3 px above and below the row."""
    return hover(element("rect", x=x, y=y - 3, width=max(0.6 * width, 1.2), height=28, fill=theme.INK), text)


def _legend(rows: Sequence[Row], x: float, y: float, width: float, key: str) -> tuple[list[str], int]:
    seconds: dict[Work, float] = {}
    for _, pieces, timeline in rows:
        for kind, spent in timeline.seconds_by_kind().items():
            seconds[kind] = seconds.get(kind, 0.0) + pieces * spent
    parts, at, used = [], x, 1
    for kind, spent in seconds.items():
        label = f"{kind.words} {plain(spent, 0)} s"
        room = 30 + 6.4 * len(label)
        if at + room > width:
            at, y, used = x, y + 22, used + 1
        swatch = element(
            "rect",
            x=at,
            y=y - 11,
            width=18,
            height=13,
            fill=fill(key, _FILLS[kind]),
            stroke=theme.INK,
            stroke_width=0.7,
        )
        parts += [swatch, words(at + 24, y, label, size=13)]
        at += room + 12
    return parts, used
