"""Panels to scale: outline in true steps, rib as wide as it lies, fashionings at their needle and course.

In: `PanelPlan`s, scale in px per cm. Out: one SVG. What is drawn is the plan's own arrays; nothing is smoothed. Every
mark says under the pointer what it is (class "mark", `data-says`), within an unseen line wide enough to be met.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence

import numpy as np

from loopwright.draw import theme
from loopwright.draw.dimension import level, scale_bar, upright
from loopwright.draw.panel_words import bind_off_words, fold_words, rib_words, short_row_words, split_words, step_words
from loopwright.draw.svg import Attribute, element, hover, line, path, patterns, picture, words
from loopwright.figure import plain
from loopwright.garment.outline import Outline
from loopwright.shaping.outline import notch_courses, real_outline
from loopwright.shaping.panel import Narrowing, PanelPlan, Section, ShortRows, Side, Work

HIT_PX = 8  # width of the unseen line under a mark
SEAMS_OF_SECTION = {  # section of an edge: the seams it may go into
    "armhole": ("armholes", "armhole bands"),
    "raglan": ("raglans",),
    "shoulder": ("shoulders", "saddles"),
    "sleeve": ("underarms",),
    "cap": ("armholes",),
    "top": ("armholes",),
    "strap": ("saddles",),
}
SEAMS_OF_SIDES = ("sides", "back seam", "back seams")
SEAMS_OF_NECK = ("neckband", "hood")
LEAST_SECTION_PX = 16.0  # shorter sections carry no number
NUMBER_AT_SHARE = 0.72  # of the height of its section: above the words of the panel
NARROW_PX = 84.0  # a panel that is narrower has its words beside it
LOW_PX = 130.0  # of main fabric, under which no words find room beside its measure
WAVE_PX = 7.0
LOW_RIB_SHARE = 0.75  # of the height that is main fabric: where the rib is higher, words stand above it
LOW_SHARE = 0.5  # a panel that is widest below this share of its first section carries its width there
CROWDED_PX = 1.5  # marks closer than this to the last one drawn are left out


def panels_picture(
    panels: Sequence[PanelPlan],
    *,
    size: str,
    wanted: Mapping[str, Outline],
    seams: Sequence[str] = (),
    width: float = 760.0,
    key: str = "panels",
) -> str:
    """All panels of a size at one scale: shaped ones side by side on one base line, bands below them.

    `wanted` outlines are dashed over the real ones; edges carry the number that their seam has among `seams`, in the
    order of work.
    """
    shaped = [each for each in panels if each.courses and (each.fashionings or each.neck_needles)]
    shaped = shaped or [each for each in panels if each.courses]
    bands = [each for each in panels if all(each is not other for other in shaped)]
    px = _scale(shaped or bands, width)
    drawn = [_Drawn(panel, px, wanted.get(panel.name), seams) for panel in shaped]
    base = TOP + max((each.height for each in drawn), default=0.0)
    parts = [patterns(key)]
    x = LEFT
    for each in drawn:
        parts.append(each.svg(x + each.left, base, key))
        x += each.left + each.right + GAP
    y = base + BELOW
    for panel in bands:
        band = _Drawn(panel, px, None, seams)
        y += band.height
        parts.append(band.svg(LEFT + band.left, y, key))
        y += BELOW
    parts.append(scale_bar(LEFT, y + 4, px))
    names = ", ".join(panel.name for panel in panels)
    description = f"Outlines of {names}, size {size}, to scale, with rib, narrowings, widenings and bind-offs."
    title = f"Panels, size {size}"
    return picture("".join(parts), width=width, height=y + 14, title=title, description=description, key=key)


LEFT, GAP, TOP, BELOW, RIGHT = 34.0, 62.0, 34.0, 46.0, 46.0  # px around the panels


def _scale(panels: Sequence[PanelPlan], width: float) -> float:
    """Pixels per cm at which the panels fill the width, none of them too tall for a screen."""
    widths = [sum(_reach_cm(panel)) for panel in panels]
    tallest = max(_drawn_height_cm(panel) for panel in panels)
    return min((width - LEFT - RIGHT - GAP * (len(panels) - 1)) / sum(widths), TALLEST_PX / tallest)


TALLEST_PX = 480.0


def _drawn_height_cm(panel: PanelPlan) -> float:
    """Height of all its courses on top of each other: short rows make it more than any wale is long."""
    return panel.rib_length_cm + float(panel.slack_of_courses.sum()) / panel.gauge.courses_per_cm


def _reach_cm(panel: PanelPlan) -> tuple[float, float]:
    """How far a panel reaches to the left and to the right of its origin at its widest, rib included, cm."""
    rib = panel.rib_needles / panel.gauge.rib_needles_per_cm if panel.rib_courses else 0.0
    w = panel.gauge.needles_per_cm
    slack = panel.slack_of_courses
    left, right = (float((side * slack).max(initial=0)) / w for side in (panel.left, panel.right))
    return (0.0, max(rib, right)) if panel.is_half else (max(rib / 2, left), max(rib / 2, right))


class _Drawn:
    """One panel placed on the sheet: x to the right of its origin, y down from its base line."""

    def __init__(self, panel: PanelPlan, px_per_cm: float, wanted: Outline | None, seams: Sequence[str]) -> None:
        self.panel = panel
        self.seams = seams
        self.wanted = wanted
        self.px = px_per_cm
        self.left, self.right = (reach * px_per_cm for reach in _reach_cm(panel))
        self.height = _drawn_height_cm(panel) * px_per_cm
        self.slack = panel.slack_of_courses
        self.heights_cm = (
            panel.rib_length_cm + np.concatenate([[0.0], np.cumsum(self.slack)]) / panel.gauge.courses_per_cm
        )

    def svg(self, x: float, base: float, key: str) -> str:
        whole = [(x + px * self.px, base - py * self.px) for px, py in real_outline(self.panel).whole]
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
            *self._neck_start(x, base),
            *(mark for rows in self.panel.short_rows for mark in self._short_rows(rows, x, base)),
            *self._folds(x, base),
            *(mark for fashioning in self.panel.fashionings for mark in self._fashioning(fashioning, x, base)),
            *self._notches(x, base),
            *self._dimensions(x, base),
            *self._seam_numbers(x, base),
            *self._labels(x, base),
        ]
        return element("g", "".join(parts))

    def _y(self, course: float, base: float) -> float:
        """Where a course of the main fabric lies."""
        whole = min(int(course), self.panel.courses)
        return base - float(self.heights_cm[whole]) * self.px

    def _across(self, needles: float) -> float:
        """Needles of the main fabric as px."""
        return needles / self.panel.gauge.needles_per_cm * self.px

    def _sides(self) -> tuple[int, ...]:
        """Edges that have marks: both, or the outer one of a half."""
        return (1,) if self.panel.is_half else (1, -1)

    def _edge(self, side: int, course: int) -> float:
        """Needles from the origin to an edge in a course, as wide as its loops lie."""
        needles, at = self.panel.right if side > 0 else self.panel.left, min(course, self.panel.courses - 1)
        return float(needles[at] * self.slack[at])

    def _rib(self, x: float, base: float, key: str) -> str:
        panel = self.panel
        if not panel.rib_courses:
            return ""
        wide = panel.rib_needles / panel.gauge.rib_needles_per_cm * self.px
        height = panel.rib_length_cm * self.px
        place = {"x": x if panel.is_half else x - wide / 2, "y": base - height, "width": wide, "height": height}
        box = element("rect", fill=f"url(#{key}-upright)", **place)
        frame = element("rect", fill="none", stroke=theme.INK, stroke_width=1, **place)
        return _says(box + frame, rib_words(panel))

    def _wanted(self, x: float, base: float) -> str:
        if self.wanted is None or any(rows.returns for rows in self.panel.short_rows):
            return ""  # short rows open the panel: its outline lies on no flat one
        points = [(x + px * self.px, base - py * self.px) for px, py in self.wanted.whole]
        look: dict[str, Attribute] = {"fill": "none", "stroke": theme.INK_2, "stroke_width": theme.DIMENSION}
        return hover(path(points, closed=True, stroke_dasharray="3 3", **look), "wanted outline")

    def _bound_off(self, x: float, base: float) -> Iterator[str]:
        for bound in self.panel.bind_offs:
            y = self._y(bound.course, base)
            runs = []
            for side, needles in ((1, bound.right), (-1, bound.left)):
                outer = side * self._across(self._edge(side, bound.course - 1))
                inner = outer - side * self._across(needles)
                if needles:
                    runs.append([(x + inner, y), (x + outer, y)])
            marks = "".join(_hit(run) for run in runs)
            marks += "".join(line(*run[0], *run[1], width=theme.BOUND_OFF) for run in runs)
            yield _says(marks, bind_off_words(self.panel, bound))
            right = x + self._across(self._edge(1, bound.course - 1))
            yield words(right + 4, y + 4, f"{max(bound.left, bound.right)} off", size=11, fill=theme.INK_2)

    def _neck_start(self, x: float, base: float) -> Iterator[str]:
        """Where the neck begins: needles held at once."""
        panel = self.panel
        if not panel.neck_needles or not panel.held.any():
            return
        first = int(np.flatnonzero(panel.held)[0])
        y = self._y(first, base)
        run = [
            (x - self._across(float(panel.held_left[first])), y),
            (x + self._across(float(panel.held_right[first])), y),
        ]
        yield _says(_hit(run) + line(*run[0], *run[1], width=theme.BOUND_OFF), split_words(panel))

    def _short_rows(self, rows: ShortRows, x: float, base: float) -> Iterator[str]:
        """Every pair of partial courses as a line over the needles that knit it."""
        panel, marks = self.panel, []
        for course in range(rows.start, rows.start + rows.courses, 2):
            y = self._y(course, base)
            ends = [(panel.held_right[course], panel.right[course]), (-panel.left[course], -panel.held_left[course])]
            if not int(panel.held[course]):
                ends = [(-panel.left[course], panel.right[course])]
            for start, end in ends:
                run = [(x + self._across(float(start)), y), (x + self._across(float(end)), y)]
                marks.append(_hit(run) + line(*run[0], *run[1], width=theme.SHORT_ROW))
        yield _says("".join(marks), short_row_words(panel, rows))

    def _folds(self, x: float, base: float) -> Iterator[str]:
        """Folds of ruching as waved lines across the panel."""
        panel = self.panel
        for fold in panel.gathers:
            y = self._y(fold.course, base)
            start, end = (
                x - self._across(float(panel.left[fold.course])),
                x + self._across(float(panel.right[fold.course])),
            )
            count = max(2, round((end - start) / WAVE_PX))
            step = (end - start) / count
            wave = [
                (start + index * step, y + (WAVE_PX / 4 if index % 2 else -WAVE_PX / 4)) for index in range(count + 1)
            ]
            look: dict[str, Attribute] = {"fill": "none", "stroke": theme.INK_2, "stroke_width": theme.SHORT_ROW}
            yield _says(_hit([(start, y), (end, y)]) + path(wave, closed=False, **look), fold_words(fold))

    def _fashioning(self, fashioning: Narrowing, x: float, base: float) -> Iterator[str]:
        panel = self.panel
        last_y = float("inf")
        course = fashioning.start
        for step in fashioning.steps:
            text = step_words(panel, fashioning, step, course)
            marks: list[str] = []
            runs: dict[int, list[tuple[float, float]]] = {side: [] for side in self._marked(fashioning.side)}
            for _ in range(step.times):
                course += step.courses
                y = self._y(course, base)
                for side, run in runs.items():
                    run.append((x + side * self._mark_px(fashioning, side, course), y))
                if last_y - y < CROWDED_PX:
                    continue
                last_y = y
                marks += [_mark(run[-1][0], y, side, widening=fashioning.widening) for side, run in runs.items()]
            hits = "".join(_hit(run) for run in runs.values())
            yield _says(hits + "".join(marks), text)

    def _marked(self, side: Side) -> tuple[int, ...]:
        """Sides of the drawing that a fashioning is on."""
        if side in (Side.LEFT, Side.RIGHT):
            return (1,) if side is Side.RIGHT else (-1,)
        return self._sides()

    def _mark_px(self, fashioning: Narrowing, side: int, course: int) -> float:
        """Where a mark stands: in from the edge, or out from the neck."""
        panel = self.panel
        if fashioning.side is Side.NECK:
            held = panel.held_right if side > 0 else panel.held_left
            return self._across(float(held[min(course, panel.courses - 1)]) + panel.mark_needles)
        return self._across(self._edge(side, course) - panel.mark_needles)

    def _notches(self, x: float, base: float) -> Iterator[str]:
        panel = self.panel
        for course in notch_courses(panel):
            y = self._y(course, base)
            for side in self._sides():
                half = self._across(self._edge(side, course))
                tip = x + side * (half + 1)
                out = x + side * (half + 5.5)
                yield path([(tip, y), (out, y - 2.2), (out, y + 2.2)], closed=True, fill=theme.INK)

    def _seam_numbers(self, x: float, base: float) -> Iterator[str]:
        """The number of the seam that each edge goes into, just inside the right edge and in the neck."""
        panel = self.panel
        longest: dict[int, Section] = {}
        for section in panel.sections:
            number = self._number((panel.name, *SEAMS_OF_SECTION.get(section.name, SEAMS_OF_SIDES)))
            held = panel.work[section.start] == Work.SHORT_ROWS and section.name not in SEAMS_OF_SECTION
            if number and not held and (number not in longest or section.courses > longest[number].courses):
                longest[number] = section
        for number, section in longest.items():
            if section.courses / panel.gauge.courses_per_cm * self.px >= LEAST_SECTION_PX:
                place = section.start + round(NUMBER_AT_SHARE * section.courses)
                edge = self._across(self._edge(1, place))
                yield _seam_number(x + edge - 14, self._y(place, base), number)
        number = self._number(SEAMS_OF_NECK)
        if number and panel.neck_needles and not panel.is_half:
            first = panel.courses - 1 if not panel.held.any() else int(np.flatnonzero(panel.held)[0])
            yield _seam_number(x, self._y(first, base) + 15, number)

    def _number(self, names: Sequence[str]) -> int:
        """Number of the first of these seams that the garment has; 0 when it has none."""
        return next((self.seams.index(name) + 1 for name in names if name in self.seams), 0)

    def _dimensions(self, x: float, base: float) -> Iterator[str]:
        panel, gauge = self.panel, self.panel.gauge
        if panel.rib_courses:
            wide = panel.rib_needles / gauge.rib_needles_per_cm
            start = x if panel.is_half else x - wide / 2 * self.px
            yield level(start, start + wide * self.px, base + 13, plain(wide, 1))
        if not panel.courses:
            return
        widths = panel.span * self.slack
        widest = int(np.argmax(widths))
        left, right = self._across(self._edge(-1, widest)), self._across(self._edge(1, widest))
        at = panel.sections[0].courses if panel.sections else 0
        low = widest < LOW_SHARE * at and widths[at - 1] < widths[widest]
        wide = panel.width_cm(widest)
        share = 0.08 if low else 0.92
        y = self._y(share * at, base) if self.left + self.right >= NARROW_PX else base + 13
        yield level(x - left, x + right, y, plain(wide, 1))
        if panel.neck_needles:
            neck = panel.neck_needles / gauge.needles_per_cm
            start = x if panel.is_half else x - neck / 2 * self.px
            top = base - panel.length_cm * self.px - 9
            yield level(start, start + neck * self.px, top, plain(neck, 1))
        yield upright(base, base - panel.length_cm * self.px, x - self.left - 20, plain(panel.length_cm, 1))

    def _labels(self, x: float, base: float) -> Iterator[str]:
        panel = self.panel
        times = f" × {panel.pieces}" if panel.pieces > 1 else ""
        needles = f"{panel.rib_needles} needles" if not panel.courses else f"{panel.widest} needles"
        lines = [needles, f"{panel.rib_courses + panel.courses} courses"]
        if panel.name == "sleeve":
            lines[:1] = [f"{panel.rib_needles} to {int(panel.span.max())}", "needles"]  # a sleeve is narrow
        title = f"{panel.name.capitalize()}{times}"
        main = self.height - panel.rib_length_cm * self.px
        if main < LOW_PX or self.left + self.right < NARROW_PX:
            start, y = (x - self.left, base + 32) if main < LOW_PX else (x + self.right + 16, base - self.height / 2)
            yield words(start, y, f"{title}: {', '.join(lines)}", size=12)
            return
        y = base - self.height * 0.44 if main > LOW_RIB_SHARE * self.height else base - self.height + main / 2
        x += (self.right - self.left) / 2
        yield _clear_words(x, y, title, size=15, font_family=theme.SERIF, font_weight=600)
        for row, text in enumerate(lines, start=1):
            yield _clear_words(x, y + 16 * row, text, size=12, fill=theme.INK_2)


def _clear_words(x: float, y: float, text: str, *, size: float, fill: str = theme.INK, **more: Attribute) -> str:
    """Words in the middle of a panel, on a ground of their own over the lines they stand over."""
    wide = WIDE_LETTER * size * len(text)
    ground = element("rect", x=x - wide / 2, y=y - size, width=wide, height=1.3 * size, fill=theme.PAPER)
    return ground + words(x, y, text, size=size, anchor="middle", fill=fill, **more)


WIDE_LETTER = 0.56  # of the size of the type


def _seam_number(x: float, y: float, number: int) -> str:
    ring = element("circle", cx=x, cy=y, r=7, fill=theme.PAPER, stroke=theme.INK_2, stroke_width=0.8)
    return element("g", ring + words(x, y + 3.6, str(number), size=10.5, anchor="middle"), class_="seam-number")


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
