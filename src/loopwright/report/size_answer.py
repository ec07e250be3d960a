"""What the command for sizes says and writes: the size table, or what a buyer's table would change in a style.

In: the style document, the table brought in, the files asked for. Out: text on a console; files, each written whole.
Not covered: what a table changes (`study.brought_table`), JSON (`size_document`).
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from pathlib import Path
from typing import Any

import tomli_w
from rich.console import Console

from loopwright.garment.table_text import TableRead
from loopwright.problems import Problem, Sign
from loopwright.report.files import write_whole
from loopwright.report.size_document import changes_block, outcome, refused_block, remarks, size_table_block
from loopwright.report.size_files import size_csv
from loopwright.report.size_workbook import size_workbook
from loopwright.report.table_files import FileRead
from loopwright.report.terminal import SIGNS, print_blocks
from loopwright.study.brought_table import Brought, document_table

STYLE_ENDING, TABLE_ENDINGS = ".toml", (".csv", ".xlsx")


def require_fitting_files(*, bring: Path | None, write: Path | None, out: Path | None) -> None:
    """Refuse files that do not go together; named as the options of the command.

    Raises:
        Problem: nothing to write, an ending that says another kind of file, or the buyer's own table as the target.
    """
    if write is not None and bring is None:
        raise Problem("--write", "there is no table to take into the style.", tries=["--bring TABLE.csv"])
    if write is not None and write.suffix.lower() != STYLE_ENDING:
        raise Problem("--write", f"{write.name} is no name of a style file.", tries=[f"{write.stem}{STYLE_ENDING}"])
    if out is not None and out.suffix.lower() not in TABLE_ENDINGS:
        tries = [f"{out.stem}{ending}" for ending in TABLE_ENDINGS]
        raise Problem("--out", f"{out.name} ends like no size table.", limit=" or ".join(TABLE_ENDINGS), tries=tries)
    if bring is not None and out is not None and out.exists() and bring.exists() and out.samefile(bring):
        raise Problem("--out", f"{out.name} is the table that is brought in.", tries=["another name"])


def write_sizes(
    document: Mapping[str, Any], brought: Brought | None, *, write: Path | None, out: Path | None
) -> tuple[Path, ...]:
    """Write the changed style and the size table, whichever is asked for; the paths.

    Raises:
        Problem: a file cannot be written.
    """
    contents: dict[Path, bytes] = {}
    if brought is not None and write is not None:
        contents[write] = tomli_w.dumps(brought.document).encode("utf-8")
    if out is not None:
        table = brought.after if brought else document_table(dict(document))
        is_csv = out.suffix.lower() == ".csv"
        contents[out] = size_csv(table) if is_csv else size_workbook(table, [name_of(document)])
    for path, data in contents.items():
        write_whole(path, data)
    return tuple(contents)


def name_of(document: Mapping[str, Any]) -> str:
    """A style in one line: name and number."""
    header = document.get("style", {})
    return " · ".join(str(header[key]) for key in ("name", "number") if key in header) or "Unnamed style"


def print_sizes(
    document: Mapping[str, Any],
    brought: Brought | None,
    file: FileRead[TableRead] | None,
    written: Iterable[Path],
    console: Console,
) -> None:
    """Print the size table, or what a table brought in would change; then what was written."""
    files = [f"Written: {path}" for path in written]
    if brought is None:
        print_blocks(name_of(document), (size_table_block(document_table(dict(document))),), files, console)
        return
    blocks = [changes_block(brought)] if brought.changes else []
    blocks += [refused_block(brought)] if brought.read.refused or brought.kept else []
    notes = [outcome(brought), *remarks(brought, file.findings if file else ())]
    notes += [f"{SIGNS[Sign.STOPS]} {problem.sentence()}" for problem in brought.contradictions]
    print_blocks(name_of(document), blocks, [*notes, *files], console)
