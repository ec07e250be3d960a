"""Point paper: the structure as it looks from the technical face, first row at the bottom.

In: a `Notation`. Out: one SVG. A cross is a face stitch, a ring a reverse stitch, a dot a tuck, an empty square a miss.
One column per wale (front needle before back needle; needles that change loops at home are one column), one row per
feed. The repeat stands in full ink within a frame, the rest paler. A slanted stroke over a square says that the loop is
moved to the next columns before the row above. The yarn is named at its row when there are several.
Not covered: needles out of work all through (no column), racks without transfers. Sources: spencer_2001, knit_notation.
"""

from __future__ import annotations

from collections.abc import Iterator

from loopwright.draw import theme
from loopwright.draw.svg import element, line, picture, words
from loopwright.fabric.wales import Wale, knitted_off, wales_of
from loopwright.structure.notation import Notation, Stitch

PALE = 0.42
LEAST_COLUMNS, LEAST_ROWS = 10, 8
MOST_CELL = 22.0  # px
LEFT, TOP, FOOT = 26.0, 2.0, 22.0


def point_paper_picture(notation: Notation, *, width: float = 240.0, key: str = "point-paper") -> str:
    """The repeat and what lies round it on squared paper."""
    wales, feeds = wales_of(notation), notation.feeds
    columns, rows = max(len(wales), LEAST_COLUMNS), max(len(feeds), LEAST_ROWS)
    right = 52.0 if _yarns(notation) > 1 else 4.0
    cell = min((width - LEFT - right) / columns, MOST_CELL)
    bottom = TOP + rows * cell
    parts = [
        element("g", "".join(_squares(notation, wales, columns, rows, cell)), class_="again", opacity=PALE),
        element("g", "".join(_repeat(notation, wales, bottom, cell)), class_="repeat"),
        *_row_numbers(rows, bottom, cell),
        *_yarn_names(notation, rows, LEFT + columns * cell + 8, bottom, cell),
        words(LEFT, bottom + 16, "technical face, first row lowest", size=12, fill=theme.INK_2),
    ]
    description = (
        f"{len(wales)} wales and {len(feeds)} rows in the repeat, first row at the bottom. "
        "Cross: face stitch, ring: reverse stitch, dot: tuck, empty: miss."
    )
    return picture(
        "".join(parts), width=width, height=bottom + FOOT, title="Point paper", description=description, key=key
    )


def _yarns(notation: Notation) -> int:
    return len({feed.yarn for feed in notation.feeds})


def _squares(notation: Notation, wales: tuple[Wale, ...], columns: int, rows: int, cell: float) -> Iterator[str]:
    """Squares and signs outside the repeat."""
    bottom = TOP + rows * cell
    for row in range(rows):
        for column in range(columns):
            if row >= len(notation.feeds) or column >= len(wales):
                yield _square(notation, wales, row, column, bottom, cell)


def _repeat(notation: Notation, wales: tuple[Wale, ...], bottom: float, cell: float) -> Iterator[str]:
    rows, columns = len(notation.feeds), len(wales)
    for row in range(rows):
        for column in range(columns):
            yield _square(notation, wales, row, column, bottom, cell)
            yield _moved(notation, wales, row, column, bottom, cell)
    yield element(
        "rect",
        x=LEFT,
        y=bottom - rows * cell,
        width=columns * cell,
        height=rows * cell,
        fill="none",
        stroke=theme.INK,
        stroke_width=2,
        class_="frame",
    )


def _square(notation: Notation, wales: tuple[Wale, ...], row: int, column: int, bottom: float, cell: float) -> str:
    x, y = LEFT + column * cell, bottom - (row + 1) * cell
    box = element("rect", x=x, y=y, width=cell, height=cell, fill=theme.PAPER, stroke=theme.INK_3, stroke_width=0.8)
    feed = notation.feeds[row % len(notation.feeds)]
    stitch, on_front = wales[column % len(wales)].stitch(feed)
    return box + _sign(stitch, on_front, x + cell / 2, y + cell / 2, cell)


def _sign(stitch: Stitch, on_front: bool, x: float, y: float, cell: float) -> str:
    arm, weight = 0.24 * cell, max(0.055 * cell, 0.8)
    if stitch is Stitch.TUCK:
        return element("circle", cx=x, cy=y, r=0.11 * cell, fill=theme.INK, class_="tuck")
    if stitch is not Stitch.KNIT:
        return ""
    if on_front:
        cross = line(x - arm, y - arm, x + arm, y + arm, width=weight) + line(
            x - arm, y + arm, x + arm, y - arm, width=weight
        )
        return element("g", cross, class_="face")
    return element("circle", cx=x, cy=y, r=arm, fill="none", stroke=theme.INK, stroke_width=weight, class_="reverse")


def _moved(notation: Notation, wales: tuple[Wale, ...], row: int, column: int, bottom: float, cell: float) -> str:
    """A slanted stroke from a square toward the column that its loop is moved to."""
    wale = wales[column]
    stitch, on_front = wale.stitch(notation.feeds[row])
    if stitch is not Stitch.KNIT:
        return ""
    off = knitted_off(notation, row, wale.place, on_front=on_front)
    way = off.place - wale.place
    if not way or off.on_front is not on_front:
        return ""
    x, y = LEFT + (column + 0.5) * cell, bottom - (row + 1) * cell
    side = 1 if way > 0 else -1
    return element(
        "g",
        line(x + side * 0.1 * cell, y + 0.3 * cell, x + side * 0.8 * cell, y - 0.3 * cell, width=1.6),
        class_="moved",
    )


def _row_numbers(rows: int, bottom: float, cell: float) -> Iterator[str]:
    every = 1 if cell >= 12 else 5
    for row in range(1, rows + 1):
        if row == 1 or row % every == 0:
            yield words(LEFT - 6, bottom - (row - 0.5) * cell + 4, str(row), size=11, anchor="end", fill=theme.INK_2)


def _yarn_names(notation: Notation, rows: int, x: float, bottom: float, cell: float) -> Iterator[str]:
    """The yarn at every row where it changes; nothing when there is one yarn."""
    before = ""
    for row in range(rows if _yarns(notation) > 1 else 0):
        yarn = notation.feeds[row % len(notation.feeds)].yarn
        if yarn != before:
            name = yarn if len(yarn) <= 3 else f"{yarn[:2]}…"
            y = bottom - (row + 0.5) * cell + 4
            fill = theme.INK if row < len(notation.feeds) else theme.INK_2
            yield words(x, y, f"yarn {name}", size=11, fill=fill, class_="yarn")
        before = yarn
