"""Blocks: garment types, one file each. A new block is a new file here that holds a `BLOCK` or a tuple `BLOCKS`.

In: a shape. Out: `Block`. The files are found by themselves.
"""

from __future__ import annotations

import pkgutil
from collections.abc import Mapping
from functools import cache
from importlib import import_module
from types import MappingProxyType

from loopwright.garment.blocks.block import Block
from loopwright.garment.measures import POINTS, Measures, Points, check_ranges
from loopwright.garment.shape import Shape, one_of


@cache
def blocks() -> Mapping[str, Block]:
    """Every block by its name."""
    found: dict[str, Block] = {}
    for name in sorted(module.name for module in pkgutil.iter_modules(__path__) if module.name != "block"):
        made = import_module(f"{__name__}.{name}")
        found |= {block.name: block for block in getattr(made, "BLOCKS", None) or (made.BLOCK,)}
    return MappingProxyType(found)


def block_of(shape: Shape) -> Block:
    """The block of a shape.

    Raises:
        Problem: no block of that name.
    """
    return blocks()[one_of(shape.block, blocks(), "garment.block", "block")]


@cache
def points_of(shape: Shape) -> tuple[str, ...]:
    """Points of measure of a shape, in their order."""
    there = block_of(shape).points(shape)
    return tuple(name for name in POINTS if name in there)


def shape_words(shape: Shape) -> str:
    """A garment by its parts: "set-in crew pullover", "V vest", "sideways skirt"."""
    there = block_of(shape).points(shape)
    parts = []
    if "neck_width" in there:
        parts = [shape.neck] if shape.block == "vest" or shape.sleeve == "none" else [shape.sleeve, shape.neck]
    elif shape.block == "skirt":
        parts = [shape.skirt]
    return " ".join([*parts, shape.block])


def measures_of(points: Points, size: str, shape: Shape) -> Measures:
    """The full set of one size from its points of measure.

    Raises:
        Problem: a measure that no garment has, or measures that contradict each other.
    """
    check_ranges(points, f"measures, size {size}")
    block = block_of(shape)
    block.check(points, shape, size)
    lengths = {**{name: points[name] for name in points_of(shape)}, **block.follows(points, shape)}
    return Measures(shape, tuple(lengths.items()))
