"""Documents as trees of tables: look up a field, set it, take a step back, tell two documents apart.

In and out: plain documents (tables, lists, text, numbers, true and false). Nothing here changes what it is given,
except `apply`, which works on its own copy. A list is one value. Not covered: whether a value makes sense (`study`).
"""

from __future__ import annotations

import json
from collections.abc import Iterable, Iterator
from typing import Any

from loopwright.problems import Problem
from loopwright.store.values import Document, Edit, Path, Step
from loopwright.study.toml_text import DEEPEST

MOST_BYTES = 2_000_000
_VALUES = (str, int, float, dict, list, tuple, type(None))
_LARGEST = 10**100


def plain(value: Any, depth: int = 0) -> Any:
    """A copy of its own, with fields that hold None left out.

    Raises:
        Problem: nested deeper than any style is, or a value that no field has.
    """
    if depth > DEEPEST:
        raise _endless()
    if not isinstance(value, _VALUES):
        raise Problem("document", f"“{value}” is no text, number or list.", tries=["write it in quotes"])
    if isinstance(value, int) and abs(value) > _LARGEST:
        raise Problem("document", "a number in it has hundreds of digits.", tries=["write it shorter"])
    if isinstance(value, dict):
        return {key: plain(inner, depth + 1) for key, inner in value.items() if inner is not None}
    if isinstance(value, list | tuple):
        return [plain(inner, depth + 1) for inner in value]
    return value


def _endless() -> Problem:
    return Problem("document", "it is nested without end.", limit=f"{DEEPEST} tables deep")


def text_of(document: Any) -> str:
    """The document as JSON text.

    Raises:
        Problem: it holds what no style file can hold, or far too much of it.
    """
    try:
        text = json.dumps(document, ensure_ascii=False, allow_nan=False)
        size = len(text.encode("utf-8"))
    except ValueError:
        raise Problem("document", "it holds a value that cannot be kept.", tries=["type it again"]) from None
    if size > MOST_BYTES:
        raise Problem("document", f"it is {size / 1e6:.1f} MB long.", limit=f"{MOST_BYTES / 1e6:g} MB")
    return text


def value_at(document: Document, path: Path) -> Any:
    """The value of a field; None when it is not there."""
    value: Any = document
    for key in path:
        if not isinstance(value, dict) or key not in value:
            return None
        value = value[key]
    return value


def same(one: Any, other: Any) -> bool:
    """Whether two values say the same: 50 is 50.0, but 1 is not true."""
    numbers = all(isinstance(each, int | float) and not isinstance(each, bool) for each in (one, other))
    return bool(one == other) if numbers else json.dumps(one, sort_keys=True) == json.dumps(other, sort_keys=True)


def edited(document: Document, edits: Iterable[Edit]) -> tuple[Document, tuple[Step, ...]]:
    """The document with all edits made, and the steps that were taken. An edit that changes nothing takes no step."""
    changed = plain(document)
    steps = []
    for edit in edits:
        step = _step(changed, edit.path, plain(edit.value))
        if not same(step.before, step.after):
            _put(changed, step.path, step.after)
            steps.append(step)
    return changed, tuple(steps)


def _step(document: Document, path: Path, value: Any) -> Step:
    """The step that sets a field. Where its table is missing, the step sets the table with the field in it."""
    if not path:
        raise ValueError("an edit needs a path")
    if len(path) > DEEPEST:
        raise _endless()
    for length in range(1, len(path)):
        inner = value_at(document, path[:length])
        if inner is None:
            return Step(path[:length], None, _nested(path[length:], value))
        if not isinstance(inner, dict):
            raise Problem(".".join(path[:length]), "this is a single value; there is no field in it.")
    return Step(path, plain(value_at(document, path)), value)


def _nested(path: Path, value: Any) -> Any:
    """A value in tables of its own; nothing at all around a field that shall not be there."""
    if value is None:
        return None
    for key in reversed(path):
        value = {key: value}
    return value


def _put(document: Document, path: Path, value: Any) -> None:
    *tables, last = path
    table = document
    for key in tables:
        table = table[key]
    if value is None:
        table.pop(last, None)
    else:
        table[last] = plain(value)


def stepped_back(document: Document, steps: Iterable[Step]) -> Document:
    """The document before the steps, given in the order they were taken.

    Raises:
        ValueError: the steps do not end at this document.
    """
    earlier: Document = plain(document)
    for step in reversed(tuple(steps)):
        fits = isinstance(value_at(earlier, step.path[:-1]), dict) and same(value_at(earlier, step.path), step.after)
        if not fits:
            raise ValueError(f"{'.'.join(step.path)} is not what its history says")
        _put(earlier, step.path, step.before)
    return earlier


def reverse(steps: Iterable[Step]) -> tuple[Step, ...]:
    """The steps that take steps back."""
    return tuple(Step(step.path, step.after, step.before) for step in reversed(tuple(steps)))


def differences(first: Document, second: Document) -> tuple[Step, ...]:
    """The steps from one document to another, each at the deepest table that both have."""
    return tuple(_differences(first, second, ()))


def _differences(first: Document, second: Document, path: Path) -> Iterator[Step]:
    for key in dict.fromkeys((*first, *second)):
        before, after = first.get(key), second.get(key)
        if isinstance(before, dict) and isinstance(after, dict):
            yield from _differences(before, after, (*path, key))
        elif not same(before, after):
            yield Step((*path, key), before, after)


def cells(step: Step) -> tuple[Step, ...]:
    """A step taken apart into single values: for a history that speaks of fields, not of tables."""
    before, after = ({} if side is None else side for side in (step.before, step.after))
    if not isinstance(before, dict) or not isinstance(after, dict):
        return (step,)
    inner = [cell for part in _differences(before, after, step.path) for cell in cells(part)]
    return tuple(inner) or (step,)
