"""The sheet as one HTML file that needs nothing else: type, drawings, reasons of every figure, no outside request.

In: `Sheet`. Out: HTML text. The look is `page.css`; a figure is a button that opens its reason in the margin, and on
paper the reasons stand at the end. All words of a person are escaped here and in `draw.svg`, nowhere else.
"""

from __future__ import annotations

from base64 import b64encode
from functools import cache
from hashlib import sha256
from html import escape
from importlib import resources
from importlib.util import find_spec
from pathlib import Path

from loopwright.draw import theme
from loopwright.figure import Basis, Figure, Input, gap, plain, shown, spread_shown
from loopwright.problems import Finding, Sign
from loopwright.report.blocks import Block, Cautions, Cell, Findings, Lines, Picture, Section, Sentence, Steps, Table
from loopwright.report.sheet import Sheet
from loopwright.study.cautions import DEFERENCE

_MARKS = {
    Sign.STOPS: '<path d="M2 2H12V12H2Z" fill="currentColor"/>',
    Sign.DECIDE: '<path d="M7 0L14 7L7 14L0 7Z" fill="none" stroke="currentColor" stroke-width="1.4"/>'
    '<path d="M7 0L14 7L7 14Z" fill="currentColor"/>',
    Sign.KNOW: '<circle cx="7" cy="7" r="5.2" fill="none" stroke="currentColor" stroke-width="1.4"/>',
    Sign.HOLDS: '<path d="M1 7.5L5 12L13 2" fill="none" stroke="currentColor" stroke-width="1.8"/>',
}

_FACES = (  # family, weight, style, package, part of the file's name
    ("Source Sans Pro", 400, "normal", "font_source_sans_pro", "SourceSansPro-Regular"),
    ("Source Sans Pro", 600, "normal", "font_source_sans_pro", "SourceSansPro-Semibold"),
    ("Source Serif Pro", 400, "normal", "font_source_serif_pro", "SourceSerifPro-Regular"),
    ("Source Serif Pro", 600, "normal", "font_source_serif_pro", "SourceSerifPro-Semibold"),
    ("Source Serif Pro", 400, "italic", "font_source_serif_pro", "SourceSerifPro-It"),
)


class _Reasons:
    """Collects the reason of every figure shown, and gives each its number."""

    def __init__(self) -> None:
        self.numbers: dict[Figure, int] = {}

    def number(self, figure: Figure) -> int:
        return self.numbers.setdefault(figure, len(self.numbers) + 1)


def page(sheet: Sheet) -> str:
    """The whole page."""
    reasons = _Reasons()
    lede = f'<p class="lede">{_sentence(sheet.lede, reasons)}</p>'
    under = "".join(_block(block, reasons) for block in sheet.under_lede)
    sections = "".join(_section(section, index, reasons) for index, section in enumerate(sheet.sections, start=1))
    contents = "".join(
        f'<li><a href="#s{index}">{escape(section.heading)}</a></li>'
        for index, section in enumerate(sheet.sections, start=1)
    )
    body = (
        f'<a class="skip" href="#study">To the study</a>{_brief(sheet)}'
        f'<main id="study">{lede}{under}<nav aria-label="Contents"><ol class="contents">{contents}</ol></nav>'
        f"{sections}{_all_reasons(reasons)}<footer>{escape(sheet.foot)}</footer></main>"
        '<div id="margin" class="margin" aria-live="polite"></div>'
    )
    return (
        f'<!doctype html>\n<html lang="en"><head><meta charset="utf-8">'
        f'<meta name="viewport" content="width=device-width, initial-scale=1">'
        f'<meta http-equiv="Content-Security-Policy" content="{_policy()}">'
        f"<title>{escape(sheet.title)}</title><style>{_faces()}{_css()}</style></head>"
        f"<body>{body}<script>{_script()}</script></body></html>\n"
    )


def _brief(sheet: Sheet) -> str:
    groups = "".join(
        f"<h3>{escape(name)}</h3><dl>"
        + "".join(f"<div><dt>{escape(label)}</dt><dd>{escape(value)}</dd></div>" for label, value in pairs)
        + "</dl>"
        for name, pairs in sheet.brief
    )
    return (
        f'<header class="brief" tabindex="0" aria-label="The brief"><p class="mark">{_logo()} Loopwright</p>'
        f"<h1>{escape(sheet.title)}</h1>"
        f'<p class="subtitle">{escape(sheet.subtitle)}</p>{groups}</header>'
    )


def _logo() -> str:
    """Our mark: one loop over a thread."""
    return (
        '<svg viewBox="0 0 20 22" width="20" height="22" aria-hidden="true">'
        '<path d="M2 18C5 18 7 15 6 11C5 5 7 2 10 2S15 5 14 11C13 15 15 18 18 18" fill="none" stroke="currentColor" '
        f'stroke-width="2"/><path d="M1 21H19" stroke="{theme.THREAD}" stroke-width="1.6"/></svg>'
    )


def _section(section: Section, index: int, reasons: _Reasons) -> str:
    tally = f'<p class="tally">{escape(section.tally)}</p>' if section.tally else ""
    blocks = "".join(_block(block, reasons) for block in section.blocks)
    return f'<section id="s{index}"><div class="head"><h2>{escape(section.heading)}</h2>{tally}</div>{blocks}</section>'


def _block(block: Block, reasons: _Reasons) -> str:
    if isinstance(block, Table):
        return _table(block, reasons)
    if isinstance(block, Findings):
        return f'<ul class="findings">{"".join(_finding(each) for each in block.findings)}</ul>'
    if isinstance(block, Picture):
        return f'<figure class="picture {escape(block.name)}"{_scrolls(block)}>{block.svg}</figure>'
    if isinstance(block, Lines):
        return "".join(f'<p class="line">{escape(line)}</p>' for line in block.lines)
    if isinstance(block, Steps):
        return _steps(block)
    if isinstance(block, Cautions):
        items = "".join(
            f"<dt>{escape(each.title)}</dt><dd>{escape(each.text)} <span>{escape(each.source)}</span></dd>"
            for each in block.cautions
        )
        return f'<p class="deference">{escape(DEFERENCE)}</p><dl class="cautions">{items}</dl>'
    return f"<p>{_sentence(block, reasons)}</p>"


def _scrolls(picture: Picture) -> str:
    """The panels keep their scale on a narrow page and scroll there; a keyboard must reach them to do so."""
    return ' tabindex="0" aria-label="Panels to scale"' if picture.name == "panels" else ""


def _finding(finding: Finding) -> str:
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


def _steps(block: Steps) -> str:
    rows = "".join(f"<div><dt>{escape(label)}</dt><dd>{escape(text)}</dd></div>" for label, text in block.lines)
    return f'<details class="steps"><summary>{escape(block.heading)}</summary><dl>{rows}</dl></details>'


def _table(block: Table, reasons: _Reasons) -> str:
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
    scroll = f'<div class="scroll" tabindex="0" role="region" aria-label="{name}">'
    return f"{scroll}<table><thead><tr>{head}</tr></thead><tbody>{rows}</tbody></table></div>{caption}"


def _cell(block: Table, row: int, column: int, cell: Cell, reasons: _Reasons) -> str:
    content = _figure(cell, reasons) if isinstance(cell, Figure) else escape(cell)
    if column == 0:
        return f'<th scope="row">{content}</th>'
    return f"<td{_class(block, row, column)}>{content}</td>"


def _class(block: Table, row: int, column: int) -> str:
    names = []
    if column not in block.words:
        names.append("n")
    if column == block.base:
        names.append("base")
    if (row, column) in block.hand_set:
        names.append("hand")
    return f' class="{" ".join(names)}"' if names else ""


def _sentence(sentence: Sentence, reasons: _Reasons) -> str:
    return "".join(_figure(part, reasons) if isinstance(part, Figure) else escape(part) for part in sentence.parts)


def _figure(figure: Figure, reasons: _Reasons) -> str:
    """A figure: value on its evidence line, spread, unit, raised letter; the whole is the handle of its reason."""
    number = reasons.number(figure)
    letter = f"<sup>{figure.basis.letter}</sup>" if figure.basis.letter else ""
    value = shown(figure)
    unit = f"{gap(figure.unit)}{escape(figure.unit)}"
    label = escape(f"{figure.name}: {figure.text()}, {figure.basis.value}. Why?", quote=True)
    spread = f"<span>{escape(spread_shown(figure))}{unit}</span>"
    return (
        f'<button type="button" class="fig {figure.basis.name.lower()}" data-why="{number}" aria-expanded="false" '
        f'aria-label="{label}"><b>{value}</b>{spread}{letter}</button>'
    )


def _all_reasons(reasons: _Reasons) -> str:
    items = "".join(_reason(figure, number) for figure, number in reasons.numbers.items())
    return f'<section class="reasons" id="reasons"><div class="head"><h2>Reasons</h2></div>{items}</section>'


def _reason(figure: Figure, number: int) -> str:
    why = figure.why
    formula = f'<p class="formula">{escape(why.formula)}</p>' if why.formula else ""
    inputs = "".join(
        f"<div><dt>{escape(_input_name(each))}</dt><dd>{escape(each.figure.text())}"
        f"{f'<sup>{each.figure.basis.letter}</sup>' if each.figure.basis.letter else ''}"
        f"{f' <i>{plain(100 * each.share, 0)} % of the spread</i>' if each.share >= 0.005 else ''}</dd></div>"
        for each in why.inputs
    )
    basis = _BASIS_WORDS.get(figure.basis, figure.basis.value)
    state = f" State: {figure.state.value}." if figure.state else ""
    source = f" Source: {escape(why.source)}." if why.source else ""
    return (
        f'<article id="why-{number}"><h3>Why {escape(figure.text())}?</h3>'
        f"<p>{escape(_sentence_of(figure))}</p>{formula}"
        f'<dl>{inputs}</dl><p class="source">Known as: {basis}.{state}{source}</p></article>'
    )


_BASIS_WORDS = {Basis.IDENTITY: "arithmetic", Basis.ENTERED: "typed by you"}


def _input_name(given: Input) -> str:
    """Symbol and name of an input; a symbol that is only its key is left out."""
    is_word = given.symbol.replace("_", " ") in given.figure.name
    is_symbol = len(given.symbol) <= LONGEST_SYMBOL and not is_word
    return f"{given.symbol} {given.figure.name}" if is_symbol else given.figure.name


LONGEST_SYMBOL = 7


def _sentence_of(figure: Figure) -> str:
    name = figure.name[:1].upper() + figure.name[1:]
    return f"{name}." if figure.why.words == figure.name else f"{name}: {figure.why.words}."


@cache
def _css() -> str:
    """The style sheet with the theme's values filled in (`--name` variables)."""
    names = ("PAPER", "BOARD", "INK", "INK_2", "INK_3", "THREAD", "TINT", "TONE_1", "TONE_2", "RULE", "HAIR")
    variables = "".join(f"--{name.lower().replace('_', '-')}:{getattr(theme, name)};" for name in names)
    sheet = (resources.files(__package__) / "page.css").read_text("utf-8")
    return f":root{{{variables}--sans:{theme.SANS};--serif:{theme.SERIF}}}{sheet}"


@cache
def _policy() -> str:
    """Nothing from outside, and no script but ours."""
    digest = b64encode(sha256(_script().encode("utf-8")).digest()).decode("ascii")
    return f"default-src 'none'; style-src 'unsafe-inline'; font-src data:; script-src 'sha256-{digest}'"


@cache
def _script() -> str:
    return (resources.files(__package__) / "page.js").read_text("utf-8")


@cache
def _faces() -> str:
    """The type faces from their packages, inside the page; a face that is not there falls back to the reader's own."""
    return "".join(_face(*face) for face in _FACES)


def _face(family: str, weight: int, style: str, package: str, part: str) -> str:
    file = _font_file(package, part)
    if file is None:
        return ""
    kind = {".otf": "opentype", ".ttf": "truetype", ".woff": "woff", ".woff2": "woff2"}[file.suffix]
    data = b64encode(file.read_bytes()).decode("ascii")
    source = f"url(data:font/{file.suffix[1:]};base64,{data}) format('{kind}')"
    return f"@font-face{{font-family:'{family}';font-weight:{weight};font-style:{style};src:{source}}}"


def _font_file(package: str, part: str) -> Path | None:
    spec = find_spec(package)
    folders = list(spec.submodule_search_locations or ()) if spec else []
    found = [
        path
        for folder in folders
        for path in Path(folder).rglob(f"{part}.*")
        if path.suffix in (".woff2", ".otf", ".ttf")
    ]
    return min(found, key=lambda path: path.stat().st_size, default=None)
