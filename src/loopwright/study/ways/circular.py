"""Cut and sew from circular cloth: the body structure knitted round by the metre, laid, cut and overlocked.

In: `StyleStudy`. Out: `Needs`. The cloth is the body's own fabric on the circular machine that its count asks for; the
marker of the base size, two garments together, says what the cutter loses; the cloth of the other sizes goes by their
area. Ribs and bands are strips knitted flat to size on the style's machine and overlocked on.
Main assumptions: the fabric lies as it does from the flat machine; cloth is open, slit once.
Not covered: dyeing and finishing of cloth by the roll. Source: production reference 4.6, 5.1.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from loopwright.cost.yarn_purchase import usual_loss
from loopwright.fabric.fabric import Fabric
from loopwright.fabric.suitability import gauge_for_count
from loopwright.figure import Figure, Term, exact, linear, plain, power_law
from loopwright.machine.circular import CircularMachine, rim_speed_m_per_s
from loopwright.machine.machine import VBed
from loopwright.machine.models import circular_models
from loopwright.makeup.cutting import CM2_PER_M2, usual_end_loss
from loopwright.makeup.marker import Cloth, Marker, Piece, marker, marker_value
from loopwright.problems import Finding, Problem, Sign
from loopwright.shaping.panel import PanelPlan
from loopwright.shaping.plan import GarmentPlan
from loopwright.structure.library import library
from loopwright.study.pricing import mean_makeup, usual_programming
from loopwright.study.study import StyleStudy
from loopwright.study.ways.cut import SAME_WORK, check_block, cut_makeup, cut_outline, overlocked
from loopwright.study.ways.fashioned import added_minutes, dropped_words, mix_of, per_cent, total_makeup, ways_row
from loopwright.study.ways.strips import Strips, rib_seams, strip_minutes, strip_yarn, strips_of
from loopwright.study.ways.way import Needs, Supply

WHERE = "circular cloth"
KINDS = {"plain": "single jersey", "reverse-plain": "single jersey", "rib-1x1": "rib", "rib-1x1-alternate": "rib",
         "interlock": "interlock"}  # fmt: skip
COUNT_RULES = {"single jersey": "circular_single", "rib": "circular_double", "interlock": "circular_double"}
CM_PER_M = 100


def from_circular_cloth(study: StyleStudy) -> Needs:
    """Cloth by the metre, cut and overlocked, with ribs and bands of flat strips.

    Raises:
        Problem: no circular machine knits this structure or this count, or a block that is not cut.
    """
    check_block(study, WHERE)
    _check_one_cloth(study)
    mix, fabric = mix_of(study), study.fabrics["body"]
    name, machine = machine_for(fabric)
    cloth = _cloth(study, machine, fabric)
    area_cm2 = sum(share * _cut_area_cm2(size.plan) for share, size in mix)
    strips = [(share, strips_of(study, size)) for share, size in mix]
    sheets = [(share, cut_makeup(study, (*overlocked(size.plan), *rib_seams(size.plan)))) for share, size in mix]
    length = _length(area_cm2, cloth)
    round_minutes = machine.minutes_for_length(length, fabric.geometry.courses_per_cm)
    return Needs(
        supplies=(_cloth_yarn(fabric, area_cm2, cloth), *strip_yarn(study, strips)),
        knitting_minutes=_with_strips(round_minutes, strips, study.machine),
        makeup=mean_makeup(sheets),
        makeup_minutes=total_makeup(sheets),
        programming_hours=usual_programming(("patterns_and_marker",), len(study.sizes), {}),
        rests_on=_rests_on(study, name, machine, cloth),
        findings=(*_order_of_cloth(study, length, machine, fabric), *machine.speed_findings()),
    )


def _check_one_cloth(study: StyleStudy) -> None:
    """Refuse garments whose pieces are of several fabrics: each would be a cloth and a marker of its own."""
    pieces = [panel.plan for panel in study.sizes[0].panels if panel.plan.courses]
    cloths = {study.fabrics[plan.zone].identity: plan.zone for plan in pieces}
    if len(cloths) > 1:
        what = f"{' and '.join(cloths.values())} are of {len(cloths)} fabrics, and one cloth is modelled."
        raise Problem(WHERE, what, tries=["one fabric for all pieces", "fully fashioned panels"])


def machine_for(fabric: Fabric) -> tuple[str, CircularMachine]:
    """The listed circular machine whose gauge the count asks for, by name.

    Raises:
        Problem: no machine knits this structure or this count.
    """
    kind = next((KINDS[key] for key in KINDS if library()[key].notation == fabric.structure.notation), None)
    if kind is None:
        raise Problem(
            WHERE,
            f"{fabric.structure.name} is none of the cloths of the circular machines listed.",
            limit=", ".join(dict.fromkeys(KINDS.values())),
            tries=["fully fashioned panels", "flat blanks"],
        )
    wanted = gauge_for_count(fabric.yarn.tex.value, COUNT_RULES[kind])
    able = [(name, each) for name, each in circular_models().items() if each.kind == kind]
    name, machine = min(able, key=lambda each: (abs(math.log(each[1].gauge / wanted)), -each[1].diameter_in))
    if abs(math.log(machine.gauge / wanted)) > math.log1p(ways_row("circular_gauge_reach")["value"]):
        gauges = sorted({each.gauge for _, each in able})
        raise Problem(
            WHERE,
            f"{plain(fabric.yarn.tex.value, 0)} tex asks for {kind} of E {plain(wanted, 1)}.",
            limit=f"listed machines from E {gauges[0]:g} to E {gauges[-1]:g}, nearest E {machine.gauge:g}",
            tries=["another count", "fully fashioned panels"],
        )
    return name, machine


@dataclass(frozen=True, slots=True)
class _Cut:
    """The cloth and its marker; `cutting` and `ends` are the shares lost."""

    width_cm: float
    marker: Marker
    cutting: Figure
    ends: Figure


def _cloth(study: StyleStudy, machine: CircularMachine, fabric: Fabric) -> _Cut:
    base = study.base
    assert base is not None
    garments = int(ways_row("garments_in_marker")["value"])
    width_cm = CM_PER_M * machine.open_width_m(fabric.geometry.wales_per_cm).value
    pieces = [_piece(panel.plan, garments) for panel in base.panels if panel.plan.courses]
    laid = marker(pieces, Cloth(width_cm))
    words = "cloth between and beside the pieces of the marker"
    terms = [Term("e", laid.efficiency, -1)]
    cutting = linear("cutting", 1 - laid.efficiency.value, "", terms, words=words, formula="1 − efficiency")
    return _Cut(width_cm, laid, cutting, usual_end_loss())


def _piece(panel: PanelPlan, garments: int = 1) -> Piece:
    is_paired = panel.pieces > 1 and not panel.is_symmetrical
    return Piece(panel.name, cut_outline(panel), panel.pieces * garments, is_paired)


def _cut_area_cm2(plan: GarmentPlan) -> float:
    """Area of all cut pieces of a size with seam allowance."""
    allowance = marker_value("seam_allowance")
    cut = [_piece(panel) for panel in plan.panels if panel.courses]
    return float(sum(piece.count * piece.cut(allowance).area for piece in cut))


def _length(area_cm2: float, cloth: _Cut) -> Figure:
    """Metres of cloth for a mean piece."""
    share = (1 - cloth.cutting.value) * (1 - cloth.ends.value)
    terms = [
        Term("e", cloth.marker.efficiency, -1),
        Term("w", cloth.ends, cloth.ends.value / (1 - cloth.ends.value)),
    ]
    words = "area of the pieces over the width, what the marker uses and what ends and defects leave"
    value = area_cm2 / cloth.width_cm / CM_PER_M / share
    return power_law("cloth of a piece", value, "m", terms, words=words, formula="A / (width·e·(1−w))")


def _cloth_yarn(fabric: Fabric, area_cm2: float, cloth: _Cut) -> Supply:
    grams = power_law(
        "cloth in a piece",
        area_cm2 / CM2_PER_M2 * fabric.mass.value,
        "g",
        [Term("M", fabric.mass)],
        words="area of the cut pieces with seam allowance by the mass of the cloth",
        formula="A·M",
    )
    return Supply(fabric.yarn.name, grams, (usual_loss("circular_knitting"), cloth.ends, cloth.cutting))


def _with_strips(cloth: Figure, strips: Strips, machine: VBed | None) -> Figure | None:
    """Minutes of cloth and strips together; none without the machine of the strips."""
    flat = strip_minutes(strips, machine) if machine is not None else None
    if machine is None or flat is None:
        return None if machine is None else cloth
    return added_minutes("knitting minutes", [cloth, flat], "cloth on the circular machine, ribs and bands flat")


def _rests_on(study: StyleStudy, name: str, machine: CircularMachine, cloth: _Cut) -> tuple[str, ...]:
    rim = rim_speed_m_per_s(diameter_in=machine.diameter_in, rpm=machine.rpm.value)
    used = per_cent(cloth.marker.efficiency.value)
    return (
        f"an invented machine, “{name}”: {machine.needles} needles, {machine.feeds} feeds, {machine.rpm.value:g} turns "
        f"a minute ({plain(rim, 1)} m/s), its hour priced as that of the style's machine",
        f"cloth {plain(cloth.width_cm, 0)} cm wide, slit open; the marker of the base size, "
        f"{ways_row('garments_in_marker')['value']:g} garments together, uses {used}",
        "other sizes by their cut area; ribs and bands as strips knitted flat to size and overlocked on",
        "cutting, trimming, patterns and marker are assumed by us",
        *dropped_words(study, SAME_WORK),
    )


def _order_of_cloth(study: StyleStudy, length: Figure, machine: CircularMachine, fabric: Fabric) -> tuple[Finding, ...]:
    """What the order asks of the circular machine; a machine set up for little cloth is what a mill refuses."""
    if study.style.order is None:
        return ()
    metres = length.value * study.style.order.pieces
    whole = exact("cloth of the order", metres, "m", words="pieces by the cloth of one")
    hours = machine.minutes_for_length(whole, fabric.geometry.courses_per_cm).value / 60
    pieces = plain(study.style.order.pieces, 0)
    sentence = f"{pieces} pieces take {plain(metres, 0)} m of cloth, {plain(hours, 1)} h of one machine."
    return (Finding(Sign.KNOW, WHERE, sentence, ("ask the mill for its least quantity",), weight=0.1),)
