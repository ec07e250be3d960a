"""Verbs of machines: which there are, and how stripes run on them."""

from __future__ import annotations

from typing import Annotated

import typer

from loopwright.cli.door import AsJson, app, console_of, print_json, refuse


@app.command()
def machines(
    gauge: Annotated[float | None, typer.Option(help="Only machines of this gauge, needles per inch.")] = None,
    as_json: AsJson = False,
) -> None:
    """The generic machines (invented, none is a real model): V-beds, circular machines, hosiery cylinders.

    A style takes a V-bed by `model = "compact 12"` in its [machine]; that gives gauge, bed and systems it leaves out.
    """
    from loopwright.problems import Problem
    from loopwright.report.machines import machines_document, machines_tables
    from loopwright.report.terminal import print_blocks

    try:
        blocks, document = machines_tables(gauge), machines_document(gauge)
    except Problem as problem:
        refuse(problem, as_json=as_json)
    if as_json:
        print_json(document)
        return
    print_blocks("Generic machines, invented: a mill's own list takes their place", blocks, (), console_of())


@app.command()
def stripes(
    words: Annotated[str, typer.Argument(help='Stripes of one repeat, lowest first: "navy 2, grey 2".')],
    systems: Annotated[int, typer.Option(help="Knitting systems.")] = 2,
    repeats: Annotated[int, typer.Option(help="How often the repeat is knitted.", min=1)] = 25,
    areas: Annotated[int | None, typer.Option(help="Colour areas in a course of intarsia.")] = None,
    model: Annotated[str | None, typer.Option(help="A generic machine: its systems, its carriers.")] = None,
    as_json: AsJson = False,
) -> None:
    """Where yarn carriers should start, and in which order stripes cost the fewest carriage traverses."""
    from loopwright.problems import Problem
    from loopwright.report.stripes import stripes_answer

    try:
        answer = stripes_answer(words, systems=systems, repeats=repeats, areas=areas, model=model)
    except Problem as problem:
        refuse(problem, as_json=as_json)
    if as_json:
        print_json(answer.as_dict())
        return
    for line in answer.lines:
        print(line)
