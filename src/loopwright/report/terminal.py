"""The sheet in a terminal: the same blocks as plain text tables, with the spread and basis of every figure."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from rich.console import Console, JustifyMethod
from rich.markup import escape
from rich.rule import Rule
from rich.table import Table as Grid
from rich.text import Text

from loopwright.figure import Figure
from loopwright.problems import Finding, Problem, Sign
from loopwright.report.blocks import Block, Cautions, Cell, Findings, Lines, Section, Sentence, Steps, Table
from loopwright.report.sheet import Sheet
from loopwright.study.cautions import DEFERENCE

SIGNS = {Sign.STOPS: "■", Sign.DECIDE: "◆", Sign.KNOW: "○", Sign.HOLDS: "✓"}


def print_sheet(sheet: Sheet, console: Console) -> None:
    """Print a sheet."""
    console.print(Text(sheet.title, style="bold"))
    console.print(Text(sheet.subtitle))
    console.print()
    console.print(Text(sentence_text(sheet.lede), style="bold"))
    for section in sheet.sections:
        console.print()
        console.print(Rule(style="dim"))
        print_section(section, console)
    console.print()
    console.print(Text(sheet.foot, style="dim"))


def print_section(section: Section, console: Console) -> None:
    """Print a section: heading with its tally, blocks, notes."""
    heading = Text(section.heading, style="bold")
    if section.tally:
        heading.append(f"   {section.tally}", style="dim")
    console.print(heading)
    for block in section.blocks:
        _print_block(block, console)
    if section.notes:
        console.print()
    for note in section.notes:
        console.print(Text(f"{note.title}. {note.text}", style="dim"))


def print_blocks(title: str, blocks: Sequence[Block], notes: Iterable[str], console: Console) -> None:
    """Print a title, blocks one below the other, and lines under them."""
    console.print(Text(title, style="bold"))
    print_parts(blocks, console)
    console.print()
    for note in notes:
        console.print(Text(note), soft_wrap=True)


def print_parts(blocks: Iterable[Block], console: Console) -> None:
    """Print blocks one below the other."""
    for block in blocks:
        _print_block(block, console)


def print_problem(problem: Problem, console: Console) -> None:
    """Print what is wrong, the limit and what to try."""
    console.print(Text(f"{SIGNS[Sign.STOPS]} {problem.where}: {problem.what}", style="bold"))
    if problem.limit:
        console.print(Text(f"  Limit: {problem.limit}"))
    for attempt in problem.tries:
        console.print(Text(f"  Try: {attempt}"))


def print_figures(title: str, figures: dict[str, Figure], console: Console, notes: tuple[str, ...] = ()) -> None:
    """Print figures with their basis and reason, one a row (the commands `yarn` and `fabric`)."""
    console.print(Text(title, style="bold"))
    grid = Grid(box=None, pad_edge=False, header_style="dim")
    for head, justify in (("", "left"), ("value", "right"), ("", "left"), ("how", "left")):
        grid.add_column(head, justify=justify)  # type: ignore[arg-type]
    for figure in figures.values():
        grid.add_row(Text(figure.name), Text(figure.text()), figure.basis.letter, Text(figure.why.words, style="dim"))
    console.print(grid)
    for note in notes:
        console.print(Text(note))


def sentence_text(sentence: Sentence) -> str:
    """A sentence with its figures as plain text."""
    return "".join(cell_text(part) for part in sentence.parts)


def cell_text(cell: Cell) -> str:
    """A cell as plain text: figures with spread and basis letter."""
    if isinstance(cell, Figure):
        letter = f" {cell.basis.letter}" if cell.basis.letter else ""
        return f"{cell.text()}{letter}"
    return cell if isinstance(cell, str) else cell.text


def _print_block(block: Block, console: Console) -> None:
    if isinstance(block, Table):
        console.print()
        console.print(_grid(block))
        if block.caption:
            console.print(Text(block.caption, style="dim"))
    elif isinstance(block, Findings):
        console.print()
        console.print(_findings_grid(block.findings))
    elif isinstance(block, Lines):
        console.print()
        for line in block.lines:
            console.print(Text(line))
    elif isinstance(block, Steps):
        console.print()
        console.print(Text(block.heading, style="bold"))
        grid = Grid(box=None, pad_edge=False, show_header=False)
        for label, text in block.lines:
            grid.add_row(Text(label, style="dim"), escape(text))
        console.print(grid)
    elif isinstance(block, Cautions):
        console.print()
        console.print(Text(DEFERENCE, style="italic"))
        for caution in block.cautions:
            console.print(Text(f"{caution.title}. {caution.text}"))
    elif isinstance(block, Sentence):
        console.print(Text(sentence_text(block)))


def _findings_grid(findings: tuple[Finding, ...]) -> Grid:
    """Sign and word at the left, sentence and tries hanging beside them."""
    grid = Grid(box=None, pad_edge=False, show_header=False, padding=(0, 1, 1, 0))
    grid.add_column(width=8)
    grid.add_column()
    for finding in findings:
        said = Text(f"{finding.where}: ", style="dim")
        said.append(finding.sentence, style="not dim")
        if finding.tries:
            said.append(f"\nTry: {'; '.join(finding.tries)}", style="dim")
        grid.add_row(Text(f"{SIGNS[finding.sign]} {finding.sign.word}", style="bold"), said)
    return grid


def _grid(block: Table) -> Grid:
    grid = Grid(box=None, pad_edge=False, header_style="dim")
    for column, head in enumerate(block.head):
        side: JustifyMethod = "left" if column in block.words else "right"
        grid.add_column(Text(head), justify=side, overflow="fold")
    for index, row in enumerate(block.rows):
        cells = []
        for column, cell in enumerate(row):
            text = cell_text(cell)
            cells.append(f"[bold]{escape(text)}*[/bold]" if (index, column) in block.hand_set else escape(text))
        grid.add_row(*cells, style="bold" if index in block.strong else "")
    return grid
