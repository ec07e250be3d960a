"""Packaged reference tables: one CSV per printed table, provenance in every row.

A table has any number of columns plus `source` (a key of `sources.toml`), `locator` (page, table, equation) and
`status` (`published`, `digitised`, `measured`, `common_practice`, `memory`, `prior`). Tables are read once and count
as constants. `memory` means a textbook or standard figure written from memory and not opened again; it shows as
common practice. `prior` is a working assumption of ours and shows as assumed.
"""

from __future__ import annotations

import csv
import tomllib
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from functools import cache
from importlib import resources
from types import MappingProxyType
from typing import Any

from loopwright.figure import Basis, Figure, State, banded

PROVENANCE = ("source", "locator", "status")

_BASIS_OF_STATUS = {
    "published": Basis.PUBLISHED,
    "digitised": Basis.PUBLISHED,
    "measured": Basis.MEASURED,
    "common_practice": Basis.COMMON_PRACTICE,
    "memory": Basis.COMMON_PRACTICE,
    "prior": Basis.ASSUMED,
}


@dataclass(frozen=True, slots=True)
class Row:
    """One row of a table: text cells by column, with numbers on request."""

    cells: Mapping[str, str]

    def __getitem__(self, column: str) -> float:
        """The number in a column.

        Raises:
            ValueError: the cell holds no number (a mistake of ours: the table is wrong).
        """
        return float(self.cells[column])

    def text(self, column: str) -> str:
        """The words in a column."""
        return self.cells[column]

    def has(self, column: str) -> bool:
        """Whether the column exists and its cell is filled."""
        return bool(self.cells.get(column))

    @property
    def source(self) -> str:
        """The source as a person reads it: title and place, "from memory" where it was not opened."""
        return cite(self.cells["source"], self.cells.get("locator", ""), self.cells["status"])

    @property
    def basis(self) -> Basis:
        """How well the row is known."""
        return _BASIS_OF_STATUS[self.cells["status"]]

    def figure(self, name: str, column: str, unit: str, *, words: str, state: State | None = None) -> Figure:
        """The value in `column` with the band in `column_low` and `column_high` where the table has one."""
        value = self[column]
        low = self[f"{column}_low"] if self.has(f"{column}_low") else value
        high = self[f"{column}_high"] if self.has(f"{column}_high") else value
        return banded(
            name, value, unit, low=low, high=high, basis=self.basis, words=words, source=self.source, state=state
        )


@dataclass(frozen=True, slots=True)
class Table:
    """A packaged table: rows in printed order."""

    name: str
    rows: tuple[Row, ...]
    _keyed: dict[tuple[str, ...], Mapping[Any, Row]] = field(default_factory=dict, repr=False, compare=False)

    def __iter__(self) -> Iterator[Row]:
        """Rows in printed order."""
        return iter(self.rows)

    def by(self, *columns: str) -> Mapping[Any, Row]:
        """Rows keyed by one column (a string) or several (a tuple of strings).

        Raises:
            ValueError: two rows share a key (a mistake of ours).
        """
        if columns in self._keyed:
            return self._keyed[columns]
        keyed: dict[Any, Row] = {}
        for row in self.rows:
            key = row.text(columns[0]) if len(columns) == 1 else tuple(row.text(column) for column in columns)
            if key in keyed:
                raise ValueError(f"{self.name}: two rows for {key}")
            keyed[key] = row
        return self._keyed.setdefault(columns, MappingProxyType(keyed))


@cache
def table(package: str, name: str) -> Table:
    """The table `data/<name>.csv` of a package of ours: `table(__package__, "fibres")`. # opens a line of notes."""
    file = resources.files(package) / "data" / f"{name}.csv"
    lines = [line for line in file.read_text("utf-8").splitlines() if line.strip() and not line.startswith("#")]
    reader = csv.DictReader(lines)
    return Table(f"{package}/{name}", tuple(Row(MappingProxyType(dict(cells))) for cells in reader))


@cache
def toml(package: str, name: str) -> Mapping[str, Any]:
    """The document `data/<name>.toml` of a package of ours."""
    file = resources.files(package) / "data" / f"{name}.toml"
    return MappingProxyType(tomllib.loads(file.read_text("utf-8")))


@cache
def bibliography() -> Mapping[str, Mapping[str, str]]:
    """All sources by key: `title`, and `read` (how far the source was opened for this project)."""
    return toml(__package__, "sources")


@cache
def cite(key: str, locator: str = "", status: str = "published") -> str:
    """A source in words: title, place in it, and the mark "from memory" or "working assumption" where due.

    >>> cite("munden_1959", "table of k values")
    'Munden, J. Text. Inst. 50 (1959) T448, table of k values'
    """
    title = bibliography()[key]["title"]
    words = f"{title}, {locator}" if locator else title
    notes = {"memory": " (from memory)", "prior": " (working assumption)"}
    note = notes.get(status, "")
    return words if note and note.strip(" ()") in words else words + note
