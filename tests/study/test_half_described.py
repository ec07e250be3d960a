"""Styles with parts missing: what can be computed is computed, the rest is a finding or a listed assumption."""

import json
import tomllib
from copy import deepcopy
from pathlib import Path
from typing import Any

import pytest
from typer.testing import CliRunner

from loopwright.cli import app
from loopwright.problems import Sign
from loopwright.report.files import study_json, study_page
from loopwright.study.study import StyleStudy, study_style
from loopwright.study.style import Style, read_style

EXAMPLE = tomllib.loads(
    (Path(__file__).resolve().parents[2] / "examples" / "attendant-pullover.toml").read_text("utf-8")
)


def without(*parts: str) -> dict[str, Any]:
    document = deepcopy(EXAMPLE)
    for part in parts:
        document.pop(part, None)
    return document


def studied(document: dict[str, Any]) -> StyleStudy:
    study = study_style(read_style(document))
    assert study_json(study)
    assert study_page(study)
    return study


def stops(study: StyleStudy) -> list[str]:
    return [finding.where for finding in study.findings if finding.sign is Sign.STOPS]


def test_the_example_lacks_nothing():
    study = studied(EXAMPLE)
    assert len(study.sizes) == 7
    assert study.pricing is not None
    assert not stops(study)


def test_without_yarn_the_sizes_are_graded_and_every_zone_asks_for_its_yarn():
    study = studied(without("yarns"))
    assert study.size_table is not None
    assert study.size_table.value_cm("M", "half_chest") == 49
    assert study.machine is not None
    assert not study.fabrics
    assert not study.sizes
    assert stops(study)
    assert all("yarn" in where for where in stops(study))


def test_without_zones_a_plain_pullover_with_ribs_is_taken_and_said():
    study = studied(without("zones"))
    assert study.fabrics["body"].structure.key == "plain"
    assert study.fabrics["neckband"].structure.key == "rib-2x1"
    assert {"zones.body", "zones.hem"} <= set(study.assumptions)
    assert study.pricing is not None


def test_without_garment_the_fabrics_stand_alone():
    study = studied(without("garment"))
    assert set(study.fabrics) == {"body", "hem"}
    assert study.fabrics["body"].mass.value > 0
    assert study.size_table is None
    assert not study.sizes


def test_without_machine_there_are_grams_but_no_minutes_and_the_price_says_why():
    study = studied(without("machine"))
    assert len(study.sizes) == 7
    assert study.grams is not None
    assert study.minutes is None
    assert study.pricing is None
    assert "machine" in study.assumptions
    assert stops(study) == ["machine"]


def test_without_order_there_are_minutes_but_no_price():
    study = studied(without("order"))
    assert study.minutes is not None
    assert study.pricing is None
    assert study.machine_hours is None
    assert study.assumptions["order.size_mix"]
    assert sum(study.shares.values()) == pytest.approx(1)
    assert len(set(study.shares.values())) == 1


def test_without_rates_the_packaged_example_is_taken_and_every_rate_is_listed():
    given, left_out = studied(EXAMPLE), studied(without("rates"))
    assert left_out.pricing is not None
    taken = {name for name in left_out.assumptions if name.startswith("rates.")}
    assert taken > {name for name in given.assumptions if name.startswith("rates.")}
    assert {"rates.machine_hour", "rates.makeup_wage", "rates.line_efficiency"} <= taken


def test_a_yarn_without_a_price_stops_the_price_only():
    document = deepcopy(EXAMPLE)
    del document["yarns"]["merino"]["price_per_kg"]
    study = studied(document)
    assert study.pricing is None
    assert study.minutes is not None
    assert stops(study) == ["yarns.merino"]


def test_without_targets_and_construction_the_trades_own_are_taken():
    study = studied(without("targets", "construction"))
    assert study.pricing is not None
    assert study.pricing.meets_target is None
    assert not any(finding.where == "price" for finding in study.findings)


def test_without_a_header_a_style_has_a_stand_in_name():
    assert studied(without("style")).style.style.name == "Unnamed style"


def test_only_a_yarn_shows_its_plain_fabric():
    study = studied({"yarns": {"main": {"count": "2/30 Nm wool"}}})
    assert list(study.fabrics) == ["body"]
    assert study.fabrics["body"].structure.key == "plain"
    assert "zones.body" in study.assumptions
    assert not stops(study)


def test_only_a_yarn_and_a_swatch_show_the_fabric_as_measured():
    swatch = {"wales_per_cm": 6.5, "courses_per_cm": 8.4, "loop_length_mm": 6.3}
    study = studied({"yarns": {"main": {"count": "2/28 Nm wool"}}, "zones": {"body": {"swatch": swatch}}})
    geometry = study.fabrics["body"].geometry
    assert geometry.wales_per_cm.value == pytest.approx(6.5)
    assert geometry.courses_per_cm.value == pytest.approx(8.4)
    assert geometry.wales_per_cm.basis.value == "measured"


def test_only_a_swatch_asks_for_its_yarn():
    swatch = {"wales_per_cm": 6.5, "courses_per_cm": 8.4, "loop_length_mm": 6.3}
    assert stops(studied({"zones": {"body": {"swatch": swatch}}})) == ["zones.body"]


def test_only_a_garment_shows_its_size_table():
    study = studied({"garment": {"population": "children", "sizes": ["98", "104", "110"]}})
    assert study.size_table is not None
    assert study.size_table.is_child
    assert any(caution.key == "cords" for caution in study.cautions)


@pytest.mark.parametrize("part", [name for name in Style.model_fields if name in EXAMPLE])
def test_one_part_alone_is_a_style_too(part):
    study = studied({part: deepcopy(EXAMPLE[part])})
    assert study.findings


def test_one_size_that_cannot_be_made_leaves_the_others():
    document = deepcopy(EXAMPLE)
    document["garment"]["hand_set_cm"] = {"L": {"half_upper_arm": 60}}
    study = studied(document)
    assert [size.size for size in study.sizes] == ["XS", "S", "M", "XL", "2XL", "3XL"]
    stopped = [finding for finding in study.findings if finding.sign is Sign.STOPS]
    assert any("size L" in finding.where and "120.0 cm round" in finding.sentence for finding in stopped)
    assert sum(study.shares.values()) == pytest.approx(1)
    assert study.pricing is not None


def test_a_zone_that_cannot_be_made_leaves_the_other_fabrics():
    document = deepcopy(EXAMPLE)
    document["zones"]["hem"]["structure"] = "cardigan"
    study = studied(document)
    assert {"body", "sleeve"} <= set(study.fabrics)
    assert "hem" not in study.fabrics
    asked = next(finding for finding in study.findings if finding.where.startswith("zones.hem"))
    assert asked.sign is Sign.STOPS
    assert "half" in f"{asked.sentence} {asked.tries}"
    assert "full" in f"{asked.sentence} {asked.tries}"


def test_findings_stand_in_order_of_consequence():
    document = without("machine")
    document["garment"]["hand_set_cm"] = {"L": {"half_upper_arm": 60}}
    signs = [finding.sign for finding in studied(document).findings]
    assert signs == sorted(signs)


def test_every_stop_says_what_to_try_or_what_the_limit_is():
    for part in EXAMPLE:
        for finding in studied(without(part)).findings:
            if finding.sign is Sign.STOPS:
                assert finding.tries or "Limit" in finding.sentence, finding


def test_a_count_without_its_fibre_tells_its_counts_and_asks_for_the_fibre():
    """F-02 (fabric reference, by definition): 2/24 worsted is NeW 12, 73.82 tex, Nm 13.55."""
    answer = CliRunner().invoke(app, ["yarn", "2/24 NeW", "--json"])
    figures = json.loads(answer.stdout)["figures"]
    assert answer.exit_code == 0
    assert figures["count_tex"]["value"] == pytest.approx(73.82, rel=1e-3)
    assert figures["count_Nm"]["value"] == pytest.approx(13.55, rel=1e-3)
    assert "diameter_mm" not in figures
    assert "need the fibre: “2/24 NeW wool”" in CliRunner().invoke(app, ["yarn", "2/24 NeW"]).stdout
