"""Issues of factory packs, and the questions asked about them."""

import sqlalchemy as sa
from alembic import op

revision = "0002"
down_revision = "0001"


def upgrade() -> None:
    """Make the tables."""
    op.create_table(
        "issue",
        sa.Column("id", sa.Integer, primary_key=True),
        sa.Column("item_id", sa.Integer, sa.ForeignKey("item.id"), nullable=False),
        sa.Column("number", sa.Integer, nullable=False),
        sa.Column("version", sa.Integer, nullable=False),
        sa.Column("at", sa.DateTime, nullable=False),
        *(sa.Column(name, sa.Text, nullable=False) for name in ("by", "recipients", "note", "record")),
        sa.Column("files", sa.LargeBinary),
        sa.UniqueConstraint("item_id", "number", name="issue_by_number"),
    )
    op.create_table(
        "question",
        sa.Column("id", sa.Integer, primary_key=True),
        sa.Column("item_id", sa.Integer, sa.ForeignKey("item.id"), nullable=False),
        sa.Column("issue", sa.Integer, nullable=False),
        *(sa.Column(name, sa.Text, nullable=False) for name in ("place", "text", "by")),
        sa.Column("at", sa.DateTime, nullable=False),
        *(sa.Column(name, sa.Text) for name in ("answer", "answered_by")),
        sa.Column("answered_at", sa.DateTime),
    )
    op.create_index("question_by_item", "question", ["item_id", "issue"])
