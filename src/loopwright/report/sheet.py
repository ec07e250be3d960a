"""What the sheet says, before any format: a lede, sections, tables, findings, pictures.

In: `StyleStudy`. Out: `Sheet`, made of a few plain blocks that the terminal and the page both show, so that a sentence
is written once. Numbers stay `Figure`s here; the formats print them with value, spread and basis.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass

from loopwright.figure import Figure, plain
from loopwright.figure import shown as shown_value
from loopwright.problems import Sign
from loopwright.report import brief, notes, tables
from loopwright.report.blocks import Block, Cautions, Findings, Lines, Picture, Section, Sentence, Steps, Table
from loopwright.report.simulated import simulated_tables
from loopwright.report.ways import ways_section
from loopwright.study.checks import chance_words, linking_dial
from loopwright.study.knitting import SizeStudy
from loopwright.study.study import StyleStudy
from loopwright.study.ways.way import Way


@dataclass(frozen=True, slots=True)
class Sheet:
    """A whole study as it is read: heading, brief at the side, lede, sections in their fixed order."""

    title: str
    subtitle: str
    brief: tuple[tuple[str, tuple[tuple[str, str], ...]], ...]
    lede: Sentence
    under_lede: tuple[Block, ...]
    sections: tuple[Section, ...]
    foot: str


def sheet_of(
    study: StyleStudy,
    *,
    pictures: Mapping[str, str] | None = None,
    every_size: bool = False,
    size: str = "",
    ways: Sequence[Way] = (),
) -> Sheet:
    """The sheet of a study.

    `pictures` are SVG texts by name; a format that shows none leaves them out. `every_size` adds the knit-down of
    every size to that of the shown one, which is `size` or the base size. `ways` are the ways of making it, when they
    were asked for.
    """
    header = study.style.style
    parts = [header.season, f"style {header.number}", f"version {header.version}"]
    if header.invented:
        parts.append("invented example")
    shown = Shown(study, shown_size(study, size), dict(pictures or {}), bool(size), tuple(ways))
    sections = [section for make in _MAKERS if (section := make(shown)) is not None]
    if every_size and len(study.sizes) > 1:
        sections.append(_other_knit_downs(shown))
    under = (Picture("line", shown.pictures["line"]),) if "line" in shown.pictures else ()
    return Sheet(
        title=header.name,
        subtitle=" · ".join(part for part in parts if part),
        brief=brief.groups(study),
        lede=lede(study),
        under_lede=under,
        sections=tuple(sections),
        foot=FOOT,
    )


def shown_size(study: StyleStudy, size: str = "") -> SizeStudy | None:
    """The size whose panels, minutes and seams are shown: the one asked for, else the base size."""
    return next((each for each in study.sizes if each.size == size), study.base)


@dataclass(frozen=True, slots=True)
class Shown:
    """What a sheet is made from: the study, the size on show, and the pictures that were drawn."""

    study: StyleStudy
    size: SizeStudy | None
    pictures: Mapping[str, str]
    only_size: bool = False
    ways: tuple[Way, ...] = ()

    def drawn(self, *names: str) -> list[Block]:
        """The pictures of these names that there are."""
        return [Picture(name, self.pictures[name]) for name in names if name in self.pictures]


EMPTY = "No yarn yet. Name one, and the fabric, the panels and the price appear."

FOOT = (
    "Spread: nine cases in ten. M measured, S simulated, P published, C common practice, A assumed; "
    "no letter: arithmetic, or typed by you."
)


def lede(study: StyleStudy) -> Sentence:
    """One or two sentences that carry the answer."""
    parts: list[str | Figure] = []
    block = study.style.garment.block if study.style.garment else "piece"
    garment = block.rpartition(" ")[2]
    if study.pricing is not None:
        pieces = plain(study.pricing.sheet.pieces, 0)
        parts += [f"At {pieces} pieces this {garment} costs ", study.pricing.sheet.fob.figure, " free on board. "]
    if study.minutes is not None and study.grams is not None:
        parts += ["It takes ", study.minutes, " of machine time and ", study.grams, " of yarn."]
    elif study.grams is not None:
        parts += ["It takes ", study.grams, " of yarn."]
    chance = study.pricing.drawn.fob.chance if study.pricing else None
    if chance is not None and study.style.targets.price is not None:
        target = plain(study.style.targets.price, 2)
        parts.append(f" Your target of {target} is met in {chance_words(chance)}.")
    if not parts and "body" in study.fabrics:
        fabric = study.fabrics["body"]
        parts += [f"{fabric.structure.name.capitalize()} of this yarn weighs ", fabric.mass, "."]
    if not parts and study.yarns:
        parts.append("There is a yarn and no fabric of it yet; what stops it stands below.")
    elif not parts:
        said = "The yarn cannot be read; see what stops it." if study.style.yarns else EMPTY
        parts.append(said)
    return Sentence(tuple(parts))


def _findings(shown: Shown) -> Section | None:
    findings = shown.study.findings
    if not findings:
        return None
    counts = {sign: sum(finding.sign is sign for finding in findings) for sign in Sign}
    words = {Sign.STOPS: "stop", Sign.DECIDE: "to decide", Sign.KNOW: "to know", Sign.HOLDS: "hold"}
    tally = " · ".join(f"{count} {words[sign]}" for sign, count in counts.items() if count)
    return Section("findings", "What needs you", tally, (Findings(findings),), short=str(len(findings)))


def _fabric(shown: Shown) -> Section | None:
    study = shown.study
    if not study.fabrics:
        return None
    cloth = tables.distinct_fabrics(study.fabrics)
    drawn = [name for name in shown.pictures if name.startswith(("cloth-", "curl-", "cut-"))]
    diagrams = [name for name in shown.pictures if name.startswith(("needles-", "point-", "thread-"))]
    blocks = [
        *shown.drawn(*drawn),
        tables.fabric_table(study),
        *simulated_tables(cloth, study.making.cloth.simulations),
        Lines(tables.behaviour_lines(study)),
        *shown.drawn(*diagrams),
        *tables.notation_steps(study),
    ]
    first = next(iter(cloth.values()))
    return Section(
        "fabric",
        "Fabric",
        f"{first.geometry.state.value.replace('-', ' ')} · {notes.known_as(list(first.figures().values()))}",
        tuple(blocks),
        notes=notes.fabric_notes(study),
        short=f"{shown_value(first.mass)} {first.mass.unit}",
    )


def _sizes(shown: Shown) -> Section | None:
    table = shown.study.size_table
    if table is None:
        return None
    how = Steps("How each point is measured", tables.measuring_lines(shown.study))
    count = sum(table.is_hand_set(size, name) for size in table.sizes for name in table.names)
    set_here = f"{count} cell{'s' * (count != 1)} set by hand · " if count else ""
    tally = f"{set_here}graded from {table.base_size}"
    blocks = (tables.size_table(shown.study), how)
    return Section("sizes", "Sizes", tally, blocks, notes.size_notes(shown.study), short=str(len(table.sizes)))


def _panels(shown: Shown) -> Section | None:
    size = shown.size
    if size is None:
        return None
    blocks = [
        *shown.drawn("panels"),
        tables.panel_table(shown.study, [size] if shown.only_size else shown.study.sizes),
        *tables.knit_down_blocks(shown.study, size),
    ]
    real = plain(size.plan.first.length_cm, 1)
    tally = f"size {size.size} · real length {real} cm · to scale"
    count = sum(panel.plan.pieces for panel in size.panels)
    return Section("panels", "Panels", tally, tuple(blocks), notes.panel_notes(shown.study, size), short=str(count))


def _other_knit_downs(shown: Shown) -> Section:
    sizes = [size for size in shown.study.sizes if size is not shown.size]
    blocks = [block for size in sizes for block in tables.knit_down_blocks(shown.study, size)]
    return Section("others", "Knit-down of the other sizes", ", ".join(size.size for size in sizes), tuple(blocks))


def _minutes(shown: Shown) -> Section | None:
    study, size = shown.study, shown.size
    if size is None or size.net_minutes is None or size.minutes is None or size.strokes is None:
        return None
    blocks = [*shown.drawn("strokes"), tables.stroke_table(size), tables.minutes_by_size(study)]
    tally = (
        f"size {size.size} · net {plain(size.net_minutes.value, 1)} min · with stops {plain(size.minutes.value, 1)} · "
        f"{plain(size.strokes.traverses, 0)} traverses"
    )
    short = shown_value(study.minutes) if study.minutes else ""
    return Section("minutes", "Minutes", tally, tuple(blocks), notes.minute_notes(study, size), short=short)


def _makeup(shown: Shown) -> Section | None:
    size = shown.size
    if size is None:
        return None
    blocks = [
        *shown.drawn("makeup"),
        tables.seam_table(size),
        tables.work_table(size),
        Lines((tables.order_of_work_line(),)),
    ]
    dial = linking_dial(shown.study.style)
    linked = f" · {dial:g}-point dial" if dial else ""
    tally = f"size {size.size} · {size.makeup.total.text()}{linked}"
    short = shown_value(size.makeup.total)
    return Section("makeup", "Make-up", tally, tuple(blocks), notes.makeup_notes(shown.study, size), short=short)


def _price(shown: Shown) -> Section | None:
    pricing = shown.study.pricing
    if pricing is None:
        return None
    blocks = [
        *shown.drawn("bar", "curve", "shares"),
        tables.cost_table(pricing),
        tables.break_table(pricing),
        tables.share_table(pricing),
        Lines(tables.price_lines(pricing)),
    ]
    sheet = pricing.sheet
    tally = f"FOB {sheet.fob.amount.text()} · landed {sheet.landed.amount.text()}"
    short = plain(sheet.fob.figure.value, 2)
    return Section("price", "Price", tally, tuple(blocks), notes.price_notes(shown.study, pricing), short=short)


def _ways(shown: Shown) -> Section | None:
    return ways_section(shown.study, shown.ways)


def _yarn(shown: Shown) -> Section | None:
    study = shown.study
    if not study.yarns:
        return None
    blocks: list[Block] = [tables.yarn_table(study)]
    if study.pricing is not None:
        blocks.append(tables.yarn_order_table(study.pricing))
    return Section("yarn", "Yarn", "", tuple(blocks), short=str(len(study.yarns)))


def _checks(shown: Shown) -> Section | None:
    study = shown.study
    blocks: list[Block] = []
    if study.inspection:
        blocks.append(tables.inspection_table(study))
    if study.cautions and study.sizes:
        blocks.append(Cautions(study.cautions))
    short = str(len(study.cautions)) if study.cautions and study.sizes else ""
    return Section("checks", "Checks and cautions", "", tuple(blocks), short=short) if blocks else None


def _assumptions(shown: Shown) -> Section | None:
    assumed = shown.study.assumptions
    if not assumed:
        return None
    table = Table(
        ("Field of the style", "Taken as"),
        tuple(assumed.items()),
        caption="Type over any of them and it becomes yours.",
    )
    tally = f"{len(assumed)} value{'s are' if len(assumed) != 1 else ' is'} ours"
    return Section("assumptions", "Assumptions", tally, (table,), short=str(len(assumed)))


_MAKERS: tuple[Callable[[Shown], Section | None], ...] = (
    _findings, _fabric, _sizes, _panels, _minutes, _makeup, _price, _ways, _yarn, _checks, _assumptions,
)  # fmt: skip
