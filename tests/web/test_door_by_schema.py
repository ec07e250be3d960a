"""The JSON door held against its own description: whatever fits it, and whatever does not, is answered as described."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import pytest
import schemathesis
from fastapi import FastAPI
from hypothesis import HealthCheck, Phase, given, settings
from hypothesis.errors import Unsatisfiable
from schemathesis import GenerationMode
from schemathesis.checks import not_a_server_error
from schemathesis.core.failures import Failure, FailureGroup
from schemathesis.specs.openapi.checks import (
    content_type_conformance,
    response_schema_conformance,
    status_code_conformance,
)

from loopwright.problems import Problem
from loopwright.store.shelf import open_shelf
from loopwright.store.values import Kind
from loopwright.web.api import api_of
from loopwright.web.desk import Desk
from loopwright.web.house import House
from loopwright.web.start import demo_documents

CHECKS = [not_a_server_error, status_code_conformance, content_type_conformance, response_schema_conformance]
PHASES = (Phase.explicit, Phase.generate)  # nothing is made smaller: the first wrong answer says enough
CASES = settings().max_examples // 4  # a quarter of what a property gets: every way of asking is a property
PATIENCE_S = 600  # a busy machine
FIELDS = [
    ["style", "name"], ["style", "note"], ["order", "pieces"], ["order", "colours"], ["garment", "sizes"],
    ["garment", "cords"], ["machine", "gauge"], ["machine", "bed_in"], ["zones", "body", "loop_length_mm"],
    ["rates", "margin"], ["rates"], ["zones"], ["yarns"], ["garment"],
]  # fmt: skip
TYPED = ["", "5", "5,9", "12", "7 mm", "yes", "S, M, L", "XS–3XL", "night blue 440", "=1+1"]


@pytest.fixture(scope="module")
def api(tmp_path_factory: pytest.TempPathFactory) -> Iterator[FastAPI]:
    """A door on a shelf that holds the example, so that low numbers lead to items."""
    shelf = open_shelf(f"sqlite:///{tmp_path_factory.mktemp('shelf')}/shelf.db")
    for kind, document in demo_documents():
        shelf.add(kind, document, by="Ada at the table")
    assert shelf.count(Kind.STYLE) > 1
    house = House(shelf, Desk(shelf), owner="Ada at the table")
    house.loops.bench.work = nothing_is_solved
    described = api_of(house)
    _lead_to_items(described.openapi())
    yield described
    shelf.close()


def nothing_is_solved(*_: Any) -> Any:
    """In place of the solver, which would go on for minutes."""
    raise Problem("structure", "nothing is solved here.")


def _lead_to_items(description: dict[str, Any]) -> None:
    """Narrow what is asked to items, versions and fields that are mostly there; else nearly all is refused at once."""
    for each in (way for path in description["paths"].values() for way in path.values()):
        for asked in each.get("parameters", ()):
            if asked["name"] == "paper":  # refused: a pack takes seconds to print
                asked |= {"required": True, "schema": {"enum": ["B5", "legal"]}}
            if asked["name"] in ("item_id", "first", "second"):
                asked["schema"]["maximum"] = 17 if asked["name"] == "item_id" else 3
    for asked in description["paths"]["/loop/still.png"]["get"]["parameters"]:
        if asked["name"] == "loop_mm":  # shorter than any cloth: each picture would take seconds
            asked |= {"required": True, "schema": {"type": "number", "minimum": 0.3, "maximum": 3}}
    schemas = description["components"]["schemas"]
    schemas["Edits"]["properties"]["base_version"]["maximum"] = 3
    any_path = schemas["TypedEdit"]["properties"]["path"]
    any_text = schemas["TypedEdit"]["properties"]["typed"]
    schemas["TypedEdit"]["properties"]["typed"] = {"anyOf": [{"enum": TYPED}, any_text]}
    schemas["TypedEdit"]["properties"]["path"] = {"anyOf": [{"enum": FIELDS}, {"enum": FIELDS}, any_path]}


@pytest.mark.parametrize("mode", [GenerationMode.POSITIVE, GenerationMode.NEGATIVE], ids=["fitting", "unfitting"])
def test_every_answer_is_one_that_the_description_promises(api: FastAPI, mode: GenerationMode) -> None:
    schema = schemathesis.openapi.from_asgi("/openapi.json", api)
    wrong = [words for each in schema.get_all_operations() for words in failures_of(each.ok(), mode)]
    assert not wrong, "\n\n".join(wrong)


def failures_of(operation: Any, mode: GenerationMode) -> list[str]:
    """What one way of asking answers otherwise than described; not every way can be asked wrongly."""
    tried = 0

    @settings(max_examples=CASES, deadline=None, suppress_health_check=list(HealthCheck), phases=PHASES, database=None)
    @given(case=operation.as_strategy(generation_mode=mode))
    def ask(case: schemathesis.Case) -> None:
        nonlocal tried
        tried += 1
        case.call_and_validate(checks=CHECKS, timeout=PATIENCE_S)

    try:
        ask()
    except (FailureGroup, Failure) as failure:
        return [f"{operation.label}: {failure}"]
    except Unsatisfiable:
        assert mode is GenerationMode.NEGATIVE, f"{operation.label} was never asked"
        return []
    assert tried >= 1
    return []
