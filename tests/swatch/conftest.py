"""The invented drawer of the night train, read once."""

import tomllib
from pathlib import Path
from typing import Any

import pytest

from loopwright.study.style import Style, read_style

DRAWER = Path(__file__).resolve().parents[2] / "examples" / "swatches" / "night-train.toml"


@pytest.fixture(scope="session")
def drawer_document() -> dict[str, Any]:
    return tomllib.loads(DRAWER.read_text("utf-8"))


@pytest.fixture(scope="session")
def drawer(drawer_document: dict[str, Any]) -> Style:
    return read_style(drawer_document)
