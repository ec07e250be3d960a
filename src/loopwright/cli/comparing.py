"""The verb `compare`: two styles on one sheet."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from loopwright.cli.door import AsJson, app, console_of, leave_if_refused, print_json, refuse, style_from

if TYPE_CHECKING:
    from loopwright.study.compared import Compared


@app.command()
def compare(
    first: Annotated[Path, typer.Argument(help="A style, a TOML file.", metavar="FIRST.toml")],
    second: Annotated[Path, typer.Argument(help="The style to hold against it.", metavar="SECOND.toml")],
    out: Annotated[
        Path | None,
        typer.Option("--out", "-o", help="Where to put the comparison to keep.", metavar="FILE.pdf|.xlsx|.html"),
    ] = None,
    as_json: AsJson = False,
) -> None:
    """Two styles on one sheet: what differs first, each difference with its spread and how sure it is.

    Price, mass, minutes, gauge, shrinkage and hand are ranked in this order; then yarns, fabrics, measures of every
    size, minutes by size, and the findings that only one of the two has. A style with parts missing is compared as far
    as it goes. When something in one of them has to be mended, the rest is still printed, nothing is written, and the
    exit code is 2.
    """
    from loopwright.problems import Problem
    from loopwright.report.comparison import comparison_document, comparison_sheet
    from loopwright.report.comparison_files import maker_for
    from loopwright.report.files import write_whole

    try:
        make = maker_for(out) if out else None
        compared = _compared(first, second)
        is_whole = not (compared.first.refused or compared.second.refused)
        if make and out and is_whole:
            write_whole(out, make(compared))
    except Problem as problem:
        refuse(problem, as_json=as_json)
    written = [str(out)] if out and is_whole else []
    if as_json:
        print_json({**comparison_document(compared), "written": written})
    else:
        from loopwright.report.terminal import print_sheet

        console = console_of()
        print_sheet(comparison_sheet(compared), console)
        for path in written:
            console.print(f"Written: {path}", highlight=False, markup=False, soft_wrap=True)
    leave_if_refused(compared.first)
    leave_if_refused(compared.second)


def _compared(first: Path, second: Path) -> Compared:
    """Both styles studied and held against each other.

    Raises:
        Problem: one file twice, a file that cannot be read, or nothing to compare.
    """
    from loopwright.problems import Problem
    from loopwright.study.compared import compare as held_together
    from loopwright.study.study import study_style

    if first.resolve() == second.resolve():
        raise Problem("compare", f"{first} stands on both sides.", tries=["name another style as the second"])
    return held_together(study_style(style_from(first)), study_style(style_from(second)))
