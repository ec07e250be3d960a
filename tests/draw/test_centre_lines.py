"""Centre lines as bytes: what is sent is what is drawn, and a torn file is refused."""

import json
import struct

import numpy as np
import pytest

from loopwright.draw.centre_lines import State, centre_lines, decoded
from loopwright.draw.lie import Lie, lying
from loopwright.draw.tubes import Plies
from loopwright.draw.yarn_lines import patch
from loopwright.mechanics.form import ClothForm, Strand


def pulled(form: ClothForm, strain: float) -> ClothForm:
    wide = np.array([1 + strain, 1.0, 1.0])
    strands = tuple(Strand(each.yarn, each.feed, each.nodes * wide, each.diameter) for each in form.strands)
    return ClothForm(strands, form.width * (1 + strain), form.height, form.shear, form.wales, form.courses)


@pytest.fixture
def sent(placed):
    form, diameter_mm = placed("birdseye-2")
    states = [State("relaxed", form), State("half as wide again", pulled(form, 0.5), strain_width=0.5)]
    lie = Lie(0.1, -0.1)
    return form, centre_lines(states, diameter_mm=diameter_mm, across=2, along=3, lie=lie, plies=Plies(3, "Z"))


def test_the_layout_is_length_header_floats(sent):
    form, data = sent
    (length,) = struct.unpack("<I", data[:4])
    header = json.loads(data[4 : 4 + length])
    assert length % 4 == 0
    assert (len(data) - 4 - length) % 12 == 0
    assert header["format"] == "loopwright centre lines 1"
    assert header["wales"] == form.wales
    assert header["plies"] == {"count": 3, "twist": "Z"}
    assert [each["yarn"] for each in header["strands"]] == [each.yarn for each in form.strands]
    assert [each["name"] for each in header["states"]] == ["relaxed", "half as wide again", "lying"]
    assert [each["kind"] for each in header["states"]] == ["repeat", "repeat", "piece"]
    assert [each["strain_width"] for each in header["states"]] == [0.0, 0.5, 0.0]


def test_a_repeat_laid_side_by_side_is_the_patch(sent):
    form, data = sent
    read = decoded(data)
    points = read.states["relaxed"].astype(float)
    first = 0
    lines = iter(patch(form, 2, 3))
    for strand in read.header["strands"]:
        own = points[first : first + strand["points"]]
        first += strand["points"]
        for row in range(3):
            line = next(lines)
            shift = np.array([0.0, row * form.height, 0.0])
            once = line.points[: strand["points"]]
            assert once - once[0] == pytest.approx(own - own[0], abs=1e-4)
            again = line.points[strand["points"] : 2 * strand["points"]]
            assert again - once == pytest.approx(np.tile([form.width, 0, 0], (strand["points"], 1)), abs=1e-9)
            assert shift[1] == pytest.approx(row * read.header["states"][0]["height"])
    assert first == len(points)


def test_all_states_have_the_same_points_so_that_one_passes_into_the_other(sent):
    _, data = sent
    read = decoded(data)
    relaxed, wide = read.states["relaxed"], read.states["half as wide again"]
    assert wide == pytest.approx(relaxed * np.float32([1.5, 1, 1]), abs=1e-4)


def test_states_of_different_cloths_are_refused(placed):
    forms = [placed(key)[0] for key in ("plain", "rib-1x1")]
    with pytest.raises(ValueError, match="same strands"):
        centre_lines([State(str(n), form) for n, form in enumerate(forms)], diameter_mm=0.3, across=1, along=1)


def test_the_lying_piece_is_that_of_the_stills(sent):
    form, data = sent
    wanted = np.concatenate([line.points for line in lying(form, Lie(0.1, -0.1), 2, 3)])
    assert decoded(data).states["lying"] == pytest.approx(wanted, abs=1e-4)


def test_torn_and_foreign_bytes_are_refused(sent):
    _, data = sent
    with pytest.raises(ValueError, match="floats where"):
        decoded(data[:-400])
    foreign = json.dumps({"format": "other"}).encode().ljust(24)
    with pytest.raises(ValueError, match="not loopwright"):
        decoded(struct.pack("<I", 24) + foreign)
