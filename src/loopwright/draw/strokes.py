"""The stroke timeline: seconds to scale, a row per panel, each narrowing one stroke that stands proud of the row,
a little thinner than its time so that neighbours stay apart.

In: timelines by panel, and the seconds to show. Out: one SVG with the sum of every kind of work shown in its legend;
every stretch says under the pointer what it is (class "mark", `data-says`).
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import chain

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


@dataclass(frozen=True, slots=True)
class _Window:
    """The seconds that are shown, and where they lie on the sheet."""

    start_s: float
    end_s: float
    left: float
    px_per_s: float

    def x(self, second: float) -> float:
        """Place of a second."""
        return self.left + (second - self.start_s) * self.px_per_s

    def part(self, start: float, end: float) -> tuple[float, float]:
        """The part of a stretch that is shown; nothing of it when its end is not after its start."""
        return max(start, self.start_s), min(end, self.end_s)


def strokes_picture(
    rows: Sequence[Row],
    *,
    size: str,
    width: float = 760.0,
    key: str = "strokes",
    start_s: float = 0.0,
    end_s: float | None = None,
) -> str:
    """Rows of (panel name, pieces, timeline) for one size; `start_s` to `end_s` shows those seconds of a piece only.

    Raises:
        ValueError: a window that ends before it begins.
    """
    left, right, pitch, top = 112.0, 46.0, 40.0, 34.0
    longest = max(timeline.total_s for _, _, timeline in rows)
    end = longest if end_s is None else end_s
    if not start_s < end:
        raise ValueError(f"a window from {start_s} s to {end} s")
    window = _Window(start_s, end, left, (width - left - right) / (end - start_s))
    bottom = top + pitch * len(rows)
    parts = [patterns(key), *_axis(window, top, bottom)]
    for index, (name, pieces, timeline) in enumerate(rows):
        y = top + pitch * index + 8
        label = f"{name.capitalize()} × {pieces}" if pieces > 1 else name.capitalize()
        parts.append(words(0, y + 15, label, size=14, font_weight=600))
        parts += _row(name, timeline, window, y, key)
        minutes = plain(timeline.total_s / 60, 1)
        at = window.x(min(max(timeline.total_s, start_s), end)) + 8
        parts.append(words(at, y + 15, minutes, size=14, font_weight=600))
    legend, rows_used = _legend(rows, window, 0, bottom + 22, width, key)
    parts += legend
    height = bottom + 22 + 24 * rows_used
    return picture(
        "".join(parts),
        width=width,
        height=height,
        title=f"Knitting strokes, size {size}",
        description=_description(rows, size, window, is_whole=start_s == 0 and end >= longest),
        key=key,
        data_longest=longest,
        data_axis_left=left,
        data_px_per_s=window.px_per_s,
        data_start_s=start_s,
    )


def _description(rows: Sequence[Row], size: str, window: _Window, *, is_whole: bool) -> str:
    total = sum(pieces * timeline.total_s for _, pieces, timeline in rows)
    shown = "" if is_whole else f" Shown: {plain(window.start_s / 60, 2)} to {plain(window.end_s / 60, 2)} min."
    return (
        f"Net {plain(total / 60, 1)} minutes for size {size}; each row is one piece of a panel, left to right in time."
        f"{shown}"
    )


def _axis(window: _Window, top: float, bottom: float) -> list[str]:
    """Round minutes, or round seconds where the window is short."""
    minutes = (60 * first * 10**power for power in range(12) for first in (1, 2, 5))
    steps = chain((1, 2, 5, 10, 15, 30), minutes)
    step = next(step for step in steps if (window.end_s - window.start_s) / step <= 9)
    parts: list[str] = []
    for second in range(math.ceil(window.start_s / step) * step, math.floor(window.end_s) + 1, step):
        x = window.x(second)
        label = f"{second // 60}" if step >= 60 else f"{second // 60}:{second % 60:02d}"
        parts += [
            line(x, top - 4, x, bottom, stroke=theme.HAIR),
            words(x, top - 12, label if parts else f"{label} min", size=13, anchor="middle", fill=theme.INK_2),
        ]
    return parts


def _row(name: str, timeline: Timeline, window: _Window, y: float, key: str) -> list[str]:
    parts = []
    for kind, first, last in timeline.stretches():
        start, end = window.part(first, last)
        if end <= start:
            continue
        x, width = window.x(start), (end - start) * window.px_per_s
        text = (
            f"{name.capitalize()}: {kind.words}, {plain(last - first, 1)} s, "
            f"from {plain(first / 60, 2)} to {plain(last / 60, 2)} min."
        )
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
        parts.append((1, hover(box, text, class_="mark", data_says=text)))
    return [part for _, part in sorted(parts, key=lambda each: each[0])]


def _narrowing(width: float, x: float, y: float, text: str) -> str:
    """One stroke for the event; it stands 3 px above and below the row."""
    box = element("rect", x=x, y=y - 3, width=max(0.6 * width, width - 2, 1.2), height=28, fill=theme.INK)
    return hover(box, text, class_="mark", data_says=text)


def _legend(rows: Sequence[Row], window: _Window, x: float, y: float, width: float, key: str) -> tuple[list[str], int]:
    seconds = _seconds_shown(rows, window)
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


def _seconds_shown(rows: Sequence[Row], window: _Window) -> dict[Work, float]:
    """Seconds of each kind of work within the window, over all pieces."""
    seconds: dict[Work, float] = {}
    for _, pieces, timeline in rows:
        for kind, first, last in timeline.stretches():
            start, end = window.part(first, last)
            if end > start:
                seconds[kind] = seconds.get(kind, 0.0) + pieces * (end - start)
    return dict(sorted(seconds.items()))
