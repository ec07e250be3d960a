"""What is wrong with a style document, said in trade words with the place, the value, the limit and what to try.

In: one error of the validator. Out: a `Problem`. Not covered: errors of the trade (each package raises its own).
"""

from __future__ import annotations

import difflib
import re
from collections.abc import Mapping
from typing import Any, get_args

from pydantic import BaseModel
from pydantic_core import ErrorDetails

from loopwright.problems import Problem

_BOUND = {"greater_than": "above", "greater_than_equal": "at least", "less_than": "below", "less_than_equal": "at most"}
_BOUND_KEY = {"greater_than": "gt", "greater_than_equal": "ge", "less_than": "lt", "less_than_equal": "le"}
_KIND = {
    "float_parsing": "a number",
    "float_type": "a number",
    "int_parsing": "a whole number",
    "int_type": "a whole number",
    "int_from_float": "a whole number",
    "bool_parsing": "true or false",
    "bool_type": "true or false",
    "string_type": "text in quotes",
    "list_type": "a list in square brackets",
    "dict_type": "a table of names and values",
    "model_type": "a table of names and values",
    "finite_number": "a finite number",
}


def complaint(detail: ErrorDetails, model: type[BaseModel]) -> Problem:
    """One error as a problem."""
    kind, context, given = detail["type"], detail.get("ctx", {}), _said(detail["input"])
    *before, last = detail["loc"] or ("style",)
    place = [part for part in before if not _is_variant(part)]
    if kind == "extra_forbidden" or not _is_variant(last):  # a field that is none may be called anything
        place.append(last)
    where = ".".join(str(part) for part in place) or "style"
    if kind == "extra_forbidden":
        return _unknown_field(place, model, where)
    if kind == "missing":
        return Problem(where, "this is needed and was left out.", tries=[f"add {place[-1]}"])
    if kind in _BOUND:
        limit = f"{_BOUND[kind]} {context[_BOUND_KEY[kind]]:g}"
        return Problem(where, f"{given} is out of reach.", limit=limit, tries=["check the unit and the decimal sign"])
    if kind == "literal_error":
        return Problem(
            where, f"{given} is not known here.", limit=str(context["expected"]), tries=_near(given, context)
        )
    if kind == "quantity":
        return Problem(where, context["what"], limit=context["limit"], tries=context["tries"])
    if kind in ("string_too_short", "too_short"):
        return Problem(where, "this is empty.", tries=["fill it or leave it out"])
    if kind in ("string_too_long", "too_long"):
        return Problem(where, "this is too long.", limit=f"{context['max_length']}", tries=["shorten it"])
    if kind in _KIND:
        return Problem(where, f"{given} is not {_KIND[kind]}.", tries=[_instead(detail["input"], _KIND[kind])])
    return Problem(
        where, f"{given}: {detail['msg'][0].lower()}{detail['msg'][1:]}.", tries=["see “Write a style” in the README"]
    )


def _instead(value: Any, kind: str) -> str:
    """What to write in the place of a value of the wrong kind: its number when it is one with a unit or a currency."""
    number = re.fullmatch(r"[^\d-]*(\d+(?:\.\d+)?)\D*", value) if isinstance(value, str) and "number" in kind else None
    return f"write {number[1]} alone, with no unit and no currency" if number else f"write {kind}"


def _unknown_field(place: list[Any], model: type[BaseModel], where: str) -> Problem:
    known = _fields_at(place[:-1], model)
    near = difflib.get_close_matches(str(place[-1]), known, n=2, cutoff=0.6)
    tables = [f"{field} = {{ {place[-1]} = … }}" for field in known if field in ("measures_cm", "other_loops_mm")]
    tries = [f"did you mean {' or '.join(near)}?"] if near else [*tables, "leave it out"]
    limit = f"fields here: {', '.join(known)}" if known else ""
    return Problem(where, f"“{place[-1]}” is no field of a style.", limit=limit, tries=tries)


def _fields_at(place: list[Any], model: type[BaseModel]) -> list[str]:
    """Names of the fields of the part at a place."""
    for part in place:
        if part in model.model_fields:
            found = _model_in(model.model_fields[part].annotation)
            if found is None:
                return []
            model = found
    return list(model.model_fields)


def _model_in(annotation: Any) -> type[BaseModel] | None:
    if isinstance(annotation, type) and issubclass(annotation, BaseModel):
        return annotation
    return next((found for each in get_args(annotation) if (found := _model_in(each)) is not None), None)


def _is_variant(part: Any) -> bool:
    """Parts of a place that the validator adds for the variants of a union."""
    return isinstance(part, str) and (part in ("[key]", "float", "str") or "[" in part or "(" in part)


def _near(given: str, context: Mapping[str, Any]) -> list[str]:
    options = [option.strip(" '") for option in str(context["expected"]).replace(" or ", ", ").split(",")]
    near = difflib.get_close_matches(given.strip("“”"), options, n=1, cutoff=0.4)
    return [f"did you mean {near[0]}?"] if near else []


def _said(value: Any) -> str:
    """A value as a person wrote it, shortened."""
    if isinstance(value, str):
        return f"“{_short(value)}”" if value else "an empty text"
    if isinstance(value, dict):
        return "a table"
    if isinstance(value, list):
        return "a list"
    if value is None:
        return "nothing"
    return str(value).lower() if isinstance(value, bool) else _short(f"{value}")


def _short(words: str) -> str:
    return words if len(words) <= 60 else f"{words[:60]}…"
