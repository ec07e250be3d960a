"""A piece of cloth as a 3D file (GLB, glTF 2.0), in real size, for anyone who wants to turn it or print it.

In: a `ClothForm`, the diameter of its first yarn in mm, how much cloth. Out: bytes. Lengths in metres, y along the
wales, z out of the technical face. One mesh for each yarn letter: closed tubes, shade of the plies as vertex colour,
an undyed grey, darker for each further yarn. The file says how much cloth it shows and in what state.
"""

from __future__ import annotations

import json
import struct
from collections.abc import Sequence
from itertools import groupby
from typing import Any

import numpy as np
from numpy.typing import NDArray

from loopwright.draw.tubes import Plies, Tube, tubes
from loopwright.draw.yarn_lines import patch, repeats_for
from loopwright.mechanics.form import ClothForm

MAGIC, VERSION, JSON_CHUNK, BINARY_CHUNK = 0x46546C67, 2, 0x4E4F534A, 0x004E4942
ARRAY_BUFFER, ELEMENT_BUFFER = 34962, 34963
UNSIGNED_BYTE, UNSIGNED_INT, FLOAT = 5121, 5125, 5126
GREY, LATER_YARN = 0.72, 0.62  # of the first yarn; each further yarn has so much of the one before (linear light)
SIMULATED = "simulated, relaxed form"


def cloth_glb(
    form: ClothForm,
    *,
    diameter_mm: float,
    wales: float = 6,
    courses: float = 8,
    sides: int = 8,
    plies: Plies | None = None,
    words: str = SIMULATED,
) -> bytes:
    """So many wales and courses, rounded up to whole repeats, as a GLB file."""
    across, along = repeats_for(form, wales, courses)
    made = tubes(patch(form, across, along), sides=sides, plies=plies)
    shown = {
        "shown": f"{across * form.wales:g} wales by {along * form.courses:g} courses",
        "width_mm": round(across * form.width * diameter_mm, 3),
        "height_mm": round(along * form.height * diameter_mm, 3),
        "yarn_diameter_mm": diameter_mm,
        "form": words,
    }
    return tubes_glb(made, metres_per_d=diameter_mm / 1000, extras=shown)


def tubes_glb(made: Sequence[Tube], *, metres_per_d: float, extras: dict[str, Any]) -> bytes:
    """Tubes as a GLB file; one mesh for each yarn letter."""
    store = _Store()
    by_yarn = [(yarn, list(each)) for yarn, each in groupby(sorted(made, key=_letter), key=_letter)]
    meshes = [store.mesh(yarn, number, each, metres_per_d) for number, (yarn, each) in enumerate(by_yarn)]
    names = [yarn for yarn, _ in by_yarn]
    document = {
        "asset": {"version": "2.0", "generator": "Loopwright", "extras": extras},
        "scene": 0,
        "scenes": [{"name": "cloth", "nodes": list(range(len(meshes)))}],
        "nodes": [{"name": f"yarn {yarn}", "mesh": number} for number, yarn in enumerate(names)],
        "meshes": meshes,
        "materials": [_material(yarn, number) for number, yarn in enumerate(names)],
        "accessors": store.accessors,
        "bufferViews": store.views,
        "buffers": [{"byteLength": len(store.data)}],
    }
    return _file(document, bytes(store.data))


def _letter(tube: Tube) -> str:
    return tube.yarn


def _material(yarn: str, number: int) -> dict[str, Any]:
    grey = round(GREY * LATER_YARN**number, 4)
    surface = {"baseColorFactor": [grey, grey, grey, 1.0], "metallicFactor": 0.0, "roughnessFactor": 0.9}
    return {"name": f"yarn {yarn}", "pbrMetallicRoughness": surface}


class _Store:
    """The binary part as it grows, with its views and accessors."""

    def __init__(self) -> None:
        self.data = bytearray()
        self.views: list[dict[str, int]] = []
        self.accessors: list[dict[str, Any]] = []

    def mesh(self, yarn: str, material: int, parts: list[Tube], metres_per_d: float) -> dict[str, Any]:
        firsts = np.cumsum([0, *(len(part.vertices) for part in parts[:-1])])
        positions = np.concatenate([part.vertices for part in parts]) * metres_per_d
        shade = np.concatenate([part.shades for part in parts])
        colours = np.column_stack([*[np.rint(255 * shade)] * 3, np.full(len(shade), 255.0)])
        indices = np.concatenate([part.triangles + first for part, first in zip(parts, firsts, strict=True)])
        attributes = {
            "POSITION": self.add(positions.astype("<f4"), FLOAT, "VEC3", bounds=True),
            "NORMAL": self.add(np.concatenate([part.normals for part in parts]).astype("<f4"), FLOAT, "VEC3"),
            "COLOR_0": self.add(colours.astype("u1"), UNSIGNED_BYTE, "VEC4", normalized=True),
        }
        triangles = self.add(indices.reshape(-1).astype("<u4"), UNSIGNED_INT, "SCALAR", target=ELEMENT_BUFFER)
        return {
            "name": f"yarn {yarn}",
            "primitives": [{"attributes": attributes, "indices": triangles, "material": material, "mode": 4}],
        }

    def add(
        self,
        values: NDArray[Any],
        component: int,
        kind: str,
        *,
        target: int = ARRAY_BUFFER,
        bounds: bool = False,
        normalized: bool = False,
    ) -> int:
        """Put an array into the buffer; all our arrays fill whole words of four bytes. Returns its accessor."""
        raw = values.tobytes()
        view = {"buffer": 0, "byteOffset": len(self.data), "byteLength": len(raw), "target": target}
        accessor = {"bufferView": len(self.views), "componentType": component, "count": len(values), "type": kind}
        if bounds:
            accessor |= {"min": values.min(axis=0).tolist(), "max": values.max(axis=0).tolist()}
        if normalized:
            accessor |= {"normalized": True}
        self.data += raw
        self.views.append(view)
        self.accessors.append(accessor)
        return len(self.accessors) - 1


def _file(document: dict[str, Any], data: bytes) -> bytes:
    text = json.dumps(document, separators=(",", ":"), ensure_ascii=False).encode()
    text += b" " * (-len(text) % 4)
    data += b"\0" * (-len(data) % 4)
    chunks = struct.pack("<II", len(text), JSON_CHUNK) + text + struct.pack("<II", len(data), BINARY_CHUNK) + data
    return struct.pack("<III", MAGIC, VERSION, 12 + len(chunks)) + chunks
