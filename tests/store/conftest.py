"""A shelf of its own for every test, once in a file and once on a PostgreSQL server."""

import os
import tomllib
import uuid
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest
from sqlalchemy import create_engine, make_url

from loopwright.store.shelf import Shelf, open_shelf
from loopwright.store.values import Document, Item, Kind

EXAMPLES = Path(__file__).resolve().parents[2] / "examples"
SERVER = "LOOPWRIGHT_TEST_POSTGRESQL_URL"


@pytest.fixture
def new_url(tmp_path: Path) -> Iterator[Callable[[str], str]]:
    """Addresses of shelves that are not there yet; what was made is gone after the test."""
    made: list[str] = []

    def address(backend: str) -> str:
        if backend == "sqlite":
            return f"sqlite:///{tmp_path / uuid.uuid4().hex}.db"
        if SERVER not in os.environ:
            pytest.skip(f"no PostgreSQL server: {SERVER} is not set")
        made.append(f"test_{uuid.uuid4().hex}")
        on_server(f"CREATE SCHEMA {made[-1]}")
        url = make_url(os.environ[SERVER]).update_query_dict({"options": f"-csearch_path={made[-1]}"})
        return url.render_as_string(hide_password=False)

    yield address
    for schema in made:
        on_server(f"DROP SCHEMA {schema} CASCADE")


def on_server(words: str) -> None:
    engine = create_engine(make_url(os.environ[SERVER]).set(drivername="postgresql+psycopg"))
    with engine.begin() as connection:
        connection.exec_driver_sql(words)
    engine.dispose()


@pytest.fixture(params=["sqlite", "postgresql"])
def url(request: pytest.FixtureRequest, new_url: Callable[[str], str]) -> str:
    return new_url(request.param)


@pytest.fixture
def open_one() -> Iterator[Callable[[str], Shelf]]:
    """Opens shelves and lets go of all of them."""
    opened: list[Shelf] = []

    def opening(url: str) -> Shelf:
        opened.append(open_shelf(url))
        return opened[-1]

    yield opening
    for each in opened:
        each.close()


@pytest.fixture
def shelf(url: str, open_one: Callable[[str], Shelf]) -> Shelf:
    return open_one(url)


@pytest.fixture
def example() -> Document:
    """The attendant's pullover."""
    return tomllib.loads((EXAMPLES / "attendant-pullover.toml").read_text("utf-8"))


@pytest.fixture
def pullover(shelf: Shelf, example: dict[str, Any]) -> Item:
    return shelf.add(Kind.STYLE, example, by="Mara")
