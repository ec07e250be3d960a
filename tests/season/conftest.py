"""The three examples, studied once, and the season that they make."""

import tomllib
from collections.abc import Callable, Mapping
from pathlib import Path
from typing import Any

import pytest

from loopwright.season.season import Season, season_of
from loopwright.study.study import StyleStudy, study_style
from loopwright.study.style import read_style

EXAMPLES = Path(__file__).resolve().parents[2] / "examples"
NAMES = ("attendant", "guard", "keepsake")


def document_of(name: str) -> dict[str, Any]:
    """The document of an example, to be changed by a test."""
    return tomllib.loads((EXAMPLES / f"{name}-pullover.toml").read_text("utf-8"))


@pytest.fixture(scope="session")
def studies() -> tuple[tuple[str, StyleStudy], ...]:
    """The three examples, each under its own name."""
    return tuple((name, study_style(read_style(document_of(name)))) for name in NAMES)


@pytest.fixture(scope="session")
def season(studies: tuple[tuple[str, StyleStudy], ...]) -> Season:
    """The season of the three examples."""
    return season_of("Winter 27", studies)


@pytest.fixture(scope="session")
def changed() -> Callable[..., StyleStudy]:
    """Studies an example with some of its parts replaced; a part that is none is left out."""

    def study(name: str, **parts: Mapping[str, Any] | None) -> StyleStudy:
        document = document_of(name)
        for part, fields in parts.items():
            if fields is None:
                document.pop(part)
            else:
                document[part] = {**document.get(part, {}), **fields}
        return study_style(read_style(document))

    return study
