"""The tables of the shelf: items with today's document, their change records, their issues, the people of a team.

Times are UTC. `undo_version` and `redo_version` of an item point at the change records that undo and redo would take;
`below` of a record points at the next one under it, so both are stacks kept in the history itself.
"""

from __future__ import annotations

import json
from datetime import UTC, datetime
from typing import Any

from sqlalchemy import (
    Boolean,
    Column,
    DateTime,
    Dialect,
    ForeignKey,
    Index,
    Integer,
    LargeBinary,
    MetaData,
    String,
    Table,
    Text,
    TypeDecorator,
    UniqueConstraint,
)


class Instant(TypeDecorator[datetime]):
    """A time in UTC, whatever the database makes of time zones."""

    impl = DateTime
    cache_ok = True

    def process_bind_param(self, value: datetime | None, dialect: Dialect) -> datetime | None:  # noqa: ARG002
        """Without its zone, which is always UTC."""
        return value.astimezone(UTC).replace(tzinfo=None) if value else None

    def process_result_value(self, value: datetime | None, dialect: Dialect) -> datetime | None:  # noqa: ARG002
        """With its zone again."""
        return value.replace(tzinfo=UTC) if value else None


class JsonText(TypeDecorator[Any]):
    """A document kept as JSON text: the same bytes in every database."""

    impl = Text
    cache_ok = True

    def process_bind_param(self, value: Any, dialect: Dialect) -> str:  # noqa: ARG002
        """Text of the document."""
        return json.dumps(value, ensure_ascii=False, allow_nan=False)

    def process_result_value(self, value: str | None, dialect: Dialect) -> Any:  # noqa: ARG002
        """The document."""
        return None if value is None else json.loads(value)


metadata = MetaData()

item = Table(
    "item",
    metadata,
    Column("id", Integer, primary_key=True),
    Column("kind", String(20), nullable=False),
    Column("key", Text, nullable=False),
    Column("number", Text, nullable=False),
    Column("name", Text, nullable=False),
    Column("season", Text, nullable=False),
    Column("detail", Text, nullable=False),
    Column("search", Text, nullable=False),
    Column("version", Integer, nullable=False),
    Column("document", JsonText, nullable=False),
    Column("archived", Boolean, nullable=False),
    Column("made_at", Instant, nullable=False),
    Column("changed_at", Instant, nullable=False),
    Column("changed_by", Text, nullable=False),
    Column("undo_version", Integer),
    Column("redo_version", Integer),
    Index("item_by_kind", "kind", "archived", "changed_at"),
)

change = Table(
    "change",
    metadata,
    Column("number", Integer, primary_key=True),
    Column("item_id", Integer, ForeignKey("item.id"), nullable=False),
    Column("version", Integer, nullable=False),
    Column("at", Instant, nullable=False),
    Column("by", Text, nullable=False),
    Column("window", Text, nullable=False),
    Column("label", Text, nullable=False),
    Column("action", String(20), nullable=False),
    Column("steps", JsonText, nullable=False),
    Column("undoes", Integer),
    Column("below", Integer),
    UniqueConstraint("item_id", "version", name="change_by_version"),
)

issue = Table(
    "issue",
    metadata,
    Column("id", Integer, primary_key=True),
    Column("item_id", Integer, ForeignKey("item.id"), nullable=False),
    Column("number", Integer, nullable=False),
    Column("version", Integer, nullable=False),
    Column("at", Instant, nullable=False),
    Column("by", Text, nullable=False),
    Column("recipients", JsonText, nullable=False),
    Column("note", Text, nullable=False),
    Column("record", JsonText, nullable=False),
    Column("files", LargeBinary),
    UniqueConstraint("item_id", "number", name="issue_by_number"),
)

question = Table(
    "question",
    metadata,
    Column("id", Integer, primary_key=True),
    Column("item_id", Integer, ForeignKey("item.id"), nullable=False),
    Column("issue", Integer, nullable=False),
    Column("place", Text, nullable=False),
    Column("text", Text, nullable=False),
    Column("by", Text, nullable=False),
    Column("at", Instant, nullable=False),
    Column("answer", Text),
    Column("answered_by", Text),
    Column("answered_at", Instant),
    Index("question_by_item", "item_id", "issue"),
)

person = Table(
    "person",
    metadata,
    Column("name", String(200), primary_key=True),
    Column("password_hash", Text, nullable=False),
    Column("role", String(20), nullable=False),
    Column("made_at", Instant, nullable=False),
)
