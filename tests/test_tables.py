"""Every packaged table: where each row comes from, numbers that are numbers, bands that hold their value."""

import csv
import tomllib
from collections.abc import Callable, Iterator
from functools import cache
from pathlib import Path

import pytest

from loopwright.sources.table import PROVENANCE, bibliography
from loopwright.units import quantity

SOURCE = Path(__file__).resolve().parents[1] / "src" / "loopwright"
TABLES = sorted(SOURCE.rglob("data/*.csv"))
DOCUMENTS = sorted(path for path in SOURCE.rglob("data/*.toml") if path.name != "sources.toml")
STATUSES = {"published", "digitised", "measured", "common_practice", "memory", "prior"}
READ = {"full", "extract", "abstract", "second hand", "not opened"}
OURS = {"house", "common_practice", "identity"}  # keys that stand for no document


def every_table(check: Callable[[Path], None]) -> Callable[[], None]:
    """What is checked of one table as one test of them all, which names those that fail."""

    def test() -> None:
        wrong = []
        for file in TABLES:
            try:
                check(file)
            except AssertionError as failure:
                wrong.append(f"{file.parts[-3]}/{file.stem}: {failure}")
        assert not wrong, "\n".join(wrong)

    return test


@cache
def rows_of(file: Path) -> list[dict[str, str]]:
    lines = [line for line in file.read_text("utf-8").splitlines() if line.strip() and not line.startswith("#")]
    return list(csv.DictReader(lines))


def columns_of(file: Path) -> list[str]:
    return [name for name in rows_of(file)[0] if name not in PROVENANCE]


def number(text: str) -> float | None:
    try:
        return float(text)
    except ValueError:
        return None


def cells(file: Path) -> Iterator[tuple[int, str, str]]:
    """(row, column, text) of every filled cell that is no provenance."""
    for index, row in enumerate(rows_of(file), start=1):
        for column in columns_of(file):
            if row[column]:
                yield index, column, row[column]


def test_there_are_tables_in_every_package_that_needs_some():
    packages = {path.parts[-3] for path in TABLES}
    assert {"yarn", "fabric", "garment", "shaping", "machine", "makeup", "cost", "study"} <= packages


@every_table
def test_every_table_says_in_its_first_line_what_it_is(file):
    assert file.read_text("utf-8").startswith("# ")


@every_table
def test_every_row_has_as_many_cells_as_its_head(file):
    for row in rows_of(file):
        assert None not in row, f"a comma too many: {row}"
        assert all(cell is not None for cell in row.values()), f"a comma too few: {row}"


@every_table
def test_every_row_names_a_source_and_how_well_it_is_known(file):
    assert rows_of(file)
    for row in rows_of(file):
        assert set(PROVENANCE) <= set(row)
        assert row["source"] in bibliography()
        assert row["status"] in STATUSES


@every_table
def test_what_is_called_published_was_published_by_somebody(file):
    for row in rows_of(file):
        if row["status"] in ("published", "digitised"):
            assert row["source"] not in OURS, row


@every_table
def test_our_own_assumptions_are_called_so(file):
    for row in rows_of(file):
        if row["source"] == "house":
            assert row["status"] == "prior", row


@every_table
def test_a_column_of_numbers_holds_numbers_only(file):
    """Inches keep their printed fractions; words and numbers never share a column."""
    for column in columns_of(file):
        filled = [row[column] for row in rows_of(file) if row[column]]
        if column.endswith("_in"):
            assert all(quantity(cell, "in") > 0 for cell in filled), column
        else:
            assert len({number(cell) is None for cell in filled}) <= 1, (column, filled)


@every_table
def test_columns_with_a_unit_are_numbers(file):
    units = ("_cm", "_mm", "_percent", "_deg", "_tex", "_sd", "_low", "_high", "_g_per_cm3", "_kg", "_min")
    for index, column, text in cells(file):
        if column.endswith(units):
            assert number(text) is not None, (index, column, text)


@every_table
def test_every_band_holds_its_value(file):
    for row in rows_of(file):
        for column in columns_of(file):
            for low_name, high_name in ((f"{column}_low", f"{column}_high"), ("normal_low", "normal_high")):
                belongs = low_name.startswith(column) or (column == "target" and low_name == "normal_low")
                if belongs and row.get(low_name) and row.get(high_name):
                    low, value, high = (float(row[name]) for name in (low_name, column, high_name))
                    assert low <= value <= high, (column, row)


@every_table
def test_every_default_lies_within_what_a_person_may_type(file):
    for row in rows_of(file):
        if row.get("least") and row.get("most"):
            assert float(row["least"]) <= float(row["most"]), row
            if row.get("value"):
                assert float(row["least"]) <= float(row["value"]) <= float(row["most"]), row


@every_table
def test_no_row_is_there_twice(file):
    rows = [tuple(row.values()) for row in rows_of(file)]
    assert len(set(rows)) == len(rows)


@pytest.mark.parametrize("key", bibliography())
def test_every_source_has_a_title_and_says_how_far_it_was_read(key):
    entry = bibliography()[key]
    assert entry["title"].strip()
    assert entry["read"] in READ


def used_sources(part: object) -> Iterator[str]:
    if isinstance(part, dict):
        for key, value in part.items():
            if key == "source":
                yield str(value)
            else:
                yield from used_sources(value)
    elif isinstance(part, list):
        for value in part:
            yield from used_sources(value)


@pytest.mark.parametrize("file", DOCUMENTS, ids=lambda path: path.stem)
def test_every_source_of_a_document_is_in_the_bibliography(file):
    sources = list(used_sources(tomllib.loads(file.read_text("utf-8"))))
    assert sources
    assert set(sources) <= set(bibliography())
