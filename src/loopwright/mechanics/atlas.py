"""The atlas: simulated fabrics of every structure in the library, solved once, read in microseconds.

In: a structure's notation and its loop length over yarn diameter. Out: a `stored.Page`. Outside the solved loop lengths
there is no page: nothing is carried on. A notation that is not in the atlas is solved live (`live`). The file is
written by the atlas builder; its header holds the parameters and the program's version.
"""

from __future__ import annotations

import io
import json
from collections.abc import Mapping
from functools import cache
from importlib import resources
from typing import Any

import numpy as np

from loopwright.mechanics.stored import Page, Stored, from_arrays, page_at
from loopwright.structure.notation import Notation, read


@cache
def header() -> Mapping[str, Any]:
    """Provenance of the atlas: program version, parameters, chapters."""
    read_header: Mapping[str, Any] = json.loads(bytes(_archive()["header"]).decode("utf-8"))
    return read_header


@cache
def _archive() -> Mapping[str, Any]:
    place = resources.files(__package__).joinpath("data/atlas.npz")
    with np.load(io.BytesIO(place.read_bytes()), allow_pickle=False) as archive:
        return {name: archive[name] for name in archive.files}


@cache
def _known() -> Mapping[Notation, str]:
    return {read(entry["lines"], entry["gating"]): key for key, entry in header()["chapters"].items()}


@cache
def _chapter(key: str) -> Stored:
    front = f"{key}/"
    arrays = {name.removeprefix(front): data for name, data in _archive().items() if name.startswith(front)}
    return from_arrays(key, header()["chapters"][key], arrays)


def chapter_for(notation: Notation) -> Stored | None:
    """The chapter of a notation; none when it isn't in the atlas."""
    key = _known().get(notation)
    return _chapter(key) if key is not None else None


def page_for(notation: Notation, loop_over_diameter: float) -> Page | None:
    """What the atlas says at a loop length; none when the notation or the loop length isn't in it."""
    chapter = chapter_for(notation)
    return None if chapter is None else page_at(chapter, loop_over_diameter)
