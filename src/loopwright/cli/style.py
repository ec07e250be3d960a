"""Verbs of a whole style: study it, its sizes, other ways of making it."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from loopwright.cli.door import (
    AsJson,
    app,
    bytes_of,
    console_of,
    document_from,
    leave_if_refused,
    print_json,
    refuse,
    style_from,
)

if TYPE_CHECKING:
    from loopwright.garment.table_text import TableRead
    from loopwright.report.table_files import FileRead
    from loopwright.study.brought_table import Brought


@app.command()
def study(
    style: Annotated[Path, typer.Argument(help="The style, a TOML file (see the README).", metavar="STYLE.toml")],
    out: Annotated[
        Path | None, typer.Option(help="Folder for study.json and sheet.html; made when it is not there.")
    ] = None,
    swatches: Annotated[
        list[Path] | None,
        typer.Option(help="A file with further swatches to learn from; may be named again.", metavar="FILE.toml"),
    ] = None,
    as_json: AsJson = False,
) -> None:
    """Study a style: fabric, panels, knit-down, strokes, make-up and price of every size, with findings.

    Prints a readable sheet. With --out the study is also written as JSON and as one HTML file that needs nothing else.
    A style with parts missing is studied as far as it goes; what was taken is listed. When something in it cannot be
    made, what can be computed is still printed, nothing is written, and the exit code is 2.
    """
    from loopwright.cli.learning import observations_from
    from loopwright.problems import Problem
    from loopwright.report.files import study_json, write_study
    from loopwright.study.study import study_style

    try:
        answer = study_style(style_from(style), observations_from(swatches or ()))
        written = write_study(answer, out) if out and not answer.refused else ()
    except Problem as problem:
        refuse(problem, as_json=as_json)
    if as_json:
        sys.stdout.write(study_json(answer).decode("utf-8"))
        leave_if_refused(answer)
        return
    from loopwright.report.sheet import sheet_of
    from loopwright.report.terminal import print_sheet

    console = console_of()
    print_sheet(sheet_of(answer), console)
    for path in written:
        console.print(f"Written: {path}", highlight=False, markup=False, soft_wrap=True)
    leave_if_refused(answer)


@app.command()
def sizes(
    style: Annotated[Path, typer.Argument(help="The style, a TOML file (see the README).", metavar="STYLE.toml")],
    bring: Annotated[
        Path | None,
        typer.Option(help="A buyer's table to bring in: CSV, XLSX, or - for one pasted.", metavar="TABLE"),
    ] = None,
    unit: Annotated[str | None, typer.Option(help="Its unit when it names none: cm, mm or in.")] = None,
    write: Annotated[
        Path | None,
        typer.Option(help="Where to put the style with the table taken in; comments are not kept.", metavar="NEW.toml"),
    ] = None,
    out: Annotated[
        Path | None,
        typer.Option(help="Where to put the size table, as CSV or as a workbook.", metavar="FILE.csv|.xlsx"),
    ] = None,
    as_json: AsJson = False,
) -> None:
    """Size table of a style: print it, write it as CSV or XLSX, or bring a buyer's table in.

    With --bring nothing is changed: every cell that would differ is shown with its measure now and then, what stays
    graded, and what could not be read with its row, column and reason. --write puts the changed style into a file of
    its own. Nothing is written, and the exit code is 2, when no measure can be read or the new ones contradict each
    other; a single cell that cannot be read is left out and told.
    """
    from loopwright.problems import Problem
    from loopwright.report.size_answer import print_sizes, require_fitting_files, write_sizes
    from loopwright.report.size_document import brought_document, size_table_document
    from loopwright.report.size_files import size_table_of_file
    from loopwright.study.brought_table import brought_table, document_table

    file: FileRead[TableRead] | None = None
    brought: Brought | None = None
    try:
        document = document_from(style)
        table = document_table(document)
        require_fitting_files(bring=bring, write=write, out=out)
        if bring is not None:
            data = sys.stdin.buffer.read() if str(bring) == "-" else bytes_of(bring)
            file = size_table_of_file(data, str(bring), table.names, sizes=table.sizes, unit=unit)
            brought = brought_table(file.table, document)
        is_stopped = brought is not None and (not brought.read.measures_cm or bool(brought.contradictions))
        written = () if is_stopped else write_sizes(document, brought, write=write, out=out)
    except Problem as problem:
        refuse(problem, as_json=as_json)
    if as_json:
        told = {"brought": brought_document(brought, file)} if brought else {}
        print_json({**size_table_document(table), **told, "written": [str(path) for path in written]})
    else:
        print_sizes(document, brought, file, written, console_of())
    if is_stopped:
        raise typer.Exit(2)


@app.command()
def pack(
    style: Annotated[Path, typer.Argument(help="The style, a TOML file (see the README).", metavar="STYLE.toml")],
    out: Annotated[Path, typer.Option("--out", "-o", help="Folder for the files; made when it is not there.")],
    only: Annotated[
        str | None, typer.Option(help="Formats by name, with commas: pdf,xlsx,dxf,svg,glb,csv,json.", metavar="FORMATS")
    ] = None,
    paper: Annotated[str, typer.Option(help="Paper of the pages: A4 or Letter.")] = "A4",
    language: Annotated[
        str, typer.Option(help="Language of pages and workbook: en, de, it, pt, tr or zh; terms to be checked.")
    ] = "en",
    cost: Annotated[
        bool, typer.Option("--cost", help="Also the confidential cost sheet, in files of its own.")
    ] = False,
    issue: Annotated[
        bool,
        typer.Option("--issue", help="Issue it: a numbered folder in --out that says what changed since the last."),
    ] = False,
    to: Annotated[
        list[str] | None, typer.Option(help="Whom an issue is for; may be named again.", metavar="NAME")
    ] = None,
    by: Annotated[str | None, typer.Option(help="Who issues it; your account's name when left out.")] = None,
    note: Annotated[str, typer.Option(help="A note that goes with an issue.", metavar="TEXT")] = "",
    as_json: AsJson = False,
) -> None:
    """Factory pack of a style: what a technician needs to knit it, as pages, workbook, drawing and data, no prices.

    The pages are a PDF: sketch with points of measure, yarn, gauge, structures, knit-down of every panel and size, size
    specification, make-up, label, care, inspection, cautions, open points. Beside it a workbook that computes, the
    panels as a drawing in millimetres, every fabric in 3D, the size table and the data. All files are written, or none
    is. With --issue they go into DIR/issue-01, issue-02 …, each with issue.json, its record; from the second on the
    first leaf says what changed, and every changed cell and step is marked with what it was. Exit code 2: something in
    the style stops it, or a file cannot be made; the message says what.
    """
    from loopwright.cli.issues import issue_style, require_fitting_words
    from loopwright.problems import Problem
    from loopwright.report.files import write_folder
    from loopwright.report.pack.writing import FORMATS, pack_files
    from loopwright.study.study import study_style

    formats = [each.strip().lower() for each in only.split(",") if each.strip()] if only is not None else list(FORMATS)
    told: dict[str, Any] = {}
    try:
        require_fitting_words(issue=issue, cost=cost, of_issue=bool(to or by or note))
        if issue:
            told, written = issue_style(
                style, out, formats=formats, paper=paper, language=language, by=by, to=to, note=note
            )
        else:
            answer = study_style(style_from(style))
            written = write_folder(out, pack_files(answer, formats, paper=paper, language=language, with_cost=cost))
    except Problem as problem:
        refuse(problem, as_json=as_json)
    if as_json:
        print_json({**told, "written": [str(path) for path in written]})
        return
    console = console_of()
    said = [f"Issue {told['number']}. {told['says']}"] if told else []
    for line in (*(f"Written: {path}" for path in written), *said):
        console.print(line, highlight=False, markup=False, soft_wrap=True)


@app.command()
def ways(
    style: Annotated[Path, typer.Argument(help="The style, a TOML file (see the README).", metavar="STYLE.toml")],
    as_json: AsJson = False,
) -> None:
    """The same style made in other ways: cup-seamed, cut and sewn, in one piece; with yarn, waste, minutes, price.

    Ranked by price at the order's quantity, each beside the style's own way, with the quantity at which they cost the
    same. A way that the style cannot be made in stands below with the reason.
    """
    from loopwright.problems import Problem
    from loopwright.report.ways import ways_document, ways_section
    from loopwright.study.study import study_style
    from loopwright.study.ways import ways_of_making

    try:
        answer = study_style(style_from(style))
    except Problem as problem:
        refuse(problem, as_json=as_json)
    found = ways_of_making(answer)
    if as_json:
        print_json(ways_document(answer, found))
        leave_if_refused(answer)
        return
    from loopwright.report.terminal import print_section

    section = ways_section(answer, found)
    if section is None:
        print("No size could be worked through, so there is nothing to compare; `loopwright study` says what stops it.")
    else:
        print_section(section, console_of())
    leave_if_refused(answer)
