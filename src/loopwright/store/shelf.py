"""The shelf: what a studio keeps, with every change that was ever made to it.

In: documents and edits. Out: items, lists, histories. Each call is one transaction of its own and may come from any
thread. A `Problem` says what a person can mend; a `Clash` says that somebody else set the same field meanwhile.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from sqlalchemy import Engine, func, select

from loopwright.store import saving
from loopwright.store.backup import BackUp
from loopwright.store.database import open_engine, reading, shelf_url, writing
from loopwright.store.document import differences
from loopwright.store.issues import Issues
from loopwright.store.people import People
from loopwright.store.rows import LINE_COLUMNS, change_of, has_words, item_of, item_with, items, line_of, one_line
from loopwright.store.tables import change, item
from loopwright.store.trade import Trade
from loopwright.store.values import Action, Change, Document, Edit, Item, Kind, Line, Saved, Step


def open_shelf(url: str | None = None) -> Shelf:
    """The shelf at a URL, or the person's own (see `database`), made when it is not there yet.

    Raises:
        Problem: it cannot be opened, is not a shelf, or was written by a newer program.
    """
    return Shelf(open_engine(shelf_url(url)))


class Shelf(People, Trade, Issues, BackUp):
    """All that is kept, by item."""

    def __init__(self, engine: Engine) -> None:
        self.engine = engine

    def close(self) -> None:
        """Let go of the database."""
        self.engine.dispose()

    def lines(
        self, kind: Kind, *, find: str = "", season: str | None = None, archived: bool = False,
        limit: int = 200, offset: int = 0,
    ) -> list[Line]:  # fmt: skip
        """A list, last changed first; `find` keeps what holds all its words in number, name, season or detail."""
        wanted = (item.c.kind == str(kind)) & (item.c.archived == archived) & has_words(find)
        if season is not None:
            wanted &= item.c.season == one_line(season)
        order = (item.c.changed_at.desc(), item.c.id.desc())
        with reading(self.engine) as connection:
            rows = connection.execute(select(*LINE_COLUMNS).where(wanted).order_by(*order).limit(limit).offset(offset))
            return [line_of(row) for row in rows]

    def count(self, kind: Kind, *, archived: bool = False) -> int:
        """How many items of a kind."""
        wanted = (item.c.kind == str(kind)) & (item.c.archived == archived)
        with reading(self.engine) as connection:
            return connection.execute(select(func.count()).select_from(item).where(wanted)).scalar_one()

    def seasons(self) -> list[tuple[str, int]]:
        """The seasons of the styles that are not archived, each with its number of styles; "" is no season."""
        wanted = (item.c.kind == str(Kind.STYLE)) & (item.c.archived == False)  # noqa: E712
        counted = select(item.c.season, func.count()).where(wanted).group_by(item.c.season)
        with reading(self.engine) as connection:
            return sorted((season, count) for season, count in connection.execute(counted))

    def is_empty(self) -> bool:
        """Whether nothing was ever put on it."""
        with reading(self.engine) as connection:
            return connection.execute(select(item.c.id).limit(1)).first() is None

    def add(self, kind: Kind, document: Document, *, by: str) -> Item:
        """A new item.

        Raises:
            Problem: the document is wrong, or not of this kind.
        """
        with writing(self.engine) as connection:
            return saving.add(connection, kind, document, by)

    def load(self, item_id: int) -> Item:
        """One item.

        Raises:
            Problem: it is not there.
        """
        with reading(self.engine) as connection:
            return item_with(connection, item_id)

    def load_many(self, ids: Iterable[int]) -> list[Item]:
        """Those of the items that are there, in the order asked for."""
        wanted = list(dict.fromkeys(ids))
        with reading(self.engine) as connection:
            rows = connection.execute(items().where(item.c.id.in_(wanted)))
            found = {row.id: item_of(row) for row in rows}
        return [found[each] for each in wanted if each in found]

    def find(self, kind: Kind, name: str) -> Item | None:
        """The item of that name, else of that key in a style's tables; the first made when there are several."""
        shown = one_line(name)
        wanted = (item.c.kind == str(kind)) & (item.c.archived == False)  # noqa: E712
        wanted &= (item.c.name == shown) | (item.c.key == shown)
        with reading(self.engine) as connection:
            rows = connection.execute(items().where(wanted).order_by(item.c.id)).all()
        by_name = [row for row in rows if row.name == shown] or rows
        return item_of(by_name[0]) if shown and by_name else None

    def change(
        self, item_id: int, edits: Sequence[Edit], *, base_version: int, by: str, window: str = "", label: str = ""
    ) -> Saved:
        """Save edits that were made to the document of `base_version`, all or none, as one change record.

        Fields that nobody touched since are merged into today's document. Earlier edits of the same `window`, when
        it is named, count as known to it.

        Raises:
            Clash: the same field was set to another value since.
            Problem: the document would be wrong, or there is no such item.
        """
        with writing(self.engine) as connection:
            return saving.save_edits(
                connection, item_id, edits, base_version=base_version, by=by, window=window, label=label
            )

    def set_aside(self, item_id: int, edits: Sequence[Edit], *, by: str, window: str = "") -> Change:
        """Keep the losing side of a clash in the history; the document stays."""
        with writing(self.engine) as connection:
            return saving.set_aside(connection, item_id, edits, by, window)

    def undo(self, item_id: int, *, by: str) -> Saved:
        """Take the newest edit back.

        Raises:
            Problem: there is nothing to undo.
        """
        with writing(self.engine) as connection:
            return saving.undo(connection, item_id, by)

    def redo(self, item_id: int, *, by: str) -> Saved:
        """Take the newest undo back.

        Raises:
            Problem: there is nothing to redo.
        """
        with writing(self.engine) as connection:
            return saving.redo(connection, item_id, by)

    def history(self, item_id: int, *, limit: int = 200) -> list[Change]:
        """The change records of an item, newest first."""
        asked = select(change).where(change.c.item_id == item_id).order_by(change.c.version.desc()).limit(limit)
        with reading(self.engine) as connection:
            return [change_of(row) for row in connection.execute(asked)]

    def document_at(self, item_id: int, version: int) -> Document:
        """The document of a version, by taking steps back from today's."""
        with reading(self.engine) as connection:
            return saving.document_at(connection, item_with(connection, item_id), version)

    def differences(self, item_id: int, first: int, second: int) -> list[Step]:
        """What differs from one version to another, field by field."""
        return list(differences(self.document_at(item_id, first), self.document_at(item_id, second)))

    def restore(self, item_id: int, version: int, *, by: str) -> Saved:
        """Bring an earlier version back as a new change, which undo can take."""
        with writing(self.engine) as connection:
            return saving.restore(connection, item_id, version, by)

    def archive(self, item_id: int, *, by: str) -> Item:
        """Put an item out of sight of the lists."""
        return self._archive(item_id, Action.ARCHIVED, by)

    def unarchive(self, item_id: int, *, by: str) -> Item:
        """Bring an archived item back into the lists."""
        return self._archive(item_id, Action.UNARCHIVED, by)

    def _archive(self, item_id: int, action: Action, by: str) -> Item:
        with writing(self.engine) as connection:
            archived = action is Action.ARCHIVED
            if saving.locked(connection, item_id).archived != archived:
                saving.note(connection, item_id, action, by=by, archived=archived)
            return item_with(connection, item_id)
