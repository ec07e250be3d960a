"""The command line: a few verbs in trade words, each with `--json` so that other programs can use it.

Verbs stand in modules by what they are about and join the app in the order of the help.
"""

from loopwright.cli import style, issues, comparing, forms  # noqa: F401, I001
from loopwright.cli import samples, swatch, learning, photo, machine, cloth, loops, house  # noqa: F401
from loopwright.cli.door import app, main

__all__ = ["app", "main"]
