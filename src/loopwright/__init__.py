"""Loopwright: from a knitwear style to a knittable, priced study.

A style (what the developer decides) goes in, a study (everything that follows from it, with spread and reasons)
comes out. Packages stand on floors; a module imports only from floors below its own (see `tests/test_floors.py`).
Import the module you need (`from loopwright.yarn.notation import parse_count`), never this root.
"""

__version__ = "0.1.0"
