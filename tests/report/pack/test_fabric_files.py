"""The fabrics of a pack as 3D files, read by the words of the glTF 2.0 specification (Khronos, 2.0.1) and measured.

From memory of it: section 4.4 (12-byte header, chunks of whole words, JSON first), 3.6.2 (accessors inside their views,
POSITION with min and max), 3.4 (metres). The yarn in a file must be as long as the loops that the study asks for.
"""

import json
import re
import struct
import tomllib
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from loopwright.report.pack.writing import pack_files
from loopwright.study.study import StyleStudy, study_style
from loopwright.study.style import read_style

EXAMPLES = Path(__file__).resolve().parents[3] / "examples"
SIDES = 6
FLOAT, UNSIGNED_INT = 5126, 5125


def study_of(name: str) -> StyleStudy:
    return study_style(read_style(tomllib.loads((EXAMPLES / f"{name}.toml").read_text("utf-8"))))


def read(data: bytes) -> tuple[dict[str, Any], list[tuple[np.ndarray, np.ndarray]]]:
    """The document of a file, and positions (metres) and triangles of every mesh."""
    assert struct.unpack_from("<4sII", data) == (b"glTF", 2, len(data))
    size, kind = struct.unpack_from("<I4s", data, 12)
    assert (kind, size % 4) == (b"JSON", 0)
    document = json.loads(data[20 : 20 + size])
    more, kind = struct.unpack_from("<I4s", data, 20 + size)
    assert (kind, more % 4, 28 + size + more) == (b"BIN\0", 0, len(data))
    binary = data[28 + size :]
    assert document["asset"]["version"] == "2.0"

    def values(number: int, component: int, parts: int) -> np.ndarray:
        told = document["accessors"][number]
        view = document["bufferViews"][told["bufferView"]]
        start, count = view["byteOffset"] + told.get("byteOffset", 0), told["count"] * parts
        assert told["componentType"] == component
        assert start % 4 == 0
        assert 4 * count <= view["byteLength"]
        assert start + 4 * count <= document["buffers"][0]["byteLength"] <= more
        read = np.frombuffer(binary, "<f4" if component == FLOAT else "<u4", count, start).reshape(-1, parts)
        if "min" in told:
            assert np.array_equal(read.min(axis=0), np.float32(told["min"]))
            assert np.array_equal(read.max(axis=0), np.float32(told["max"]))
        return read

    meshes = []
    for mesh in document["meshes"]:
        (part,) = mesh["primitives"]
        assert "min" in document["accessors"][part["attributes"]["POSITION"]]
        positions = values(part["attributes"]["POSITION"], FLOAT, 3)
        triangles = values(part["indices"], UNSIGNED_INT, 1).reshape(-1, 3)
        assert triangles.max() < len(positions)
        meshes.append((positions.astype(float), triangles.astype(int)))
    return document, meshes


def yarn_mm(meshes: list[tuple[np.ndarray, np.ndarray]], diameter_mm: float) -> float:
    """Length of the yarn: the volume that the triangles close in (divergence theorem) over the section of a tube."""
    volume = sum(
        np.einsum("ni,ni->", at[sides[:, 0]], np.cross(at[sides[:, 1]], at[sides[:, 2]])) / 6 for at, sides in meshes
    )
    section = SIDES / 2 * np.sin(2 * np.pi / SIDES) * (diameter_mm / 2) ** 2
    return 1e9 * volume / section


@pytest.fixture(scope="module")
def pullover() -> StyleStudy:
    return study_of("attendant-pullover")


def test_every_fabric_of_the_style_is_a_file_of_its_own(pullover):
    files = pack_files(pullover, ("glb",))
    assert list(files) == ["fabric-body-sleeve.glb", "fabric-hem-cuff-neckband.glb"]
    for data in files.values():
        document, meshes = read(data)
        assert meshes
        assert "simulated" in document["asset"]["extras"]["form"]
        assert len(data) < 1_000_000


@pytest.mark.parametrize(
    ("example", "file", "zone"),
    [("attendant-pullover", "fabric-body-sleeve", "body"), ("cabin-blanket", "fabric-body", "body")],
)
def test_the_yarn_in_the_file_is_as_long_as_its_loops(example, file, zone):
    """Yarn of a repeat = mass of its area / tex, for plain and for the structure of the blanket; 5 % for drawing it."""
    study = study_of(example)
    fabric = study.fabrics[zone]
    document, meshes = read(pack_files(study, ("glb",))[f"{file}.glb"])
    told = document["asset"]["extras"]
    wales, courses = map(float, re.fullmatch(r"([\d.]+) wales by ([\d.]+) courses", told["shown"]).groups())
    anatomy, geometry = fabric.structure.anatomy, fabric.geometry
    repeats = wales / anatomy.visible_wales * courses / anatomy.visible_courses
    width_mm = 10 * anatomy.visible_wales / geometry.wales_per_cm.value
    height_mm = 10 * anatomy.visible_courses / geometry.courses_per_cm.value
    grams_per_m2, grams_per_km = fabric.mass.value, fabric.yarn.tex.value
    wanted = repeats * grams_per_m2 * width_mm * height_mm / grams_per_km
    assert yarn_mm(meshes, told["yarn_diameter_mm"]) == pytest.approx(wanted, rel=0.05)


def test_a_structure_that_nobody_relaxed_is_placed_at_the_gauge_in_use_and_says_so():
    document = {
        "yarns": {"main": {"count": "2/30 Nm merino"}},
        "structures": {"own": {"courses": ["F:KKKKKK B:------", "F:KMMKKM B:------"]}},
        "zones": {"body": {"structure": "own"}, "hem": {"structure": "rib-2x1"}},
        "garment": {"block": "scarf", "sizes": ["M"]},
        "machine": {"gauge": 12},
    }
    study = study_style(read_style(document))
    assert study.making.cloth.simulations["body"].cloth is None
    file = next(data for name, data in pack_files(study, ("glb",)).items() if name.startswith("fabric-body"))
    told, meshes = read(file)
    extras, geometry = told["asset"]["extras"], study.fabrics["body"].geometry
    assert "not relaxed" in extras["form"]
    wales, courses = map(float, re.findall(r"[\d.]+", extras["shown"]))
    assert extras["width_mm"] == pytest.approx(10 * wales / geometry.wales_per_cm.value, abs=1e-3)
    assert extras["height_mm"] == pytest.approx(10 * courses / geometry.courses_per_cm.value, abs=1e-3)
    across = 1000 * np.ptp(np.concatenate([positions for positions, _ in meshes])[:, 0])
    assert across == pytest.approx(extras["width_mm"], rel=0.25)


def test_the_same_study_gives_the_same_bytes(pullover):
    assert pack_files(pullover, ("glb",)) == pack_files(study_of("attendant-pullover"), ("glb",))
