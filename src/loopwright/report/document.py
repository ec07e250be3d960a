"""The study as one JSON document: every figure with value, unit, low, high, basis, state and why.

Keys carry their unit (`_cm`, `_g`, `_min`, `_s`). The document is versioned by `format`; a change of meaning moves it.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from loopwright import __version__
from loopwright.fabric.fabric import Fabric
from loopwright.fabric.mass import mean_piece_length_mm
from loopwright.figure import Figure
from loopwright.garment.set_in import ellipse_cap_height_cm
from loopwright.garment.sizes import girth_of_size, labels_of_body
from loopwright.report.simulated import simulation_document
from loopwright.report.tables import cloth
from loopwright.shaping.knitdown import knit_down
from loopwright.study.knitting import PanelStudy, SizeStudy, cloth_of
from loopwright.study.pricing import Pricing
from loopwright.study.simulation import Simulation
from loopwright.study.study import StyleStudy

FORMAT = "loopwright study 2"


def study_document(study: StyleStudy) -> dict[str, Any]:
    """The whole study."""
    return {
        "format": FORMAT,
        "program_version": __version__,
        "style": study.style.model_dump(mode="json", exclude_none=True),
        "findings": [finding.as_dict() for finding in study.findings],
        "refused": [problem.as_dict() for problem in study.refused],
        "assumptions": dict(study.assumptions),
        "yarns": {
            key: _figures(yarn.counts()) | {"diameter_mm": yarn.diameter_mm.as_dict()}
            for key, yarn in study.yarns.items()
        },
        "fabrics": {
            zone: fabric_document(fabric, study.making.cloth.simulations[zone])
            for zone, fabric in study.fabrics.items()
        },
        "sizes": {size.size: _size(study, size) for size in study.sizes},
        "order_shares": dict(study.shares),
        "mean_piece": {
            "yarn_g": _maybe(study.grams),
            "knitting_min": _maybe(study.minutes),
            "makeup_min": _maybe(study.makeup_minutes),
        },
        "machine_hours": _maybe(study.machine_hours),
        "machines": study.machines.as_dict() if study.machines else None,
        "linkers": study.linkers.as_dict() if study.linkers else None,
        "price": _pricing(study.pricing) if study.pricing else None,
        "inspection": {name: plan.as_dict() for name, plan in study.inspection.items()},
        "cautions": [caution.as_dict() for caution in study.cautions],
    }


def fabric_document(fabric: Fabric, simulation: Simulation) -> dict[str, Any]:
    """One fabric: its structure as notation, what was counted from it, all figures, and what was simulated."""
    anatomy = fabric.structure.anatomy
    return {
        "structure": fabric.structure.key,
        "structure_name": fabric.structure.name,
        "notation": list(fabric.structure.notation.lines()),
        "gating": fabric.structure.notation.gating.value,
        "repeat": {
            "needles": anatomy.needles,
            "feeds": anatomy.feeds,
            "front_loops": anatomy.front_loops,
            "back_loops": anatomy.back_loops,
            "tucks": anatomy.tucks,
            "floats": anatomy.floats,
            "visible_courses": anatomy.visible_courses,
            "passes_per_visible_course": anatomy.passes_per_course,
            "balance": anatomy.balance,
            "mean_piece_length_mm": mean_piece_length_mm(fabric.structure, fabric.lengths),
        },
        "yarn": fabric.yarn.name,
        "figures": _figures(fabric.figures()),
        "simulated": simulation_document(simulation),
        "curl": fabric.curl.words,
        "unroves": fabric.run.unroves,
        "ladders": fabric.run.ladders,
    }


def _size(study: StyleStudy, size: SizeStudy) -> dict[str, Any]:
    plan = size.plan
    table = study.size_table
    return {
        "measures_cm": {name: table.value_cm(size.size, name) for name in table.names} if table else {},
        "labels": labels_of_body(table.population, girth_of_size(table.population, size.size)) if table else {},
        "hand_set": [name for name in table.names if table.is_hand_set(size.size, name)] if table else [],
        "real_cm": plan.real_cm,
        "closes": [
            {
                "seam": closure.name,
                "one": closure.one,
                "one_cm": closure.one_cm,
                "other": closure.other,
                "other_cm": closure.other_cm,
                "ease_cm": closure.ease_cm,
                "least_ease_cm": closure.low_cm,
                "most_ease_cm": closure.high_cm,
            }
            for closure in plan.closures
        ],
        "exact_against_two_rate": dict(plan.compared),
        "cap_height_by_ellipse_method_cm": _ellipse_height(size),
        "neck_seam_cm": plan.neck_seam_cm,
        "panels": {panel.plan.name: _panel(study, panel) for panel in size.panels},
        "net_knitting_min": _maybe(size.net_minutes),
        "knitting_min": _maybe(size.minutes),
        "yarn_g": size.grams.as_dict(),
        "makeup": size.makeup.as_dict(),
    }


def _ellipse_height(size: SizeStudy) -> float | None:
    """Height of the cap by another method, for comparison; none without a cap."""
    closure = next((each for each in size.plan.closures if each.name == "sleeve cap"), None)
    if closure is None:
        return None
    return ellipse_cap_height_cm(armhole_round=closure.other_cm, upper_arm=size.plan.measures["upper_arm"])


def _panel(study: StyleStudy, panel: PanelStudy) -> dict[str, Any]:
    plan = panel.plan
    main, rib = cloth_of(plan, study.fabrics)
    timeline = panel.timeline
    return {
        "pieces": plan.pieces,
        "rib_needles": plan.rib_needles,
        "rib_courses": plan.rib_courses,
        "main_courses": plan.courses,
        "widest_needles": plan.widest,
        "loops": plan.loops + plan.rib_loops,
        "length_cm": plan.length_cm,
        "span_needles": plan.span,
        "left_needles": plan.left,
        "right_needles": plan.right,
        "held_needles": plan.held,
        "knit_down": [
            {"step": line.label, "text": line.text} for line in knit_down(plan, rib=cloth(rib), main=cloth(main))
        ],
        "yarn": [
            {"zone": zone.zone, "loops": zone.loops, "metres": dict(zone.metres), "g": zone.grams}
            for zone in panel.yarn
        ],
        "strokes": None
        if timeline is None
        else {
            "traverses": timeline.traverses,
            "total_s": timeline.total_s,
            "by_kind_s": {kind.words: seconds for kind, seconds in timeline.seconds_by_kind().items()},
            "kinds": {kind.value: kind.words for kind in timeline.seconds_by_kind()},
            "kind": timeline.kind,
            "needles": timeline.needles,
            "feeds": timeline.feeds,
            "seconds": timeline.seconds,
        },
    }


def _pricing(pricing: Pricing) -> dict[str, Any]:
    return {
        "sheet": pricing.sheet.as_dict(),
        "inputs": pricing.inputs.as_dict(),
        "spread": pricing.spread.as_dict(),
        "spread_by_draws": pricing.drawn.as_dict(),
        "law": pricing.law.as_dict(),
        "quantity_breaks": [each.as_dict() for each in pricing.breaks],
        "meets_target": pricing.meets_target.as_dict() if pricing.meets_target else None,
        "yarn_orders": [order.as_dict() for order in pricing.yarn_orders],
    }


def _figures(figures: Mapping[str, Figure]) -> dict[str, Any]:
    return {key: figure.as_dict() for key, figure in figures.items()}


def _maybe(figure: Figure | None) -> dict[str, Any] | None:
    return figure.as_dict() if figure else None
