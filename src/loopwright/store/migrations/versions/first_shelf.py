"""The first shelf: items, change records, people."""

import sqlalchemy as sa
from alembic import op

revision = "0001"
down_revision = None


def upgrade() -> None:
    """Make the tables."""
    op.create_table(
        "item",
        sa.Column("id", sa.Integer, primary_key=True),
        sa.Column("kind", sa.String(20), nullable=False),
        *(sa.Column(name, sa.Text, nullable=False) for name in ("key", "number", "name", "season", "detail", "search")),
        sa.Column("version", sa.Integer, nullable=False),
        sa.Column("document", sa.Text, nullable=False),
        sa.Column("archived", sa.Boolean, nullable=False),
        sa.Column("made_at", sa.DateTime, nullable=False),
        sa.Column("changed_at", sa.DateTime, nullable=False),
        sa.Column("changed_by", sa.Text, nullable=False),
        sa.Column("undo_version", sa.Integer),
        sa.Column("redo_version", sa.Integer),
    )
    op.create_index("item_by_kind", "item", ["kind", "archived", "changed_at"])
    op.create_table(
        "change",
        sa.Column("number", sa.Integer, primary_key=True),
        sa.Column("item_id", sa.Integer, sa.ForeignKey("item.id"), nullable=False),
        sa.Column("version", sa.Integer, nullable=False),
        sa.Column("at", sa.DateTime, nullable=False),
        *(sa.Column(name, sa.Text, nullable=False) for name in ("by", "window", "label")),
        sa.Column("action", sa.String(20), nullable=False),
        sa.Column("steps", sa.Text, nullable=False),
        sa.Column("undoes", sa.Integer),
        sa.Column("below", sa.Integer),
        sa.UniqueConstraint("item_id", "version", name="change_by_version"),
    )
    op.create_table(
        "person",
        sa.Column("name", sa.String(200), primary_key=True),
        sa.Column("password_hash", sa.Text, nullable=False),
        sa.Column("role", sa.String(20), nullable=False),
        sa.Column("made_at", sa.DateTime, nullable=False),
    )
