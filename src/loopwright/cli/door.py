"""What every verb of the command line shares: the app, reading files, printing, refusing.

Exit codes: 0 done, 2 something in the input has to be mended (the message says where and how). Heavy imports stay
inside the functions so that help starts at once.
"""

from __future__ import annotations

import sys
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any, NoReturn

import typer

from loopwright import __version__

if TYPE_CHECKING:
    from loopwright.problems import Problem
    from loopwright.study.study import StyleStudy
    from loopwright.study.style import Style

app = typer.Typer(
    add_completion=False,
    no_args_is_help=True,
    pretty_exceptions_enable=False,
    help="Loopwright: from a knitwear style to a knittable, priced study. Every figure shows its spread "
    "(nine cases in ten) and how it is known: M measured, S simulated, P published, C common practice, A assumed.",
)

PAPER_WIDTH = 110  # characters of a line when the output is no terminal

AsJson = Annotated[bool, typer.Option("--json", help="Print JSON, with the unit in every key, instead of text.")]


def main() -> None:
    """Entry of the command."""
    for stream in (sys.stdout, sys.stderr):
        if hasattr(stream, "reconfigure"):
            stream.reconfigure(encoding="utf-8", errors="replace")
    app()


@app.callback(invoke_without_command=True)
def _version(
    version: Annotated[bool, typer.Option("--version", help="Print the version and stop.", is_eager=True)] = False,
) -> None:
    if version:
        print(f"loopwright {__version__}")
        raise typer.Exit


def leave_if_refused(answer: StyleStudy) -> None:
    """Say on the error stream what has to be mended, and leave with exit code 2."""
    if not answer.refused:
        return
    from rich.console import Console

    from loopwright.report.terminal import print_problem

    for problem in answer.refused:
        print_problem(problem, Console(stderr=True, highlight=False, soft_wrap=True))
    raise typer.Exit(2)


def style_from(path: Path) -> Style:
    """The style of a TOML file.

    Raises:
        Problem: no such file, not TOML, not text, or something in it that no style has.
    """
    from loopwright.study.style import read_style

    return read_style(document_from(path))


def document_from(path: Path) -> dict[str, Any]:
    """The document in a TOML file.

    Raises:
        Problem: no such file, not TOML, or not text.
    """
    from loopwright.problems import Problem
    from loopwright.study.toml_text import document_of

    if path.is_dir():
        raise Problem(str(path), "this is a folder, not a style file.", tries=["name the TOML file in it"])
    return document_of(bytes_of(path), str(path))


def bytes_of(path: Path) -> bytes:
    """What a file holds.

    Raises:
        Problem: no such file, or one that cannot be read.
    """
    from loopwright.problems import Problem

    try:
        return path.read_bytes()
    except FileNotFoundError:
        raise Problem(str(path), "there is no such file.", tries=["check the name and the folder"]) from None
    except OSError as error:
        raise Problem(str(path), f"the file cannot be read ({error.strerror}).") from None


def print_json(document: dict[str, Any]) -> None:
    """Print a document as JSON."""
    import orjson

    print(orjson.dumps(document, option=orjson.OPT_INDENT_2).decode("utf-8"))


def console_of() -> Any:
    """The console to print on, as wide as paper when it is no terminal."""
    from rich.console import Console

    return Console(highlight=False, width=None if sys.stdout.isatty() else PAPER_WIDTH)


def refuse(problem: Problem, *, as_json: bool) -> NoReturn:
    """Say what is wrong and leave with exit code 2."""
    if as_json:
        print_json({"problem": problem.as_dict()})
    else:
        from rich.console import Console

        from loopwright.report.terminal import print_problem

        print_problem(problem, Console(stderr=True, highlight=False, soft_wrap=True))
    raise typer.Exit(2)
