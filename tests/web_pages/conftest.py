"""A simulated person in front of an empty shelf, for the tests of pages."""

from collections.abc import AsyncIterator
from pathlib import Path

import pytest
from nicegui import app
from nicegui.testing import User
from nicegui.testing.user_simulation import user_simulation

from loopwright.web.house import House

collect_ignore = ["simulated_main.py"]  # run by the simulation, no test
MAIN = Path(__file__).with_name("simulated_main.py")


@pytest.fixture
async def person(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> AsyncIterator[User]:
    """Somebody in front of an empty shelf."""
    monkeypatch.setenv("LOOPWRIGHT_SIMULATED_SHELF", f"sqlite:///{tmp_path / 'shelf.db'}")
    async with user_simulation(main_file=MAIN) as simulated:
        yield simulated


@pytest.fixture
def house(person: User) -> House:
    found = app.state.house
    assert isinstance(found, House)
    return found
