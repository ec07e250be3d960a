"""What the sheet says, before any format: a lede, sections, tables, findings, pictures.

In: `StyleStudy`. Out: `Sheet`, made of a few plain blocks that the terminal and the page both show, so that a sentence
is written once. Numbers stay `Figure`s here; the formats print them with value, spread and basis.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass

from loopwright.figure import Figure, plain
from loopwright.problems import Sign
from loopwright.report import brief, tables
from loopwright.report.blocks import Block, Cautions, Findings, Lines, Picture, Section, Sentence, Steps, Table
from loopwright.study.checks import chance_words, linking_dial
from loopwright.study.study import StyleStudy


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


def sheet_of(study: StyleStudy, *, pictures: Mapping[str, str] | None = None, every_size: bool = False) -> Sheet:
    """The sheet of a study.

    `pictures` are SVG texts by name; a format that shows none leaves them out. `every_size` adds the knit-down of
    every size to that of the base size.
    """
    header = study.style.style
    drawn = dict(pictures or {})
    parts = [header.season, f"style {header.number}", f"version {header.version}"]
    if header.invented:
        parts.append("invented example")
    makers: Sequence[Callable[[StyleStudy, Mapping[str, str]], Section | None]] = (
        _findings, _fabric, _sizes, _panels, _minutes, _makeup, _price, _yarn, _checks, _assumptions,
    )  # fmt: skip
    sections = [section for make in makers if (section := make(study, drawn)) is not None]
    if every_size and len(study.sizes) > 1:
        sections.append(_other_knit_downs(study))
    under = (Picture("line", drawn["line"]),) if "line" in drawn else ()
    return Sheet(
        title=header.name,
        subtitle=" · ".join(part for part in parts if part),
        brief=brief.groups(study),
        lede=lede(study),
        under_lede=under,
        sections=tuple(sections),
        foot=FOOT,
    )


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


def _findings(study: StyleStudy, _: Mapping[str, str]) -> Section | None:
    if not study.findings:
        return None
    counts = {sign: sum(finding.sign is sign for finding in study.findings) for sign in Sign}
    words = {Sign.STOPS: "stop", Sign.DECIDE: "to decide", Sign.KNOW: "to know", Sign.HOLDS: "hold"}
    tally = " · ".join(f"{count} {words[sign]}" for sign, count in counts.items() if count)
    return Section("What needs you", tally, (Findings(study.findings),))


def _fabric(study: StyleStudy, _: Mapping[str, str]) -> Section | None:
    if not study.fabrics:
        return None
    blocks: list[Block] = []
    blocks += [tables.fabric_table(study), Lines(tables.behaviour_lines(study)), *tables.notation_steps(study)]
    state = study.fabrics[next(iter(study.fabrics))].geometry.state.value
    return Section("Fabric", state.replace("-", " "), tuple(blocks))


def _sizes(study: StyleStudy, _: Mapping[str, str]) -> Section | None:
    if study.size_table is None:
        return None
    how = Steps("How each point is measured", tables.measuring_lines(study))
    return Section("Sizes", f"graded from {study.size_table.base_size}", (tables.size_table(study), how))


def _panels(study: StyleStudy, drawn: Mapping[str, str]) -> Section | None:
    base = study.base
    if base is None:
        return None
    blocks: list[Block] = []
    if "panels" in drawn:
        blocks.append(Picture("panels", drawn["panels"]))
    blocks += [Lines((tables.cap_line(base),)), tables.panel_table(study), *tables.knit_down_blocks(study, base)]
    real = plain(base.plan.back.length_cm, 1)
    return Section("Panels", f"size {base.size} · real length {real} cm", tuple(blocks))


def _other_knit_downs(study: StyleStudy) -> Section:
    sizes = [size for size in study.sizes if size is not study.base]
    blocks = [block for size in sizes for block in tables.knit_down_blocks(study, size)]
    return Section("Knit-down of the other sizes", ", ".join(size.size for size in sizes), tuple(blocks))


def _minutes(study: StyleStudy, drawn: Mapping[str, str]) -> Section | None:
    base = study.base
    if base is None or base.net_minutes is None or base.minutes is None or base.strokes is None:
        return None
    blocks: list[Block] = []
    if "strokes" in drawn:
        blocks.append(Picture("strokes", drawn["strokes"]))
    blocks += [tables.stroke_table(base), tables.minutes_by_size(study), Lines(tables.planning_lines(study))]
    tally = (
        f"size {base.size} · net {plain(base.net_minutes.value, 1)} min · {plain(base.strokes.traverses, 0)} traverses"
    )
    return Section("Minutes", tally, tuple(blocks))


def _makeup(study: StyleStudy, _: Mapping[str, str]) -> Section | None:
    base = study.base
    if base is None:
        return None
    blocks = (tables.seam_table(base), tables.work_table(base), Lines((tables.order_of_work_line(),)))
    dial = linking_dial(study.style)
    linked = f" · {dial:g}-point dial" if dial else ""
    return Section("Make-up", f"size {base.size} · {base.makeup.total.text()}{linked}", blocks)


def _price(study: StyleStudy, drawn: Mapping[str, str]) -> Section | None:
    pricing = study.pricing
    if pricing is None:
        return None
    blocks: list[Block] = [Picture(name, drawn[name]) for name in ("bar", "curve", "shares") if name in drawn]
    blocks += [tables.cost_table(pricing), tables.break_table(pricing), tables.share_table(pricing)]
    blocks.append(Lines(tables.price_lines(pricing)))
    sheet = pricing.sheet
    return Section("Price", f"FOB {sheet.fob.amount.text()} · landed {sheet.landed.amount.text()}", tuple(blocks))


def _yarn(study: StyleStudy, _: Mapping[str, str]) -> Section | None:
    if not study.yarns:
        return None
    blocks: list[Block] = [tables.yarn_table(study)]
    if study.pricing is not None:
        blocks.append(tables.yarn_order_table(study.pricing))
    return Section("Yarn", "", tuple(blocks))


def _checks(study: StyleStudy, _: Mapping[str, str]) -> Section | None:
    blocks: list[Block] = []
    if study.inspection:
        blocks.append(tables.inspection_table(study))
    if study.cautions and study.sizes:
        blocks.append(Cautions(study.cautions))
    return Section("Checks and cautions", "", tuple(blocks)) if blocks else None


def _assumptions(study: StyleStudy, _: Mapping[str, str]) -> Section | None:
    if not study.assumptions:
        return None
    rows = tuple((name, words) for name, words in study.assumptions.items())
    table = Table(("Field of the style", "Taken as"), rows, caption="Type over any of them and it becomes yours.")
    return Section("Assumptions", f"{len(rows)} value{'s are' if len(rows) != 1 else ' is'} ours", (table,))
