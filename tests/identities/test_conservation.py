"""Nothing is lost between needle notation and price: yarn, courses, seconds, area, money and variance are conserved.

Invented styles that differ in body, gauge, structure, fibre, number of yarns, systems and size mix. Tolerances: none
where things are counted, binary noise where they are added, the cent where they are money; others stand beside.
"""

from dataclasses import replace
from decimal import Decimal
from functools import cache
from itertools import pairwise
from math import prod

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import Polygon, box

from loopwright.cost.yarn_purchase import usual_loss, usual_losses
from loopwright.machine.minutes import slopes
from loopwright.machine.timeline import panel_timeline
from loopwright.problems import Sign
from loopwright.shaping.outline import real_outline
from loopwright.shaping.panel import BindOff, Work
from loopwright.sources.table import table
from loopwright.study.study import StyleStudy, study_style
from loopwright.study.style import read_style

STYLES = {
    "plain, women, fine merino": {
        "yarns": {"main": {"count": "2/30 Nm", "fibres": {"merino": 100}, "price_per_kg": 29.5}},
        "zones": {
            "body": {"structure": "plain", "loop_length_mm": 6.15},
            "hem": {"structure": "2x1 rib", "loop_length_mm": 5.6},
        },
        "garment": {"sizes": ["XS", "S", "M", "L", "XL"]},
        "machine": {"gauge": 12},
        "order": {
            "pieces": 641,
            "size_mix": {"XS": 1, "S": 2, "M": 4, "L": 2, "XL": 1},
            "colours": [{"name": "night", "share": 2}, {"name": "signal", "share": 1}],
        },
        "targets": {"price": 20},
    },
    "full cardigan, men, 7 gauge": {
        "yarns": {"main": {"count": "2/12 Nm", "fibres": {"wool": 100}, "price_per_kg": 21}},
        "zones": {"body": {"structure": "full cardigan"}, "hem": {"structure": "rib-1x1"}},
        "garment": {"population": "men", "sizes": ["S", "M", "L", "XL"], "fit": "loose"},
        "machine": {"gauge": 7, "bed_in": 84},
        "order": {"pieces": 200, "size_mix": {"S": 10, "M": 30, "L": 40, "XL": 20}},
    },
    "interlock, women, cotton on three systems": {
        "yarns": {"main": {"count": "Ne 30/2", "fibres": {"cotton": 100}, "price_per_kg": 12, "knitting_loss": 0.08}},
        "zones": {"body": {"structure": "interlock"}, "hem": {"structure": "rib-1x1"}},
        "garment": {"sizes": ["S", "M", "L"]},
        "machine": {"gauge": 14, "systems": 3},
        "order": {"pieces": 1000},
        "construction": {"fashioning": "line"},
    },
    "bird's-eye, women, ribs of another yarn": {
        "yarns": {
            "main": {"count": "2/36 Nm", "fibres": {"wool": 100}, "price_per_kg": 24},
            "rib": {"count": "2/28 Nm", "fibres": {"wool": 80, "nylon": 20}, "price_per_kg": 18},
        },
        "zones": {
            "body": {"structure": "birdseye-2", "yarn": "main"},
            "hem": {"structure": "rib-2x2", "yarn": "rib"},
        },
        "garment": {"sizes": ["M", "L"]},
        "machine": {"gauge": 12},
        "order": {"pieces": 150},
    },
    "purl, one oversized size on one system": {
        "yarns": {"main": {"count": "2/16 Nm", "fibres": {"alpaca": 50, "wool": 50}, "price_per_kg": 33}},
        "zones": {"body": {"structure": "purl-1x1"}, "hem": {"structure": "purl-1x1"}},
        "garment": {"sizes": ["92"], "fit": "oversized"},
        "machine": {"gauge": 7, "systems": 1},
        "order": {"pieces": 80},
        "construction": {"fashioning": "two-rate, short first"},
    },
    "tuck mesh, women, four feeds for three courses": {
        "yarns": {"main": {"count": "Ne 20/2", "fibres": {"cotton": 60, "viscose": 40}, "price_per_kg": 9}},
        "zones": {"body": {"structure": "tuck-mesh"}, "hem": {"structure": "rib-1x1"}},
        "garment": {"sizes": ["S", "M"]},
        "machine": {"gauge": 10, "systems": 2},
        "order": {"pieces": 60},
    },
    "full Milano, children": {
        "yarns": {"main": {"count": "Nm 2/40", "fibres": {"acrylic": 100}, "price_per_kg": 8}},
        "zones": {"body": {"structure": "full-milano"}, "hem": {"structure": "rib-3x1"}},
        "garment": {"population": "children", "sizes": ["98", "104", "110", "116"]},
        "machine": {"gauge": 12},
        "order": {"pieces": 500},
    },
}

every_style = pytest.mark.parametrize("name", STYLES)


@cache
def studied(name: str) -> StyleStudy:
    study = study_style(read_style(STYLES[name]))
    stopped = [finding.sentence for finding in study.findings if finding.sign is Sign.STOPS]
    assert not stopped
    assert study.pricing is not None
    return study


@every_style
def test_yarn_of_the_panels_is_the_mass_of_the_size(name):
    for size in studied(name).sizes:
        panels = sum(panel.plan.pieces * panel.grams for panel in size.panels)
        assert size.grams.value == pytest.approx(panels, rel=1e-12)
        assert sum(part.value for part in size.grams_by_yarn.values()) == pytest.approx(panels, rel=1e-12)


@every_style
def test_grams_are_metres_times_count(name):
    study = studied(name)
    for size in study.sizes:
        for panel in size.panels:
            for zone in panel.yarn:
                tex = study.fabrics[zone.zone].yarn.tex.value
                assert zone.grams == pytest.approx(sum(zone.metres.values()) * tex / 1000, rel=1e-12)


@every_style
def test_yarn_by_loops_is_yarn_by_area(name):
    """Loops of the knit-down × their yarn, against g/m² × the area those loops lie in."""
    study = studied(name)
    for size in study.sizes:
        for panel in size.panels:
            for zone in panel.yarn:
                fabric = study.fabrics[zone.zone]
                density = fabric.geometry.needles_per_cm.value * fabric.geometry.courses_per_cm.value
                assert zone.grams == pytest.approx(fabric.mass.value * zone.loops / density / 1e4, rel=1e-9)


@every_style
def test_main_fabric_covers_the_area_of_its_loops(name):
    """The stair of the real outline, measured by shapely: loops over the loops per cm²."""
    for size in studied(name).sizes:
        for panel in size.panels:
            plan = panel.plan
            if not plan.courses:
                continue
            outline = Polygon(real_outline(plan).whole)
            assert outline.is_valid
            above_rib = outline.intersection(box(-500, plan.rib_length_cm, 500, 500)).area
            assert above_rib == pytest.approx(plan.loops / plan.gauge.needles_per_cm / plan.gauge.courses_per_cm)


@every_style
def test_rib_covers_the_area_of_its_loops(name):
    for size in studied(name).sizes:
        for panel in size.panels:
            plan = panel.plan
            outline = Polygon(real_outline(plan).whole)
            rib = outline.intersection(box(-500, 0, 500, plan.rib_length_cm)).area
            gauge = plan.gauge
            assert rib == pytest.approx(plan.rib_loops / gauge.rib_needles_per_cm / gauge.rib_courses_per_cm)


@every_style
def test_yarn_bought_less_its_losses_is_the_yarn_in_a_mean_piece(name):
    """With the linking yarn, which is the first yarn of the garment."""
    study = studied(name)
    linking = table("loopwright.study", "linking_yarn").by("use")["linking"]["grams"]
    assert sum(study.shares.values()) == pytest.approx(1)
    for line in study.pricing.inputs.piece.yarn_lines:
        loss = next((spec.knitting_loss for spec in study.style.yarns.values() if spec.knitting_loss is not None), None)
        losses = [each.value for each in usual_losses("fully fashioned")]
        left = prod(1 - share for share in [loss or losses[0], *losses[1:]])
        worn = sum(study.shares[size.size] * size.grams_by_yarn[line.name].value for size in study.sizes)
        worn += linking if line is study.pricing.inputs.piece.yarn_lines[0] else 0.0
        assert 1000 * line.kg.value * left == pytest.approx(worn, rel=1e-9)


@every_style
def test_yarn_orders_of_all_colours_are_the_yarn_of_all_pieces(name):
    study = studied(name)
    over = 1 + usual_loss("over_order").value
    for line in study.pricing.inputs.piece.yarn_lines:
        ordered = sum(order.kg.value for order in study.pricing.yarn_orders if order.yarn == line.name)
        assert ordered == pytest.approx(study.style.order.pieces * line.kg.value * over, rel=1e-9)
        assert all(order.cones >= order.kg.value - 1e-6 for order in study.pricing.yarn_orders)


@every_style
def test_minutes_are_the_strokes_over_the_running_share(name):
    study = studied(name)
    for size in study.sizes:
        seconds = sum(panel.plan.pieces * float(panel.timeline.seconds.sum()) for panel in size.panels)
        assert size.net_minutes.value == pytest.approx(seconds / 60, rel=1e-12)
        assert size.minutes.value == pytest.approx(seconds / 60 / study.machine.running_share.value, rel=1e-12)


@every_style
def test_every_stroke_is_its_way_over_its_speed_and_its_reversal(name):
    study = studied(name)
    machine = study.machine
    for size in study.sizes:
        for panel in size.panels:
            walked = panel.timeline
            moving = walked.speed_m_per_s > 0
            way_m = walked.needles * 0.0254 / machine.gauge + machine.overrun.value
            strokes = np.where(moving, way_m / np.where(moving, walked.speed_m_per_s, 1) + machine.reversal.value, 0.0)
            assert walked.seconds == pytest.approx(strokes + walked.racks * machine.rack.value + walked.still_s)


@every_style
@pytest.mark.parametrize("setting", ["overrun", "reversal", "rack"])
def test_a_slope_of_the_seconds_is_what_a_changed_setting_costs(name, setting):
    """Exact, for the seconds are linear in these settings: each piece walked again on the changed machine."""
    study = studied(name)
    step = 0.125
    now = getattr(study.machine, setting)
    changed = replace(study.machine, **{setting: replace(now, value=now.value + step)})
    for size in study.sizes:
        for panel in size.panels:
            main, rib = (study.fabrics[zone].structure for zone in (panel.plan.zone, panel.plan.rib_zone))
            longer = panel_timeline(panel.plan, main, rib, changed).total_s - panel.timeline.total_s
            slope = getattr(slopes(panel.timeline, study.machine), f"per_{setting}")
            assert slope * step == pytest.approx(longer, abs=1e-9)


@every_style
def test_one_traverse_more_in_every_narrowing_takes_the_slope_of_the_narrowings(name):
    """A narrowing has three traverses in the table, so the fourth takes a third of what the three take."""
    study = studied(name)
    for size in study.sizes:
        for panel in size.panels:
            walked = panel.timeline
            travel = walked.seconds - walked.racks * study.machine.rack.value
            three = sum(travel[walked.kind == Work.NARROWING])
            found = slopes(walked, study.machine)
            assert found.per_narrowing_traverse == pytest.approx(three / 3)
            assert found.per_bind_off_move == pytest.approx(2 * sum(bound.needles for bound in panel.plan.bind_offs))


@every_style
def test_seconds_of_all_kinds_of_work_are_the_seconds_of_the_piece(name):
    for size in studied(name).sizes:
        for panel in size.panels:
            walked = panel.timeline
            assert sum(walked.seconds_by_kind().values()) == pytest.approx(walked.total_s, rel=1e-12)
            stretches = walked.stretches()
            assert stretches[0][1] == 0
            assert stretches[-1][2] == pytest.approx(walked.total_s, rel=1e-12)
            assert all(first[2] == second[1] for first, second in pairwise(stretches))


@every_style
def test_feeds_laid_are_the_courses_times_the_passes_of_the_structure(name):
    """A split neck on one system lays both halves one after the other, so its courses count twice."""
    study = studied(name)
    for size in study.sizes:
        for panel in size.panels:
            plan = panel.plan
            main, rib = (study.fabrics[zone].structure.anatomy for zone in (plan.zone, plan.rib_zone))
            halves = int(np.count_nonzero(plan.work == Work.SPLIT)) if study.machine.systems == 1 else 0
            wanted = round((plan.courses + halves) * main.passes_per_course)
            wanted += round(plan.rib_courses * rib.passes_per_course)
            assert int(panel.timeline.feeds.sum()) == wanted


@every_style
def test_needles_after_the_last_event_are_the_planned_ones(name):
    for size in studied(name).sizes:
        shoulders = next(join for join in size.plan.joins if join.name == "shoulders").points
        for name in ("back", "front"):
            panel = size.plan.panel(name)
            armhole, measures = panel.section("armhole"), size.plan.measures
            across = int(panel.span[armhole.start + armhole.courses - 1])
            assert abs(across - measures["across_shoulder"] * panel.gauge.needles_per_cm) <= 1 + 1e-9
            assert int(panel.span[0]) == panel.rib_needles
            assert abs(panel.rib_needles - measures["half_chest"] * panel.gauge.needles_per_cm) <= 1 + 1e-9
            assert across == panel.neck_needles + 2 * shoulders
        sleeve, steps = size.plan.panel("sleeve"), size.plan.panel("sleeve").fashioning("cap").steps
        upper, (off,) = sleeve.section("sleeve"), sleeve.bind_offs or (BindOff(0, 0, 0),)
        slope = sum(step.times * step.needles for step in steps)
        assert int(sleeve.span[upper.courses - 1]) == off.needles + 2 * slope + sleeve.finish_needles
        shaped = sum(step.times * step.courses for step in steps)
        at_the_end = steps[-1].needles if shaped == sleeve.section("cap").courses else 0
        assert int(sleeve.span[-1]) - 2 * at_the_end == sleeve.finish_needles
        assert shaped <= sleeve.section("cap").courses


@every_style
def test_front_and_back_meet_course_for_course(name):
    for size in studied(name).sizes:
        back, front = size.plan.panel("back"), size.plan.panel("front")
        assert back.courses == front.courses
        assert back.rib_courses == front.rib_courses
        assert back.sections == front.sections
        assert np.array_equal(back.span, front.span)


@every_style
def test_cap_eases_into_its_armholes_or_a_finding_says_so(name):
    study = studied(name)
    for size in study.sizes:
        told = any(finding.where.startswith("sleeve cap") for finding in study.findings)
        assert all(closure.closes for closure in size.plan.closures) or told


@every_style
def test_cost_lines_add_to_their_totals_to_the_cent(name):
    sheet = studied(name).pricing.sheet

    def added(part: str) -> Decimal:
        return sum((line.amount.amount for line in sheet.lines if line.part == part), Decimal(0))

    direct, cost, fob, landed = (sheet[key].amount.amount for key in ("direct", "cost", "fob", "landed"))
    assert added("direct") == direct
    assert direct + added("overhead") == cost
    assert cost + added("price") == fob
    assert fob + added("landed") == landed


@every_style
def test_shares_of_the_variance_add_to_one(name):
    pricing = studied(name).pricing
    for spread in (pricing.spread, pricing.drawn):
        for price in (spread.direct, spread.fob):
            assert sum(each.share for each in price.shares) == pytest.approx(1)
            assert [each.share for each in price.shares] == sorted((each.share for each in price.shares), reverse=True)


@every_style
def test_shares_of_a_derived_figure_never_pass_one(name):
    """Where the formula itself has a spread, its inputs carry less than all of it."""
    study = studied(name)
    size = study.sizes[0]
    fabrics = [figure for fabric in study.fabrics.values() for figure in fabric.figures().values()]
    for figure in [*fabrics, size.minutes, size.net_minutes, size.grams, size.makeup.total, study.machine_hours]:
        assert sum(each.share for each in figure.why.inputs) <= 1 + 1e-9
        assert figure.low <= figure.value <= figure.high, figure.name


@every_style
def test_propagated_and_drawn_spread_agree(name):
    """Standard deviations within 15 %: products of wide inputs bend the drawn price alone."""
    pricing = studied(name).pricing
    for price in ("direct", "fob"):
        straight, drawn = getattr(pricing.spread, price), getattr(pricing.drawn, price)
        assert straight.sd == pytest.approx(drawn.sd, rel=0.15)
        assert straight.figure.value == pytest.approx(drawn.figure.value, rel=0.02)


@every_style
def test_quantity_breaks_lie_on_the_law_of_the_sheet(name):
    pricing = studied(name).pricing
    assert float(pricing.law.price(pricing.sheet.pieces).amount) == pytest.approx(
        float(pricing.sheet.fob.amount.amount), abs=0.011
    )


@settings(deadline=None, max_examples=12)
@given(name=st.sampled_from(sorted(STYLES)), pieces=st.integers(1, 500_000))
def test_twice_the_pieces_never_raises_the_price(name, pieces):
    document = STYLES[name]
    few, many = (
        study_style(read_style({**document, "order": {**document["order"], "pieces": count}}))
        for count in (pieces, 2 * pieces)
    )
    assert many.pricing.sheet.fob.amount.amount <= few.pricing.sheet.fob.amount.amount
    assert many.pricing.sheet.fob.figure.value <= few.pricing.sheet.fob.figure.value


@every_style
def test_the_same_style_gives_the_same_study(name):
    """One seed, no clock: every figure comes out alike."""
    first, second = studied(name), study_style(read_style(STYLES[name]))
    assert first.pricing.drawn.fob == second.pricing.drawn.fob
    assert first.findings == second.findings
    assert first.grams == second.grams
