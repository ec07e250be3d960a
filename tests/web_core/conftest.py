"""A house on a fresh shelf, with nothing served."""

from collections.abc import Iterator
from pathlib import Path

import pytest

from loopwright.store.shelf import Shelf, open_shelf
from loopwright.web.desk import Desk
from loopwright.web.house import House


@pytest.fixture
def shelf(tmp_path: Path) -> Iterator[Shelf]:
    opened = open_shelf(f"sqlite:///{tmp_path / 'shelf.db'}")
    yield opened
    opened.close()


@pytest.fixture
def house(shelf: Shelf) -> House:
    return House(shelf, Desk(shelf))
