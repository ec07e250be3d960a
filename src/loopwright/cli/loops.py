"""The verb `mechanics`: what the yarn-level mechanics of the loop says of a cloth."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from loopwright.cli.door import AsJson, app, console_of, document_from, print_json, refuse

if TYPE_CHECKING:
    from loopwright.mechanics.stored import Stored
    from loopwright.structure.library import Structure
    from loopwright.study.loop_words import LoopAnswer, Setting

STOPPED = 130  # exit code after Ctrl-C


@app.command()
def mechanics(
    structure: Annotated[str, typer.Argument(help="A structure by any trade name, or a TOML file with its notation.")],
    loop_over_diameter: Annotated[
        float | None, typer.Option(help="Loop length in yarn diameters; plain is firm at 17.", metavar="RATIO")
    ] = None,
    set_: Annotated[
        float | None, typer.Option("--set", help="Share of set that the yarn took in finishing, 0 to 0.95.")
    ] = None,
    residual_twist: Annotated[
        str | None, typer.Option(help="Turns per metre by which the yarn is lively: Z60, S40.", metavar="Z60")
    ] = None,
    yarn: Annotated[str | None, typer.Option(help='The yarn in trade words: "2/48 Nm merino".')] = None,
    loop: Annotated[str | None, typer.Option(help="Loop length; mm unless said.", metavar="MM")] = None,
    against: Annotated[str | None, typer.Option(help="A second structure to stand beside it.")] = None,
    swatch: Annotated[
        list[Path] | None,
        typer.Option(help="A measured swatch to calibrate on, a TOML file; may be given several times."),
    ] = None,
    plated: Annotated[
        float | None,
        typer.Option(help="Diameter of a second yarn plated behind the first, over the first's.", metavar="RATIO"),
    ] = None,
    live: Annotated[bool, typer.Option(help="Solve it now, even when the atlas holds it.")] = False,
    glb: Annotated[Path | None, typer.Option(help="Where to put the cloth as a 3-D file.", metavar="FILE.glb")] = None,
    svg: Annotated[Path | None, typer.Option(help="Where to put the face as a drawing.", metavar="FILE.svg")] = None,
    png: Annotated[Path | None, typer.Option(help="Where to put the face as a picture.", metavar="FILE.png")] = None,
    as_json: AsJson = False,
) -> None:
    """What holds a cloth together: dimensions, roll, lean, stretch and stiffness from the mechanics of its loops.

    Read from the atlas of solved cloths; a structure that is not in it, or --live, is solved now, which takes seconds
    to minutes. Swatches calibrate the yarn. Nothing is claimed of recovery, of which edge wins, or of friction.
    """
    from loopwright.problems import Problem
    from loopwright.report.loop_pictures import scale_mm, write_pictures
    from loopwright.report.mechanics import answer_blocks, mechanics_document, title
    from loopwright.report.terminal import print_blocks
    from loopwright.study.loop_files import swatches_of_documents
    from loopwright.study.loop_words import Asked, setting_of

    asked = Asked(loop_over_diameter, set_, residual_twist, yarn, loop, plated)
    try:
        first = _structure(structure)
        second = _structure(against) if against is not None else None
        documents = [(str(path), document_from(path)) for path in swatch or ()]
        swatches = swatches_of_documents(documents, first, yarn)
        setting = setting_of(first, asked, swatches)
        if glb or svg or png:
            scale_mm(setting)
        answer = _answered(setting, is_live=live)
        beside = _answered(setting_of(second, asked, swatches), is_live=live) if second else None
        written = write_pictures(answer, glb=glb, svg=svg, png=png)
    except Problem as problem:
        refuse(problem, as_json=as_json)
    except KeyboardInterrupt:
        print("Stopped. Nothing was written.", file=sys.stderr)
        raise typer.Exit(STOPPED) from None
    if as_json:
        print_json(mechanics_document(answer, beside, [str(path) for path in written]))
        return
    notes = [f"Written: {path}" for path in written]
    print_blocks(title(answer), answer_blocks(answer, beside), notes, console_of())


def _structure(words: str) -> Structure:
    """A structure by its trade name, or out of a TOML file.

    Raises:
        Problem: neither.
    """
    from loopwright.structure.library import find_structure
    from loopwright.study.loop_files import structure_of_document

    if not words.casefold().endswith(".toml"):
        return find_structure(words)
    path = Path(words)
    return structure_of_document(document_from(path), path.stem)


def _answered(setting: Setting, *, is_live: bool) -> LoopAnswer:
    from loopwright.study.loop_words import answer_of, needs_solving

    return answer_of(setting, _solved(setting) if is_live or needs_solving(setting) else None)


def _solved(setting: Setting) -> Stored:
    """The cloth solved now, with each step told on the error stream."""
    from loopwright.mechanics.live import solved

    def report(step: str) -> None:
        print(f"{step} …", file=sys.stderr, flush=True)

    return solved(setting.structure, setting.loop_over_diameter, plating=setting.plating, report=report)
