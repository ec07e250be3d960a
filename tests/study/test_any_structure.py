"""Every structure of the library on any gauge, for anybody: a study that holds together, or words that say why not."""

import json
from typing import Any

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from loopwright.problems import Sign
from loopwright.report.files import study_json, study_page
from loopwright.structure.library import library
from loopwright.study.study import StyleStudy, study_style
from loopwright.study.style import read_style

STRUCTURES = st.sampled_from(sorted(library()))
COUNTS = ["2/30 Nm", "2/12 Nm", "Ne 30/2", "Ne 20", "78 dtex", "3/7 Nm", "2/60 Nm"]
SIZES = {
    "women": ["XXS", "S", "M", "XL", "2XL", "5XL", "88"],
    "men": ["S", "M", "L", "XL", "48", "52"],
    "children": ["56", "98", "110", "128", "164"],
}


@st.composite
def styles(draw: st.DrawFn) -> dict[str, Any]:
    population = draw(st.sampled_from(sorted(SIZES)))
    sizes = draw(st.lists(st.sampled_from(SIZES[population]), min_size=1, max_size=3, unique=True))
    zones = {"body": {"structure": draw(STRUCTURES)}, "hem": {"structure": draw(STRUCTURES)}}
    if draw(st.booleans()):
        zones["sleeve"] = {"structure": draw(STRUCTURES)}
    construction = draw(
        st.fixed_dictionaries(
            {"fashioning": st.sampled_from(["two-rate", "two-rate, short first", "line"])},
            optional={
                "narrow_needles": st.integers(1, 4),
                "widen_needles": st.integers(1, 2),
                "courses_between": st.integers(1, 6),
                "armhole_base_cm": st.sampled_from([0, 1, 3]),
            },
        )
    )
    return {
        "yarns": {
            "main": {
                "count": draw(st.sampled_from(COUNTS)),
                "fibres": {draw(st.sampled_from(["wool", "cotton", "acrylic", "viscose"])): 100},
                "ends": draw(st.integers(1, 2)),
                "price_per_kg": draw(st.sampled_from([0, 8, 40])),
            }
        },
        "zones": zones,
        "garment": {
            "population": population,
            "sizes": sizes,
            "fit": draw(st.sampled_from(["very close", "close", "classic", "loose", "oversized"])),
            "neckband_doubled": draw(st.booleans()),
        },
        "machine": {"gauge": draw(st.sampled_from([3, 5, 7, 12, 14, 18])), "systems": draw(st.integers(1, 4))},
        "construction": construction,
        "order": {"pieces": draw(st.sampled_from([1, 50, 1000, 1_000_000]))},
        "state": draw(st.sampled_from(["dry-relaxed", "wet-relaxed", "fully-relaxed", "finished"])),
    }  # fmt: skip


@settings(max_examples=50, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(styles())
def test_any_structure_for_anybody_is_studied_or_says_why_not(document):
    study = study_style(read_style(document))
    check_sizes(study)
    assert json.loads(study_json(study))["format"]
    assert study_page(study).endswith("</html>\n")


def check_sizes(study: StyleStudy) -> None:
    wanted = study.style.garment.sizes
    if len(study.sizes) < len(wanted):
        assert any(finding.sign is Sign.STOPS for finding in study.findings)
    eased = all(closure.closes for size in study.sizes for closure in size.plan.closures)
    assert eased or any(finding.where.startswith("sleeve cap") for finding in study.findings)
    for size in study.sizes:
        assert size.minutes.low < size.minutes.value < size.minutes.high
        assert size.grams.low <= size.grams.value <= size.grams.high
        for panel in size.panels:
            plan = panel.plan
            assert np.all(plan.span > 0)
            assert np.all(plan.held >= 0)
            assert np.all(plan.held <= plan.span)
            assert np.all(np.isfinite(panel.timeline.seconds))
            for event in plan.fashionings:
                assert all(step.times > 0 and step.needles > 0 and step.courses > 0 for step in event.steps)


@pytest.mark.parametrize("key", library())
def test_every_structure_of_the_library_makes_a_pullover(key):
    """Women's M with hems of 1×1 rib. The tall courses of the four-colour striped back leave no room for the cap."""
    document = {
        "yarns": {"main": {"count": "2/28 Nm wool", "price_per_kg": 20}},
        "zones": {"body": {"structure": key}, "hem": {"structure": "rib-1x1"}},
        "garment": {"sizes": ["M"]},
        "machine": {"gauge": 12, "bed_in": 84},
        "order": {"pieces": 100},
    }
    study = study_style(read_style(document))
    if key == "striped-jacquard-4":
        assert any(finding.sign is Sign.STOPS and "narrowing" in finding.sentence for finding in study.findings)
        return
    assert len(study.sizes) == 1
    assert 50 < study.grams.value < 1500
    assert 5 < study.minutes.value < 600
    assert study.pricing is not None
