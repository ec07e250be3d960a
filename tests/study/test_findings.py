"""Findings: said once for all sizes, lost never."""

import pytest

from loopwright.problems import Finding, Sign
from loopwright.study.checks import chance_words, once_per_place
from loopwright.study.study import study_style
from loopwright.study.style import read_style

SIZES = ("S", "M", "L")


def wide(size: str, needles: int) -> Finding:
    sentence = f"Neckband, size {size}: {needles} needles at E 5 need {needles / 2:.0f} cm of bed; this one has 127 cm."
    return Finding(Sign.STOPS, f"neckband, size {size}", sentence, weight=needles)


def tight(size: str, stretch: int) -> Finding:
    sentence = f"The neckband lies 30.1 cm round and must open to 62: a stretch of {stretch} %; rib gives 50 to 90 %."
    return Finding(Sign.STOPS, f"neckband, size {size}", sentence, weight=stretch)


def test_the_same_in_several_sizes_is_said_once_in_the_words_of_the_worst():
    said = once_per_place([wide("S", 300), wide("M", 330), wide("L", 320)], SIZES)
    assert len(said) == 1
    assert said[0].sentence.startswith(wide("M", 330).sentence)
    assert said[0].sentence.endswith("in S, L.")


def test_two_kinds_of_finding_at_one_place_are_both_said():
    said = once_per_place([wide("S", 300), tight("S", 95), wide("M", 330), tight("M", 92)], SIZES)
    assert len(said) == 2
    assert {"bed" in finding.sentence for finding in said} == {True, False}
    assert {finding.sentence.rpartition(" ")[2] for finding in said} == {"S.", "M."}


def test_a_finding_of_one_size_keeps_its_words():
    assert once_per_place([wide("S", 300)], SIZES) == [wide("S", 300)]


def test_findings_of_unlike_signs_stay_apart():
    know = Finding(Sign.KNOW, "neckband, size S", tight("S", 60).sentence)
    assert len(once_per_place([know, tight("M", 95)], SIZES)) == 2


def studied(**parts):
    document = {
        "yarns": {"main": {"count": "2/30 Nm merino", "price_per_kg": 30}},
        "zones": {"body": {"structure": "plain"}, "hem": {"structure": "rib-2x1"}},
        "garment": {"sizes": ["S", "M", "L"]},
        "machine": {"gauge": 12},
        "order": {"pieces": 300},
    }
    return study_style(read_style({**document, **parts}))


def found(study, words):
    return [finding for finding in study.findings if words in finding.sentence]


def test_a_panel_wider_than_its_bed_stops_with_needles_on_both_sides():
    stops = found(studied(machine={"gauge": 12, "bed_in": 20}), "of bed")
    assert stops
    assert all(finding.sign is Sign.STOPS for finding in stops)
    assert all("240 needles" in finding.sentence for finding in stops)
    assert not any("coarser" in attempt for finding in stops for attempt in finding.tries)


def test_a_bed_of_less_than_a_needle_is_a_finding_too():
    assert found(studied(machine={"gauge": 12, "bed_in": 0.01}), "this one has 0 needles")


def test_a_cap_that_needs_more_needles_at_a_time_than_asked_says_so_once_and_only_when_asked():
    coarse = {
        "yarns": {"main": {"count": "2/17 Nm wool"}},
        "garment": {"population": "men", "fit": "loose", "sizes": ["S", "M", "L", "XL"]},
        "machine": {"gauge": 7},
    }
    asked = studied(**coarse, construction={"narrow_needles": 1})
    caps = {size.size: size.plan.panel("sleeve").fashioning("cap").steps for size in asked.sizes}
    most = {size: max(step.needles for step in steps) for size, steps in caps.items()}
    assert max(most.values()) == 2
    (said,) = found(asked, "it does not close in its courses")
    assert "2 needles at a time: with 1" in said.sentence
    assert not found(studied(**coarse), "it does not close in its courses")


@pytest.mark.parametrize(("quoted", "sign"), [(15.0, Sign.DECIDE), (60.0, Sign.DECIDE)])
def test_a_quote_far_from_our_reading_is_to_be_decided(quoted, sign):
    (said,) = found(studied(targets={"quoted_price": quoted}), "The factory asks")
    assert said.sign is sign
    assert f"{quoted:.2f}" in said.sentence


def test_a_target_is_met_or_not_and_the_distance_is_said():
    price = float(studied().pricing.sheet.fob.amount.amount)
    (over,) = found(studied(targets={"price": round(price - 2, 2)}), "your target of")
    (under,) = found(studied(targets={"price": round(price + 2, 2)}), "your target of")
    assert (over.sign, under.sign) == (Sign.DECIDE, Sign.HOLDS)
    assert "2.00 over" in over.sentence
    assert "2.00 under" in under.sentence


def test_limits_of_minutes_and_mass_are_told_when_they_are_passed():
    assert found(studied(targets={"minutes": 5}), "your limit is 5.0")
    assert found(studied(targets={"piece_mass_g": 50}), "your limit is 50")
    assert not found(studied(targets={"minutes": 500, "piece_mass_g": 900}), "your limit")


def test_two_yarns_of_one_name_are_refused_for_they_would_be_priced_as_one():
    yarns = {
        "main": {"count": "2/30 Nm merino", "name": "Fernweh", "price_per_kg": 30},
        "rib": {"count": "2/28 Nm wool", "name": "Fernweh", "price_per_kg": 12},
    }
    zones = {"body": {"structure": "plain", "yarn": "main"}, "hem": {"structure": "rib-2x1", "yarn": "rib"}}
    study = studied(yarns=yarns, zones=zones)
    assert found(study, "“Fernweh” is the name of yarns.main too")
    assert study.pricing is None


@pytest.mark.parametrize(
    ("chance", "words"), [(1.0, "nearly every case"), (0.0, "hardly any case"), (0.5, "50 of 100 cases")]
)
def test_chances_are_said_in_words(chance, words):
    assert chance_words(chance) == words
