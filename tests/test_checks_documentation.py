"""docs/checks.md explains every check value and conflict that code or tests cite, and none that nothing cites."""

import re
from pathlib import Path

ROOT = Path(__file__).resolve().parents[1]
NUMBER = re.compile(r"\b[FPC]-\d\d\b")


def test_every_cited_check_value_is_explained_and_none_is_left_over():
    explained = re.findall(r"^\| ([FPC]-\d\d) \|", (ROOT / "docs" / "checks.md").read_text("utf-8"), re.M)
    files = [path for folder in ("src", "tests") for path in (ROOT / folder).rglob("*")]
    texts = [path.read_text("utf-8") for path in files if path.suffix in (".py", ".csv", ".toml")]
    assert len(set(explained)) == len(explained)
    assert set(explained) == {number for text in texts for number in NUMBER.findall(text)}
