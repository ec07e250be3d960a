"""What stands on the leaves of a factory pack, before any format: heads, blocks, drawings, in their fixed order.

In: `StyleStudy`. Out: `Pack`. The blocks are those of every sheet (`report.blocks`), so that a sentence is written
once; prices, rates and targets are left to the cost sheet, which is a pack of its own.
Not covered: the formats (`pages`, `workbook`, `panels_dxf`), issuing, other languages (`language`).
"""

from __future__ import annotations

import re
from collections.abc import Collection, Iterator, Sequence
from dataclasses import dataclass, replace

from loopwright.draw.makeup_map import makeup_map
from loopwright.draw.needles import needle_notation_picture
from loopwright.draw.panel import panels_picture
from loopwright.draw.point_paper import point_paper_picture
from loopwright.draw.running_thread import running_thread_picture
from loopwright.draw.sketch import sketch_picture
from loopwright.fabric.fabric import Fabric
from loopwright.figure import Figure, plain
from loopwright.garment.measures import letter_of_point, words_of
from loopwright.makeup.finishing import usual_finishing, usual_trims
from loopwright.makeup.usual_tests import usual_tests
from loopwright.problems import Finding, Problem, Sign
from loopwright.report import brief, tables
from loopwright.report.blocks import Block, Cautions, Cell, Findings, Lines, Picture, Steps, Table
from loopwright.study.checks import linking_dial
from loopwright.study.knitting import PanelStudy, SizeStudy, cloth_of
from loopwright.study.labels import care_of_style, labels_of
from loopwright.study.study import StyleStudy

OF_MONEY = ("price", "rates", "cost", "targets", "money", "currency", "quantity", "order.price")  # places of the style
OF_TARGETS = ("knitting", "yarn")  # places of findings that tell the developer's own limits
SAYS_MONEY = re.compile(r"\bpric|\bquot|\bFOB\b|\blanded\b|\btarget", re.IGNORECASE)
FILE_WORDS = re.compile(r"\[|\w+ = ")  # what a try says to the one who writes the style's file
RECIPE = (  # what the one who washes writes down, so that the next lot comes out alike
    ("recipe used", "detergent ……… g/l · ……… °C · ……… min · liquor 1 : ……… · tumbler ……… °C, ……… min"),
)
SKETCH_PX, PANEL_PX = 700.0, 440.0
BASIS_FOOT = (
    "M measured · S simulated · P published · C common practice · A assumed: please confirm · no letter: arithmetic or "
    "given. Spread: nine in ten. Lengths in cm on finished, relaxed cloth."
)


@dataclass(frozen=True, slots=True)
class Leaf:
    """A leaf: title, line under the issue, blocks one below the other, blocks that flow in two columns under them.

    `side` stands to the right of the first block.
    """

    title: str
    note: str
    main: tuple[Block, ...]
    flow: tuple[Block, ...] = ()
    side: tuple[Block, ...] = ()


@dataclass(frozen=True, slots=True)
class Pack:
    """A pack as it is printed: the line over every title, the words of its issue, what it replaces, its leaves."""

    title: str
    line: str
    issue: str
    replaces: str
    foot: str
    leaves: tuple[Leaf, ...]
    is_confidential: bool = False


def pack_of(study: StyleStudy) -> Pack:
    """The pack of a study for the factory, without prices.

    Raises:
        Problem: there is no size to knit yet, or something in the style stops it.
    """
    if study.base is None:
        stops = [each.sentence for each in study.findings if each.sign is Sign.STOPS]
        raise Problem(
            "pack",
            "There is no panel to knit yet, so there is nothing to hand over.",
            tries=[each.rstrip(".") for each in stops[:3]] or ["a garment"],
        )
    names = study.size_table.names if study.size_table else ()
    svg, drawn = sketch_picture(study.base.plan.measures, names, width=SKETCH_PX)
    sketch = Picture("sketch", svg)
    leaves = [
        _specification(study, sketch),
        _cloth(study),
        *_panels(study, study.base),
        _knit_downs(study),
        *_sizes(study, sketch, drawn),
        _makeup(study, study.base),
        _finishing(study),
        _open(study),
    ]
    return _bound(study, tuple(leaves))


def cost_pack_of(study: StyleStudy) -> Pack | None:
    """The confidential cost sheet; none while there is no price."""
    pricing = study.pricing
    if pricing is None:
        return None
    told = [each for each in study.findings if is_of_money(each.where, _told(each))]
    assumed = Steps("Taken until you type over", tuple(_assumed(study, of_money=True)))
    blocks: list[Block] = [
        tables.cost_table(pricing),
        tables.break_table(pricing),
        tables.yarn_order_table(pricing),
        tables.share_table(pricing),
        Lines(tables.price_lines(pricing)),
    ]
    if told:
        blocks.append(Findings(tuple(told)))
    leaves = (Leaf("Cost sheet", "confidential, not for the factory", tuple(blocks)), Leaf("Rates", "", (assumed,)))
    return replace(_bound(study, leaves), is_confidential=True)


def _bound(study: StyleStudy, leaves: tuple[Leaf, ...]) -> Pack:
    header = study.style.style
    season, number, name = (in_head(each) for each in (header.season, header.number, header.name))
    parts = [season, f"style {number}", name]
    return Pack(
        title=header.name,
        line=" · ".join(part for part in parts if part),
        issue=f"Version {header.version}",
        replaces="invented example" if header.invented else "",
        foot=BASIS_FOOT,
        leaves=leaves,
    )


LONGEST_IN_HEAD = 60  # signs of a name over the title of every page; a longer one stands whole on the first leaf


def in_head(words: str, most: int = LONGEST_IN_HEAD) -> str:
    """Words as they stand in the head of a page.

    >>> in_head("Night pullover", 8), in_head("Vest", 8)
    ('Night p…', 'Vest')
    """
    return words if len(words) <= most else f"{words[: most - 1]}…"


def is_of_money(where: str, said: str = "") -> bool:
    """Whether a place of the style, or what is said there, is about money or targets, which the factory does not get.

    >>> is_of_money("rates.margin"), is_of_money("yarns.main", "the yarn has no price"), is_of_money("hem", "it rolls")
    (True, True, False)
    """
    return where.startswith(OF_MONEY) or where in OF_TARGETS or SAYS_MONEY.search(said) is not None


def _told(finding: Finding) -> str:
    """All words of a finding."""
    return " ".join((finding.sentence, *finding.tries, finding.consequence))


def _assumed(study: StyleStudy, *, of_money: bool) -> Iterator[tuple[str, str]]:
    """Assumptions as (what, value)."""
    for key, words in study.assumptions.items():
        if is_of_money(key, words) is of_money:
            what, _, value = words.partition(": ")
            place = key.removeprefix("zones.").replace(".", ", ").replace("_", " ")
            of_yarn = key.split(".")[1] if key.startswith("yarns.") and len(study.yarns) > 1 else ""
            yield (f"{of_yarn} {what}".strip(), value) if value else (place, what)


def _specification(study: StyleStudy, sketch: Picture) -> Leaf:
    """Front leaf: the sketch with its letters, the facts of the style, the pieces to knit."""
    facts = [
        Steps(group, tuple((_called(study, what), said) for what, said in pairs if what not in ("Price", "Quoted")))
        for group, pairs in brief.groups(study)
        if group != "Targets"
    ]
    blocks: list[Block] = [sketch, _pieces(study)]
    header = study.style.style
    if cut := [each for each in (header.number, header.name, header.season) if len(each) > LONGEST_IN_HEAD]:
        blocks.append(Lines(tuple(cut)))
    if note := header.note:
        blocks.append(Lines((note,)))
    if urgent := [each for each in _open_findings(study) if each.sign in (Sign.STOPS, Sign.DECIDE)]:
        blocks.append(Findings(tuple(urgent)))
    return Leaf("Specification", f"sizes {_listed(study)}", tuple(blocks), flow=tuple(facts))


MOST_LISTED = 10  # sizes in the head of a page


def _listed(study: StyleStudy) -> str:
    """The sizes in a line: each by its name, or from the first to the last."""
    names = [size.size for size in study.sizes]
    return ", ".join(names) if len(names) <= MOST_LISTED else f"{names[0]}–{names[-1]}"


def _pieces(study: StyleStudy) -> Table:
    """Pieces of the order by colour and size, and the yarn of a piece."""
    order = study.style.order
    sizes = [size.size for size in study.sizes]
    rows: list[tuple[Cell, ...]] = []
    if order is not None and (counts := tables.pieces_by_size(study)):
        rows.append(("Pieces ordered", *(counts[size] for size in sizes)))
    rows.append(("Yarn in a piece, g", *(plain(size.grams.value, 0) for size in study.sizes)))
    base = sizes.index(study.base.size) + 1 if study.base else None
    return Table(("Size", *sizes), tuple(rows), base=base)


def _cloth(study: StyleStudy) -> Leaf:
    """Yarn, gauge and structures."""
    fabrics = tables.fabric_table(study)
    blocks: list[Block] = [
        tables.yarn_table(study),
        _gauge_table(study),
        replace(fabrics, head=tuple(_called(study, each) for each in fabrics.head)),
        Lines(tuple(_called(study, each) for each in tables.behaviour_lines(study))),
    ]
    structures = dict.fromkeys(fabric.structure for fabric in study.fabrics.values())
    for number, structure in enumerate(structures, start=1):
        notation = structure.notation
        blocks += [
            Picture(f"needles-{number}", needle_notation_picture(notation, key=f"pack-needles-{number}")),
            Picture(f"point-{number}", point_paper_picture(notation, key=f"pack-point-{number}")),
            Picture(f"thread-{number}", running_thread_picture(notation, width=500, key=f"pack-thread-{number}")),
        ]
    blocks += list(tables.notation_steps(study))
    return Leaf("Yarn, gauge and structures", "", tuple(blocks))


def _gauge_table(study: StyleStudy) -> Table:
    """What a knitter counts: off the machine (dry-relaxed) and finished, with the length of 50 loops."""
    cloth = tables.distinct_fabrics(study.fabrics)
    machine = study.style.machine
    state = next((each.geometry.state.value for each in cloth.values()), "")
    rows: list[tuple[Cell, ...]] = [
        ("Loop length, mm", *(each.geometry.loop_length_mm for each in cloth.values())),
        ("Length of 50 loops, cm", *(plain(5 * each.geometry.loop_length_mm.value, 1) for each in cloth.values())),
        ("Wales per cm, dry-relaxed", *(_counted(each)[0] for each in cloth.values())),
        ("Courses per cm, dry-relaxed", *(_counted(each)[1] for each in cloth.values())),
        (f"Wales per cm, {state}", *(each.geometry.wales_per_cm for each in cloth.values())),
        (f"Courses per cm, {state}", *(each.geometry.courses_per_cm for each in cloth.values())),
    ]
    if machine is not None:
        rows.insert(0, ("Machine, needles per inch", *(f"E {machine.gauge:g}" for _ in cloth)))
    names = [_called(study, f"{zones}: {each.structure.name}") for zones, each in cloth.items()]
    return Table(("Gauge", *names), tuple(rows))


def _called(study: StyleStudy, words: str) -> str:
    """Words with a zone in them; that of a neckband is the waistband where a garment has a waist and no neck."""
    if study.base is None or all(panel.plan.name != "waistband" for panel in study.base.panels):
        return words
    return words.replace("neckband", "waistband").replace("Neckband", "Waistband")


def _counted(fabric: Fabric) -> tuple[str, str]:
    """Wales and courses per cm in the dry-relaxed state: the finished count times (1 + change on the way)."""
    change, geometry = fabric.change_from_dry, fabric.geometry
    return (
        plain(geometry.wales_per_cm.value * (1 + change.width_percent.value / 100), 1),
        plain(geometry.courses_per_cm.value * (1 + change.length_percent.value / 100), 1),
    )


def _panels(study: StyleStudy, base: SizeStudy) -> Iterator[Leaf]:
    """A leaf a panel: its drawing in the base size, the order of work beside it, its counts in every size."""
    works = [block for block in tables.knit_down_blocks(study, base) if isinstance(block, Steps)]
    seams = [join.name for join in base.plan.joins]
    for index, (panel, work) in enumerate(zip(base.panels, works, strict=True)):
        name = panel.plan.name
        drawn = panels_picture(
            [panel.plan],
            size=base.size,
            wanted=base.plan.wanted,
            seams=seams,
            width=PANEL_PX,
            key=f"pack-panel-{index}",
        )
        counts = _counts(study, name)
        pieces = f"{panel.plan.pieces} pieces a garment" if panel.plan.pieces > 1 else "one piece a garment"
        if panel.plan.pieces > 1 and not panel.plan.is_symmetrical:
            pieces += ", half of them mirrored"
        yield Leaf(
            f"{name.capitalize()}, knit-down",
            f"size {base.size} drawn · {pieces}",
            (Picture(f"panel-{name}", drawn), Steps(f"Order of work, size {base.size}", work.lines), counts),
            side=tuple(_gauge_of(study, panel)),
        )


def _gauge_of(study: StyleStudy, panel: PanelStudy) -> Iterator[Steps]:
    """What a knitter sets and counts for the fabrics of one panel."""
    names = {fabric.identity: zones for zones, fabric in tables.distinct_fabrics(study.fabrics).items()}
    fabrics = {fabric.identity: fabric for fabric in cloth_of(panel.plan, study.fabrics)}
    for identity, fabric in fabrics.items():
        geometry = fabric.geometry
        wales, courses = _counted(fabric)
        lines = [
            ("loop length", _with_letter(geometry.loop_length_mm)),
            ("50 loops", f"{plain(5 * geometry.loop_length_mm.value, 1)} cm"),
            ("dry-relaxed", f"{wales} wales, {courses} courses per cm"),
            (f"wales, {geometry.state.value}", _with_letter(geometry.wales_per_cm)),
            (f"courses, {geometry.state.value}", _with_letter(geometry.courses_per_cm)),
        ]
        if study.style.machine is not None:
            lines.insert(0, ("machine", f"E {study.style.machine.gauge:g}"))
        yield Steps(_called(study, f"{names[identity].capitalize()}: {fabric.structure.name}"), tuple(lines))


def _with_letter(figure: Figure) -> str:
    """A figure in a line of words: value, spread, unit, and the letter of its basis behind it."""
    return f"{figure.text()}{f', {figure.basis.letter}' if figure.basis.letter else ''}"


def _counts(study: StyleStudy, name: str) -> Table:
    """Needles and courses of one panel in every size that has it."""
    whole = tables.panel_table(study, study.sizes)
    panels = [(size.size, panel.plan.name) for size in study.sizes for panel in size.panels]
    rows = [(size, *row[1:]) for (size, each), row in zip(panels, whole.rows, strict=True) if each == name]
    base = study.base.size if study.base else ""
    strong = frozenset(number for number, row in enumerate(rows) if row[0] == base)
    return Table(("Size", *whole.head[1:]), tuple(rows), strong=strong)


def _knit_downs(study: StyleStudy) -> Leaf:
    """The knit-down of every panel in every size."""
    blocks = [block for size in study.sizes for block in tables.knit_down_blocks(study, size)]
    return Leaf("Knit-down of every size", "read from the start upward", (), flow=tuple(blocks))


def _sizes(study: StyleStudy, sketch: Picture, drawn: Collection[str]) -> Iterator[Leaf]:
    """The size specification, and how each point is measured; the points `drawn` stand on the sketch."""
    if study.size_table is None:
        return
    missing = [f"{letter_of_point(name)} {words_of(name)}" for name in study.size_table.names if name not in drawn]
    how = Steps("How each point is measured", tables.measuring_lines(study))
    blocks: list[Block] = [tables.size_table(study), sketch]
    if missing:
        blocks.append(Lines((f"Not drawn, measured as the words say: {', '.join(missing)}.",)))
    blocks.append(how)
    yield Leaf("Size specification", "flat, relaxed, unstretched, closed", tuple(blocks))


def _makeup(study: StyleStudy, base: SizeStudy) -> Leaf:
    """The map of seams with stitch codes and the dial."""
    seams = tables.seam_table(base)
    without_minutes = Table(seams.head[:-1], tuple(row[:-1] for row in seams.rows), words=seams.words)
    work = tables.work_table(base)
    operations = tuple((row[0], row[1]) for row in work.rows[: len(base.makeup.operations)])
    dial = linking_dial(study.style)
    lines = [tables.order_of_work_line(), tables.closing_line(base)]
    if dial:
        lines.insert(0, f"Linking on a dial of {dial:g} points per inch, loop to loop where points are given.")
    garment = study.style.garment
    if garment is not None and garment.neckband_doubled and any(each.plan.name == "neckband" for each in base.panels):
        lines.append("A doubled band is linked over the edge on both sides: class 3 of ISO 4916, bound.")
    return Leaf(
        "Make-up",
        f"size {base.size} · stitch and seam codes of ISO 4915 and 4916",
        (
            Picture("makeup", makeup_map(base.plan.measures, base.seams, width=420, key="pack-makeup")),
            without_minutes,
            Table(("Work", "group"), operations, words=(0, 1)),
            Lines(tuple(line for line in lines if line)),
            _trims(study),
        ),
    )


def _trims(study: StyleStudy) -> Table:
    """What a garment takes beside its panels, and what the developer still has to say about it."""
    garment = study.style.garment
    trims = usual_trims(buttons=garment.buttons, cords=garment.cords) if garment is not None else ()
    rows = tuple((trim.item, str(trim.count), trim.to_state) for trim in trims)
    return Table(("Trims, labels, packing", "a garment", "to be stated"), rows, words=(0, 2))


def _finishing(study: StyleStudy) -> Leaf:
    """State that the measures hold in, label, care, inspection, cautions."""
    state = next(iter(study.fabrics.values())).geometry.state.value if study.fabrics else ""
    labels, care = labels_of(study), care_of_style(study)
    rows = tuple((label.market, label.text) for label in labels.labels)
    blocks: list[Block] = [
        Steps(
            f"Finishing ({care.family}; common practice until your own recipe replaces it)",
            (
                ("state", f"all finished measures hold for {state} cloth: relax or wash a test piece to it first"),
                *usual_finishing(care.family),
                *RECIPE,
            ),
        ),
        Table(("Fibre label", "words and whole per cents of the conditioned mass"), rows, words=(0, 1)),
        Lines(
            (*labels.remarks, "Labels and care are drafts: the law of the market and the tests of the garment decide.")
        ),
    ]
    blocks.append(Steps(f"Usual care ({care.family}; words of ISO 3758, no symbols)", care.lines))
    head = ("Tests (common practice; your buyer's limits come first)", "method", "floor")
    blocks.append(Table(head, usual_tests(), words=(0, 1, 2)))
    if study.inspection:
        blocks.append(tables.inspection_table(study))
    if study.cautions:
        blocks.append(Cautions(study.cautions))
    return Leaf("Finishing, label, tests, cautions", "", tuple(blocks))


def findings_for_the_factory(study: StyleStudy) -> tuple[Finding, ...]:
    """All findings but those about money, targets and what the style's author has not said."""
    return tuple(
        each for each in study.findings if each.where != "assumptions" and not is_of_money(each.where, _told(each))
    )


def _open_findings(study: StyleStudy) -> tuple[Finding, ...]:
    """What is still to be settled with the factory; what only the style's author can do is left out."""
    return tuple(
        replace(
            each,
            where=each.where.replace(".", ", ").replace("_", " "),
            tries=tuple(words for words in each.tries if not FILE_WORDS.search(words)),
        )
        for each in findings_for_the_factory(study)
        if each.sign is not Sign.HOLDS and each.where.partition(".")[0] not in ("garment", "order")
    )


def _open(study: StyleStudy) -> Leaf:
    """Open points and what was taken without being told."""
    findings = _open_findings(study)
    blocks: list[Block] = [Findings(findings)] if findings else [Lines(("Nothing is open.",))]
    taken: Sequence[tuple[str, str]] = tuple(_assumed(study, of_money=False))
    if taken:
        blocks.append(Steps("Taken without being told: please confirm", tuple(taken)))
    return Leaf("Open points", "please answer each", tuple(blocks))
