"""The tables of the sheet, from finished values to cells; no arithmetic of the trade happens here."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence

from loopwright.fabric.fabric import Fabric
from loopwright.fabric.relaxation import allowed_length
from loopwright.figure import Figure, plain
from loopwright.garment.grading import SizeTable
from loopwright.garment.measures import how_to_measure, letter_of_point, tolerance_cm, words_of
from loopwright.garment.sizes import girth_of_size, labels_of_body
from loopwright.makeup.inspection import quality_at_acceptance
from loopwright.makeup.operations import order_of_work
from loopwright.report.blocks import Block, Cell, Steps, Table
from loopwright.shaping.knitdown import Cloth, knit_down
from loopwright.shaping.limits import panels_that_fit_side_by_side
from loopwright.shaping.panel import Work
from loopwright.structure.anatomy import Anatomy
from loopwright.study.knitting import PanelStudy, SizeStudy, cloth_of
from loopwright.study.pricing import Pricing
from loopwright.study.study import StyleStudy
from loopwright.units import whole_parts

_FABRIC_ROWS = (
    ("loop_length_mm", "Loop length"),
    ("wales_per_cm", "Wales, visible"),
    ("courses_per_cm", "Courses, visible"),
    ("needles_per_cm", "Needle places"),
    ("tightness_sqrt_tex_per_cm", "Tightness factor"),
    ("tightness_over_jam", "Tightness over jamming"),
    ("mass_g_per_m2", "Mass"),
    ("thickness_mm", "Thickness at 1 kPa"),
    ("porosity", "Porosity"),
    ("optical_cover", "Optical cover"),
    ("spirality_percent", "Spirality after washing"),
    ("width_stretch_percent", "Width stretch, 2.5 N/cm"),
    ("length_stretch_percent", "Length stretch, 2.5 N/cm"),
    ("width_lock_up_percent", "Width where the yarn locks"),
    ("length_lock_up_percent", "Length where the yarn locks"),
    ("length_change_when_pulled_wide_percent", "Length when pulled 30 % wide"),
    ("length_change_from_dry_percent", "Length change from dry-relaxed"),
    ("width_change_from_dry_percent", "Width change from dry-relaxed"),
    ("side_curl_rank", "Curl of side edges"),
    ("run_risk", "Run risk"),
)


def distinct_fabrics(fabrics: Mapping[str, Fabric]) -> dict[str, Fabric]:
    """Fabrics that differ, under the names of their zones together ("body, sleeve")."""
    zones: dict[tuple[object, ...], list[str]] = {}
    for zone, fabric in fabrics.items():
        zones.setdefault(fabric.identity, []).append(zone)
    return {", ".join(names): fabrics[names[0]] for names in zones.values()}


def fabric_table(study: StyleStudy) -> Table:
    """Figures of every distinct fabric side by side."""
    cloth = distinct_fabrics(study.fabrics)
    head = ("Fabric", *(f"{zones}: {fabric.structure.name}" for zones, fabric in cloth.items()))
    return Table(head, tuple(fabric_rows(list(cloth.values()))))


def fabric_rows(fabrics: Sequence[Fabric | None]) -> Iterator[tuple[Cell, ...]]:
    """A row for every figure that one of these fabrics has; nothing where a fabric is missing."""
    figures = [fabric.figures() if fabric else {} for fabric in fabrics]
    for key, label in _FABRIC_ROWS:
        if any(key in each for each in figures):
            yield (label, *(each.get(key, "") for each in figures))


def behaviour_lines(study: StyleStudy) -> tuple[str, ...]:
    """Curl and runs in words."""
    lines = []
    for zones, fabric in distinct_fabrics(study.fabrics).items():
        run = fabric.run
        lines.append(f"{zones.capitalize()}: {fabric.curl.words}. Unroves {run.unroves}; ladders {run.ladders}.")
    return tuple(lines)


def notation_steps(study: StyleStudy) -> Iterator[Steps]:
    """The needle notation of every structure, lowest feed first."""
    for structure in dict.fromkeys(fabric.structure for fabric in study.fabrics.values()):
        lines = tuple((f"{row}", text) for row, text in enumerate(structure.notation.lines(), start=1))
        gating = f", {structure.notation.gating.value} gating" if structure.anatomy.beds > 1 else ""
        note = (("note", structure.note),) if structure.note else ()
        yield Steps(f"Needles of {structure.name}{gating} (K knit, T tuck, M miss, - out)", (*lines, *note))


def size_table(study: StyleStudy) -> Table:
    """Points of measure of every size, cm, graded and hand-set kept apart, with what other systems call the size."""
    table = study.size_table
    assert table is not None
    rows: list[tuple[Cell, ...]] = []
    hand_set = set()
    for row, name in enumerate(table.names):
        cells = [cm_text(table.value_cm(size, name)) for size in table.sizes]
        hand_set |= {(row, column + 3) for column, size in enumerate(table.sizes) if table.is_hand_set(size, name)}
        rows.append((letter_of_point(name), words_of(name), f"± {tolerance_cm(name):g}", *cells))
    rows += _label_rows(table)
    if counts := pieces_by_size(study):
        rows.append(("", "Order, pieces", "", *(counts[size] for size in table.sizes)))
    return Table(
        ("", "Point of measure, cm", "tolerance", *table.sizes),
        tuple(rows),
        caption="Bold with a bar: set by hand, the grade leaves it alone." if hand_set else "",
        words=(0, 1),
        base=table.sizes.index(table.base_size) + 3,
        hand_set=frozenset(hand_set),
    )


def pieces_by_size(study: StyleStudy) -> dict[str, str]:
    """Whole pieces of every size in the order, as printed; empty without an order or without worked sizes."""
    return {size: plain(count, 0) for size, count in counts_by_size(study).items()}


def counts_by_size(study: StyleStudy) -> dict[str, int]:
    """Whole pieces of every size in the order; empty without an order or without worked sizes."""
    table, order = study.size_table, study.style.order
    if table is None or order is None or not study.shares:
        return {}
    counts = whole_parts(order.pieces, [study.shares.get(size, 0.0) for size in table.sizes])
    return dict(zip(table.sizes, counts, strict=True))


def cm_text(value: float) -> str:
    """Centimetres to the millimetre, a quarter kept ("10.75")."""
    is_quarter = abs(4 * value - round(4 * value)) < 1e-6 and round(4 * value) % 2
    return plain(value, 2 if is_quarter else 1)


def _label_rows(table: SizeTable) -> list[tuple[Cell, ...]]:
    """Body of every size, and its name in other systems."""
    girths = {size: girth_of_size(table.population, size) for size in table.sizes}
    what = {"women": "Body, bust", "men": "Body, chest", "children": "Body, height"}[table.population]
    rows: list[tuple[Cell, ...]] = [("", what, "", *(f"{girth:g}" for girth in girths.values()))]
    labels = {size: labels_of_body(table.population, girth) for size, girth in girths.items()}
    systems = dict.fromkeys(system for each in labels.values() for system in each)
    rows += [
        ("", f"Label, {system}", "", *(labels[size].get(system, "–") for size in table.sizes)) for system in systems
    ]
    return rows


def measuring_lines(study: StyleStudy) -> tuple[tuple[str, str], ...]:
    """How every point is measured, as (letter and name, how)."""
    table = study.size_table
    assert table is not None
    return tuple((f"{letter_of_point(name)} {words_of(name)}", how_to_measure(name)) for name in table.names)


def closing_line(size: SizeStudy) -> str:
    """How the edges of a size close into each other."""
    return " ".join(size.plan.facts)


def exact_line(size: SizeStudy) -> str:
    """What the exact plan gains over the two-rate rule, edge by edge; empty when a classic rule was chosen."""
    return "; ".join(f"{name}: {words}" for name, words in size.plan.compared)


def panel_table(study: StyleStudy, sizes: Sequence[SizeStudy]) -> Table:
    """Needles and courses of every panel in the sizes given."""
    rows: list[tuple[Cell, ...]] = []
    for size in sizes:
        for panel in size.panels:
            plan = panel.plan
            rows.append(
                (
                    f"{size.size} {plan.name}" + (f" × {plan.pieces}" if plan.pieces > 1 else ""),
                    plain(plan.rib_needles, 0),
                    plain(plan.widest, 0),
                    plain(plan.rib_courses, 0),
                    plain(plan.courses, 0),
                    plain(plan.length_cm, 1),
                    plain(panel.grams, 1),
                    plain(panel.timeline.total_s / 60, 1) if panel.timeline else "",
                    _side_by_side(study, panel),
                )
            )
    head = (
        "Panel",
        "start needles",
        "widest",
        "rib courses",
        "main courses",
        "cm long",
        "g",
        "net min",
        "fit on the bed",
    )
    return Table(head, tuple(rows))


def _side_by_side(study: StyleStudy, panel: PanelStudy) -> str:
    machine = study.style.machine
    if machine is None:
        return ""
    fit = panels_that_fit_side_by_side(panel.plan, gauge=machine.gauge, bed_in=machine.bed_in)
    return str(fit) if fit else "bed too narrow"


def knit_down_blocks(study: StyleStudy, size: SizeStudy) -> Iterator[Block]:
    """The knit-down of every panel of a size."""
    for panel in size.panels:
        main, rib = cloth_of(panel.plan, study.fabrics)
        lines = knit_down(panel.plan, rib=cloth(rib), main=cloth(main))
        steps = [(line.label, line.text) for line in lines]
        steps.append(("off machine", _off_machine(panel, main, rib)))
        steps.append(("yarn", f"{plain(panel.grams, 1)} g in one piece, waste yarn not counted"))
        heading = f"Knit-down: {panel.plan.name}, size {size.size}"
        yield Steps(heading, tuple(steps))


def cloth(fabric: Fabric) -> Cloth:
    """A fabric as the knit-down names it."""
    length, structure = fabric.geometry.loop_length_mm.value, fabric.structure
    words = f"{structure.name}, loop {plain(length, 2)} mm"
    return Cloth(words, structure.anatomy.beds, structure.notation.needles, length)


def _off_machine(panel: PanelStudy, main: Fabric, rib: Fabric) -> str:
    """Length and width to look for before washing: finished over (1 + change)."""
    plan = panel.plan
    if not plan.courses:
        change = rib.change_from_dry
        rib_cm = plan.rib_needles / plan.gauge.rib_needles_per_cm
        width = allowed_length(finished=rib_cm, change_percent_signed=change.width_percent.value)
        return f"dry-relaxed about {plain(width, 1)} cm wide"
    change = main.change_from_dry
    length = allowed_length(finished=plan.length_cm, change_percent_signed=change.length_percent.value)
    widest_cm = float(plan.span.max()) / plan.gauge.needles_per_cm
    width = allowed_length(finished=widest_cm, change_percent_signed=change.width_percent.value)
    return f"dry-relaxed about {plain(length, 1)} cm long and {plain(width, 1)} cm wide at the widest"


def stroke_table(size: SizeStudy) -> Table:
    """Seconds of each kind of work by panel, one garment."""
    timed = [(panel.plan, panel.timeline) for panel in size.panels if panel.timeline is not None]
    kinds = [kind for kind in Work if any(kind in timeline.seconds_by_kind() for _, timeline in timed)]
    head = ("Seconds of one garment", *(_times(plan.name, plan.pieces) for plan, _ in timed), "together")
    rows: list[tuple[Cell, ...]] = []
    for kind in kinds:
        each = [plan.pieces * timeline.seconds_by_kind().get(kind, 0.0) for plan, timeline in timed]
        rows.append(
            (kind.words.capitalize(), *(plain(seconds, 0) if seconds else "–" for seconds in each), plain(sum(each), 0))
        )
    totals = [plan.pieces * timeline.total_s for plan, timeline in timed]
    rows.append(("Together", *(plain(seconds, 0) for seconds in totals), plain(sum(totals), 0)))
    return Table(head, tuple(rows), strong=frozenset({len(rows) - 1}))


def _times(name: str, pieces: int) -> str:
    return f"{name} × {pieces}" if pieces > 1 else name


def minutes_by_size(study: StyleStudy) -> Table:
    """Net and standard minutes, yarn and make-up of every size."""
    rows = tuple(
        (size.size, size.net_minutes or "", size.minutes or "", size.grams, size.makeup.total) for size in study.sizes
    )
    return Table(("Size", "net", "with stops", "yarn", "make-up"), rows)


def carrier_lines(study: StyleStudy) -> tuple[str, ...]:
    """Where the carriers of the body are parked, once there are a machine and a body."""
    if study.machine is None or "body" not in study.fabrics:
        return ()
    yarns = study.fabrics["body"].structure.anatomy.yarns
    each = study.machine.carriers if len(yarns) == 1 else 1
    carriers = ", ".join(f"{each} of yarn {yarn}" for yarn in yarns)
    return (f"Carriers in the body: {carriers}, parked at the left; cap, neck split and short rows use one system.",)


def order_lines(study: StyleStudy) -> tuple[str, ...]:
    """Machine hours of the order, and machines and linkers when its days are known."""
    lines = []
    if study.machine_hours is not None and study.style.order is not None:
        pieces = plain(study.style.order.pieces, 0)
        lines.append(f"{pieces} pieces take {study.machine_hours.text()} of machine time.")
    order = study.style.order
    if study.machines is not None and study.linkers is not None and order is not None and order.knitting_days:
        days = plain(order.knitting_days, 0)
        machines, people = study.machines.whole, study.linkers.whole
        lines.append(
            f"In {days} days: {machines} machine{'s' * (machines != 1)} at {order.hours_per_day:g} hours a day, and "
            f"{people} {'people' if people != 1 else 'person'} linking one shift."
        )
    return tuple(lines)


def seam_table(size: SizeStudy) -> Table:
    """Seams with their points or lengths and minutes."""
    rows: list[tuple[Cell, ...]] = [
        (
            f"{number} {each.seam.name.capitalize()}",
            each.seam.method,
            f"{plain(each.seam.amount, 0)} points" if each.seam.points else f"{plain(each.seam.amount, 1)} cm",
            each.seam.code,
            each.seam.seam_class,
            each.minutes,
        )
        for number, each in enumerate(size.makeup.seams, start=1)  # the numbers of the map of seams
    ]
    return Table(
        ("Seam", "how", "amount", "stitch (ISO 4915)", "seam (ISO 4916)", "minutes"), tuple(rows), words=(0, 1)
    )


def order_of_work_line() -> str:
    """The usual flow of work, in one line."""
    return f"Usual order of work: {', '.join(order_of_work())}."


def work_table(size: SizeStudy) -> Table:
    """Operations and groups of make-up."""
    rows: list[tuple[Cell, ...]] = [
        (each.operation.words.capitalize(), each.operation.group, each.minutes) for each in size.makeup.operations
    ]
    rows += [(f"{group.capitalize()}, all", "", minutes) for group, minutes in size.makeup.group_minutes.items()]
    rows.append(("Together", "", size.makeup.total))
    return Table(("Work", "group", "minutes"), tuple(rows), words=(0, 1), strong=frozenset({len(rows) - 1}))


def cost_table(pricing: Pricing) -> Table:
    """The cost sheet, line by line."""
    lines = [line for line in pricing.sheet.lines if line.part == "total" or line.amount.amount]
    rows = tuple((capital(line.words), line.calculation, line.amount.text(), line.figure) for line in lines)
    strong = frozenset(index for index, line in enumerate(lines) if line.part == "total")
    return Table(("A piece", "how", "amount", "spread"), rows, words=(0, 1), strong=strong)


def feeds_per_course(anatomy: Anatomy) -> str:
    """Feeds that lay one visible course, as printed: "1", "1.33", "2"."""
    return plain(anatomy.passes_per_course, 2).rstrip("0").rstrip(".")


def capital(words: str) -> str:
    """Words with a capital first letter; names inside keep theirs."""
    return words[:1].upper() + words[1:]


def break_table(pricing: Pricing) -> Table:
    """Price at other quantities."""
    rows = tuple((plain(each.pieces, 0), each.price.text(), each.figure) for each in pricing.breaks)
    return Table(("Pieces", "FOB", "spread"), rows)


def share_table(pricing: Pricing) -> Table:
    """What carries the spread of the price."""
    rows = tuple(
        (share.words, f"{plain(100 * share.share, 0)} %") for share in pricing.spread.fob.shares if share.share >= 0.01
    )
    return Table(("What carries the spread", "of the variance"), rows)


def price_lines(pricing: Pricing) -> tuple[str, ...]:
    """How sure the price is, said twice: propagated and drawn."""
    straight, drawn = pricing.spread.fob, pricing.drawn.fob
    lines = [
        f"Standard deviation {plain(straight.sd, 2)} propagated and {plain(drawn.sd, 2)} by draws; "
        f"eight in ten between {straight.p10.text()} and {straight.p90.text()}.",
    ]
    if pricing.meets_target is not None:
        lines.append(pricing.meets_target.words)
    lines.append("Rates that you did not give are an invented example; see the assumptions.")
    return tuple(lines)


def yarn_table(study: StyleStudy) -> Table:
    """Every yarn at the needle."""
    rows: list[tuple[Cell, ...]] = []
    for yarn in study.yarns.values():
        counts = yarn.counts()
        rows.append((yarn.name, yarn.count.label, yarn.blend.label, counts["tex"], counts["Nm"], yarn.diameter_mm))
    return Table(("Yarn", "count", "fibre", "at the needle", "metric", "diameter"), tuple(rows), words=(0, 1, 2))


def yarn_order_table(pricing: Pricing) -> Table:
    """Yarn to buy, by colour."""
    rows: tuple[tuple[Cell, ...], ...] = tuple(
        (order.yarn, order.colour, _kg(order.kg), plain(order.cones, 0)) for order in pricing.yarn_orders
    )
    return Table(("Yarn to buy", "colour", "with losses", "cones of 1 kg"), rows, words=(0, 1))


def _kg(figure: Figure) -> Figure:
    return figure


def inspection_table(study: StyleStudy) -> Table:
    """Sampling plans of the final inspection."""
    rows: list[tuple[Cell, ...]] = []
    for name, plan in study.inspection.items():
        worst = quality_at_acceptance(plan.sample_pieces, plan.accept, 0.1)
        how = "every piece" if plan.inspect_all else f"{plan.sample_pieces} pieces"
        caught = f"{plain(100 * worst, 1)} % faulty"
        label = f"{name.capitalize()}, AQL {plan.aql_percent:g}"
        rows.append((label, plan.letter, how, str(plan.accept), str(plan.reject), caught))
    head = ("Final inspection (ISO 2859-1, level II)", "letter", "sample", "accept", "reject", "refused 9 in 10 at")
    return Table(head, tuple(rows))
