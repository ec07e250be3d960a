"""The verb `schema`: the form of a document that leaves Loopwright, for programs that read it."""

from __future__ import annotations

from typing import Annotated

import typer

from loopwright.cli.door import AsJson, app, console_of, print_json, refuse


@app.command()
def schema(
    document: Annotated[str, typer.Argument(help="Which document: pack (pack.json of the factory pack).")] = "pack",
    as_json: AsJson = False,
) -> None:
    """Form of the data in a factory pack: every key with its unit; with --json as a JSON Schema (draft 2020-12).

    The schema also stands beside pack.json in every pack, as pack.schema.json.
    """
    from loopwright.problems import Problem
    from loopwright.report.pack.schema import schema_named, schema_tables
    from loopwright.report.terminal import print_blocks

    try:
        form = schema_named(document)
    except Problem as problem:
        refuse(problem, as_json=as_json)
    if as_json:
        print_json(form)
        return
    print_blocks(f"{document}.json", tuple(schema_tables(form)), (), console_of())
