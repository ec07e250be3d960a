"""Verbs of learning: what a drawer of swatches has taught, and which swatch to knit next."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from loopwright.cli.door import AsJson, app, console_of, print_json, refuse, style_from

if TYPE_CHECKING:
    from loopwright.swatch.observed import Observed

Drawers = Annotated[
    list[Path] | None,
    typer.Option(help="A file with further swatches to learn from; may be named again.", metavar="FILE.toml"),
]


@app.command()
def learn(
    files: Annotated[list[Path], typer.Argument(help="Files with swatches.", metavar="FILE.toml…")],
    structure: Annotated[
        str | None, typer.Option(help="Predict this structure; else each cloth that lies there.")
    ] = None,
    yarn: Annotated[str | None, typer.Option(help="In this yarn: its name in the files, or trade words.")] = None,
    loop_length: Annotated[str | None, typer.Option(help="At this loop length; mm unless said.", metavar="MM")] = None,
    state: Annotated[str, typer.Option(help="dry-relaxed, wet-relaxed, fully-relaxed or finished.")] = "fully-relaxed",
    lot: Annotated[str, typer.Option(help="In this lot of the yarn.")] = "",
    as_json: AsJson = False,
) -> None:
    """What your swatches teach: counts, mass, shrinkage, lean, stretch of any cloth before and after them.

    Every figure names the swatches that moved it; every swatch is predicted from the others, and one that disagrees is
    told. A swatch that is marked unreliable does not count.
    """
    from loopwright.problems import Problem
    from loopwright.report.learning import learning_blocks, learning_document
    from loopwright.report.terminal import print_parts
    from loopwright.study.drawer import cloths_asked
    from loopwright.swatch.learning.drawer import Wanted, learnt
    from loopwright.swatch.observed import Quantity

    try:
        drawer = learnt(observations_from(files))
        cloths = cloths_asked(drawer, structure, yarn, loop_length, state, lot)
        wanted = [Wanted(cloth, quantity) for cloth in cloths for quantity in Quantity]
        predictions = drawer.predict_all(wanted)
    except Problem as problem:
        refuse(problem, as_json=as_json)
    if as_json:
        print_json(learning_document(drawer, predictions))
        return
    print_parts(tuple(learning_blocks(drawer, predictions)), console_of())


@app.command(name="next")
def next_swatch(
    style: Annotated[Path, typer.Argument(help="The style, a TOML file (see the README).", metavar="STYLE.toml")],
    wanted: Annotated[
        str, typer.Option("--for", help="What it is to make surer: price, lean, width; else the least known.")
    ] = "",
    swatches: Drawers = None,
    as_json: AsJson = False,
) -> None:
    """Which swatch to knit next: what an hour of machine, wash and bench makes surer, best first, with the reason."""
    from loopwright.cli.door import leave_if_refused
    from loopwright.problems import Problem
    from loopwright.report.learning import next_blocks, next_document
    from loopwright.report.terminal import print_parts
    from loopwright.study.next_swatch import next_swatches
    from loopwright.study.study import study_style

    try:
        outside = observations_from(swatches or ())
        answer = study_style(style_from(style), outside)
        leave_if_refused(answer)
        advice = next_swatches(answer, wanted, outside)
    except Problem as problem:
        refuse(problem, as_json=as_json)
    if as_json:
        print_json(next_document(advice))
        return
    print_parts(tuple(next_blocks(advice)), console_of())


def observations_from(files: Sequence[Path]) -> tuple[Observed, ...]:
    """What the swatches of some files say, with their age as of today; alike names of two files stay apart.

    Raises:
        Problem: a file that cannot be read, or that is no style.
    """
    from dataclasses import replace

    from loopwright.study.drawer import own_observations

    told: list[Observed] = []
    for path in files:
        found = own_observations(style_from(path), today=_today())
        taken = {each.swatch for each in told}
        told += [
            replace(each, swatch=f"{each.swatch}, {path.stem}") if each.swatch in taken else each for each in found
        ]
    return tuple(told)


def _today() -> str:
    return date.today().isoformat()  # noqa: DTZ011 (the day at the person's table)
