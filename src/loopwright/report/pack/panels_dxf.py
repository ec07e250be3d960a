"""Panels as a DXF drawing in millimetres: every panel of every size, its rib, notches, wale direction and name.

In: sizes worked through. Out: DXF text (R2010), the same for the same input. Layers: OUTLINE, RIB, NOTCHES, WALES,
WORDS. A panel stands as a block of its own ("M front"), technical face toward you, and the blocks stand in rows by
size. Outlines are the true steps of needles and courses on finished, relaxed cloth, nothing smoothed.
Not covered: seam allowance and lay plans, which belong to cut cloth.
"""

from __future__ import annotations

import io
import re
from collections.abc import Sequence
from typing import TYPE_CHECKING

from loopwright.shaping.outline import notch_points, real_outline
from loopwright.shaping.panel import PanelPlan
from loopwright.study.knitting import SizeStudy

if TYPE_CHECKING:
    from ezdxf.layouts import BlockLayout

MM_PER_CM = 10.0
GAP_MM, WORDS_MM, NOTCH_MM, ARROW_MM = 60.0, 8.0, 6.0, 60.0
LAYERS = {"OUTLINE": 7, "RIB": 8, "NOTCHES": 7, "WALES": 8, "WORDS": 7}  # layer: colour number of the format


def panels_dxf(sizes: Sequence[SizeStudy], *, title: str) -> bytes:
    """All panels as one drawing; `title` stands over it."""
    import ezdxf
    from ezdxf import units
    from ezdxf.enums import TextEntityAlignment

    ezdxf.options.write_fixed_meta_data_for_testing = True  # fixed dates and ids, so that equal input gives equal bytes
    drawing = ezdxf.new("R2010", units=units.MM)
    for layer, colour in LAYERS.items():
        drawing.layers.add(layer, color=colour)
    space = drawing.modelspace()
    up = 0.0
    for size in sizes:
        across, tallest = 0.0, 0.0
        for panel in size.panels:
            plan = panel.plan
            points = [(MM_PER_CM * x, MM_PER_CM * y) for x, y in real_outline(plan).whole]
            left, right = min(x for x, _ in points), max(x for x, _ in points)
            name = block_name(f"{size.size} {plan.name}")
            _block(drawing.blocks.new(name), plan, points, f"{size.size} {plan.name} × {plan.pieces}")
            space.add_blockref(name, (across - left, up))
            across += right - left + GAP_MM
            tallest = max(tallest, *(y for _, y in points))
        up += tallest + 2 * GAP_MM
    words = space.add_text(_plain(title), height=2 * WORDS_MM, dxfattribs={"layer": "WORDS"})
    words.set_placement((0.0, up), align=TextEntityAlignment.LEFT)
    text = io.StringIO()
    drawing.write(text)
    return text.getvalue().encode("utf-8")


def block_name(words: str) -> str:
    """A name that the format allows.

    >>> block_name('M/L "front"')
    'M-L -front-'
    """
    return re.sub(r'[<>/\\":;?*|=`,\x00-\x1f]', "-", words)


def _plain(words: str) -> str:
    """Words on one line, without the signs that the format reads as commands."""
    return re.sub(r"[\x00-\x1f]+", " ", words.replace("%%", "% %").replace("\\", "/").replace("^", " "))


def _block(block: BlockLayout, plan: PanelPlan, points: Sequence[tuple[float, float]], words: str) -> None:
    block.add_lwpolyline(points, close=True, dxfattribs={"layer": "OUTLINE"})
    if plan.rib_courses and plan.courses:
        height = MM_PER_CM * plan.rib_length_cm
        ends = [x for x, y in points if abs(y - height) < 1e-6]
        block.add_line((0.0 if plan.is_half else min(ends), height), (max(ends), height), dxfattribs={"layer": "RIB"})
    for x, y in notch_points(plan):
        x_mm, y_mm = MM_PER_CM * x, MM_PER_CM * y
        inward = -NOTCH_MM if x > 0 else NOTCH_MM
        block.add_line((x_mm, y_mm), (x_mm + inward, y_mm), dxfattribs={"layer": "NOTCHES"})
    middle = (min(x for x, _ in points) + max(x for x, _ in points)) / 2
    low, high = min(y for _, y in points), max(y for _, y in points)
    length = min(ARROW_MM, 0.5 * (high - low))
    start = (low + high - length) / 2
    tip = start + length
    for end in ((middle, start), (middle - length / 10, tip - length / 6), (middle + length / 10, tip - length / 6)):
        block.add_line((middle, tip), end, dxfattribs={"layer": "WALES"})
    text = block.add_text(_plain(words), height=min(WORDS_MM, 0.3 * (high - low)), dxfattribs={"layer": "WORDS"})
    text.set_placement((middle + length / 6, start))
