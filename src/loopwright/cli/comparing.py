"""The verb `compare`: two styles, or two yarns, on one sheet."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from loopwright.cli.door import AsJson, app, console_of, document_from, leave_if_refused, print_json, refuse

if TYPE_CHECKING:
    from loopwright.study.compared import Compared


@app.command()
def compare(
    first: Annotated[Path, typer.Argument(help="A style, or a yarn alone: a TOML file.", metavar="FIRST.toml")],
    second: Annotated[Path, typer.Argument(help="The one to hold against it.", metavar="SECOND.toml")],
    out: Annotated[
        Path | None,
        typer.Option("--out", "-o", help="Where to put the comparison to keep.", metavar="FILE.pdf|.xlsx|.html"),
    ] = None,
    as_json: AsJson = False,
) -> None:
    """Two styles on one sheet: what differs first, each difference with its spread and how sure it is.

    Price, mass, minutes, gauge, shrinkage and hand are ranked in this order; then yarns, fabrics, measures of every
    size, minutes by size, and the findings that only one of the two has. A style with parts missing is compared as far
    as it goes. Two files that hold one yarn each and nothing else are tried in the same garment. When something in one
    of them has to be mended, the rest is still printed, nothing is written, and the exit code is 2.
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
    from loopwright.study.style import read_style

    if first.resolve() == second.resolve():
        raise Problem("compare", f"{first} stands on both sides.", tries=["name another style as the second"])
    documents = [document_from(first), document_from(second)]
    if all(_is_yarn_alone(each) for each in documents):
        from loopwright.web.comparing import tried_yarn

        names = _names(first, second, documents)
        documents = [tried_yarn(each, name) for each, name in zip(documents, names, strict=True)]
    one, two = (study_style(read_style(each)) for each in documents)
    return held_together(one, two)


def _is_yarn_alone(document: dict[str, Any]) -> bool:
    """Whether a document is one yarn and nothing else that is knitted."""
    yarns = document.get("yarns")
    return set(document) <= {"style", "yarns"} and isinstance(yarns, dict) and len(yarns) == 1


def _names(first: Path, second: Path, documents: list[dict[str, Any]]) -> list[str]:
    """What tells two yarns apart: their own names where both have one, else those of their files."""
    own = [str(yarn.get("name", "")) for each in documents for yarn in each["yarns"].values() if isinstance(yarn, dict)]
    return own if len(set(own)) == 2 and all(own) else [first.stem, second.stem]
