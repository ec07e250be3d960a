"""The verb of swatches: what was measured, and what follows from it."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from loopwright.cli.door import AsJson, app, console_of, print_json, refuse, style_from


@app.command()
def swatch(
    file: Annotated[
        Path, typer.Argument(help="A swatch, or a style with its swatches, a TOML file.", metavar="FILE.toml")
    ],
    only: Annotated[str | None, typer.Option(help="One swatch of the file, by its key.", metavar="KEY")] = None,
    as_json: AsJson = False,
) -> None:
    """Swatches of a file: every reading with its spread, beside what was expected and what is allowed.

    Prints the sheet of each swatch: readings by hand and from confirmed pictures, the chance that a limit is kept, its
    sittings, how readings and people scatter, and what to look at. A swatch that cannot be read is told at the end,
    the others are printed, and the exit code is 2.
    """
    from loopwright.problems import Problem

    try:
        style = style_from(file)
        keys = _wanted(list(style.swatches), only)
    except Problem as problem:
        refuse(problem, as_json=as_json)
    from loopwright.report.swatch import swatch_sheet
    from loopwright.report.swatch_document import swatches_document
    from loopwright.study.swatch_study import study_swatch

    studies, refused = [], []
    for key in keys:
        try:
            studies.append(study_swatch(style, key))
        except Problem as problem:
            refused.append(problem)
    if as_json:
        print_json(swatches_document(studies, refused))
    else:
        from rich.console import Console

        from loopwright.report.terminal import print_problem, print_sheet

        console = console_of()
        for study in studies:
            print_sheet(swatch_sheet(study, with_cautions=study is studies[-1]), console)
            console.print()
        for each in refused:
            print_problem(each, Console(stderr=True, highlight=False, soft_wrap=True))
    if refused:
        raise typer.Exit(2)


def _wanted(keys: list[str], only: str | None) -> list[str]:
    """The swatches to show.

    Raises:
        Problem: the file has no swatch, or not this one.
    """
    from loopwright.problems import Problem

    if not keys:
        raise Problem("swatches", "there is no swatch in this file.", tries=["[swatches.s1] with its sittings"])
    if only is None:
        return keys
    if only not in keys:
        raise Problem("swatches", f"“{only}” is not in this file.", limit=f"swatches here: {', '.join(keys)}")
    return [only]
