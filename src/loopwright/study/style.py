"""The style: what the developer decides, and nothing that can be computed.

The document is written by hand as TOML. A part left out gets a stated default that the
study shows as an assumption, or leaves its answers open. Lengths in cm or mm as the name says; a value may be text
with its own unit ("19 1/4 in"). Not covered: reading the file (`cli`), building domain values (`parts`).
"""

from __future__ import annotations

import unicodedata
from collections.abc import Callable, Iterable, Mapping
from typing import Annotated, Any, Literal

from pydantic import (
    BeforeValidator,
    Discriminator,
    Field,
    ModelWrapValidatorHandler,
    Tag,
    ValidationError,
    model_validator,
)
from pydantic_core import ErrorDetails

from loopwright.garment.blocks import blocks
from loopwright.garment.necks import necks
from loopwright.garment.shape import DEFAULT, Shape, one_of
from loopwright.garment.sleeves import sleeves
from loopwright.machine.models import FlatModel, flat_model, flat_models
from loopwright.problems import Problem
from loopwright.study.sample_parts import SampleSpec
from loopwright.study.swatch_parts import SpecimenSpec, SwatchSpec, swatch_or_name
from loopwright.study.words import complaint
from loopwright.study.written import (
    Amount,
    Cm,
    Grams,
    Inches,
    Minutes,
    Mm,
    Name,
    Part,
    Share,
    SignedCm,
    SomeCm,
    SomeMinutes,
    StateName,
    refused,
)
from loopwright.yarn.count import MOST_TOGETHER


def _word_of(known: Callable[[], Iterable[str]], what: str) -> Callable[[Any], Any]:
    """A validator for a word out of a list that grows with its files."""

    def check(value: Any) -> Any:
        if not isinstance(value, str):
            return value
        try:
            return one_of(value, known(), f"garment.{what}", what)
        except Problem as problem:
            raise refused(problem) from None

    return check


def _block(value: Any) -> Any:
    """A block by its name; the first block was called by all its parts, which are the usual ones."""
    return _word_of(blocks, "block")(DEFAULT.block if value == FIRST_BLOCK else value)


FIRST_BLOCK = "set-in crew pullover"


class Header(Part):
    """What the style is called. `invented` marks example data, and the sheet says so."""

    number: Name = "unnumbered"
    name: Name = "Unnamed style"
    season: str = Field("", max_length=200)
    note: str = Field("", max_length=5000)
    invented: bool = False
    version: int = Field(1, ge=1)


class YarnSpec(Part):
    """A yarn as bought: count in trade notation, fibres in per cent by dry mass, price."""

    name: str = Field("", max_length=200)
    count: Name
    fibres: dict[str, Annotated[float, Field(gt=0, le=100)]] | Name | None = None
    spinning: str | None = None
    ends: int = Field(1, ge=1, le=MOST_TOGETHER)
    singles_twist_tpm: float | None = Field(None, gt=0, le=10000)
    singles_direction: Literal["S", "Z"] | None = None
    fold_twist_tpm: float | None = Field(None, gt=0, le=10000)
    fold_direction: Literal["S", "Z"] | None = None
    price_per_kg: Amount | None = None
    knitting_loss: Share | None = None


class Zone(Part):
    """A zone of the garment: structure, yarn, and how tight. Name the loop length or the tightness, or neither."""

    structure: Name = "plain"
    yarn: Name | None = None
    loop_length_mm: Mm | None = None
    tightness: float | None = Field(None, gt=0, le=60)
    other_loops_mm: dict[str, Mm] = Field(default_factory=dict)
    swatch: (
        Annotated[
            Annotated[SwatchSpec, Tag("(counts)")] | Annotated[Name, Tag("(name)")],
            Discriminator(swatch_or_name),
        ]
        | None
    ) = None

    @property
    def counts(self) -> SwatchSpec | None:
        """The counts of the zone's swatch; none while it only names one that has none to give."""
        return self.swatch if isinstance(self.swatch, SwatchSpec) else None


class StructureSpec(Part):
    """A structure of the developer's own, as needle notation."""

    name: str = Field("", max_length=200)
    courses: list[Annotated[str, Field(max_length=500)]] = Field(min_length=1, max_length=400)
    gating: Literal["rib", "interlock"] = "rib"
    ratios: dict[str, Annotated[float, Field(gt=0, le=5)]] = Field(default_factory=dict)


class Garment(Part):
    """Parts, body, sizes and measures: `measures_cm` of the base size; `hand_set_cm` by size, kept from the grade."""

    block: Annotated[str, BeforeValidator(_block)] = DEFAULT.block
    sleeve: Annotated[str, BeforeValidator(_word_of(sleeves, "sleeve"))] = DEFAULT.sleeve
    neck: Annotated[str, BeforeValidator(_word_of(necks, "neck"))] = DEFAULT.neck
    side: Literal["straight", "shaped"] = "straight"
    hem: Literal["straight", "dropped back", "curved"] = "straight"
    hem_drop_cm: Cm = 0.0
    bust_dart_cm: Cm = 0.0
    ruching_cm: Cm = 0.0
    ruching_ratio: float = Field(2.0, ge=1, le=20)
    skirt: Literal["narrowed", "stitch-length flared", "sideways"] = "narrowed"
    population: Literal["women", "men", "children"] = "women"
    fit: str | None = None
    chest_ease_cm: SignedCm | None = None
    sizes: list[Name] = Field(default_factory=lambda: ["M"], min_length=1, max_length=40)
    base_size: Name | None = None
    measures_cm: dict[str, Cm] = Field(default_factory=dict)
    hand_set_cm: dict[str, dict[str, Cm]] = Field(default_factory=dict)
    grade_cm: dict[str, SignedCm] = Field(default_factory=dict)
    neckband_doubled: bool = True
    cords: bool = False
    buttons: int = Field(0, ge=0, le=200)
    raised_surface: bool = False

    @property
    def shape(self) -> Shape:
        """The parts of the garment as a value."""
        return Shape(
            block=self.block,
            sleeve=self.sleeve,
            neck=self.neck,
            side=self.side,
            hem=self.hem,
            skirt=self.skirt,
            bust_dart_cm=self.bust_dart_cm,
            hem_drop_cm=self.hem_drop_cm,
            ruching_cm=self.ruching_cm,
            ruching_ratio=self.ruching_ratio,
        )


class TimedPanel(Part):
    """A panel timed on the machine: seconds per traverse at a width of needles."""

    needles: int = Field(gt=0, le=5000)
    seconds: float = Field(gt=0, le=600)


def _model(value: Any) -> Any:
    """A generic machine by its name, whatever its case and spaces."""
    if not isinstance(value, str) or not value.strip():
        return value
    try:
        return flat_model(value).name
    except Problem as problem:
        limit = ", ".join(flat_models())
        raise refused(Problem("", problem.what, limit=limit, tries=problem.tries)) from None


def _named_model(document: Any) -> FlatModel | None:
    """The generic machine that a machine's document names; none when it names none, or one that is not known."""
    words = document.get("model") if isinstance(document, Mapping) else None
    return flat_models().get(" ".join(words.casefold().split())) if isinstance(words, str) else None


class Machine(Part):
    """The flat machine. Settings left out take the trade's defaults; gauge, bed and systems those of a named model.

    What the model gave is not among the fields set.
    """

    name: str = Field("", max_length=200)
    model: Annotated[str, BeforeValidator(_model)] = ""
    gauge: float = Field(ge=0.5, le=60)
    bed_in: Inches = 50.0
    systems: int = Field(2, ge=1, le=4)
    carriers: int | None = Field(None, ge=1, le=40)
    speed_m_per_s: float | None = Field(None, ge=0.01, le=5)
    overrun_m: float | None = Field(None, gt=0, le=2)
    reversal_s: float | None = Field(None, ge=0, le=20)
    running_share: float | None = Field(None, gt=0, le=1)
    timed: list[TimedPanel] = Field(default_factory=list, max_length=100)

    @model_validator(mode="wrap")
    @classmethod
    def _of_its_model(cls, document: Any, handler: ModelWrapValidatorHandler[Machine]) -> Machine:
        """Fill what the model knows and the document left out."""
        known = _named_model(document)
        if known is None:
            return handler(document)
        own = {"gauge": known.gauge, "bed_in": known.bed_in, "systems": known.systems}
        made = handler({**own, **document})
        made.model_fields_set.intersection_update(document)
        return made


class Construction(Part):
    """How it is shaped and joined; values left out take the trade's defaults for the gauge."""

    method: Literal["fully fashioned and linked", "fully fashioned and cup-seamed"] = "fully fashioned and linked"
    narrow_needles: int | None = Field(None, ge=1, le=4)
    widen_needles: int | None = Field(None, ge=1, le=2)
    courses_between: int | None = Field(None, ge=1, le=20)
    mark_needles: int | None = Field(None, ge=1, le=20)
    fashioning: str | None = None
    armhole_base_cm: Cm | None = None
    cap_ease_cm: SignedCm | None = None
    sides: Literal["together", "alternate"] | None = None
    even_courses: bool | None = None
    armhole_slope_share: float | None = Field(None, gt=0, le=1)
    sleeve_straight_cm: Cm | None = None
    stroke_worth_mm2: float | None = Field(None, ge=0.01, le=1000)
    band_pick_up: float | None = Field(None, gt=0.5, le=1.2)
    linking_dial: int | None = Field(None, ge=2, le=40)


class Colour(Part):
    """A colour of the order: its name and its share of the pieces (any scale)."""

    name: Name
    share: float = Field(1.0, gt=0, le=1e9)


class Order(Part):
    """How many, in which sizes and colours."""

    pieces: int = Field(gt=0, le=10_000_000)
    size_mix: dict[str, Annotated[float, Field(ge=0, le=1e9)]] = Field(default_factory=dict)
    colours: list[Colour] = Field(default_factory=list, max_length=200)
    ship_date: str = Field("", max_length=200)
    terms: str = Field("", max_length=200)
    knitting_days: float | None = Field(None, ge=0.01, le=1000)
    hours_per_day: float = Field(20.0, ge=0.1, le=24)
    share_worked: float = Field(0.9, ge=0.01, le=1)


class Targets(Part):
    """The developer's own limits."""

    price: Amount | None = None
    quoted_price: Amount | None = None
    minutes: SomeMinutes | None = None
    piece_mass_g: Grams | None = None
    minimum_neck_cm: SomeCm | None = None


class Style(Part):
    """A style: everything the developer decides."""

    style: Header = Header()
    yarns: dict[str, YarnSpec] = Field(default_factory=dict)
    structures: dict[str, StructureSpec] = Field(default_factory=dict)
    zones: dict[Literal["body", "hem", "sleeve", "cuff", "neckband"], Zone] = Field(default_factory=dict)
    garment: Garment | None = None
    machine: Machine | None = None
    construction: Construction = Construction()
    order: Order | None = None
    rates: dict[str, Amount | str] = Field(default_factory=dict)
    make_up_minutes: dict[str, Minutes] = Field(default_factory=dict)
    targets: Targets = Targets()
    state: StateName = "fully-relaxed"
    swatches: dict[Name, SpecimenSpec] = Field(default_factory=dict)
    samples: dict[Name, SampleSpec] = Field(default_factory=dict)


def read_style(document: Mapping[str, Any]) -> Style:
    """A style from its document.

    Raises:
        Problem: the first thing that is wrong, in trade words, with how many more there are.
    """
    _refuse_unprintable(document, "")
    try:
        return Style.model_validate(document)
    except ValidationError as error:
        first, *others = style_problems(error)
        more = (
            f" There {'is' if len(others) == 1 else 'are'} {len(others)} more to mend in this style." if others else ""
        )
        raise Problem(first.where, first.what + more, limit=first.limit, tries=first.tries) from None


def _refuse_unprintable(value: Any, place: str) -> None:
    """Refuse text with control signs, which no name has and which can steer a terminal or a printer."""
    if isinstance(value, str):
        odd = next((sign for sign in value if unicodedata.category(sign) == "Cc" and sign not in "\n\r\t"), None)
        if odd is not None:
            raise Problem(place, f"the text holds an unprintable sign (U+{ord(odd):04X}).", tries=["type it again"])
    elif isinstance(value, Mapping):
        for key, inner in value.items():
            _refuse_unprintable(str(key), place)
            _refuse_unprintable(inner, f"{place}.{key}".strip("."))
    elif isinstance(value, list):
        for inner in value:
            _refuse_unprintable(inner, place)


def style_problems(error: ValidationError) -> list[Problem]:
    """Everything that is wrong with a style document, each with its place; unknown words first, as they hide others."""
    details: list[ErrorDetails] = error.errors(include_url=False)
    details.sort(key=lambda detail: detail["type"] != "extra_forbidden")
    return [complaint(detail, Style) for detail in sorted(details, key=_slips_first)]


def _slips_first(detail: ErrorDetails) -> bool:
    """A slip of the pen comes before the field that it leaves empty."""
    return detail["type"] != "extra_forbidden"
