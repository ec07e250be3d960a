"""The 3D file read back by its specification (glTF 2.0, binary form) and measured from outside."""

import json
import struct

import numpy as np
import pytest

from loopwright.draw.glb import cloth_glb
from loopwright.draw.yarn_lines import patch
from loopwright.mechanics.form import ClothForm, Strand

COMPONENTS = {5121: ("<u1", 1), 5125: ("<u4", 4), 5126: ("<f4", 4)}
PARTS = {"SCALAR": 1, "VEC3": 3, "VEC4": 4}
DIAMETER_MM = 0.31


def form() -> ClothForm:
    turn = 2 * np.pi * np.arange(26) / 26
    loop = np.column_stack([4 * turn / (2 * np.pi) + 0.9 * np.sin(2 * turn), -3 * np.cos(turn), np.sin(2 * turn)])
    up = np.array([0, 3.1, 0])
    strands = (Strand("A", 0, loop), Strand("B", 1, loop + up, 0.8), Strand("A", 2, loop + 2 * up))
    return ClothForm(strands, width=4.0, height=9.3, shear=0.2, wales=1.0, courses=3.0)


class File:
    """A GLB file taken apart; what the specification forbids fails here."""

    def __init__(self, data: bytes) -> None:
        magic, version, length = struct.unpack_from("<4sII", data)
        assert (magic, version, length) == (b"glTF", 2, len(data))
        size, kind = struct.unpack_from("<I4s", data, 12)
        assert kind == b"JSON"
        assert size % 4 == 0
        text = data[20 : 20 + size]
        assert text.rstrip(b" ") == text.strip()
        self.document = json.loads(text)
        more, kind = struct.unpack_from("<I4s", data, 20 + size)
        assert kind == b"BIN\0"
        assert more % 4 == 0
        assert 28 + size + more == len(data)
        self.binary = data[28 + size :]
        (buffer,) = self.document["buffers"]
        assert 0 <= more - buffer["byteLength"] <= 3

    def accessor(self, number: int) -> np.ndarray:
        told = self.document["accessors"][number]
        view = self.document["bufferViews"][told["bufferView"]]
        code, size = COMPONENTS[told["componentType"]]
        parts = PARTS[told["type"]]
        start = view["byteOffset"] + told.get("byteOffset", 0)
        assert start % size == 0
        assert size * parts % 4 == 0 or "target" not in view or view["target"] != 34962
        assert told["count"] * parts * size <= view["byteLength"]
        assert view["byteOffset"] + view["byteLength"] <= self.document["buffers"][0]["byteLength"]
        return np.frombuffer(self.binary, code, told["count"] * parts, start).reshape(told["count"], parts)


@pytest.fixture(scope="module")
def made() -> File:
    return File(cloth_glb(form(), diameter_mm=DIAMETER_MM, wales=3, courses=5, sides=6, words="simulated, relaxed dry"))


def primitives(file: File):
    for mesh in file.document["meshes"]:
        (primitive,) = mesh["primitives"]
        yield mesh["name"], primitive


def test_the_file_says_what_it_shows_and_how(made):
    asset = made.document["asset"]
    assert (asset["version"], asset["generator"]) == ("2.0", "Loopwright")
    assert asset["extras"]["shown"] == "3 wales by 6 courses"  # whole repeats
    assert asset["extras"]["form"] == "simulated, relaxed dry"
    assert asset["extras"]["width_mm"] == pytest.approx(3 * 4.0 * DIAMETER_MM, abs=1e-3)
    assert asset["extras"]["yarn_diameter_mm"] == DIAMETER_MM


def test_a_file_without_words_still_says_that_it_is_simulated():
    assert "simulated" in File(cloth_glb(form(), diameter_mm=0.3, wales=1)).document["asset"]["extras"]["form"]


def test_each_yarn_letter_is_one_mesh_with_a_grey_of_its_own(made):
    assert [name for name, _ in primitives(made)] == ["yarn A", "yarn B"]
    colours = [each["pbrMetallicRoughness"]["baseColorFactor"] for each in made.document["materials"]]
    assert all(red == green == blue and alpha == 1 for red, green, blue, alpha in colours)
    assert colours[0][0] > colours[1][0]
    assert made.document["scenes"][made.document["scene"]]["nodes"] == [0, 1]
    assert [node["mesh"] for node in made.document["nodes"]] == [0, 1]


def test_bounds_indices_and_normals_are_as_the_specification_asks(made):
    for _, primitive in primitives(made):
        number = primitive["attributes"]["POSITION"]
        positions, told = made.accessor(number), made.document["accessors"][number]
        assert np.array_equal(np.float32(told["min"]), positions.min(axis=0))
        assert np.array_equal(np.float32(told["max"]), positions.max(axis=0))
        normals = made.accessor(primitive["attributes"]["NORMAL"])
        assert np.linalg.norm(normals, axis=1) == pytest.approx(1.0, abs=1e-5)
        indices = made.accessor(primitive["indices"])
        assert indices.max() == len(positions) - 1
        assert len(indices) % 3 == 0
        assert len(normals) == len(made.accessor(primitive["attributes"]["COLOR_0"])) == len(positions)


def test_every_yarn_of_the_piece_is_one_closed_tube(made):
    """V − E + F counts two for each closed tube; every edge has one triangle on either side."""
    lines = patch(form(), 3, 2)
    for name, primitive in primitives(made):
        triangles = made.accessor(primitive["indices"]).reshape(-1, 3).astype(int)
        ways = np.concatenate([triangles[:, pair] for pair in ([0, 1], [1, 2], [2, 0])])
        once, times = np.unique(np.sort(ways, axis=1), axis=0, return_counts=True)
        assert set(times) == {2}
        vertices = len(made.accessor(primitive["attributes"]["POSITION"]))
        wanted = sum(line.yarn == name[-1] for line in lines)
        assert vertices - len(once) + len(triangles) == 2 * wanted


def test_the_cloth_has_its_real_size_in_metres(made):
    _, primitive = next(primitives(made))
    size = np.ptp(made.accessor(primitive["attributes"]["POSITION"]), axis=0)
    points = np.concatenate([line.points for line in patch(form(), 3, 2) if line.yarn == "A"])
    wanted = (np.ptp(points, axis=0) + 1.0) * DIAMETER_MM / 1000  # one yarn wider than its centre lines
    assert size[1:] == pytest.approx(wanted[1:], rel=0.02)
    triangles = made.accessor(primitive["indices"]).reshape(-1, 3)
    a, b, c = (made.accessor(primitive["attributes"]["POSITION"])[triangles[:, k]].astype(float) for k in range(3))
    volume = np.einsum("ni,ni->", a, np.cross(b, c)) / 6
    yarn_m = sum(line.length for line in patch(form(), 3, 2) if line.yarn == "A") * DIAMETER_MM / 1000
    prism = 6 / 2 * np.sin(2 * np.pi / 6) * (DIAMETER_MM / 2000) ** 2
    assert volume == pytest.approx(yarn_m * prism, rel=0.02)
