"""Bringing items in and out: style files, copies.

A file that goes out is a style file with only the item's part in it, so the command line reads it too. Not covered:
the whole shelf as one file (`backup`).
"""

from __future__ import annotations

import tomli_w
from sqlalchemy import Connection, Engine, select

from loopwright.problems import Problem
from loopwright.store import saving
from loopwright.store.database import reading, writing
from loopwright.store.document import MOST_BYTES
from loopwright.store.kinds import items_in, renamed
from loopwright.store.rows import item_with
from loopwright.store.tables import item
from loopwright.store.values import Action, Item, Kind
from loopwright.study.style import read_style
from loopwright.study.toml_text import document_of

_HERE = "file to import"
_ROOM = 190  # of the 200 signs that a name may have; the rest is for what a copy adds


class Trade:
    """The part of the shelf that deals in files and copies."""

    engine: Engine

    def export_toml(self, item_id: int) -> str:
        """The item as a style file."""
        with reading(self.engine) as connection:
            return tomli_w.dumps(item_with(connection, item_id).document)

    def import_toml(self, text: str | bytes, *, by: str) -> list[Item]:
        """The items of a style file, each new on the shelf; the parts it holds say what they are.

        Raises:
            Problem: too long, not TOML, or something wrong in it; then nothing is kept.
        """
        data = text.encode("utf-8", "surrogatepass") if isinstance(text, str) else text
        if len(data) > MOST_BYTES:
            raise Problem(_HERE, f"it is {len(data) / 1e6:.1f} MB long.", limit=f"{MOST_BYTES / 1e6:g} MB")
        document = document_of(data, _HERE)
        read_style(document)
        with writing(self.engine) as connection:
            return [saving.add(connection, kind, part, by, Action.IMPORTED) for kind, part in items_in(document)]

    def duplicate(self, item_id: int, *, by: str) -> Item:
        """A copy under a name with " (copy)"; a numbered style gets a number that is free."""
        with writing(self.engine) as connection:
            saving.locked(connection, item_id)  # two copies made at once look for a free number one after the other
            model = item_with(connection, item_id)
            number = _free_number(connection, model.number[:_ROOM]) if model.number else ""
            document = renamed(model.kind, model.document, f"{model.name[:_ROOM] or 'Unnamed style'} (copy)", number)
            return saving.add(connection, model.kind, document, by)


def _free_number(connection: Connection, number: str) -> str:
    """The first of "N7-014-2", "N7-014-3" … that no style has, archived ones included."""
    alike = item.c.number.startswith(number, autoescape=True) & (item.c.kind == str(Kind.STYLE))
    taken = set(connection.execute(select(item.c.number).where(alike)).scalars())
    return next(free for free in (f"{number}-{copy}" for copy in range(2, len(taken) + 3)) if free not in taken)
