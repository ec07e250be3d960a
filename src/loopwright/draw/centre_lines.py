"""Centre lines as bytes for the yarn view of a page. This is the one place where the format is written down.

    4 bytes    length of the header in bytes, unsigned, little-endian; a multiple of 4
    header     JSON, UTF-8, padded with spaces:
               format        "loopwright centre lines 1"
               diameter_mm   of the first yarn
               across, along repeats that the view lays side by side
               wales         visible wales of one repeat
               depth         from the front-most to the back-most yarn surface of the first state, in d
               plies         {count, twist: "S" or "Z"}
               strands       [{yarn, feed, diameter (d), points}] points of one repeat of the strand
               states        [{name, kind, strain_width, strain_length, width, height, shear, offset}]
    blocks     float32, little-endian, in d; x right, y up, z out of the face

`offset` counts floats from the end of the header. A state of kind "repeat" holds one repeat, strand by strand, (points,
3) each; the view lays it side by side by width, height and shear (d) and closes every line with the first point of
the next repeat. One of kind "piece" holds all lines as they lie, strand by strand and row by row from below, (across ·
points + 1, 3) each. All states share strands and points, so that one passes into another point by point.
Not covered: the tubes, which the page builds (`web/workroom/tubes.js`).
"""

from __future__ import annotations

import json
import struct
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from loopwright.draw.lie import Lie, laid_down
from loopwright.draw.tubes import Plies
from loopwright.draw.yarn_lines import SPACING, Points, laid_out, parts_of, points_of, smooth_repeat
from loopwright.mechanics.form import ClothForm

FORMAT = "loopwright centre lines 1"


@dataclass(frozen=True, slots=True, eq=False)
class State:
    """The cloth in one state: its name, its form, and the strains (parts of the relaxed size) that it is held at."""

    name: str
    form: ClothForm
    strain_width: float = 0.0
    strain_length: float = 0.0


@dataclass(frozen=True, slots=True, eq=False)
class Decoded:
    """The header, and for each state the points (n, 3) in d of its block."""

    header: Mapping[str, Any]
    states: Mapping[str, NDArray[np.float32]]


def centre_lines(
    states: Sequence[State],
    *,
    diameter_mm: float,
    across: int,
    along: int,
    lie: Lie | None = None,
    plies: Plies | None = None,
    spacing: float = SPACING,
) -> bytes:
    """States of one cloth, the relaxed one first; with `lie` also a state "lying" of the relaxed form.

    Raises:
        ValueError: the states differ in their strands or nodes.
    """
    relaxed = states[0].form
    counts = [points_of(strand, relaxed.width, spacing) for strand in relaxed.strands]
    parts = [parts_of(strand, relaxed.width) for strand in relaxed.strands]
    blocks: list[Points] = []
    told: list[dict[str, Any]] = []
    for state in states:
        told.append(_told(state, "repeat", sum(block.size for block in blocks)))
        blocks += _repeats(state.form, counts, parts)
    if lie is not None:
        named = State("lying", relaxed, lie.strain_width, lie.strain_length)
        told.append(_told(named, "piece", sum(block.size for block in blocks)))
        lines = laid_out(relaxed, _repeats(relaxed, counts, parts), across, along)
        blocks.append(laid_down(np.concatenate([line.points for line in lines]), relaxed, lie, across, along))
    header = _header(relaxed, counts, plies or Plies()) | {
        "diameter_mm": diameter_mm,
        "across": across,
        "along": along,
        "states": told,
    }
    text = json.dumps(header, separators=(",", ":")).encode()
    text += b" " * (-len(text) % 4)
    return struct.pack("<I", len(text)) + text + b"".join(block.astype("<f4").tobytes() for block in blocks)


def _header(form: ClothForm, counts: Sequence[int], plies: Plies) -> dict[str, Any]:
    """What all states have alike."""
    strands = [
        {"yarn": strand.yarn, "feed": strand.feed, "diameter": strand.diameter, "points": count}
        for strand, count in zip(form.strands, counts, strict=True)
    ]
    folded = {"count": plies.count, "twist": plies.twist}
    return {"format": FORMAT, "wales": form.wales, "depth": form.depth, "plies": folded, "strands": strands}


def _repeats(form: ClothForm, counts: Sequence[int], parts: Sequence[Points]) -> list[Points]:
    """The strands of one state, each point at the place on its yarn that it has in the relaxed state."""
    if [len(strand.nodes) + 1 for strand in form.strands] != [len(part) for part in parts]:
        raise ValueError("states of one cloth have the same strands with the same nodes")
    return [
        smooth_repeat(strand, form.width, count, part)
        for strand, count, part in zip(form.strands, counts, parts, strict=True)
    ]


def _told(state: State, kind: str, offset: int) -> dict[str, Any]:
    form = state.form
    return {
        "name": state.name,
        "kind": kind,
        "strain_width": state.strain_width,
        "strain_length": state.strain_length,
        "width": form.width,
        "height": form.height,
        "shear": form.shear,
        "offset": offset,
    }


def decoded(data: bytes) -> Decoded:
    """What `centre_lines` wrote.

    Raises:
        ValueError: the bytes are something else, or torn.
    """
    (length,) = struct.unpack_from("<I", data)
    header = json.loads(data[4 : 4 + length])
    if header.get("format") != FORMAT:
        raise ValueError(f"not {FORMAT}: {header.get('format')}")
    floats = np.frombuffer(data, dtype="<f4", offset=4 + length)
    repeat = 3 * sum(strand["points"] for strand in header["strands"])
    piece = 3 * sum(header["along"] * (header["across"] * strand["points"] + 1) for strand in header["strands"])
    blocks = {}
    for state in header["states"]:
        size = repeat if state["kind"] == "repeat" else piece
        block = floats[state["offset"] : state["offset"] + size]
        if len(block) != size:
            raise ValueError(f"{state['name']}: {len(block)} floats where {size} belong")
        blocks[state["name"]] = block.reshape(-1, 3)
    return Decoded(header, blocks)
