"""Running thread: the way of the yarn round the needles, seen from above, lowest feed at the bottom.

In: a `Notation`. Out: one SVG. Front points stand below the yarn and back points above it, back points half a needle to
the right in rib gating and opposite in interlock gating, moved on by the rack in force. A closed round loop is knit, an
open peak on the point a tuck, a straight line a miss; a needle out of work has no point.
The arrow is the way of the carriage on a flat machine with one system, which turns after every feed.
Not covered: lengths and carriers. Sources: spencer_2001, knit_notation.
"""

from __future__ import annotations

from collections.abc import Iterator

from loopwright.draw import theme
from loopwright.draw.needles import Between, bed_of, beds_in_use, shift_of, stages, words_between, yarn_course
from loopwright.draw.svg import element, line, number, path, picture, words
from loopwright.structure.notation import Feed, Move, Notation, Rack, Stitch

LEAST_POINTS = 11
MOST_PITCH = 58.0  # px between needles
LEFT, RIGHT, ROW, BETWEEN, FOOT = 74.0, 22.0, 84.0, 44.0, 40.0
RADIUS = 0.21  # of a loop, in pitches


def running_thread_picture(notation: Notation, *, width: float = 760.0, key: str = "thread") -> str:
    """Every feed of a repeat as the yarn runs."""
    shown = max(notation.needles, LEAST_POINTS)
    pitch = min((width - LEFT - RIGHT) / (shown + 0.5), MOST_PITCH)
    groups = stages(notation)
    heights = [BETWEEN if isinstance(group, tuple) else ROW for group in groups]
    height = sum(heights) + FOOT
    parts, y, count = _notes(notation, height - FOOT + 18), height - FOOT, 0
    offset = next((step.offset for step in reversed(notation.steps) if isinstance(step, Rack)), 0)
    for group, room in zip(groups, heights, strict=True):
        y -= room
        if isinstance(group, tuple):
            parts += _transfers(notation, group, offset, y, pitch, shown)
            offset = next((step.offset for step in reversed(group) if isinstance(step, Rack)), offset)
        else:
            count += 1
            parts += _feed(notation, group, count, offset, y + ROW / 2, pitch, shown)
    description = f"{len(notation.feeds)} feeds, lowest first: " + "; ".join(notation.lines())
    return picture("".join(parts), width=width, height=height, title="Running thread", description=description, key=key)


def _notes(notation: Notation, y: float) -> list[str]:
    points = "front points below, back points above" if len(beds_in_use(notation)) > 1 else "one bed in work"
    turn = " It ends each repeat turned." if len(notation.feeds) % 2 else ""
    arrow = f"Arrow: way of the carriage of a flat machine, feed by feed.{turn}"
    return [
        words(0, y, f"Seen from above, {points}; lowest feed first.", size=12, fill=theme.INK_2),
        words(0, y + 16, arrow, size=12, fill=theme.INK_2),
    ]


def _feed(notation: Notation, feed: Feed, count: int, offset: int, y: float, pitch: float, shown: int) -> Iterator[str]:
    beds = beds_in_use(notation)
    yield words(0, y + 5, str(count), size=14, font_weight=600)
    yield words(
        16, y + 4, f"yarn {feed.yarn if len(feed.yarn) <= 3 else feed.yarn[:2] + '…'}", size=12, fill=theme.INK_2
    )
    for is_back in beds:
        up = -1 if is_back else 1
        yield words(LEFT - 12, y + up * RADIUS * pitch + 4 + up * 5, "B" if is_back else "F", size=11, fill=theme.INK_2)
    needles = _needles(notation, feed, offset, shown)
    for x, is_back, stitch in needles:
        if stitch is not Stitch.OUT:
            up = -1 if is_back else 1
            middle = LEFT + x * pitch
            yield element("circle", cx=middle, cy=y + up * RADIUS * pitch, r=2, fill=theme.INK, class_="point")
    yield element(
        "g", "".join(_yarn(needles, y, pitch, shown)), class_="yarn", fill="none", stroke=theme.INK, stroke_width=1.6
    )
    yield _arrow(LEFT + (shown + 0.3) * pitch if count % 2 else LEFT - 4, y, 1 if count % 2 else -1)


def _needles(notation: Notation, feed: Feed, offset: int, shown: int) -> list[tuple[float, bool, Stitch]]:
    """(x in pitches, whether back, stitch) of every needle shown, from left to right; the front needle first."""
    found = []
    for is_back in (False, True):
        shift, stitches = shift_of(notation, is_back), bed_of(feed, is_back)
        rack = offset if is_back else 0
        found += [
            (place + 0.25 + shift, is_back, stitches[(place - rack) % notation.needles]) for place in range(shown)
        ]
    return sorted(found)


def _yarn(needles: list[tuple[float, bool, Stitch]], y: float, pitch: float, shown: int) -> Iterator[str]:
    """The yarn, one stretch per needle, joined on its base line."""
    before = LEFT - 4
    for x, is_back, stitch in needles:
        if stitch in (Stitch.OUT, Stitch.MISS):
            continue
        middle, half = LEFT + x * pitch, 1.25 * RADIUS * pitch
        start = f"M{number(before)} {number(y)}"
        course = yarn_course(stitch, middle, y, half, RADIUS * pitch, -1.0 if is_back else 1.0)
        yield element("path", d=start + course, class_=stitch.name.lower())
        before = middle + half if stitch is Stitch.TUCK else middle
    yield element("path", d=f"M{number(before)} {number(y)}H{number(LEFT + (shown + 0.3) * pitch)}", class_="end")


def _arrow(x: float, y: float, way: int) -> str:
    return path([(x + way * 8, y), (x, y - 3.5), (x, y + 3.5)], closed=True, fill=theme.INK, class_="arrow")


def _transfers(notation: Notation, steps: Between, offset: int, y: float, pitch: float, shown: int) -> Iterator[str]:
    """Arrows from the needles that give to those that receive, and the words."""
    yield line(0, y + 1, LEFT + (shown + 0.5) * pitch, y + 1, stroke=theme.HAIR)
    moves = [step for step in steps if isinstance(step, Move)]
    for step in steps:
        if isinstance(step, Rack):
            offset = step.offset
            continue
        row = moves.index(step)
        for place in range(shown):
            giver = place if step.from_front else place - offset
            if step.needles[giver % notation.needles]:
                yield _transfer(step.from_front, LEFT + (place + 0.25 + 0.2 * row) * pitch, y + 8)
    yield words(LEFT, y + BETWEEN - 6, words_between(steps), size=12, fill=theme.INK_2, class_="between")


def _transfer(from_front: bool, x: float, y: float) -> str:
    """A short arrow: up to the back bed, down to the front bed."""
    tail, head = (y + 14, y) if from_front else (y, y + 14)
    barb = 4 if from_front else -4
    shaft = line(x, tail, x, head, width=1.2)
    tip = path([(x - 3, head + barb), (x, head), (x + 3, head + barb)], fill="none", stroke=theme.INK, stroke_width=1.2)
    return element("g", shaft + tip, class_="transfer")
