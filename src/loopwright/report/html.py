"""Blocks of a sheet as HTML: figures that open their reason, findings, tables, steps, cautions, pictures, notes.

In: blocks. Out: HTML text. The page on disk (`report.page`) and the workroom show the same pieces. All words of a
person are escaped here and in `draw.svg`, nowhere else.
"""

from __future__ import annotations

from collections.abc import Sequence
from html import escape

from loopwright.draw import theme
from loopwright.figure import Basis, Figure, Input, gap, plain, shown, spread_shown
from loopwright.problems import Finding, Sign
from loopwright.report.blocks import (
    Block,
    Cautions,
    Cell,
    Chance,
    Findings,
    Lines,
    Link,
    Note,
    Picture,
    Section,
    Sentence,
    Steps,
)
from loopwright.report.blocks import Table as TableBlock
from loopwright.study.cautions import DEFERENCE

_MARKS = {
    Sign.STOPS: '<path d="M2 2H12V12H2Z" fill="currentColor"/>',
    Sign.DECIDE: '<path d="M7 0L14 7L7 14L0 7Z" fill="none" stroke="currentColor" stroke-width="1.4"/>'
    '<path d="M7 0L14 7L7 14Z" fill="currentColor"/>',
    Sign.KNOW: '<circle cx="7" cy="7" r="5.2" fill="none" stroke="currentColor" stroke-width="1.4"/>',
    Sign.HOLDS: '<path d="M1 7.5L5 12L13 2" fill="none" stroke="currentColor" stroke-width="1.8"/>',
}


class Reasons:
    """Collects the reason of every figure shown, and gives each its key: the prefix and a number."""

    def __init__(self, prefix: str = "") -> None:
        self.prefix = prefix
        self.figures: dict[str, Figure] = {}
        self._keys: dict[int, str] = {}

    def key(self, figure: Figure) -> str:
        """The key of a figure; the same figure met again keeps its key."""
        known = self._keys.get(id(figure))
        if known is None:
            known = self._keys[id(figure)] = f"{self.prefix}{len(self._keys) + 1}"
            self.figures[known] = figure  # kept, so that no other figure can take its identity
        return known


def logo() -> str:
    """Our mark: one loop over a thread."""
    return (
        '<svg viewBox="0 0 20 22" width="20" height="22" aria-hidden="true">'
        '<path d="M2 18C5 18 7 15 6 11C5 5 7 2 10 2S15 5 14 11C13 15 15 18 18 18" fill="none" stroke="currentColor" '
        f'stroke-width="2"/><path d="M1 21H19" stroke="{theme.THREAD}" stroke-width="1.6"/></svg>'
    )


def contents_html(sections: Sequence[Section]) -> str:
    """The line of contents: every section with its one live figure."""
    items = "".join(
        f'<li><a href="#s{index}">{escape(section.heading)} <b>{escape(section.short)}</b></a></li>'
        for index, section in enumerate(sections, start=1)
    )
    return f'<nav aria-label="Contents"><ol class="contents">{items}</ol></nav>'


def section_html(section: Section, index: int, reasons: Reasons) -> str:
    """A section with its heading, tally, blocks, and notes for the margin."""
    tally = f'<p class="tally">{escape(section.tally)}</p>' if section.tally else ""
    blocks = "".join(block_html(block, reasons) for block in section.blocks)
    head = f'<div class="head"><h2>{escape(section.heading)}</h2>{tally}</div>'
    return f'<section id="s{index}">{head}{blocks}{notes_html(section.notes)}</section>'


def notes_html(notes: Sequence[Note]) -> str:
    """Notes for the margin."""
    items = "".join(f"<div><h3>{escape(note.title)}</h3><p>{escape(note.text)}</p></div>" for note in notes)
    return f'<aside class="notes">{items}</aside>' if items else ""


def block_html(block: Block, reasons: Reasons) -> str:
    """Any block."""
    if isinstance(block, TableBlock):
        return table_html(block, reasons)
    if isinstance(block, Findings):
        return f'<ul class="findings">{"".join(finding_html(each) for each in block.findings)}</ul>'
    if isinstance(block, Picture):
        family = block.name.partition("-")[0]
        return f'<figure class="picture {escape(family)}"{_scrolls(block)}>{block.svg}</figure>'
    if isinstance(block, Lines):
        return "".join(f'<p class="line">{escape(line)}</p>' for line in block.lines)
    if isinstance(block, Steps):
        return _steps(block)
    if isinstance(block, Cautions):
        return _cautions(block)
    return f"<p>{sentence_html(block, reasons)}</p>"


def _scrolls(picture: Picture) -> str:
    """The panels keep their scale on a narrow page and scroll there; a keyboard must reach them to do so."""
    return ' tabindex="0" role="group" aria-label="Panels to scale"' if picture.name == "panels" else ""


def finding_html(finding: Finding) -> str:
    """A finding: sign and word, place and sentence, what to try, the consequence at the right."""
    mark = f'<svg viewBox="0 0 14 14" width="13" height="13" aria-hidden="true">{_MARKS[finding.sign]}</svg>'
    tries = (
        f'<p class="tries">Try: {"; ".join(f"<span>{escape(each)}</span>" for each in finding.tries)}</p>'
        if finding.tries
        else ""
    )
    consequence = f'<p class="consequence">{escape(finding.consequence)}</p>' if finding.consequence else ""
    return (
        f'<li><p class="sign">{mark} {finding.sign.word}</p>'
        f'<div><p class="place">{escape(finding.where)}</p><p class="said">{escape(finding.sentence)}</p>{tries}</div>'
        f"{consequence}</li>"
    )


def _cautions(block: Cautions) -> str:
    items = "".join(
        f"<dt>{escape(each.title)}</dt><dd>{escape(each.text)} <span>{escape(each.source)}</span></dd>"
        for each in block.cautions
    )
    return f'<p class="deference">{escape(DEFERENCE)}</p><dl class="cautions">{items}</dl>'


def _steps(block: Steps) -> str:
    rows = "".join(f"<div><dt>{escape(label)}</dt><dd>{escape(text)}</dd></div>" for label, text in block.lines)
    return f'<details class="steps"><summary>{escape(block.heading)}</summary><dl>{rows}</dl></details>'


def table_html(block: TableBlock, reasons: Reasons) -> str:
    """A table in its scrolling frame."""
    head = "".join(
        f'<th scope="col"{_class(block, -1, column)}>{escape(text)}</th>' for column, text in enumerate(block.head)
    )
    rows = "".join(
        f"<tr{' class=strong' if index in block.strong else ''}>"
        + "".join(_cell(block, index, column, cell, reasons) for column, cell in enumerate(row))
        + "</tr>"
        for index, row in enumerate(block.rows)
    )
    caption = f'<p class="caption">{escape(block.caption)}</p>' if block.caption else ""
    name = escape(block.head[0] or block.head[1], quote=True)
    scroll = f'<div class="scroll" tabindex="0" role="group" aria-label="{name}">'
    return f"{scroll}<table><thead><tr>{head}</tr></thead><tbody>{rows}</tbody></table></div>{caption}"


def _cell(block: TableBlock, row: int, column: int, cell: Cell, reasons: Reasons) -> str:
    content = cell_html(cell, reasons)
    if column == 0:
        return f'<th scope="row">{content}</th>'
    return f"<td{_class(block, row, column)}>{content}</td>"


def _class(block: TableBlock, row: int, column: int) -> str:
    names = []
    if column not in block.words:
        names.append("n")
    if column == block.base:
        names.append("base")
    if (row, column) in block.hand_set:
        names.append("hand")
    return f' class="{" ".join(names)}"' if names else ""


def sentence_html(sentence: Sentence, reasons: Reasons) -> str:
    """A sentence with its figures."""
    return "".join(cell_html(part, reasons) for part in sentence.parts)


def cell_html(cell: Cell, reasons: Reasons) -> str:
    """Words, a figure, a link or a chance."""
    if isinstance(cell, Figure):
        return figure_html(cell, reasons)
    if isinstance(cell, Link):
        return f'<a href="{escape(cell.href, quote=True)}" style="color:inherit">{escape(cell.text)}</a>'
    if isinstance(cell, Chance):
        return f'<span style="white-space:nowrap">{_chance_bar(cell.share)} {escape(cell.text)}</span>'
    return escape(cell)


def _chance_bar(share: float) -> str:
    """An ink bar on a hairline; the words beside it say the same."""
    across = f"{CHANCE_BAR_PX * min(max(share, 0.0), 1.0):.1f}"
    return (
        f'<svg viewBox="0 0 {CHANCE_BAR_PX} 8" width="{CHANCE_BAR_PX}" height="8" aria-hidden="true">'
        f'<path d="M0 4H{CHANCE_BAR_PX}" stroke="{theme.RULE}"/>'
        f'<path d="M0 1H{across}V7H0Z" fill="currentColor"/></svg>'
    )


CHANCE_BAR_PX = 56


def figure_html(figure: Figure, reasons: Reasons) -> str:
    """A figure: value on its evidence line, spread, unit, raised letter; the whole is the handle of its reason."""
    letter = f"<sup>{figure.basis.letter}</sup>" if figure.basis.letter else ""
    unit = f"{gap(figure.unit)}{escape(figure.unit)}"
    label = escape(f"{figure.name}: {figure.text()}, {figure.basis.value}. Why?", quote=True)
    spread = f"<span>{escape(spread_shown(figure))}{unit}</span>"
    return (
        f'<button type="button" class="fig {figure.basis.name.lower()}" data-why="{reasons.key(figure)}" '
        f'aria-expanded="false" aria-label="{label}"><b>{shown(figure)}</b>{spread}{letter}</button>'
    )


def all_reasons_html(reasons: Reasons) -> str:
    """Every reason, for a page that carries them itself."""
    items = "".join(reason_html(figure, key) for key, figure in reasons.figures.items())
    return f'<section class="reasons" id="reasons"><div class="head"><h2>Reasons</h2></div>{items}</section>'


def reason_html(figure: Figure, key: str, nested: Reasons | None = None) -> str:
    """Why a figure is what it is; with `nested` its inputs open their own reasons in turn."""
    why = figure.why
    formula = f'<p class="formula">{escape(why.formula)}</p>' if why.formula else ""
    inputs = "".join(
        f"<div><dt>{escape(_input_name(each))}</dt><dd>{_input_value(each, nested)}</dd></div>" for each in why.inputs
    )
    basis = _BASIS_WORDS.get(figure.basis, figure.basis.value)
    state = f" State: {figure.state.value}." if figure.state else ""
    source = f" Source: {escape(why.source)}." if why.source else ""
    return (
        f'<article id="why-{key}"><h3>Why {escape(figure.text())}?</h3>'
        f"<p>{escape(_sentence_of(figure))}</p>{formula}"
        f'<dl>{inputs}</dl>{_moves(figure)}<p class="source">Known as: {basis}.{state}{source}</p></article>'
    )


_BASIS_WORDS = {Basis.IDENTITY: "arithmetic", Basis.ENTERED: "typed by you"}


def _input_value(given: Input, nested: Reasons | None) -> str:
    figure = given.figure
    if nested is not None and (figure.why.inputs or figure.why.source):
        return figure_html(figure, nested)
    letter = f"<sup>{figure.basis.letter}</sup>" if figure.basis.letter else ""
    return f"{escape(figure.text())}{letter}"


def _moves(figure: Figure) -> str:
    """What moves a figure most, as bars, and what would settle the first of them."""
    carrying = sorted((each for each in figure.why.inputs if each.share >= LEAST_SHARE), key=lambda each: -each.share)
    if not carrying:
        return ""
    bars = "".join(
        f'<div><dt>{escape(each.figure.name)}</dt><dd><i style="width:{max(1, round(60 * each.share))}%"></i>'
        f"{plain(100 * each.share, 0)} %</dd></div>"
        for each in carrying[:MOST_BARS]
    )
    first = carrying[0].figure
    settle = _SETTLES.get(first.basis, "")
    said = f"<h4>What would settle it</h4><p>{escape(settle.format(name=first.name))}</p>" if settle else ""
    return f'<h4>What moves it most</h4><dl class="moves">{bars}</dl>{said}'


LEAST_SHARE, MOST_BARS = 0.02, 5

_SETTLES = {
    Basis.COMMON_PRACTICE: "Time it or ask: {name} is trade habit until somebody does. Typed over, it becomes yours.",
    Basis.ASSUMED: "Measure it or type your own: {name} is our assumption.",
    Basis.PUBLISHED: "A swatch of this yarn and structure: it replaces the published {name}.",
    Basis.SIMULATED: "A swatch of this yarn and structure: it replaces the simulated {name}.",
    Basis.MEASURED: "A second swatch: {name} was measured, and more readings narrow it.",
}


def _input_name(given: Input) -> str:
    """Symbol and name of an input; a symbol that is only its key is left out."""
    is_word = given.symbol.replace("_", " ") in given.figure.name
    is_symbol = len(given.symbol) <= LONGEST_SYMBOL and not is_word
    return f"{given.symbol} {given.figure.name}" if is_symbol else given.figure.name


LONGEST_SYMBOL = 7


def _sentence_of(figure: Figure) -> str:
    name = figure.name[:1].upper() + figure.name[1:]
    return f"{name}." if figure.why.words == figure.name else f"{name}: {figure.why.words}."
