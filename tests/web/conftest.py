"""A house on a fresh shelf with its JSON door, nothing served."""

from collections.abc import AsyncIterator, Iterator
from pathlib import Path

import httpx
import pytest

from loopwright.store.shelf import open_shelf
from loopwright.web.api import api_of
from loopwright.web.desk import Desk
from loopwright.web.house import House


@pytest.fixture
def house(tmp_path: Path) -> Iterator[House]:
    shelf = open_shelf(f"sqlite:///{tmp_path}/shelf.db")
    yield House(shelf, Desk(shelf), owner="Ada at the table")
    shelf.close()


@pytest.fixture
async def door(house: House) -> AsyncIterator[httpx.AsyncClient]:
    transport = httpx.ASGITransport(api_of(house))
    async with httpx.AsyncClient(transport=transport, base_url="http://localhost") as client:
        yield client
