"""The form of pack.json held against every example by a validator of its own (jsonschema-rs, draft 2020-12).

A form is worth something when it refuses: every number turned to words, every key taken out and every foreign key in
the data of a pack has to be told.
"""

import json
import tomllib
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import jsonschema_rs
import pytest
from typer.testing import CliRunner

from loopwright.cli import app
from loopwright.garment.blocks import blocks
from loopwright.report.pack.schema import pack_schema
from loopwright.report.pack.writing import pack_files
from loopwright.study.study import study_style
from loopwright.study.style import read_style

EXAMPLES = sorted((Path(__file__).resolve().parents[3] / "examples").glob("*.toml"))
BY_NAME = {
    "style", "yarns", "fabrics", "figures", "sizes", "measures_cm", "labels", "real_cm", "exact_against_two_rate",
    "panels", "metres", "by_kind_s", "kinds", "groups", "order_shares", "inspection", "assumptions", "exact_percent",
}  # fmt: skip
LENGTHS = {"_cm": "cm", "_mm": "mm", "_s": "seconds", "_percent": "per cent", "_needles": "needles"}


def data_of(style: dict[str, Any]) -> dict[str, Any]:
    return dict(json.loads(pack_files(study_style(read_style(style)), ("json",))["pack.json"]))


@pytest.fixture(scope="module")
def form() -> jsonschema_rs.Draft202012Validator:
    return jsonschema_rs.Draft202012Validator(pack_schema())


@pytest.fixture(scope="module")
def small() -> dict[str, Any]:
    return data_of(
        {
            "yarns": {"main": {"count": "2/30 Nm merino"}},
            "zones": {"body": {"structure": "plain"}, "hem": {"structure": "rib-2x1"}},
            "garment": {"sizes": ["M"]},
            "machine": {"gauge": 12},
            "order": {"pieces": 300, "knitting_days": 10},
        }
    )


@pytest.mark.parametrize("example", EXAMPLES, ids=[path.stem for path in EXAMPLES])
def test_the_pack_of_every_example_has_the_form(form, example):
    data = data_of(tomllib.loads(example.read_text("utf-8")))
    assert [(list(each.instance_path), each.message) for each in form.iter_errors(data)] == []


@pytest.mark.parametrize("block", list(blocks()))
def test_the_pack_of_every_block_has_the_form(form, block):
    """Also what no example has: a garment without a cap, a price or a machine's minutes, an own structure."""
    style: dict[str, Any] = {
        "yarns": {"main": {"count": "2/30 Nm merino"}},
        "structures": {"own": {"courses": ["F:KKKK B:----", "F:KMKK B:----"]}},
        "zones": {
            "body": {"structure": "own", "swatch": {"wales_per_cm": 5, "courses_per_cm": 7, "loop_length_mm": 6.3}}
        },
        "garment": {"block": block},
        "machine": {"gauge": 10},
    }
    assert [(list(each.instance_path), each.message) for each in form.iter_errors(data_of(style))] == []


def test_the_form_is_itself_well_formed(form):
    jsonschema_rs.meta.validate(pack_schema())
    assert pack_schema()["$schema"] == "https://json-schema.org/draft/2020-12/schema"


def test_the_form_stands_beside_the_data_that_name_it():
    files = pack_files(study_style(read_style(tomllib.loads(EXAMPLES[0].read_text("utf-8")))), ("json",))
    assert json.loads(files[json.loads(files["pack.json"])["$schema"]]) == pack_schema()


def places(value: Any, path: tuple[str, ...] = ()) -> Iterator[tuple[tuple[str, ...], Any, Any]]:
    """Every value of a document as (keys above it, what holds it, its key there); of lists the first entry."""
    if isinstance(value, dict):
        for key, inner in value.items():
            yield path, value, key
            yield from places(inner, (*path, key))
    elif isinstance(value, list) and value:
        yield path, value, 0
        yield from places(value[0], path)


def test_words_in_place_of_any_number_are_refused(form, small):
    met = 0
    for path, holder, key in list(places(small)):
        value = holder[key]
        if isinstance(value, int | float) and not isinstance(value, bool):
            holder[key] = "a dozen"
            assert not form.is_valid(small), (path, key)
            holder[key] = value
            met += 1
    assert met > 500
    assert form.is_valid(small)


def test_a_missing_key_and_a_foreign_one_are_refused(form, small):
    """The style may leave fields out, and things by name may be fewer; nothing else."""
    met = 0
    for path, holder, key in list(places(small)):
        is_free = isinstance(key, int) or path[:1] == ("style",) or bool(path and path[-1] in BY_NAME)
        is_label = path[-1:] == ("labels",) and "market" in holder  # by name in a size, a list of the pack
        if (is_free and not is_label) or (len(path) > 1 and path[0] == "yarns" and len(path) == 2):
            continue
        value = holder.pop(key)
        assert not form.is_valid(small), (path, key)
        holder["foreign"] = 1
        holder[key] = value
        assert not form.is_valid(small), (path, key)
        del holder["foreign"]
        met += 1
    assert met > 500
    assert form.is_valid(small)


@pytest.mark.parametrize(
    ("path", "wrong"),
    [
        (("format",), "loopwright study 2"),
        (("findings", 0, "sign"), "perhaps"),
        (("mean_piece", "yarn_g", "basis"), "hearsay"),
        (("mean_piece", "yarn_g", "state"), "wet"),
        (("fabrics", "body", "gating"), "none"),
        (("labels", 0, "parts", 0, "percent"), 101),
        (("style", "machine", "gauge"), 0),
        (("sizes", "M", "panels", "back", "span_needles", 0), 3.5),
    ],
    ids=lambda each: " ".join(map(str, each)) if isinstance(each, tuple) else None,
)
def test_a_value_that_cannot_be_is_refused(form, small, path, wrong):
    holder: Any = small
    for key in path[:-1]:
        holder = holder[key]
    value, holder[path[-1]] = holder[path[-1]], wrong
    assert not form.is_valid(small)
    holder[path[-1]] = value


def test_every_length_time_and_share_says_its_unit():
    met = 0
    for name, part in pack_schema()["$defs"].items():
        for key, told in part.get("properties", {}).items():
            tail = next(
                (tail for tail in LENGTHS if key.endswith(tail) and not key.endswith(("_per_s", "_per_cm"))), ""
            )
            if tail and "$ref" not in told:
                assert LENGTHS[tail] in told["description"], (name, key)
                met += 1
    assert met > 40


def test_money_and_records_have_no_place_in_the_form():
    parts = pack_schema()["$defs"]
    assert not {"rates", "targets", "swatches", "samples"} & set(parts["Style"]["properties"])
    assert "price_per_kg" not in parts["YarnSpec"]["properties"]
    assert "price" not in pack_schema()["properties"]


def test_the_command_tells_the_form_in_words_and_as_a_schema():
    told = CliRunner().invoke(app, ["schema", "pack", "--json"])
    assert json.loads(told.stdout) == pack_schema()
    words = CliRunner().invoke(app, ["schema"]).stdout
    for part in pack_schema()["$defs"]:
        assert part in words
    refused = CliRunner().invoke(app, ["schema", "sweater"])
    assert refused.exit_code == 2
    assert "no document with a schema" in refused.stderr
