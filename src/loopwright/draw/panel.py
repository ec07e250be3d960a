"""Panels to scale: outline in true steps, rib as wide as it lies, fashionings at their needle and course.

In: `PanelPlan`s, scale in px per cm. Out: one SVG. What is drawn is the plan's own arrays; nothing is smoothed. Every
mark says under the pointer what it is (class "mark", `data-says`), within an unseen line wide enough to be met.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence

import numpy as np

from loopwright.draw import theme
from loopwright.draw.dimension import level, scale_bar, upright
from loopwright.draw.panel_words import bind_off_words, rib_words, short_row_words, split_words, step_words
from loopwright.draw.svg import Attribute, element, hover, line, path, patterns, picture, words
from loopwright.figure import plain
from loopwright.garment.outline import Outline
from loopwright.shaping.outline import real_outline
from loopwright.shaping.panel import Narrowing, PanelPlan
from loopwright.shaping.rules import rule_row

HIT_PX = 8  # width of the unseen line under a mark
CROWDED_PX = 1.5  # marks closer than this to the last one drawn are left out


def panels_picture(
    panels: Sequence[PanelPlan],
    *,
    size: str,
    wanted: Mapping[str, Outline],
    width: float = 760.0,
    key: str = "panels",
) -> str:
    """All panels of a size at one scale: shaped ones side by side on one base line, bands below them.

    `wanted` outlines are dashed over the real ones.
    """
    shaped, bands = [each for each in panels if each.courses], [each for each in panels if not each.courses]
    px = _scale(shaped or bands, width)
    drawn = [_Drawn(panel, px, wanted.get(panel.name)) for panel in shaped]
    base = TOP + max((each.height for each in drawn), default=0.0)
    parts = [patterns(key)]
    x = LEFT
    for each in drawn:
        parts.append(each.svg(x + each.half, base, key))
        x += 2 * each.half + GAP
    y = base + BELOW
    for panel in bands:
        band = _Drawn(panel, px, None)
        y += band.height
        parts.append(band.svg(LEFT + band.half, y, key))
        y += BELOW
    parts.append(scale_bar(LEFT, y + 4, px))
    names = ", ".join(panel.name for panel in panels)
    description = f"Outlines of {names}, size {size}, to scale, with rib, narrowings, widenings and bind-offs."
    title = f"Panels, size {size}"
    return picture("".join(parts), width=width, height=y + 14, title=title, description=description, key=key)


LEFT, GAP, TOP, BELOW, RIGHT = 34.0, 62.0, 34.0, 46.0, 46.0  # px around the panels


def _scale(panels: Sequence[PanelPlan], width: float) -> float:
    """Pixels per cm at which the panels fill the width."""
    widths = [
        max(
            panel.rib_needles / panel.gauge.rib_needles_per_cm,
            float(panel.span.max(initial=0)) / panel.gauge.needles_per_cm,
        )
        for panel in panels
    ]
    return (width - LEFT - RIGHT - GAP * (len(panels) - 1)) / sum(widths)


class _Drawn:
    """One panel placed on the sheet: x to the right of its centre line, y down from its base line."""

    def __init__(self, panel: PanelPlan, px_per_cm: float, wanted: Outline | None) -> None:
        self.panel = panel
        self.wanted = wanted
        self.px = px_per_cm
        gauge = panel.gauge
        rib_half = panel.rib_needles / gauge.rib_needles_per_cm / 2
        main_half = float(panel.span.max(initial=0)) / gauge.needles_per_cm / 2
        self.half = max(rib_half, main_half) * px_per_cm
        self.height = panel.length_cm * px_per_cm

    def svg(self, x: float, base: float, key: str) -> str:
        right = [(x + px * self.px, base - py * self.px) for px, py in real_outline(self.panel).half]
        left = [(2 * x - px, py) for px, py in right]
        whole = [*right, *reversed(left)]
        parts = [
            path(
                whole,
                closed=True,
                fill=theme.PAPER,
                stroke=theme.INK,
                stroke_width=theme.OUTLINE,
                stroke_linejoin="miter",
            ),
            self._rib(x, base, key),
            self._wanted(x, base),
            *self._bound_off(x, base),
            *self._short_rows(x, base),
            *(mark for fashioning in self.panel.fashionings for mark in self._fashioning(fashioning, x, base)),
            *self._notches(x, base),
            *self._dimensions(x, base),
            *self._labels(x, base),
        ]
        return element("g", "".join(parts))

    def _rib(self, x: float, base: float, key: str) -> str:
        panel = self.panel
        if not panel.rib_courses:
            return ""
        half = panel.rib_needles / panel.gauge.rib_needles_per_cm / 2 * self.px
        height = panel.rib_length_cm * self.px
        box = element("rect", x=x - half, y=base - height, width=2 * half, height=height, fill=f"url(#{key}-upright)")
        frame = element(
            "rect",
            x=x - half,
            y=base - height,
            width=2 * half,
            height=height,
            fill="none",
            stroke=theme.INK,
            stroke_width=1,
        )
        return _says(box + frame, rib_words(panel))

    def _wanted(self, x: float, base: float) -> str:
        if self.wanted is None:
            return ""
        points = [(x + px * self.px, base - py * self.px) for px, py in self.wanted.whole]
        look: dict[str, Attribute] = {"fill": "none", "stroke": theme.INK_2, "stroke_width": theme.DIMENSION}
        return hover(path(points, closed=True, stroke_dasharray="3 3", **look), "wanted outline")

    def _bound_off(self, x: float, base: float) -> Iterator[str]:
        gauge = self.panel.gauge
        for course, needles in self.panel.bind_offs:
            y = base - (self.panel.rib_length_cm + course / gauge.courses_per_cm) * self.px
            outer = float(self.panel.span[course - 1]) / gauge.needles_per_cm / 2 * self.px
            inner = outer - needles / gauge.needles_per_cm * self.px
            marks = line(x + inner, y, x + outer, y, width=theme.BOUND_OFF) + line(
                x - outer, y, x - inner, y, width=theme.BOUND_OFF
            )
            hit = _hit([(x + inner, y), (x + outer, y)]) + _hit([(x - outer, y), (x - inner, y)])
            yield _says(hit + marks, bind_off_words(self.panel, course, needles))
            yield words(x + outer + 4, y + 4, f"{needles} off", size=11, fill=theme.INK_2)
        if self.panel.neck_needles:
            held = self.panel.held
            first = int(np.flatnonzero(held)[0])
            y = base - (self.panel.rib_length_cm + first / gauge.courses_per_cm) * self.px
            half = float(held[first]) / gauge.needles_per_cm / 2 * self.px
            marks = line(x - half, y, x + half, y, width=theme.BOUND_OFF)
            yield _says(_hit([(x - half, y), (x + half, y)]) + marks, split_words(self.panel))

    def _short_rows(self, x: float, base: float) -> Iterator[str]:
        panel, gauge = self.panel, self.panel.gauge
        shoulder = next((section for section in panel.sections if section.name == "shoulder"), None)
        if shoulder is None:
            return
        rows = []
        for course in range(shoulder.start, shoulder.start + shoulder.courses, 2):
            y = base - (panel.rib_length_cm + course / gauge.courses_per_cm) * self.px
            outer = float(panel.span[course]) / gauge.needles_per_cm / 2 * self.px
            inner = float(panel.held[course]) / gauge.needles_per_cm / 2 * self.px
            for side in (1, -1):
                rows.append(_hit([(x + side * inner, y), (x + side * outer, y)]))
                rows.append(line(x + side * inner, y, x + side * outer, y, width=theme.SHORT_ROW))
        yield _says("".join(rows), short_row_words(panel, shoulder))

    def _fashioning(self, fashioning: Narrowing, x: float, base: float) -> Iterator[str]:
        panel, gauge = self.panel, self.panel.gauge
        last_y = float("inf")
        course = fashioning.start
        for step in fashioning.steps:
            text = step_words(panel, fashioning, step, course)
            marks: list[str] = []
            run: list[tuple[float, float]] = []
            for _ in range(step.times):
                course += step.courses
                at = min(course, panel.courses - 1)
                y = base - (panel.rib_length_cm + course / gauge.courses_per_cm) * self.px
                inset = panel.mark_needles / gauge.needles_per_cm
                edge = (float(panel.span[at]) / gauge.needles_per_cm / 2 - inset) * self.px
                run.append((edge, y))
                if last_y - y < CROWDED_PX:
                    continue
                last_y = y
                marks += [_mark(x + side * edge, y, side, widening=fashioning.widening) for side in (1, -1)]
            hits = "".join(_hit([(x + side * edge, y) for edge, y in run]) for side in (1, -1))
            yield _says(hits + "".join(marks), text)

    def _notches(self, x: float, base: float) -> Iterator[str]:
        panel, gauge = self.panel, self.panel.gauge
        spacing = int(rule_row("notch_spacing_courses")["value"])
        body = panel.sections[0].courses if panel.sections else 0
        for course in range(spacing, body, spacing):
            y = base - (panel.rib_length_cm + course / gauge.courses_per_cm) * self.px
            half = float(panel.span[course]) / gauge.needles_per_cm / 2 * self.px
            for side in (1, -1):
                tip = x + side * (half + 1)
                out = x + side * (half + 5.5)
                yield path([(tip, y), (out, y - 2.2), (out, y + 2.2)], closed=True, fill=theme.INK)

    def _dimensions(self, x: float, base: float) -> Iterator[str]:
        panel, gauge = self.panel, self.panel.gauge
        if panel.rib_courses:
            half = panel.rib_needles / gauge.rib_needles_per_cm / 2
            yield level(x - half * self.px, x + half * self.px, base + 13, plain(2 * half, 1))
        if not panel.courses:
            return
        widest = int(np.argmax(panel.span))
        half = float(panel.span[widest]) / gauge.needles_per_cm / 2
        at = panel.sections[0].courses if panel.sections else 0
        y = base - (panel.rib_length_cm + 0.92 * at / gauge.courses_per_cm) * self.px
        yield level(x - half * self.px, x + half * self.px, y, plain(2 * half, 1))
        if panel.neck_needles:
            neck = panel.neck_needles / gauge.needles_per_cm / 2
            yield level(
                x - neck * self.px, x + neck * self.px, base - panel.length_cm * self.px - 9, plain(2 * neck, 1)
            )
        yield upright(base, base - panel.length_cm * self.px, x - self.half - 20, plain(panel.length_cm, 1))

    def _labels(self, x: float, base: float) -> Iterator[str]:
        panel = self.panel
        times = f" × {panel.pieces}" if panel.pieces > 1 else ""
        needles = f"{panel.rib_needles} needles" if not panel.courses else f"{panel.widest} needles"
        lines = [needles, f"{panel.rib_courses + panel.courses} courses"]
        if panel.name == "sleeve":
            lines[:1] = [f"{panel.rib_needles} to {int(panel.span.max())}", "needles"]  # a sleeve is narrow
        if panel.courses:
            title = f"{panel.name.capitalize()}{times}"
            y = base - self.height * 0.44
            yield words(x, y, title, size=15, anchor="middle", font_family=theme.SERIF, font_weight=600)
            for row, text in enumerate(lines, start=1):
                yield words(x, y + 16 * row, text, size=12, anchor="middle", fill=theme.INK_2)
        else:
            yield words(x, base + 32, f"{panel.name.capitalize()}: {', '.join(lines)}", size=12, anchor="middle")


def _says(marks: str, sentence: str) -> str:
    """Marks that say a sentence under the pointer."""
    return hover(marks, sentence, class_="mark", data_says=sentence)


def _hit(points: Sequence[tuple[float, float]]) -> str:
    """An unseen line wide enough for a pointer."""
    first, last = points[0], points[-1]
    start = (first[0], first[1] + 0.5) if first == last else first  # a line of no length is met by nobody
    return path(
        [start, *points[1:], last] if len(points) > 1 else [start, last],
        fill="none",
        stroke="transparent",
        stroke_width=HIT_PX,
        class_="hit",
    )


def _mark(x: float, y: float, side: int, *, widening: bool) -> str:
    if widening:
        return element("circle", cx=x, cy=y, r=1.4, fill="none", stroke=theme.INK, stroke_width=theme.WIDENING)
    return line(x + side * 1.6, y + 2.4, x - side * 1.6, y - 2.4, width=theme.NARROWING)
