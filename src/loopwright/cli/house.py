"""Verbs of the workroom: open it, and who may sign in."""

from __future__ import annotations

import os
from typing import Annotated

import typer

from loopwright.cli.door import AsJson, app, print_json, refuse


@app.command(name="open")
def open_(
    port: Annotated[int, typer.Option(help="Where the page listens on this machine.")] = 8027,
    no_browser: Annotated[bool, typer.Option(help="Do not open the page in a browser.")] = False,
    team: Annotated[bool, typer.Option(help="Let others sign in over the network; needs --host and people.")] = False,
    host: Annotated[str, typer.Option(help="In team mode: the name under which others reach this machine.")] = "",
    as_json: AsJson = False,
) -> None:
    """Open the workroom: the page on which styles, yarns and machines are worked with."""
    from loopwright.problems import Problem
    from loopwright.web.app import serve

    try:
        serve(port=port, show=not no_browser, team=team, host=host)
    except Problem as problem:
        refuse(problem, as_json=as_json)


@app.command()
def person(
    name: Annotated[str, typer.Argument(help="The name that a person of the team signs in with.")],
    role: Annotated[str, typer.Option(help="edit: may change everything; view: may only look.")] = "edit",
    remove: Annotated[bool, typer.Option(help="Take this person away; open sessions end at once.")] = False,
    as_json: AsJson = False,
) -> None:
    """Let a person sign in to a shared workroom, change what they may do, or take them away."""
    from loopwright.problems import Problem
    from loopwright.store.shelf import open_shelf
    from loopwright.web.sign_in import hash_of

    try:
        shelf = open_shelf()
        if remove:
            shelf.remove_person(name)
        elif shelf.person(name) is not None:
            shelf.set_role(name, role)
        else:
            shelf.add_person(name, hash_of(_new_password()), role)
    except Problem as problem:
        refuse(problem, as_json=as_json)
    told = {"person": name, "role": None if remove else role}
    if as_json:
        print_json(told)
    else:
        print(f"{name} may no longer sign in." if remove else f"{name} may sign in: {role}.")


def _new_password() -> str:
    """A password typed twice; scripts give it in LOOPWRIGHT_PASSWORD."""
    given = os.environ.get("LOOPWRIGHT_PASSWORD")
    if given is not None:
        return given
    return str(typer.prompt("Password", hide_input=True, confirmation_prompt=True))
