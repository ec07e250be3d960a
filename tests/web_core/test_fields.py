"""What a person types becomes the value of a style, and comes back as they would type it again."""

from typing import Any, get_args

import pytest
from hypothesis import given
from hypothesis import strategies as st
from pydantic import BaseModel

from loopwright.problems import Problem
from loopwright.store.values import Kind as Shelved
from loopwright.study.study import study_style
from loopwright.study.style import Style, read_style
from loopwright.web.brief import groups_of
from loopwright.web.fields import _FIELDS, Field, Kind, field_at, label_of, text_of, value_typed
from loopwright.web.pages.lists import NEW
from loopwright.web.start import demo_documents
from loopwright.yarn.fibre import fibres

NUMBERS = st.floats(0.05, 900, allow_nan=False).map(lambda value: round(value, 2))
WORDS = st.text(st.characters(whitelist_categories=("L", "N")), min_size=1, max_size=20)


@given(NUMBERS)
def test_a_number_typed_again_is_the_same_number(value):
    path = ("zones", "body", "loop_length_mm")
    assert value_typed(path, text_of(value)) == value
    assert value_typed(path, text_of(value).replace(".", ",") + " mm") == pytest.approx(value)


@given(st.integers(1, 10_000_000))
def test_pieces_typed_again_are_the_same(pieces):
    assert value_typed(("order", "pieces"), text_of(pieces)) == pieces


@given(st.lists(WORDS, min_size=1, max_size=8, unique=True))
def test_sizes_typed_again_are_the_same(sizes):
    path = ("garment", "sizes")
    assert value_typed(path, text_of(sizes)) == sizes


@given(st.lists(st.tuples(WORDS.filter(lambda word: not word.isdigit()), st.integers(1, 900)), min_size=1, max_size=5))
def test_colours_typed_again_are_the_same(pairs):
    colours = [{"name": name, "share": float(share)} for name, share in pairs]
    assert value_typed(("order", "colours"), text_of(colours)) == colours


SHARES = st.floats(0.001, 9_999_999, allow_nan=False).map(lambda share: float(f"{share:.7g}"))


@given(st.lists(st.tuples(WORDS.filter(lambda word: not word[0].isdigit()), NUMBERS), min_size=1, max_size=5))
def test_a_share_may_have_a_decimal_comma_though_commas_part_the_colours(pairs):
    typed = ", ".join(f"{name} {text_of(share).replace('.', ',')}" for name, share in pairs)
    assert value_typed(("order", "colours"), typed) == [{"name": name, "share": share} for name, share in pairs]


EACH_FIELD = {  # a value for every kind of field
    Kind.TEXT: WORDS,
    Kind.LONG: WORDS,
    Kind.WORD: WORDS,
    Kind.NUMBER: st.floats(1e-6, 1e9).map(lambda value: float(f"{value:.8g}")),
    Kind.RATE: st.floats(1e-6, 1e9).map(lambda value: float(f"{value:.8g}")),
    Kind.WHOLE: st.integers(0, 10**9),
    Kind.YES: st.booleans(),
    Kind.SIZES: st.lists(WORDS, min_size=1, max_size=8, unique=True),
    Kind.COLOURS: st.lists(
        st.fixed_dictionaries({"name": WORDS.filter(lambda word: not word[0].isdigit()), "share": SHARES}),
        min_size=1, max_size=4,
    ),
    Kind.LINES: st.lists(WORDS, min_size=1, max_size=6),
    Kind.FIBRES: WORDS,
    Kind.READINGS: st.lists(NUMBERS, min_size=1, max_size=6),
    Kind.PAIRS: st.lists(st.lists(NUMBERS, min_size=2, max_size=2), min_size=1, max_size=3),
    Kind.LIMIT: NUMBERS | st.fixed_dictionaries({"wanted": NUMBERS, "percent": NUMBERS}),
}  # fmt: skip


@pytest.mark.parametrize("field", _FIELDS, ids=lambda field: ".".join(field.path))
@given(data=st.data())
def test_every_field_typed_again_is_the_same(field: Field, data):
    path = tuple("machine_hour" if part == "*" and field.path[0] == "rates" else part for part in field.path)
    path = tuple("main" if part == "*" else part for part in path)
    known = field_at(path)
    assert known is not None
    kind = known.kind
    value = data.draw(st.sampled_from(known.choices) if kind is Kind.CHOICE else EACH_FIELD[kind])
    shown = "\n".join(value) if kind is Kind.LINES else text_of(value)
    assert "e" not in shown or not isinstance(value, float)
    assert value_typed(path, shown) == value


@given(st.lists(st.tuples(st.sampled_from(sorted(fibres())), st.integers(1, 99)), min_size=1, max_size=3))
def test_a_blend_typed_again_is_the_same_blend(pairs):
    parts = dict(pairs)
    blend = {name: round(100 * share / sum(parts.values())) for name, share in parts.items()}
    first = next(iter(blend))
    blend[first] += 100 - sum(blend.values())
    typed = value_typed(("yarns", "main", "fibres"), text_of(blend))

    def read(words: Any) -> Any:
        return read_style({"yarns": {"main": {"count": "2/30 Nm", "fibres": words}}, "machine": {"gauge": 12}})

    studies = [study_style(read(words)) for words in (blend, typed)]
    assert studies[0].yarns["main"] == studies[1].yarns["main"]


@pytest.mark.parametrize(("kind", "document"), [*demo_documents(), *NEW.items()])
def test_no_two_fields_of_a_group_are_called_the_same(kind, document):
    is_style = kind is Shelved.STYLE
    headings = []
    for group in groups_of(document, None, is_style=is_style):
        labels = [entry.field.label for entry in group.entries]
        assert len(set(labels)) == len(labels), group.heading
        headings += [group.heading] if group.heading else []
    assert len(set(headings)) == len(headings)


@pytest.mark.parametrize(
    ("path", "typed"),
    [
        ("order.pieces", "640 pcs"),
        ("order.pieces", "1e3"),
        ("order.size_mix.M", "40 %"),
        ("targets.price", "29,50 EUR"),
        ("yarns.main.ends", "2 threads"),
        ("order.colours", ","),
        ("order.colours", "blue " + "9" * 400),
        ("order.colours", "night blue 1,234"),
    ],
)
def test_a_refusal_is_a_whole_sentence(path, typed):
    with pytest.raises(Problem) as refused:
        value_typed(tuple(path.split(".")), typed)
    said = refused.value.sentence()
    assert " in ." not in said
    assert ": ." not in said
    assert refused.value.tries


@pytest.mark.parametrize(
    ("path", "typed", "value"),
    [
        ("zones.body.loop_length_mm", "6,15", 6.15),
        ("zones.body.loop_length_mm", "0.615 cm", 6.15),
        ("garment.measures_cm.half_chest", "19 1/4 in", 48.895),
        ("garment.measures_cm.length", "620 mm", 62.0),
        ("garment.chest_ease_cm", "−2", -2.0),
        ("order.pieces", "1 200", 1200),
        ("order.pieces", "640 pieces", 640),
        ("order.knitting_days", "20 days", 20.0),
        ("yarns.main.singles_twist_tpm", "600 tpm", 600.0),
        ("yarns.main.ends", "2 ends", 2),
        ("zones.body.tightness", "14,5 √tex/cm", 14.5),
        ("zones.body.swatch.mass_g_per_m2", "320 g/m2", 320.0),
        ("construction.linking_dial", "12 points/in", 12),
        ("targets.price", "29 ½", 29.5),
        ("machine.gauge", "E 12", 12.0),
        ("machine.bed_in", "127 cm", 50.0),
        ("yarns.main.price_per_kg", "29,50 EUR/kg", 29.5),
        ("yarns.main.knitting_loss", "6 %", 0.06),
        ("rates.machine_hour", "4,20", 4.2),
        ("rates.duty_share", "12 %", "12 %"),
        ("garment.sizes", "XS–L", ["XS", "S", "M", "L"]),
        ("garment.sizes", "98, 104, 110", ["98", "104", "110"]),
        ("garment.cords", "yes", True),
        ("order.colours", "sand 44, red", [{"name": "sand", "share": 44.0}, {"name": "red", "share": 1.0}]),
        ("order.colours", "sand 44,5, red 12", [{"name": "sand", "share": 44.5}, {"name": "red", "share": 12.0}]),
        ("structures.own.courses", "F:KK\n\n B:KT ", ["F:KK", "B:KT"]),
        ("style.name", "=1+1", "=1+1"),
        ("style.name", "夜行列车 プルオーバー", "夜行列车 プルオーバー"),
        ("style.name", "   ", None),
    ],
)  # fmt: skip
def test_what_is_typed_is_understood(path, typed, value):
    found = value_typed(tuple(path.split(".")), typed)
    assert found == (pytest.approx(value) if isinstance(value, float) else value)


@pytest.mark.parametrize(
    ("path", "typed"),
    [
        ("zones.body.loop_length_mm", "abc"),
        ("zones.body.loop_length_mm", "6 kg"),
        ("order.pieces", "many"),
        ("garment.cords", "perhaps"),
        ("construction.fashioning", "by eye"),
        ("garment.sizes", "3XL–XS"),
        ("order.wishes", "1"),
    ],
)
def test_what_cannot_be_read_is_said_with_the_name_of_the_field(path, typed):
    with pytest.raises(Problem) as refused:
        value_typed(tuple(path.split(".")), typed)
    assert refused.value.where
    assert typed in refused.value.what or "no such field" in refused.value.what


NOT_TYPED = {  # fields of a style that no brief asks for, and why
    "style.invented": "marks examples; set in files only",
    "style.version": "counted by the shelf",
    "yarns.*.fibres.*": "typed as one text",
    "zones.*.other_loops_mm.*": "files only so far",
    "structures.*.ratios.*": "files only so far",
    "machine.timed": "files only so far",
    "zones.*.swatch": "named by the shelf's own list of swatches, or typed part by part",
    "swatches.*.invented": "marks examples; set in files only",
    "swatches.*.sittings.*.photos.*.corners_px": "drawn on the picture",
    "swatches.*.sittings.*.photos.*.stitches": "drawn on the picture",
    **dict.fromkeys(
        ("samples.*.name", "samples.*.on", "samples.*.lot_pieces", "samples.*.note", "samples.*.pieces"),
        "filled in under Garments that came back, a form of its own",
    ),
    "samples.*.invented": "marks examples; set in files only",
}


def typed_paths(model: type[BaseModel], before: tuple[str, ...] = ()) -> list[str]:
    """Every path of a style that holds a value, tables of any key as `*`."""
    found = []
    for name, info in model.model_fields.items():
        found += below((*before, name), info.annotation)
    return found


def below(path: tuple[str, ...], annotation: Any) -> list[str]:
    kinds = [annotation, *get_args(annotation)]
    parts = [kind for kind in kinds if isinstance(kind, type) and issubclass(kind, BaseModel)]
    if getattr(annotation, "__origin__", None) is dict:
        return below((*path, "*"), get_args(annotation)[1])
    if parts and getattr(annotation, "__origin__", None) is not list:
        return typed_paths(parts[0], path)
    return [".".join(path)]


@pytest.mark.parametrize("path", typed_paths(Style))
def test_every_field_of_a_style_can_be_typed_or_says_why_not(path):
    if path in NOT_TYPED:
        return
    keys = {"garment.measures_cm": "half_chest", "garment.grade_cm": "half_chest", "rates": "machine_hour"}
    stem = path.removesuffix(".*")
    tried = tuple(path.replace("*", keys.get(stem, "main")).split("."))
    assert field_at(tried) is not None, path


def test_labels_name_the_zone_or_size_they_belong_to():
    assert label_of(("zones", "hem", "loop_length_mm")) == "Loop length, hem"
    assert label_of(("garment", "hand_set_cm", "3XL", "half_upper_arm")).startswith("Half upper arm")
    assert "3XL" in label_of(("garment", "hand_set_cm", "3XL", "half_upper_arm"))


def test_every_choice_of_a_field_is_taken_by_the_style():
    tried = {"yarns": {"main": {"count": "2/30 Nm", "fibres": "merino"}}, "machine": {"gauge": 12}}
    for path in ("garment.population", "state", "construction.fashioning", "construction.method", "garment.fit"):
        keys = tuple(path.split("."))
        field = field_at(keys)
        assert field is not None
        for choice in field.choices:
            nested: Any = choice
            for key in reversed(keys):
                nested = {key: nested}
            read_style({**tried, **nested})
        assert field.kind in (Kind.CHOICE, Kind.WORD)
