"""The price as pictures: a bar of its parts with its spread, the quantity curve, and what carries the spread.

In: finished cost values (`CostSheet`, `PriceLaw`, shares). Out: one SVG each. Fills that touch differ by pattern.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence

from loopwright.cost.quantity import PriceLaw, curve_quantities
from loopwright.cost.sheet import CostSheet
from loopwright.draw import theme
from loopwright.draw.svg import element, fill, hover, line, path, patterns, picture, words
from loopwright.figure import NINE_IN_TEN_SD, Figure, plain

# Parts of the bar, lines of the cost sheet taken together: (name, lines or prefixes of lines, fill).
_PARTS: tuple[tuple[str, tuple[str, ...], str], ...] = (
    ("Yarn", ("yarn", "dye_lots"), "ink"),
    ("Knitting", ("knitting",), "upright"),
    ("Linking, hand", ("linking", "hand_finish"), "dark"),
    ("Wash, press", ("wash", "press"), "slant"),
    ("Checks", ("check", "testing"), "paper"),
    ("Trims", ("trims", "packing"), "crosses"),
    ("Programme", ("programming",), "dots"),
    ("Samples", ("samples",), "level"),
    ("Overhead", ("overhead", "rejects"), "light"),
    ("Margin", ("margin", "finance", "agent"), "paper"),
)


def price_bar(sheet: CostSheet, *, target: float | None, width: float = 760.0, key: str = "bar") -> str:
    """The FOB price as a bar to scale, with the nine-in-ten whisker at its end and the target as the thread."""
    fob = sheet.fob.figure
    reach = max(fob.high, target or 0.0) * 1.02
    px = (width - 90) / reach
    y, height = 58.0, 26.0
    x, parts, crowded = 0.0, [patterns(key)], []
    for name, lines, pattern in _PARTS:
        amount = sum(float(each.amount.amount) for each in sheet.lines if _belongs(each.key, lines))
        if amount <= 0:
            continue
        box = element("rect", x=x, y=y, width=amount * px, height=height, fill=fill(key, pattern), stroke=theme.INK)
        parts.append(hover(box, f"{name}: {plain(amount, 2)} {sheet.currency}"))
        if amount * px >= 7.2 * len(name):
            parts.append(words(x + 2, y - 20, name, size=13, fill=theme.INK_2))
            parts.append(words(x + 2, y - 6, plain(amount, 2), size=13, font_weight=600))
        else:
            crowded.append((x + amount * px / 2, name, amount))
        x += amount * px
    parts += _below(crowded, y + height, width)
    parts += _whisker(fob, px, y + height / 2)
    if target is not None:
        tx = target * px
        parts.append(line(tx, y - 8, tx, y + height + 8, width=2, stroke=theme.THREAD))
        above = words(
            tx, y - 36, f"target {plain(target, 2)}", size=13, anchor="middle", fill=theme.THREAD, font_weight=600
        )
        parts.append(above)
    description = f"FOB {fob.text()} a piece at {sheet.pieces} pieces, its parts from yarn to margin."
    tall = y + height + 54
    return picture("".join(parts), width=width, height=tall, title="Price of a piece", description=description, key=key)


def _belongs(line_key: str, lines: tuple[str, ...]) -> bool:
    return line_key in lines or line_key.partition(" ")[0] in lines


def _below(crowded: Sequence[tuple[float, str, float]], y: float, width: float) -> list[str]:
    """Names of thin parts under the bar, pushed apart, each with its leader."""
    parts, free = [], 0.0
    rooms = [max(6.6 * len(name), 34.0) + 12 for _, name, _ in crowded]
    start = min(crowded[0][0] - 20, width - sum(rooms)) if crowded else 0.0
    for (x, name, amount), room in zip(crowded, rooms, strict=True):
        at = max(free, start, x - room / 2)
        free = at + room
        middle = at + room / 2 - 6
        parts += [
            path([(x, y + 1), (x, y + 6), (middle, y + 16)], fill="none", stroke=theme.INK_3, stroke_width=0.8),
            words(middle, y + 29, name, size=13, anchor="middle", fill=theme.INK_2),
            words(middle, y + 44, plain(amount, 2), size=13, anchor="middle", font_weight=600),
        ]
    return parts


def _whisker(fob: Figure, px: float, y: float) -> list[str]:
    dash = theme.EVIDENCE_DASH[fob.basis.value]
    low, high, value = fob.low * px, fob.high * px, fob.value * px
    ends = [line(x, y - 5, x, y + 5, width=1.5) for x in (low, high)]
    ground = line(low, y, high, y, width=5, stroke=theme.PAPER)
    text = f"{plain(fob.low, 2)} to {plain(fob.high, 2)}"
    return [
        ground,
        line(low, y, high, y, width=theme.VALUE_LINE, dash=dash),
        *ends,
        element("circle", cx=value, cy=y, r=4.5, fill=theme.INK),
        words(high + 8, y - 3, text.split(" to ", maxsplit=1)[0] + " to", size=13, fill=theme.INK_2),
        words(high + 8, y + 12, text.split(" to ")[1], size=13, fill=theme.INK_2),
    ]


def quantity_curve(
    law: PriceLaw,
    breaks: Mapping[int, Figure],
    *,
    pieces: int,
    target: float | None,
    width: float = 380.0,
    key: str = "curve",
) -> str:
    """Price against quantity with its nine-in-ten band, the order, and the target; equal steps multiply."""
    fewest, most = min([*breaks, pieces]), max([*breaks, pieces])
    left, right, top, bottom, height = 42.0, 14.0, 14.0, 250.0, 296.0
    now = law.variable + law.fixed / pieces
    highest = max(now, *(each.high for each in breaks.values()))
    lowest = min(now, *(each.low for each in breaks.values()))
    if target is not None:
        lowest = min(lowest, target)

    def x_of(quantity: float) -> float:
        return left + (width - left - right) * math.log(quantity / fewest) / math.log(most / fewest)

    def y_of(price: float) -> float:
        return bottom - (bottom - top) * (price - lowest) / (highest - lowest)

    quantities = sorted(breaks)
    band = [(x_of(q), y_of(breaks[q].high)) for q in quantities]
    band += [(x_of(q), y_of(breaks[q].low)) for q in reversed(quantities)]
    curve = [(x_of(q), y_of(law.variable + law.fixed / q)) for q in curve_quantities(fewest, most)]
    dash = theme.EVIDENCE_DASH[breaks[quantities[0]].basis.value]
    parts = [
        path(band, closed=True, fill=theme.TONE_1),
        path(curve, fill="none", stroke=theme.INK, stroke_width=theme.VALUE_LINE, stroke_dasharray=dash or "none"),
    ]
    for quantity in quantities:
        parts += [
            words(x_of(quantity), bottom + 18, plain(quantity, 0), size=13, anchor="middle", fill=theme.INK_2),
            line(x_of(quantity), bottom, x_of(quantity), bottom + 4),
            element("circle", cx=x_of(quantity), cy=y_of(breaks[quantity].value), r=2.5, fill=theme.INK),
        ]
    for price in _ticks(lowest, highest):
        parts += [words(left - 8, y_of(price) + 4, plain(price, 0), size=13, anchor="end", fill=theme.INK_2)]
        parts += [line(left - 4, y_of(price), left, y_of(price))]
    x, y = x_of(pieces), y_of(now)
    beneath = x - left > 110  # the curve falls to the right: free are the left beneath it and the right above it
    place, anchor = ((x - 6, y + 20), "end") if beneath else ((x + 9, y - 5), "start")
    parts += [
        line(left, bottom, width - right, bottom),
        element("circle", cx=x, cy=y, r=4.5, fill=theme.INK),
        words(*place, f"{plain(now, 2)} at {plain(pieces, 0)}", size=14, font_weight=600, anchor=anchor),
        words(left, height - 6, "pieces in the order; equal steps multiply", size=13, fill=theme.INK_2),
    ]
    if target is not None and lowest <= target <= highest:
        parts.append(line(left, y_of(target), width - right, y_of(target), width=1.5, stroke=theme.THREAD))
        parts.append(words(left + 4, y_of(target) - 5, f"target {plain(target, 2)}", size=13, fill=theme.THREAD))
    description = f"FOB price from {fewest} to {most} pieces; the band holds nine cases in ten."
    return picture(
        "".join(parts), width=width, height=height, title="Price and quantity", description=description, key=key
    )


def _ticks(low: float, high: float) -> list[float]:
    steps = (0.5, *(first * 10**power for power in range(13) for first in (1, 2, 5)))
    step = next(step for step in steps if (high - low) / step <= 6)
    first = math.ceil(low / step) * step
    return [first + index * step for index in range(int((high - first) / step) + 1)]


def share_bars(shares: Mapping[str, float], *, width: float = 380.0, key: str = "shares") -> str:
    """What carries the spread: bars of variance shares, largest first; what is under 2 % is summed."""
    ranked = sorted(shares.items(), key=lambda each: -each[1])
    shown = [each for each in ranked if each[1] >= 0.02]
    rest = 1 - sum(share for _, share in shown)
    rows = [*shown, ("the rest", rest)] if rest > 0.005 else shown
    parts, pitch, left = [], 25.0, 212.0
    longest = max((share for _, share in rows), default=1.0)
    for index, (name, share) in enumerate(rows):
        y = 8 + pitch * index
        bar = (width - left - 52) * share / longest
        parts += [
            words(0, y + 12, name, size=13),
            element("rect", x=left, y=y, width=max(bar, 1), height=13, fill=theme.INK if index == 0 else theme.INK_3),
            words(left + bar + 8, y + 12, f"{plain(100 * share, 0)} %", size=14),
        ]
    description = "; ".join(f"{name} {100 * share:.0f} per cent" for name, share in rows)
    height = 16 + pitch * len(rows)
    return picture(
        "".join(parts), width=width, height=height, title="What carries the spread", description=description, key=key
    )


def _ring(x: float, base: float, width: float, label: str) -> list[str]:
    """Where the price was, with its words under the axis, held inside the picture."""
    half = 3.4 * len(label)
    ring = element("circle", cx=x, cy=base, r=5.0, fill=theme.PAPER, stroke=theme.INK, stroke_width=1.5)
    at = min(max(x, width / 2 + half), width - half)  # the left half of that line says the unit
    return [
        ring,
        line(x, base + 6, x, base + 26, stroke=theme.INK_3, width=0.8),
        words(at, base + 40, label, size=13, anchor="middle", fill=theme.INK_2),
    ]


LABEL_PX = 110.0  # room that a label needs beside its mark


def price_line(
    fob: Figure,
    *,
    target: float | None,
    quoted: float | None,
    before: tuple[float, str] | None = None,
    width: float = 760.0,
    key: str = "line",
) -> str:
    """The price line under the lede: a hump for the eye, the nine-in-ten whisker, ours, the target, the quote.

    `before` is the price before the last change that moved it, and what then was otherwise, as a ring.
    """
    spread = max(fob.spread, 1e-9)
    marks = [each for each in (target, quoted, before[0] if before else None) if each is not None]
    low, high = (
        min([fob.low - 0.6 * spread, *marks]) - 0.2 * spread,
        max([fob.high + 0.6 * spread, *marks]) + 0.2 * spread,
    )
    px, base, top = width / (high - low), 104.0, 48.0

    def x_of(price: float) -> float:
        return (price - low) * px

    sd = spread / NINE_IN_TEN_SD
    steps = [low + (high - low) * index / 120 for index in range(121)]
    hump = [(x_of(p), base - (base - top) * math.exp(-(((p - fob.value) / sd) ** 2) / 2)) for p in steps]
    parts = [
        path([(x_of(low), base), *hump, (x_of(high), base)], closed=True, fill=theme.TONE_1),
        path(hump, fill="none", stroke=theme.RULE),
        line(0, base, width, base),
        line(x_of(fob.low), base, x_of(fob.high), base, width=3.4, dash=theme.EVIDENCE_DASH[fob.basis.value]),
        line(x_of(fob.value), top - 4, x_of(fob.value), base),
        element("circle", cx=x_of(fob.value), cy=base, r=5.5, fill=theme.INK),
        words(
            x_of(fob.value), top - 10, f"our reading {plain(fob.value, 2)}", size=14, anchor="middle", font_weight=600
        ),
    ]
    for price in _ticks(low, high):
        parts += [line(x_of(price), base, x_of(price), base + 5)]
        parts += [words(x_of(price), base + 21, plain(price, 0), size=13, anchor="middle", fill=theme.INK_2)]
    if target is not None:
        parts += [
            line(x_of(target), top - 40, x_of(target), base + 6, width=2, stroke=theme.THREAD),
            words(
                x_of(target) + (-6 if x_of(target) > LABEL_PX else 6),
                top - 30,
                f"target {plain(target, 2)}",
                size=14,
                anchor="end" if x_of(target) > LABEL_PX else "start",
                fill=theme.THREAD,
                font_weight=600,
            ),
        ]
    if quoted is not None:
        x = x_of(quoted)
        parts += [
            line(x, base - 34, x, base),
            path([(x, base - 40), (x + 5, base - 35), (x, base - 30), (x - 5, base - 35)], closed=True, fill=theme.INK),
            words(
                x + (9 if x < width - LABEL_PX else -9),
                base - 32,
                f"asked {plain(quoted, 2)}",
                size=14,
                anchor="start" if x < width - LABEL_PX else "end",
                font_weight=600,
            ),
        ]
    if before is not None:
        parts += _ring(x_of(before[0]), base, width, f"{plain(before[0], 2)} before{before[1]}")
    currency = fob.unit
    parts.append(
        words(
            0,
            base + 40,
            f"{currency} a piece, free on board; heavy: nine cases in ten",
            size=13,
            fill=theme.INK_2,
        )
    )
    description = f"Our reading {fob.text()}."
    return picture("".join(parts), width=width, height=base + 48, title="Price line", description=description, key=key)
