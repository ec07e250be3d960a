"""A style document out of the bytes of a TOML file, with a sentence for everything that can be wrong with them.

In: bytes and the name to call them by. Out: the document. Not covered: the file itself (`cli`), its fields (`style`).
"""

from __future__ import annotations

import tomllib
from typing import Any

from loopwright.problems import Problem

DEEPEST = 30  # tables in tables; a style needs five


def document_of(data: bytes, where: str) -> dict[str, Any]:
    """The document in a TOML file.

    Raises:
        Problem: not text, not TOML, nested without end, a number without end, or nothing in it.
    """
    try:
        document = tomllib.loads(data.decode("utf-8-sig"))
    except UnicodeDecodeError:
        raise Problem(where, "this is not a text file in UTF-8.", tries=["save the style as UTF-8 text"]) from None
    except tomllib.TOMLDecodeError as error:
        raise Problem(where, f"the file is not TOML: {error}.", tries=["mend that line"]) from None
    except ValueError:
        raise Problem(where, "a number in it has thousands of digits.", tries=["write it shorter"]) from None
    except RecursionError:
        raise _endless(where) from None
    if not document:
        raise Problem(where, "the style is empty.", tries=["start from examples/attendant-pullover.toml"])
    if is_endless(document):
        raise _endless(where)
    return document


def _endless(where: str) -> Problem:
    return Problem(where, "the file is nested without end.", tries=["close the brackets"])


def is_endless(value: Any) -> bool:
    """Whether tables and lists lie in each other deeper than any style has them. Dotted keys nest without brackets."""
    level = [value]
    for _ in range(DEEPEST + 1):
        level = [inner for part in level if isinstance(part, dict | list) for inner in _inside(part)]
        if not level:
            return False
    return True


def _inside(part: dict[str, Any] | list[Any]) -> list[Any]:
    return list(part.values()) if isinstance(part, dict) else part
