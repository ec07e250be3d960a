"""The form of pack.json as a JSON Schema (draft 2020-12), so that another program can check what it was given.

In: nothing. Out: the schema, the same every time, and its keys as tables. The part `style` is the style's own form
without what stays at home; the rest is told here, model by model. No model takes a key that it does not know, so the
tests can hold the pack of every example against it. Every number says its unit in its key or its description.
Not covered: making pack.json (`writing`), what its figures mean (docs/json.md).
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from functools import cache
from typing import Annotated, Any

from pydantic import BaseModel, ConfigDict, Field, WithJsonSchema, create_model
from pydantic.json_schema import GenerateJsonSchema

from loopwright.figure import Basis as BasisOf
from loopwright.figure import State as StateOf
from loopwright.makeup.inspection import SamplingPlan
from loopwright.problems import Problem, Sign
from loopwright.report.blocks import Table
from loopwright.shaping.panel import Work
from loopwright.structure.notation import Gating
from loopwright.study.cautions import Caution
from loopwright.study.style import Style as StyleOf
from loopwright.study.style import YarnSpec
from loopwright.yarn.care import STEPS
from loopwright.yarn.regain import MARKETS

FORMAT = "loopwright pack 1"
FILE = "pack.schema.json"  # stands beside pack.json, which names it
NAMES = ("pack",)
STAYS_HOME = ("rates", "targets", "swatches", "samples")  # parts of the style: money, and records with their notes
OF_YARN_STAYS_HOME = ("price_per_kg",)
UNITS = {
    "cm": "cm", "mm": "mm", "mm2": "mm²", "in": "inches", "g": "g", "min": "minutes", "minutes": "minutes",
    "s": "seconds", "hours": "hours", "percent": "per cent", "needles": "needles", "courses": "courses", "m": "metres",
    "tpm": "turns per metre", "m_per_s": "metres per second", "per_cm": "per cm", "g_per_m2": "g/m²",
}  # fmt: skip


def _one_of(*words: object) -> WithJsonSchema:
    """A value out of a list that stands elsewhere."""
    return WithJsonSchema({"enum": list(words)} if len(words) > 1 else {"const": words[0]})


BasisWord = Annotated[str, _one_of(*(each.value for each in BasisOf))]
StateWord = Annotated[str, _one_of(*(each.value for each in StateOf))]
SignWord = Annotated[str, _one_of(*(each.word.lower() for each in Sign))]
GatingWord = Annotated[str, _one_of(*(each.value for each in Gating))]
Market = Annotated[str, _one_of(*MARKETS)]
Count = Annotated[int, Field(ge=0)]


class Told(BaseModel):
    """Base of what a pack tells: every key stands in it, and no other."""

    model_config = ConfigDict(extra="forbid", allow_inf_nan=False)


class Stated(Told):
    """A number with its unit and its spread."""

    name: str
    value: float = Field(description="in `unit`")
    unit: str
    low: float = Field(description="in `unit`; nine cases in ten lie between low and high")
    high: float = Field(description="in `unit`; equal to the value when there is no spread")
    basis: BasisWord = Field(description="how it is known")
    state: StateWord | None = Field(description="state of relaxation that it belongs to")
    shown: str = Field(description="as it is printed, with the digits that its spread supports")


class Input(Stated):
    """What a figure was reckoned from."""

    symbol: str
    share_of_variance: float = Field(ge=0, le=1, description="part of the figure's variance, 0 to 1")


class Why(Told):
    """How a figure was got."""

    words: str
    formula: str
    source: str
    inputs: list[Input]


class Figure(Stated):
    """A number with its unit, its spread and its reason."""

    why: Why


class Finding(Told):
    """A sentence on what stops, has to be decided, is to be known, or holds."""

    sign: SignWord
    where: str
    sentence: str
    tries: list[str]
    consequence: str
    source: str


class Repeat(Told):
    """What is counted from the needle notation of one repeat."""

    needles: Count
    feeds: Count
    front_loops: Count
    back_loops: Count
    tucks: Count
    floats: Count
    visible_courses: float = Field(description="courses in a repeat")
    passes_per_visible_course: float = Field(description="carriage passes for one course")
    balance: float = Field(description="front loops less back loops, over both")
    mean_piece_length_mm: float


class Foretold(Told):
    """How far off one swatch is when it is told from the others."""

    name: str
    wales_error_percent: float
    courses_error_percent: float
    wales_error_without_calibration_percent: float
    courses_error_without_calibration_percent: float


class LeftOut(Told):
    """Every swatch told from the others."""

    words: str
    root_mean_square_percent: float | None
    root_mean_square_without_calibration_percent: float | None
    swatches: list[Foretold]


class Calibration(Told):
    """What swatches of the style say of the yarn in the simulation."""

    swatches: list[str]
    figures: dict[str, Figure]
    leave_one_out: LeftOut
    missing: list[str]


class Simulated(Told):
    """A fabric as the mechanics of its loops tell it."""

    figures: dict[str, Figure]
    missing: list[str]
    stands: str
    calibration: Calibration | None


class Fabric(Told):
    """The cloth of one zone."""

    structure: str
    structure_name: str
    notation: list[str] = Field(description="needle notation, one line for each feed, lowest first")
    gating: GatingWord
    repeat: Repeat
    yarn: str
    figures: dict[str, Figure]
    simulated: Simulated
    curl: str
    unroves: str
    ladders: str


class Closure(Told):
    """A seam whose two edges have to agree."""

    seam: str
    one: str
    one_cm: float
    other: str
    other_cm: float
    ease_cm: float
    least_ease_cm: float
    most_ease_cm: float


class Step(Told):
    """A line of a knit-down."""

    step: str
    text: str


class ZoneYarn(Told):
    """Yarn of one zone of a panel."""

    zone: str
    loops: Count
    metres: dict[str, float] = Field(description="metres by yarn letter of the notation")
    g: float = Field(description="g")


class Strokes(Told):
    """Traverses of one piece in knitting order; `kind`, `needles`, `feeds` and `seconds` have one entry for each."""

    traverses: Count
    total_s: float
    by_kind_s: dict[str, float]
    kinds: dict[str, str] = Field(description="words of the numbers in `kind`")
    kind: list[Annotated[int, _one_of(*(int(each) for each in Work))]]
    needles: list[Count]
    feeds: list[Count]
    seconds: list[float]


class Panel(Told):
    """A panel as it is knitted; lists have one number for each course of the main fabric."""

    pieces: int = Field(ge=1, description="pieces of it in a garment")
    rib_needles: Count
    rib_courses: Count
    main_courses: Count
    widest_needles: Count
    loops: Count
    length_cm: float
    span_needles: list[Count]
    left_needles: list[int]
    right_needles: list[int]
    held_needles: list[Count]
    knit_down: list[Step]
    yarn: list[ZoneYarn]
    strokes: Strokes | None


class Seam(Told):
    """A seam of one garment."""

    name: str
    place: str
    method: str
    points: Count = Field(description="points of a linking dial, 0 where it is sewn")
    length_cm: float
    count: Count
    stitch: str = Field(description="code of ISO 4915")
    seam_class: str = Field(description="class of ISO 4916")
    minutes: Figure


class Operation(Told):
    """Work of make-up that is no seam."""

    operation: str
    words: str
    group: str
    count: Count
    minutes: Figure


class Makeup(Told):
    """Make-up of one garment, minutes."""

    seams: list[Seam]
    operations: list[Operation]
    groups: dict[str, Figure]
    total: Figure


class Size(Told):
    """One size: what is wanted, what whole needles and courses make of it, its panels."""

    measures_cm: dict[str, float]
    labels: dict[str, str]
    hand_set: list[str]
    real_cm: dict[str, float]
    closes: list[Closure]
    exact_against_two_rate: dict[str, str]
    cap_height_by_ellipse_method_cm: float | None
    neck_seam_cm: float
    panels: dict[str, Panel]
    net_knitting_min: Figure | None
    knitting_min: Figure | None
    yarn_g: Figure
    makeup: Makeup


class MeanPiece(Told):
    """What a piece takes on the mean of the order."""

    yarn_g: Figure | None
    knitting_min: Figure | None
    makeup_min: Figure | None


class Need(Told):
    """How many machines or linkers."""

    whole: Count
    figure: Figure


class LabelPart(Told):
    """A fibre of a label."""

    name: str
    percent: int = Field(ge=0, le=100)


class Label(Told):
    """The fibre label in one market."""

    market: Market
    text: str
    parts: list[LabelPart]
    exact_percent: dict[str, float]


Care = create_model("Care", __base__=Told, __doc__="Usual care, in words.", **dict.fromkeys(STEPS, (str, ...)))  # type: ignore[call-overload]


def _without(model: type[BaseModel], leave_out: tuple[str, ...], **other: Any) -> type[BaseModel]:
    """A part of a style without the fields that stay at home; `other` takes the place of a field's form."""
    kept: dict[str, Any] = {
        name: (other.get(name, field.annotation), field)
        for name, field in model.model_fields.items()
        if name not in leave_out
    }
    return create_model(model.__name__, __config__=model.model_config, __doc__=model.__doc__, **kept)


Yarn = _without(YarnSpec, OF_YARN_STAYS_HOME)
Style = _without(StyleOf, STAYS_HOME, yarns=dict[str, Yarn])  # type: ignore[valid-type]


class Pack(Told):
    """A factory pack as data: the study of a style without money and records, its labels and its care."""

    schema_: Annotated[str, _one_of(FILE)] = Field(alias="$schema", description="this file, beside pack.json")
    format: Annotated[str, _one_of(FORMAT)]
    program_version: str
    style: Style = Field(description="what the developer decided; what was left out is not there")  # type: ignore[valid-type]
    findings: list[Finding]
    assumptions: dict[str, str] = Field(description="what was taken for a field of the style that says nothing")
    yarns: dict[str, dict[str, Figure]] = Field(description="by key: counts in every system, diameter in mm")
    fabrics: dict[str, Fabric] = Field(description="by zone")
    sizes: dict[str, Size] = Field(description="by size")
    order_shares: dict[str, Annotated[float, Field(ge=0, le=1)]] = Field(description="share of each size, 0 to 1")
    mean_piece: MeanPiece
    machine_hours: Figure | None
    machines: Need | None
    linkers: Need | None
    inspection: dict[str, SamplingPlan]
    cautions: list[Caution]
    labels: list[Label]
    care: Care


class _Written(GenerateJsonSchema):
    """Keys are their own titles."""

    def field_title_should_be_set(self, schema: Any) -> bool:  # noqa: ARG002
        """Never: the key says it."""
        return False


@cache
def pack_schema() -> dict[str, Any]:
    """The schema of pack.json."""
    made = Pack.model_json_schema(mode="serialization", schema_generator=_Written)
    for part in (made, *made["$defs"].values()):
        if "properties" in part:
            part["additionalProperties"] = False
            _say_units(part["properties"])
    head = {"$schema": GenerateJsonSchema.schema_dialect, "$id": f"urn:{FORMAT.replace(' ', ':')}"}
    return head | dict(_bounded(made))


def _bounded(value: Any) -> Any:
    """The bounds of numbers that are read from text, which come out under other names than the draft's."""
    if isinstance(value, dict):
        return {
            BOUNDS.get(key, key) if not isinstance(each, dict | list) else key: _bounded(each)
            for key, each in value.items()
        }
    return [_bounded(each) for each in value] if isinstance(value, list) else value


BOUNDS = {"ge": "minimum", "gt": "exclusiveMinimum", "le": "maximum", "lt": "exclusiveMaximum"}


def schema_named(name: str) -> dict[str, Any]:
    """The schema of a document by its name.

    Raises:
        Problem: no document of that name has a schema.
    """
    if name not in NAMES:
        raise Problem("schema", f"“{name}” is no document with a schema.", tries=list(NAMES))
    return pack_schema()


def _say_units(properties: Mapping[str, Any]) -> None:
    """Put the unit into the description of every value whose key ends with one and that says nothing else."""
    for key, told in properties.items():
        tail = max((each for each in UNITS if key.endswith(f"_{each}")), key=len, default="")
        if tail and "$ref" not in told:
            told.setdefault("description", UNITS[tail])


def schema_tables(schema: Mapping[str, Any]) -> Iterator[Table]:
    """The keys of a schema as tables: its own first, then those of every part."""
    for name, part in ((schema["title"], schema), *schema["$defs"].items()):
        required = part.get("required", ())
        rows = tuple(
            (key, _form(told), "" if key in required else "may be absent", told.get("description", ""))
            for key, told in part.get("properties", {}).items()
        )
        if rows:
            yield Table((name, "form", "", "holds"), rows, words=(0, 1, 2, 3), caption=part.get("description", ""))


def _form(told: Mapping[str, Any]) -> str:
    """The form of a value in a few words.

    >>> _form({"type": "array", "items": {"$ref": "#/$defs/Step"}}), _form({"anyOf": [{"type": "null"}, {"const": 3}]})
    ('list of Step', 'null or 3')
    """
    if "$ref" in told:
        return str(told["$ref"].rpartition("/")[2])
    if choices := told.get("anyOf") or told.get("oneOf"):
        return " or ".join(_form(each) for each in choices)
    if "const" in told:
        return str(told["const"])
    if "enum" in told:
        return ", ".join(map(str, told["enum"]))
    if told.get("type") == "array":
        return f"list of {_form(told['items'])}"
    if isinstance(inner := told.get("additionalProperties"), Mapping):
        return f"by name: {_form(inner)}"
    return str(told.get("type", "any"))
