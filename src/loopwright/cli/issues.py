"""Issues of a factory pack: the next one into its numbered folder, and what changed between two."""

from __future__ import annotations

import getpass
import re
from datetime import UTC, datetime
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from loopwright.cli.door import AsJson, app, bytes_of, console_of, document_from, print_json, refuse

if TYPE_CHECKING:
    from loopwright.report.pack.issued import Issued

ISSUE_FOLDER = re.compile(r"issue-(\d{1,9})")


def require_fitting_words(*, issue: bool, cost: bool, of_issue: bool) -> None:
    """Check that what was asked of the pack goes together.

    Raises:
        Problem: it does not.
    """
    from loopwright.problems import Problem

    if issue and cost:
        raise Problem("pack", "the cost sheet is no part of an issue.", tries=["write it without --issue"])
    if of_issue and not issue:
        raise Problem("pack", "--to, --by and --note belong to an issue.", tries=["with --issue"])


def issue_style(
    style: Path,
    out: Path,
    *,
    formats: list[str],
    paper: str,
    language: str,
    by: str | None,
    to: list[str] | None,
    note: str,
) -> tuple[dict[str, Any], tuple[Path, ...]]:
    """Issue a style into the next numbered folder; what is told of it, and the files.

    Raises:
        Problem: what stops a pack, a last issue that cannot be read, or a folder that cannot be written.
    """
    from loopwright.report.files import write_new_folder
    from loopwright.report.pack.differing import counted
    from loopwright.report.pack.issued import handed
    from loopwright.report.pack.issuing import issue_pack, nothing_differs
    from loopwright.study.study import study_style
    from loopwright.study.style import read_style

    document = document_from(style)
    answer = study_style(read_style(document))
    last = _last_issue(out)
    number = last.number + 1 if last else 1
    now = datetime.now(UTC).isoformat(timespec="seconds")
    saying = handed(
        number=number,
        style_version=answer.style.style.version,
        when=now,
        by=_account() if by is None else by,
        recipients=tuple(to or ()),
        note=note,
    )
    issued, files = issue_pack(answer, document, saying, last=last, formats=formats, paper=paper, language=language)
    written = write_new_folder(out / f"issue-{number:02d}", files)
    words = "The first issue."
    if last:
        found = counted(issued.differences)
        words = f"{found} from issue {last.number}." if found else nothing_differs(last)
    changes = [each.as_dict() for each in issued.differences]
    return {"number": number, "says": words, "changes": changes}, written


def _last_issue(out: Path) -> Issued | None:
    """The newest issue in a folder; none where there is none yet.

    Raises:
        Problem: the record of the newest one is not whole, or it is of another number.
    """
    from loopwright.problems import Problem

    try:
        names = [each.name for each in out.iterdir()] if out.exists() else []
    except OSError as error:
        raise Problem(f"folder {out}", f"it cannot be looked into ({error.strerror}).") from None
    numbers = {int(read[1]): name for name in names if (read := ISSUE_FOLDER.fullmatch(name))}
    if not numbers:
        return None
    newest = max(numbers)
    issued = _issue_in(out / numbers[newest])
    if issued.number != newest:
        what = f"its record is that of issue {issued.number}."
        raise Problem(f"folder {out / numbers[newest]}", what, tries=["give the folder its own number again"])
    return issued


def _issue_in(place: Path) -> Issued:
    """The record of an issue: of a folder, or a file.

    Raises:
        Problem: there is none, or it is not whole.
    """
    from loopwright.report.pack.issued import ISSUE_FILE, read_issue

    file = place / ISSUE_FILE if place.is_dir() else place
    return read_issue(bytes_of(file), str(file))


def _account() -> str:
    """The name of the account; nothing where there is none."""
    try:
        return getpass.getuser()
    except (KeyError, OSError):
        return ""


@app.command()
def changes(
    old: Annotated[Path, typer.Argument(help="The older issue: its folder, or its issue.json.", metavar="OLD_DIR")],
    new: Annotated[Path, typer.Argument(help="The newer issue: its folder, or its issue.json.", metavar="NEW_DIR")],
    as_json: AsJson = False,
) -> None:
    """What changed between two issues of a factory pack, place by place: what was, and what is now.

    Every leaf, table cell, step of a knit-down, line and drawing of the two is compared as it was printed. They need
    not follow each other.
    """
    from loopwright.problems import Problem
    from loopwright.report.pack.differing import counted, differences
    from loopwright.report.pack.issuing import changes_table, decided, nothing_differs

    try:
        before, after = _issue_in(old), _issue_in(new)
    except Problem as problem:
        refuse(problem, as_json=as_json)
    found = differences(before.pages, after.pages)
    choices = decided(before.inputs, after.inputs)
    words = f"{counted(found)} from issue {before.number}." if found else nothing_differs(before)
    if as_json:
        print_json(
            {
                "old": before.number,
                "new": after.number,
                "says": words,
                "decided": [{"where": where, "change": change} for where, change in choices],
                "changes": [each.as_dict() for each in found],
            }
        )
        return
    from loopwright.report.blocks import Block, Lines, Section, Steps
    from loopwright.report.terminal import print_section

    blocks: list[Block] = [Lines((words,))]
    if choices:
        blocks.append(Steps("Decided otherwise", choices))
    if found:
        blocks.append(changes_table(found, most=len(found)))
    print_section(Section("changes", f"From issue {before.number} to {after.number}", "", tuple(blocks)), console_of())
