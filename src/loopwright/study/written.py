"""How a value is written in a document: numbers that may carry their own unit, names, days, and the base of all parts.

In: what TOML or JSON holds. Out: checked values in one unit. A part refuses a field that it does not know.
Not covered: which fields there are (`style`, `swatch_parts`), the words of a refusal (`words`).
"""

from __future__ import annotations

import calendar
import re
from typing import Annotated, Any, Literal

from pydantic import BaseModel, BeforeValidator, ConfigDict, Field
from pydantic_core import PydanticCustomError

from loopwright.problems import Problem
from loopwright.units import quantity


class Part(BaseModel):
    """Base of every part of a style: frozen, and no field that we do not know."""

    model_config = ConfigDict(frozen=True, extra="forbid", str_strip_whitespace=True, allow_inf_nan=False)


def refused(problem: Problem) -> PydanticCustomError:
    """A problem as the validator carries it; its own place is the field's."""
    context = {"what": problem.what, "limit": problem.limit, "tries": list(problem.tries)}
    return PydanticCustomError("quantity", "{what}", context)


def in_unit(unit: str) -> BeforeValidator:
    """A validator that reads text with its own unit."""

    def convert(value: Any) -> Any:
        if not isinstance(value, str):
            return value
        try:
            return quantity(value, unit)
        except Problem as problem:
            raise refused(problem) from None

    return BeforeValidator(convert, json_schema_input_type=float | str)


def _day(value: Any) -> Any:
    """A day of the calendar as year-month-day; any other text is refused with the way to write it."""
    if not isinstance(value, str) or not value.strip():
        return value
    match = re.fullmatch(r"(\d{4})-(\d{2})-(\d{2})", value.strip())
    if match is None or not _is_day(int(match[1]), int(match[2]), int(match[3])):
        what = f"“{value[:60]}” is no day of the calendar."
        raise refused(Problem("", what, limit="year-month-day", tries=["2026-10-02, in quotes"]))
    return value


def _is_day(year: int, month: int, day: int) -> bool:
    return 1 <= month <= MONTHS and 1 <= day <= calendar.monthrange(year, month)[1]


MONTHS = 12


def _label(value: Any) -> Any:
    """A lot, cone or setting as text, although it was typed as a number."""
    return f"{value:.15g}" if isinstance(value, int | float) and not isinstance(value, bool) else value


Cm = Annotated[float, in_unit("cm"), Field(ge=0, le=1000)]
SignedCm = Annotated[float, in_unit("cm"), Field(ge=-100, le=100)]
Mm = Annotated[float, in_unit("mm"), Field(ge=0.05, le=1000)]
PerCm = Annotated[float, in_unit("1/cm"), Field(ge=0.05, le=200)]
Inches = Annotated[float, in_unit("in"), Field(gt=0, le=200)]
Grams = Annotated[float, in_unit("g"), Field(gt=0, le=1e6)]
Minutes = Annotated[float, in_unit("min"), Field(ge=0, le=1e5)]
SomeMinutes = Annotated[float, in_unit("min"), Field(gt=0, le=1e5)]
SomeCm = Annotated[float, in_unit("cm"), Field(gt=0, le=1000)]
SomeMm = Annotated[float, in_unit("mm"), Field(gt=0, le=1e5)]
Share = Annotated[float, Field(ge=0, lt=1)]
Amount = Annotated[float, Field(ge=0, le=1e9)]
Name = Annotated[str, Field(min_length=1, max_length=200)]
Words = Annotated[str, BeforeValidator(_label), Field(max_length=200)]
Day = Annotated[str, BeforeValidator(_day)]
StateName = Literal["dry-relaxed", "wet-relaxed", "fully-relaxed", "finished"]
