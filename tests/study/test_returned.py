"""Garments that came back: tolerances to the millimetre, chances that hold in simulated lots, plans of ISO 2859-1."""

import tomllib
from pathlib import Path

import numpy as np
import pytest
from scipy import stats

from loopwright.garment.pieces import FaultClass, Piece
from loopwright.problems import Problem, Sign
from loopwright.report.returned import pieces_of_file, returned_document, returned_section
from loopwright.study.returned import PointCheck, Verdict, pooled_cm, returned
from loopwright.study.study import study_style
from loopwright.study.style import read_style

EXAMPLE = Path(__file__).parents[2] / "examples" / "attendant-pullover.toml"


@pytest.fixture(scope="module")
def study():
    document = tomllib.loads(EXAMPLE.read_text("utf-8"))
    document["garment"] |= {"sizes": ["M"], "base_size": "M", "hand_set_cm": {}}
    document["order"].pop("size_mix", None)
    return study_style(read_style(document))


def piece(study, name="1", faults=(), mass_g=None, **off_cm):
    measures = {point: study.size_table.value_cm("M", point) + off for point, off in off_cm.items()}
    return Piece(name, "M", "", measures, mass_g, faults)


def test_a_measure_at_its_tolerance_holds_and_a_millimetre_beyond_does_not(study):
    found = returned(study, [piece(study, half_chest=1.0), piece(study, "2", half_chest=1.1)])
    (check,) = found.points
    assert (check.beyond, len(check.values_cm)) == (1, 2)
    assert [each.faulty for each in found.classes if each.fault is FaultClass.MAJOR] == [("2",)]


def test_plans_and_verdicts_follow_the_standard(study):
    """P-58: a lot of 150 at level II is letter F, 20 pieces; AQL 2.5 accepts 1, 4.0 accepts 2 (ISO 2859-1)."""
    good = [piece(study, str(number), half_chest=0.0) for number in range(20)]
    bad = [piece(study, f"bad {number}", half_chest=2.0) for number in range(2)]
    assert returned(study, good, 150).verdict is Verdict.PASSES
    major = {each.fault: each for each in returned(study, good, 150).classes}[FaultClass.MAJOR]
    assert (major.plan.sample_pieces, major.plan.accept, major.verdict) == (20, 1, Verdict.PASSES)
    assert returned(study, [*good[:18], *bad], 150).verdict is Verdict.FAILS
    few = {each.fault: each for each in returned(study, good[:5], 150).classes}[FaultClass.MAJOR]
    assert (few.verdict, few.missing) == (Verdict.OPEN, 15)


def test_the_share_of_faulty_pieces_is_the_beta_distribution_of_scipy(study):
    faulty = [piece(study, "f", half_chest=2.0)]
    found = returned(study, faulty + [piece(study, str(number), half_chest=0.0) for number in range(7)], 640)
    major = {each.fault: each for each in found.classes}[FaultClass.MAJOR]
    law = stats.beta(1.5, 7.5)
    assert major.share_at(0.05) == pytest.approx(law.ppf(0.05), rel=1e-9)
    assert major.worse_than_aql == pytest.approx(law.sf(0.025), rel=1e-9)


@pytest.mark.parametrize("count", [1, 3, 8])
def test_the_chance_that_the_next_piece_lies_beyond_comes_true_over_simulated_lots(count):
    """Lots drawn from the prior itself (scaled inverse chi squared, flat mean): the stated chance is the frequency."""
    draw, tolerance, tries = np.random.default_rng(71), 1.0, 4000
    said, came = [], []
    for _ in range(tries):
        sd = 0.4 * tolerance * np.sqrt(4 / draw.chisquare(4))
        mean = 50 + draw.uniform(-6, 6)
        values = draw.normal(mean, sd, count)
        spread = pooled_cm(list(values), tolerance)
        check = PointCheck("M", "half_chest", 50.0, tolerance, tuple(values), spread.sd, spread.degrees)
        said.append(check.next_beyond)
        came.append(abs(draw.normal(mean, sd) - 50.0) > tolerance)
    for low, high in ((0.0, 0.4), (0.4, 0.9), (0.9, 1.01)):
        inside = [(chance, true) for chance, true in zip(said, came, strict=True) if low <= chance < high]
        expected, seen = (sum(each) for each in zip(*inside, strict=True))
        spread = np.sqrt(sum(chance * (1 - chance) for chance, _ in inside))
        assert abs(seen - expected) < 4 * spread + 1


def test_lengths_that_are_short_together_are_the_fabric_and_not_the_shaping(study):
    table = study.size_table
    lengths = ("length", "sleeve_from_shoulder", "front_neck_drop")
    off = {point: -0.04 * table.value_cm("M", point) for point in lengths}
    found = returned(
        study, [piece(study, str(number), half_chest=0.1, half_upper_arm=0.0, **off) for number in range(3)]
    )
    (drift,) = [each for each in found.findings if each.where == "fabric"]
    assert "lengths come out short" in drift.sentence
    assert "courses" in drift.tries[0]
    alone = returned(study, [piece(study, length=-2.5, sleeve_from_shoulder=0.3, front_neck_drop=0.1)])
    assert not [each for each in alone.findings if each.where == "fabric"]


def test_pieces_far_heavier_than_the_study_are_told(study):
    expected = study.sizes[0].grams
    heavy = returned(study, [piece(study, mass_g=expected.high * 1.1, half_chest=0.0)])
    assert any(each.where == "mass, M" and each.sign is Sign.DECIDE for each in heavy.findings)
    usual = returned(study, [piece(study, mass_g=expected.value, half_chest=0.0)])
    assert not any(each.where.startswith("mass") for each in usual.findings)


def test_a_lot_smaller_than_its_sample_and_pieces_of_no_size_are_refused(study):
    with pytest.raises(Problem, match="out of a lot of 1"):
        returned(study, [piece(study, "1", half_chest=0.0), piece(study, "2", half_chest=0.0)], 1)
    with pytest.raises(Problem, match="no piece in a size"):
        returned(study, [Piece("1", "12XL")])


def test_the_samples_of_a_style_file_are_the_same_pieces_as_those_of_a_table(study):
    document = {
        "samples": {
            "first": {"lot_pieces": 150, "pieces": [{"size": "M", "measures_cm": {"half_chest": 49.5}, "mass_g": 210}]}
        }
    }
    sample = read_style(document).samples["first"]
    table = b"size;half chest;mass\nM;49,5;210\n"
    sizes = study.size_table
    (typed,) = pieces_of_file(table, "pieces.csv", sizes.names, sizes=sizes.sizes).table.pieces
    (own,) = sample.as_pieces()
    assert (own.size, own.measures_cm, own.mass_g) == (typed.size, typed.measures_cm, typed.mass_g)


def test_the_report_and_the_json_say_the_same(study):
    found = returned(study, [piece(study, half_chest=2.0, mass_g=200.0)], 640)
    document = returned_document(found)
    section = returned_section(found)
    assert document["verdict"] == "not decided"
    assert document["points"][0]["beyond"] == 1
    assert any("1 of 1" in row for block in section.blocks if hasattr(block, "rows") for row in block.rows)
