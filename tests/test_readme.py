"""The README tells the truth: its demo output is the demo's own, and every part of a style is in it.

The output is a layout snapshot, no evidence; `python3 tests/test_readme.py` writes it again after a deliberate change.
"""

from __future__ import annotations

from pathlib import Path

from typer.testing import CliRunner

from loopwright.cli import app
from loopwright.study.style import Style

ROOT = Path(__file__).resolve().parents[1]
START, END = "<!-- demo output -->\n```\n", "```\n<!-- end of demo output -->"
SHOWN_LINES = 46


def demo_lines() -> str:
    """The first lines of the demo as they print, trailing blanks cut."""
    result = CliRunner().invoke(app, ["study", str(ROOT / "examples" / "attendant-pullover.toml")])
    lines = [line.rstrip() for line in result.stdout.splitlines()[:SHOWN_LINES]]
    return "\n".join(lines) + "\n"


def test_the_demo_output_in_the_readme_is_what_the_demo_prints():
    readme = (ROOT / "README.md").read_text("utf-8")
    shown = readme.partition(START)[2].partition(END)[0]
    assert shown == demo_lines()


def test_every_part_of_a_style_is_in_the_readme():
    readme = (ROOT / "README.md").read_text("utf-8")
    for name in Style.model_fields:
        assert f"[{name}" in readme or f"`{name}`" in readme, name


if __name__ == "__main__":
    file = ROOT / "README.md"
    before, _, rest = file.read_text("utf-8").partition(START)
    _, _, after = rest.partition(END)
    file.write_text(f"{before}{START}{demo_lines()}{END}{after}", "utf-8")
