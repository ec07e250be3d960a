"""What was handed over of a style: its issues, frozen, and the questions and answers about them.

In: a record and its files as one ZIP, made before. Out: issues by number, from 1 and without a gap; their records and
files as they were. An issue is kept in one transaction, so there is a whole one or none; of two that were made at once
under one number the second is told. Later changes of the style touch none of it.
Not covered: what a record holds (`report.pack.issued`).
"""

from __future__ import annotations

import json
from collections.abc import Sequence
from datetime import UTC, datetime
from typing import Any

from sqlalchemy import Column, Connection, Engine, Row, insert, select, update

from loopwright.problems import Problem
from loopwright.store.database import reading, writing
from loopwright.store.rows import LONGEST_TEXT, nothing_there, one_line, some_lines
from loopwright.store.saving import locked
from loopwright.store.tables import issue, item, question
from loopwright.store.values import Issue, Kind, Question

MOST_OF_A_RECORD = 32_000_000  # bytes; a pack of seven sizes has a third of a million
MOST_OF_FILES = 100_000_000
_COLUMNS: tuple[Column[Any], ...] = (
    issue.c.item_id, issue.c.number, issue.c.version, issue.c.at, issue.c.by, issue.c.recipients, issue.c.note,
)  # fmt: skip


class Issues:
    """The part of the shelf that keeps what was handed over."""

    engine: Engine

    def add_issue(
        self, item_id: int, number: int, *, version: int, record: Any, files: bytes, by: str,
        recipients: Sequence[str] = (), note: str = "",
    ) -> Issue:  # fmt: skip
        """Keep the next issue of a style.

        Raises:
            Problem: another issue of that number was made meanwhile, it is no style, or far too long.
        """
        require_record(record)
        if len(files) > MOST_OF_FILES:
            raise Problem("issue", f"its files have {len(files) / 1e6:.0f} MB.", limit=f"{MOST_OF_FILES / 1e6:g} MB")
        row = {
            "item_id": item_id, "number": number, "version": version, "at": datetime.now(UTC), "by": one_line(by),
            "recipients": [one_line(name) for name in recipients], "note": some_lines(note), "record": record,
            "files": files,
        }  # fmt: skip
        with writing(self.engine) as connection:
            if locked(connection, item_id).kind != Kind.STYLE:
                raise Problem("issue", "only a style is handed over.", tries=["open a style"])
            _require_next(connection, item_id, number)
            return _issue_of(connection.execute(insert(issue).values(row).returning(*_COLUMNS)).one())

    def issues(self, item_id: int) -> list[Issue]:
        """The issues of a style, newest first.

        Raises:
            Problem: there is no such item.
        """
        with reading(self.engine) as connection:
            _require_item(connection, item_id)
            asked = select(*_COLUMNS).where(issue.c.item_id == item_id).order_by(issue.c.number.desc())
            return [_issue_of(row) for row in connection.execute(asked)]

    def issue_record(self, item_id: int, number: int) -> Any:
        """The record of an issue.

        Raises:
            Problem: there is no such issue.
        """
        return self._of_issue(item_id, number, issue.c.record)

    def issue_files(self, item_id: int, number: int) -> bytes | None:
        """The files of an issue as one ZIP; None where they did not come with a back-up.

        Raises:
            Problem: there is no such issue.
        """
        files = self._of_issue(item_id, number, issue.c.files)
        return None if files is None else bytes(files)

    def _of_issue(self, item_id: int, number: int, column: Any) -> Any:
        with reading(self.engine) as connection:
            _require_item(connection, item_id)
            wanted = (issue.c.item_id == item_id) & (issue.c.number == number)
            row = connection.execute(select(column).where(wanted)).one_or_none()
        if row is None:
            raise _no_issue(number)
        return row[0]

    def ask(self, item_id: int, number: int, *, place: str, text: str, by: str) -> Question:
        """Keep a question about a place of an issue.

        Raises:
            Problem: there is no such issue, or nothing is asked.
        """
        asked = _said(text, "question")
        row = {"item_id": item_id, "issue": number, "place": one_line(place), "text": asked, "by": one_line(by)}
        with writing(self.engine) as connection:
            _require_item(connection, item_id)
            wanted = (issue.c.item_id == item_id) & (issue.c.number == number)
            if connection.execute(select(issue.c.id).where(wanted)).first() is None:
                raise _no_issue(number)
            made = insert(question).values({**row, "at": datetime.now(UTC)}).returning(question)
            return _question_of(connection.execute(made).one())

    def answer_question(self, item_id: int, question_id: int, *, text: str, by: str) -> Question:
        """Keep the answer to a question.

        Raises:
            Problem: there is no such question, it has an answer already, or nothing is said.
        """
        said = {"answer": _said(text, "answer"), "answered_by": one_line(by), "answered_at": datetime.now(UTC)}
        wanted = (question.c.item_id == item_id) & (question.c.id == question_id)
        with writing(self.engine) as connection:
            _require_item(connection, item_id)
            row = connection.execute(select(question).where(wanted).with_for_update()).one_or_none()
            if row is None:
                raise Problem("question", "there is no such question.", tries=["load the page again"])
            if row.answer is not None:
                what = f"{row.answered_by} has answered it already: {row.answer[:200]}"
                raise Problem("question", what, tries=["ask again what is still open"])
            return _question_of(
                connection.execute(update(question).where(wanted).values(said).returning(question)).one()
            )

    def questions(self, item_id: int) -> list[Question]:
        """All questions about a style, in the order they were asked.

        Raises:
            Problem: there is no such item.
        """
        with reading(self.engine) as connection:
            _require_item(connection, item_id)
            asked = select(question).where(question.c.item_id == item_id).order_by(question.c.id)
            return [_question_of(row) for row in connection.execute(asked)]


def require_record(record: Any) -> None:
    """Check that a record can be kept.

    Raises:
        Problem: it holds what no database keeps, or is far too long.
    """
    try:
        size = len(json.dumps(record, ensure_ascii=False, allow_nan=False).encode("utf-8"))
    except ValueError:
        raise Problem("issue", "it holds a value that cannot be kept.", tries=["type it again"]) from None
    if size > MOST_OF_A_RECORD:
        raise Problem("issue", f"its record has {size / 1e6:.0f} MB.", limit=f"{MOST_OF_A_RECORD / 1e6:g} MB")


def _require_item(connection: Connection, item_id: int) -> None:
    if connection.execute(select(item.c.id).where(item.c.id == item_id)).first() is None:
        raise nothing_there(item_id)


def _require_next(connection: Connection, item_id: int, number: int) -> None:
    """Check that an issue follows the last one."""
    newest = select(issue.c.number, issue.c.by).where(issue.c.item_id == item_id).order_by(issue.c.number.desc())
    last = connection.execute(newest.limit(1)).first()
    following = last.number + 1 if last else 1
    if number < following:
        what = f"issue {number} was made by {last.by if last else ''} meanwhile; nothing was issued twice."
        raise Problem("issue", what, tries=["look at that issue, then issue again"])
    if number > following:
        raise Problem("issue", f"issue {number} would leave a gap.", limit=f"the next is {following}")


def _no_issue(number: int) -> Problem:
    return Problem("issue", f"there is no issue {number} of this style.", tries=["load the page again"])


def _said(text: str, what: str) -> str:
    if len(text) > LONGEST_TEXT:
        raise Problem(what, f"it has {len(text)} signs.", limit=f"{LONGEST_TEXT}", tries=["say it in two"])
    said = some_lines(text)
    if not said:
        raise Problem(what, "nothing is said yet.", tries=["write it, then send it"])
    return said


def _issue_of(row: Row[Any]) -> Issue:
    return Issue(row.item_id, row.number, row.version, row.at, row.by, tuple(row.recipients), row.note)


def _question_of(row: Row[Any]) -> Question:
    return Question(
        row.id, row.item_id, row.issue, row.place, row.text, row.by, row.at, row.answer, row.answered_by,
        row.answered_at,
    )  # fmt: skip
