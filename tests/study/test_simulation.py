"""A style's fabrics beside their simulation: what counts when, calibration on the style's swatches, no gauge moved."""

from pathlib import Path

import pytest

from loopwright.figure import Basis
from loopwright.report.sheet import sheet_of
from loopwright.report.simulated import simulation_document
from loopwright.study.study import study_style
from loopwright.study.style import read_style

EXAMPLES = Path(__file__).parents[2] / "examples"
SWATCH = {"name": "swatch 1", "loop_length_mm": 4.8, "wales_per_cm": 8.6, "courses_per_cm": 11.2}


def style_of(**zones):
    return read_style({"yarns": {"main": {"count": "2/48 Nm merino"}}, "zones": zones})


def simulations(**zones):
    return study_style(style_of(**zones)).making.cloth.simulations


def test_an_uncalibrated_simulation_never_takes_the_place_of_published_counts():
    body = simulations(body={"structure": "plain"})["body"]
    assert body.fabric.geometry.wales_per_cm.basis is Basis.PUBLISHED
    assert body.cloth.geometry.wales_per_cm.basis is Basis.SIMULATED
    assert body.stands == "the published counts stand; the simulation is not calibrated"


def test_counted_wales_stand_before_everything():
    body = simulations(body={"structure": "plain", "swatch": SWATCH})["body"]
    assert body.fabric.geometry.wales_per_cm.value == pytest.approx(8.6)
    assert body.stands == "your counts stand"
    assert body.calibration.swatches[0].name == "swatch 1"


def test_a_swatch_of_the_body_calibrates_the_hem_in_the_same_yarn():
    both = simulations(body={"structure": "plain", "swatch": SWATCH}, hem={"structure": "rib-1x1"})
    bare = simulations(body={"structure": "plain"}, hem={"structure": "rib-1x1"})
    assert both["hem"].calibration is both["body"].calibration
    assert both["hem"].cloth.geometry.wales_per_cm.spread < bare["hem"].cloth.geometry.wales_per_cm.spread


@pytest.mark.parametrize(("loop_length_mm", "stands"), [(4.9, True), (5.4, False)])
def test_calibrated_counts_stand_before_published_ones_where_they_are_better_known(loop_length_mm, stands):
    """Swatches of two zones tell more of a third near them than the literature does, and less of one far away."""
    third = {"structure": "plain", "loop_length_mm": loop_length_mm}
    second = {**SWATCH, "name": "swatch 2", "loop_length_mm": 5.0, "wales_per_cm": 8.3, "courses_per_cm": 10.75}
    zones = {"body": {"structure": "plain", "swatch": SWATCH}, "hem": {"structure": "plain", "swatch": second}}
    sleeve = simulations(**zones, sleeve=third)["sleeve"]
    published = simulations(body=third)["body"].fabric.geometry
    used = sleeve.fabric.geometry
    if stands:
        assert used.wales_per_cm == sleeve.cloth.geometry.wales_per_cm
        assert used.wales_per_cm.spread < published.wales_per_cm.spread
        assert sleeve.stands == "calibrated on your swatches, the simulated counts stand"
    else:
        assert used == published
        assert sleeve.stands.startswith("the published counts stand: they are better known")


def test_calibrated_counts_do_not_stand_in_another_state_of_relaxation():
    zones = {"body": {"structure": "plain", "swatch": SWATCH}, "hem": {"structure": "rib-1x1"}}
    dry = read_style({"yarns": {"main": {"count": "2/48 Nm merino"}}, "zones": zones, "state": "dry-relaxed"})
    assert study_style(dry).fabrics["hem"].geometry.wales_per_cm.basis is not Basis.SIMULATED


def test_a_dry_swatch_is_not_fitted_for_the_model_knows_relaxed_cloth_only():
    body = simulations(body={"structure": "plain", "swatch": {**SWATCH, "state": "dry-relaxed"}})["body"]
    assert body.calibration is None


def test_a_swatch_that_no_yarn_gives_is_said_and_stops_nothing():
    odd = {**SWATCH, "wales_per_cm": 2.0, "courses_per_cm": 3.0}
    made = study_style(style_of(body={"structure": "plain", "swatch": odd}))
    assert any("No yarn is fitted to this swatch" in finding.sentence for finding in made.findings)
    assert made.fabrics["body"].geometry.wales_per_cm.value == pytest.approx(2.0)
    assert not made.refused


def test_a_loop_outside_the_atlas_leaves_the_published_fabric_and_says_why():
    made = study_style(style_of(body={"structure": "plain", "loop_length_mm": 8.5}))
    assert made.making.cloth.simulations["body"].cloth is None
    assert any("than what was simulated" in finding.sentence for finding in made.findings)
    assert made.fabrics["body"].mass.value > 0


def test_zones_of_one_fabric_share_its_simulation_and_tell_its_findings_once():
    made = study_style(style_of(body={"structure": "plain"}, sleeve={"structure": "plain"}))
    both = made.making.cloth.simulations
    assert both["body"] is both["sleeve"]
    assert sum("roll to the back" in finding.sentence for finding in made.findings) == 1


def test_a_style_of_ones_own_notation_is_studied_without_a_simulation():
    own = {"courses": ["F:KKKTKKMKK", "F:KKKKKKKKK"], "name": "Müsterchen"}
    made = study_style(
        read_style(
            {
                "yarns": {"main": {"count": "2/48 Nm merino"}},
                "structures": {"mine": own},
                "zones": {"body": {"structure": "mine"}},
            }
        )
    )
    assert made.making.cloth.simulations["body"].cloth is None
    assert any("has not been simulated yet" in finding.sentence for finding in made.findings)
    assert simulation_document(made.making.cloth.simulations["body"])["figures"] == {}


def test_the_sheet_shows_simulated_figures_beside_those_in_use():
    made = study_style(style_of(body={"structure": "plain", "swatch": SWATCH}))
    fabric = next(section for section in sheet_of(made).sections if section.key == "fabric")
    tables = [block for block in fabric.blocks if getattr(block, "head", ("",))[0].startswith("Simulated")]
    assert [table.head[1:] for table in tables] == [("in use", "simulated")]
    assert "Calibrated on swatch 1" in tables[0].caption
    assert "Without friction" in tables[0].caption or "without friction" in tables[0].caption
