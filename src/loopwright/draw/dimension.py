"""Dimensions on a drawing: a line with slanted ticks and its number in a gap, and the bar of the scale.

In: places in px and the text. Out: SVG text. Not covered: what is dimensioned (`panel`).
"""

from __future__ import annotations

from loopwright.draw import theme
from loopwright.draw.svg import line, words


def level(x1: float, x2: float, y: float, text: str) -> str:
    """A level dimension, its number in a gap of the line."""
    middle, room = (x1 + x2) / 2, 3.4 * len(text) + 5
    tick = "".join(line(x - 2.5, y + 3, x + 2.5, y - 3, width=theme.DIMENSION) for x in (x1, x2))
    left = line(x1, y, middle - room, y, width=theme.DIMENSION)
    right = line(middle + room, y, x2, y, width=theme.DIMENSION)
    return tick + left + right + words(middle, y + 4, text, size=12, anchor="middle")


def upright(y1: float, y2: float, x: float, text: str) -> str:
    """An upright dimension, its number turned along the line."""
    middle, room = (y1 + y2) / 2, 3.4 * len(text) + 5
    tick = "".join(line(x - 3, y + 2.5, x + 3, y - 2.5, width=theme.DIMENSION) for y in (y1, y2))
    lower = line(x, y1, x, middle + room, width=theme.DIMENSION)
    upper = line(x, middle - room, x, y2, width=theme.DIMENSION)
    turned = words(x + 4, middle, text, size=12, anchor="middle", transform=f"rotate(-90 {x + 4:.1f} {middle:.1f})")
    return tick + lower + upper + turned


def scale_bar(x: float, y: float, px_per_cm: float) -> str:
    """A bar of 10 cm on the cloth, with the way the panel is seen."""
    bar = line(x, y - 4, x + 10 * px_per_cm, y - 4, width=1.5)
    ends = line(x, y - 8, x, y) + line(x + 10 * px_per_cm, y - 8, x + 10 * px_per_cm, y)
    note = words(
        x + 10 * px_per_cm + 8,
        y,
        "10 cm on the cloth, technical face toward you, wales upright",
        size=12,
        fill=theme.INK_2,
    )
    return bar + ends + note
