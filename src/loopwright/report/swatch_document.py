"""Swatches as one document: what was typed, what follows at every stage, and what it tells the learning.

In: swatches as studied. Out: JSON form (docs/json.md). Not covered: words for a reader (`swatch`).
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from loopwright import __version__
from loopwright.problems import Problem
from loopwright.report.swatch import measured_words
from loopwright.study.swatch_study import SwatchStudy
from loopwright.swatch.bench import Measured, Stage
from loopwright.swatch.operators import Precision
from loopwright.swatch.specimen import Sitting
from loopwright.swatch.statistics import Estimate, Summary

FORMAT = "loopwright swatch 1"


def swatches_document(studies: Sequence[SwatchStudy], refused: Sequence[Problem] = ()) -> dict[str, Any]:
    """All swatches of a file as one document (docs/json.md)."""
    return {
        "format": FORMAT,
        "program_version": __version__,
        "swatches": {study.bench.specimen.key: _document(study) for study in studies},
        "refused": [problem.as_dict() for problem in refused],
    }


def _document(study: SwatchStudy) -> dict[str, Any]:
    bench, specimen = study.bench, study.bench.specimen
    return {
        "name": specimen.name,
        "structure": specimen.structure.name,
        "yarn": specimen.yarn.name if specimen.yarn else None,
        "lot": specimen.lot,
        "cone": specimen.cone,
        "machine": specimen.machine,
        "gauge": specimen.gauge,
        "needles": specimen.needles,
        "courses_knitted": specimen.courses,
        "cam_setting": specimen.cam_setting,
        "knitted_on": specimen.knitted_on,
        "invented": specimen.is_invented,
        "unreliable": specimen.unreliable,
        "loop_length_mm": bench.loop_length_mm,
        "unroved_mm": _summary(bench.unroved) if bench.unroved else None,
        "stages": [_stage(stage) for stage in bench.stages],
        "rolls": [
            {
                "edge": roll.edge,
                "sitting": roll.sitting.key,
                "radius_mm": roll.radius_mm,
                "expected": roll.expected.as_dict() if roll.expected else None,
            }
            for roll in study.rolls
        ],
        "sittings": [_sitting(sitting) for sitting in specimen.sittings],
        "findings": [finding.as_dict() for finding in study.findings],
        "observations": [
            {
                "quantity": each.quantity.value,
                "state": each.state.value,
                "washes": each.washes,
                "value": each.value,
                "standard_error": each.standard_error,
            }
            for each in study.observations
        ],
    }


def _stage(stage: Stage) -> dict[str, Any]:
    return {
        "state": stage.state.value,
        "washes": stage.washes,
        "words": stage.words,
        "sittings": [sitting.key for sitting in stage.sittings],
        "measured": {quantity.value: _measured(stage, each) for quantity, each in stage.measured.items()},
    }


def _measured(stage: Stage, measured: Measured) -> dict[str, Any]:
    def figure(estimate: Estimate | None, words: str) -> dict[str, Any] | None:
        return None if estimate is None else stage.figure(measured.quantity, estimate, words).as_dict()

    return {
        "together": figure(measured.estimate, measured_words(measured)),
        "by_hand": figure(measured.by_hand, measured_words(measured)),
        "by_photo": figure(measured.by_photo, "read from the picture"),
        "expected": measured.expected.as_dict() if measured.expected else None,
        "standard_error": measured.estimate.standard_error,
        "degrees_of_freedom": measured.estimate.degrees,
        "limit": _limit(measured),
        "readings": {key: _summary(summary) for key, summary in measured.hand.items()},
        "people": _precision(measured.people),
    }


def _limit(measured: Measured) -> dict[str, Any] | None:
    verdict = measured.verdict
    if verdict is None:
        return None
    return {
        "low": verdict.limit.low,
        "high": verdict.limit.high,
        "words": verdict.limit.words,
        "true_value_passes": verdict.true_value_passes,
        "next_piece_passes": verdict.next_piece_passes,
        "said": verdict.words,
    }


def _summary(summary: Summary) -> dict[str, Any]:
    return {
        "values": list(summary.values),
        "mean": summary.mean,
        "sd": summary.sd,
        "cv_percent": summary.cv_percent,
        "half_width_95": summary.half_95,
        "usual_sd": summary.usual.sd,
        "needed_for_2_percent": summary.needed,
        "outliers": [
            {"reading": each.index + 1, "value": each.value, "words": each.words} for each in summary.outliers
        ],
        "words": summary.words,
    }


def _precision(people: Precision | None) -> dict[str, Any] | None:
    if people is None:
        return None
    return {
        "people": people.people,
        "readings": people.readings,
        "repeatability_sd": people.repeatability_sd,
        "between_people_sd": people.between_sd,
        "reproducibility_sd": people.reproducibility_sd,
        "repeatability_limit": people.repeatability_limit,
        "reproducibility_limit": people.reproducibility_limit,
        "advice": people.advice,
    }


def _sitting(sitting: Sitting) -> Mapping[str, Any]:
    return {
        "key": sitting.key,
        "state": sitting.state.value,
        "washes": sitting.washes,
        "on": sitting.on,
        "by": sitting.by,
        "wash": sitting.wash,
        "dried": sitting.dried,
        "air": sitting.air,
        "unreliable": sitting.unreliable,
        "note": sitting.note,
        "photos": [{"photo": each.photo, "confirmed": each.is_confirmed} for each in sitting.photos],
    }
