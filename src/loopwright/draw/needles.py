"""The needle notation as a picture, and the signs of its stitches.

In: a `Notation`. Out: one SVG: feeds from the bottom, in each the back bed over the front bed (shifted by half a needle
in rib gating, straight above in interlock gating), between the feeds a strip that says what is transferred and racked.
The repeat in full ink, the rest paler. A bed that never works and receives nothing is left out.
Not covered: editing. Sources: spencer_2001, knit_notation; the signs are drawn after the yarn round the needle.
"""

from __future__ import annotations

from collections.abc import Iterator

from loopwright.draw import theme
from loopwright.draw.svg import element, line, number, picture, words
from loopwright.structure.notation import Feed, Gating, Move, Notation, Rack, Stitch

PALE = 0.42
LETTER, LINE = 6.4, 15.0  # px that a letter and a line of the strip take, at most
MOST_CELLS, LEAST_CELLS = 32.0, 8  # px of a cell at most; needles shown at least
LEFT, RIGHT, TOP, BETWEEN, GAP, FOOT = 112.0, 12.0, 26.0, 30.0, 8.0, 46.0


def stitch_sign(stitch: Stitch, x: float, y: float, cell: float, is_back: bool) -> str:
    """The sign of a stitch in a square cell with its middle at (x, y): the yarn round, over or past the point.

    Front needles are reached from above and back needles from below, as the yarn runs between the beds.
    """
    up = -1.0 if is_back else 1.0  # from the yarn to the needle
    radius, base = 0.2 * cell, y - up * 0.2 * cell
    name = f"sign {stitch.name.lower()}"
    if stitch is Stitch.OUT:
        return element("circle", cx=x, cy=y, r=0.05 * cell, fill="none", stroke=theme.INK_3, class_=name)
    point = element("circle", cx=x, cy=y, r=0.055 * cell, fill=theme.INK)
    course = yarn_course(stitch, x, base, 0.36 * cell, radius, up)
    start = f"M{number(x - 0.36 * cell)} {number(base)}"
    yarn = element("path", d=start + course, fill="none", stroke=theme.INK, stroke_width=0.045 * cell + 0.2)
    return element("g", point + yarn, class_=name)


def yarn_course(stitch: Stitch, x: float, base: float, half: float, radius: float, up: float) -> str:
    """Path data of the yarn past one needle, from (x − half, base) to (x + half, base); `up`: way to its point."""
    end = f"L{number(x + half)} {number(base)}"
    if stitch is Stitch.KNIT:
        ring = f"a{number(radius)} {number(radius)} 0 1 {int(up > 0)} "
        there, back = f"0 {number(2 * up * radius)}", f"0 {number(-2 * up * radius)}"
        return f"L{number(x)} {number(base)}{ring}{there}{ring}{back}{end}"
    if stitch is Stitch.TUCK:
        top = base + up * 1.55 * radius
        inner, outer = 0.42 * radius, 1.25 * radius
        return (
            f"L{number(x - outer)} {number(base)}"
            f"C{number(x - inner)} {number(base)} {number(x - inner)} {number(top)} {number(x)} {number(top)}"
            f"C{number(x + inner)} {number(top)} {number(x + inner)} {number(base)} {number(x + outer)} {number(base)}"
            f"{end}"
        )
    return end


def needle_notation_picture(notation: Notation, *, width: float = 480.0, key: str = "needles") -> str:
    """All feeds of a repeat, needle by needle, with the beds as they stand."""
    shown = max(notation.needles, LEAST_CELLS)
    cell = min((width - LEFT - RIGHT) / (shown + 0.5), MOST_CELLS)
    beds = beds_in_use(notation)
    room = int((shown + 0.5) * cell / LETTER)
    heights = [
        BETWEEN + LINE * (len(_wrapped(group, room)) - 1) if isinstance(group, tuple) else len(beds) * cell + GAP
        for group in stages(notation)
    ]
    height = TOP + sum(heights) + FOOT
    y, count, parts = height - FOOT, 0, [*_places(cell, shown), *_foot(notation, height - FOOT + 6, cell)]
    for group, tall in zip(stages(notation), heights, strict=True):
        y -= tall
        if isinstance(group, tuple):
            parts += _strip(_wrapped(group, room), y, (shown + 0.5) * cell)
        else:
            count += 1
            parts += _feed(notation, group, count, y, cell, beds)
    description = f"{len(notation.feeds)} feeds on {notation.needles} needle places, lowest feed first: " + "; ".join(
        notation.lines()
    )
    return picture(
        "".join(parts), width=width, height=height, title="Needle notation", description=description, key=key
    )


Between = tuple[Move | Rack, ...]


def stages(notation: Notation) -> tuple[Feed | Between, ...]:
    """Feeds in order, and between them the transfers and racks that follow one another."""
    found: list[Feed | Between] = []
    for step in notation.steps:
        if isinstance(step, Feed):
            found.append(step)
        elif found and isinstance(found[-1], tuple):
            found[-1] = (*found[-1], step)
        else:
            found.append((step,))
    return tuple(found)


def beds_in_use(notation: Notation) -> tuple[bool, ...]:
    """Beds that work or receive loops, the back bed first; each as whether it is the back bed."""
    moved = any(isinstance(step, Move) for step in notation.steps)
    used = {
        is_back: moved or any(stitch is not Stitch.OUT for feed in notation.feeds for stitch in bed_of(feed, is_back))
        for is_back in (True, False)
    }
    return tuple(is_back for is_back, works in used.items() if works)


def bed_of(feed: Feed, is_back: bool) -> tuple[Stitch, ...]:
    """Stitches of one bed in a feed."""
    return feed.back if is_back else feed.front


def words_between(steps: Between) -> str:
    """Transfers and racks in words.

    >>> words_between((Move(True, (True, False)), Rack(1)))
    'transfer needle 1 to the back; back bed 1 to the right'
    """
    return "; ".join(_move_words(step) if isinstance(step, Move) else _rack_words(step.offset) for step in steps)


def _move_words(move: Move) -> str:
    places = [place for place, moved in enumerate(move.needles, start=1) if moved]
    target = "back" if move.from_front else "front"
    if not places:
        return "no transfer"
    if len(places) == len(move.needles):
        return f"transfer all to the {target}"
    noun = "needles" if len(places) > 1 else "needle"
    return f"transfer {noun} {', '.join(map(str, places))} to the {target}"


def _rack_words(offset: int) -> str:
    if offset == 0:
        return "back bed home"
    return f"back bed {abs(offset)} to the {'right' if offset > 0 else 'left'}"


def shift_of(notation: Notation, is_back: bool) -> float:
    """How far the needles of a bed stand to the right of their place numbers, in needle places."""
    return 0.5 if is_back and notation.gating is Gating.RIB else 0.0


def _places(cell: float, shown: int) -> Iterator[str]:
    every = 1 if cell >= 18 else 5
    for place in range(1, shown + 1):
        if place == 1 or place % every == 0:
            x = LEFT + (place - 0.5) * cell
            yield words(x, TOP - 10, str(place), size=12, anchor="middle", fill=theme.INK_2)


def _feed(notation: Notation, feed: Feed, count: int, y: float, cell: float, beds: tuple[bool, ...]) -> Iterator[str]:
    middle = y + len(beds) * cell / 2
    yield words(0, middle - 1, f"Feed {count}", size=14, font_family=theme.SERIF, font_weight=600)
    role = "" if feed.role == "knit" else f", {feed.role} loops"
    yield words(0, middle + 15, _short(f"yarn {feed.yarn}{role}"), size=12, fill=theme.INK_2)
    for row, is_back in enumerate(beds):
        yield words(LEFT - 14, y + (row + 0.65) * cell, "B" if is_back else "F", size=13, anchor="middle")
        yield from _bed(notation, feed, is_back, y + row * cell, cell)


def _short(text: str, most: int = 15) -> str:
    """A label that keeps to its room."""
    return text if len(text) <= most else text[: most - 1] + "…"


def _bed(notation: Notation, feed: Feed, is_back: bool, y: float, cell: float) -> Iterator[str]:
    stitches = bed_of(feed, is_back)
    shown = max(notation.needles, LEAST_CELLS)
    left = LEFT + shift_of(notation, is_back) * cell
    cells: tuple[list[str], list[str]] = ([], [])
    signs: tuple[list[str], list[str]] = ([], [])
    for place in range(shown):
        stitch, again = stitches[place % notation.needles], int(place >= notation.needles)
        x = left + place * cell
        cells[again].append(element("rect", x=x, y=y, width=cell, height=cell - 2, fill=theme.PAPER, stroke=theme.RULE))
        signs[again].append(stitch_sign(stitch, x + cell / 2, y + cell / 2 - 1, cell, is_back))
    yield element("g", "".join(cells[1] + signs[1]), class_="again", opacity=PALE)
    yield element("g", "".join(cells[0] + signs[0]), class_="repeat")
    wide = notation.needles * cell
    yield element("rect", x=left, y=y, width=wide, height=cell - 2, fill="none", stroke=theme.INK, stroke_width=1)


def _wrapped(steps: Between, letters: int) -> list[str]:
    """Transfers and racks in lines of so many letters; a step that is longer keeps its line."""
    lines: list[str] = []
    for step in steps:
        text = words_between((step,))
        if lines and len(lines[-1]) + 2 + len(text) <= letters:
            lines[-1] += f"; {text}"
        else:
            lines.append(text)
    return [_short(each, letters) for each in lines]


def _strip(lines: list[str], y: float, wide: float) -> Iterator[str]:
    """What happens between two feeds, in words on a strip."""
    tall = BETWEEN - 8 + LINE * (len(lines) - 1)
    yield words(0, y + 17, "between", size=12, fill=theme.INK_2)
    yield element("rect", x=LEFT, y=y + 2, width=wide, height=tall, fill=theme.TONE_1, stroke=theme.RULE)
    for row, text in enumerate(lines):
        yield words(LEFT + 8, y + 17 + LINE * row, text, size=12, class_="between")


def _foot(notation: Notation, y: float, cell: float) -> Iterator[str]:
    """Bracket under the repeat, its size and the gating in words."""
    end = LEFT + notation.needles * cell
    for x1, y1, x2, y2 in ((LEFT, y, LEFT, y + 5), (LEFT, y + 5, end, y + 5), (end, y, end, y + 5)):
        yield line(x1, y1, x2, y2)
    needles, feeds = notation.needles, len(notation.feeds)
    size = f"repeat: {needles} needle place{'s' * (needles > 1)}, {feeds} feed{'s' * (feeds > 1)}."
    stand = "between" if notation.gating is Gating.RIB else "opposite"
    yield words(LEFT, y + 21, size, size=12)
    if len(beds_in_use(notation)) > 1:
        text = f"{notation.gating.value.capitalize()} gating: back needles stand {stand} the front needles."
        yield words(LEFT, y + 37, text, size=12, fill=theme.INK_2)
