"""The sheet of a swatch: readings beside what was expected and allowed, and its life.

In: `SwatchStudy`. Out: `Sheet` for the terminal and the page. Numbers stay figures; chances are said as chances.
Not covered: JSON (`swatch_document`), what follows for a garment (`sheet`), what the drawer learns from it.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace

from loopwright.figure import Figure, plain
from loopwright.report.blocks import Block, Cautions, Cell, Chance, Findings, Note, Section, Sentence, Table
from loopwright.report.sheet import FOOT, Sheet
from loopwright.report.tables import capital
from loopwright.study.swatch_study import Roll, SwatchStudy
from loopwright.swatch.bench import NAMES, Measured, Stage
from loopwright.swatch.consistency import HOLDS
from loopwright.swatch.observed import Quantity
from loopwright.swatch.reduction import by_hand
from loopwright.swatch.specimen import Sitting
from loopwright.swatch.statistics import Estimate, Summary
from loopwright.swatch.stretching import recovery_percent


def swatch_sheet(study: SwatchStudy, *, with_cautions: bool = True) -> Sheet:
    """The sheet of one swatch; of several, one has the cautions of all."""
    specimen = study.bench.specimen
    made = [specimen.structure.name, specimen.yarn.name if specimen.yarn else "", _made(study)]
    invented = ["invented example"] if specimen.is_invented else []
    makers = (_readings, _findings, _sittings, _spread, _people, _recovery, *((_checks,) if with_cautions else ()))
    sections = tuple(section for make in makers if (section := make(study)) is not None)
    return Sheet(
        title=capital(specimen.name),
        subtitle=" · ".join(part for part in (*made, *invented) if part),
        brief=(("How it was made", tuple(_how_made(study))),),
        lede=lede_of(study),
        under_lede=(),
        sections=sections,
        foot=FOOT,
    )


def lede_of(study: SwatchStudy) -> Sentence:
    """The one thing to know: why it counts for nothing, a limit it fails, or what it measured last."""
    specimen, name = study.bench.specimen, capital(study.bench.specimen.name)
    if specimen.unreliable:
        return Sentence((f"{name} is marked unreliable ({specimen.unreliable}) and counts for nothing.",))
    failing = _least_sure(study)
    if failing is not None:
        return _failing_lede(name, *failing)
    if not study.bench.stages:
        return Sentence((f"Nothing was measured on {name.lower()} yet.",))
    return _counts_lede(study, name)


def _least_sure(study: SwatchStudy) -> tuple[Stage, Measured] | None:
    """The reading whose limit is least likely kept; none when all hold."""
    failing = [
        (stage, measured)
        for stage, measured in _latest(study)
        if measured.verdict is not None and measured.verdict.true_value_passes < HOLDS
    ]
    return min(failing, key=lambda each: _passes(each[1]), default=None)


def _passes(measured: Measured) -> float:
    return measured.verdict.true_value_passes if measured.verdict else 1.0


def _failing_lede(name: str, stage: Stage, measured: Measured) -> Sentence:
    figure = stage.figure(measured.quantity, measured.estimate, measured_words(measured))
    assert measured.verdict is not None
    limit, chance = measured.verdict.limit.words, Chance(measured.verdict.true_value_passes, counted=True)
    if measured.quantity is Quantity.LEAN:
        side = "right" if figure.value > 0 else "left"
        size = figure if figure.value > 0 else _mirrored(figure)
        said: tuple[Cell, ...] = (f"{name} leans {side} by ", size)
    else:
        said = (f"{name}: {NAMES[measured.quantity]} ", figure)
    return Sentence((*said, f", {stage.words}. The limit is {limit}; the chance to keep it is ", chance, "."))


def _mirrored(figure: Figure) -> Figure:
    """A lean to the left, said as its size."""
    return replace(figure, value=-figure.value, low=-figure.high, high=-figure.low)


def _counts_lede(study: SwatchStudy, name: str) -> Sentence:
    """What it measured last."""
    stage = study.bench.stages[-1]
    parts: list[Cell] = [f"{name}, {stage.words}: "]
    shown = [each for each in (Quantity.WALES, Quantity.COURSES, Quantity.MASS) if each in stage.measured]
    for quantity in shown or list(stage.measured)[:2]:
        measured = stage.measured[quantity]
        figure = stage.figure(quantity, measured.estimate, measured_words(measured))
        words = {Quantity.WALES: " wales", Quantity.COURSES: " courses"}.get(quantity, "")
        parts += [f"{words.strip()} " if words else "", figure, ", "]
    if len(parts) == 1:
        return Sentence((f"{name}, {stage.words}: nothing was read at its last sitting.",))
    return Sentence((*parts[:-1], "."))


def measured_words(measured: Measured) -> str:
    """Where a measured figure comes from."""
    hands = [summary.words for summary in measured.hand.values()]
    parts = [f"by hand: {'; '.join(hands)}" if hands else "", "from the picture" if measured.by_photo else ""]
    both = " combined by inverse variance, with the error that both share" if hands and measured.by_photo else ""
    return " and ".join(part for part in parts if part) + both


def _made(study: SwatchStudy) -> str:
    loop = study.bench.loop_length_mm
    return f"loop {plain(loop, 2)} mm" if loop else ""


def _how_made(study: SwatchStudy) -> Iterator[tuple[str, str]]:
    """The brief at the side."""
    specimen = study.bench.specimen
    lines = (
        ("Machine", " ".join(filter(None, [specimen.machine, f"E {specimen.gauge:g}" if specimen.gauge else ""]))),
        ("Needles", str(specimen.needles or "")),
        ("Courses", str(specimen.courses or "")),
        ("Cam setting", specimen.cam_setting),
        ("Loop length", _made(study).removeprefix("loop ")),
        (
            "Cone",
            ", ".join(f"{word} {value}" for word, value in (("lot", specimen.lot), ("no", specimen.cone)) if value),
        ),
        ("Knitted", specimen.knitted_on),
        ("Note", specimen.note),
    )
    yield from ((label, text) for label, text in lines if text)


def _latest(study: SwatchStudy) -> list[tuple[Stage, Measured]]:
    """Each quantity at the last stage at which it was measured."""
    found = (study.bench.latest(quantity) for quantity in Quantity)
    return [each for each in found if each is not None]


def _readings(study: SwatchStudy) -> Section | None:
    latest = _latest(study)
    if not latest:
        return None
    last = study.bench.stages[-1]
    rows = [_reading(stage, measured, is_last=stage is last) for stage, measured in latest]
    rows += [_roll(roll, is_last=roll.sitting in last.sittings) for roll in study.rolls]
    judged = [_passes(measured) >= HOLDS for _, measured in latest if measured.verdict is not None]
    tally = f"{sum(judged)} hold · {len(judged) - sum(judged)} fail" if judged else "no limits set"
    strong = frozenset(
        index for index, (_, measured) in enumerate(latest) if measured.verdict and _passes(measured) < HOLDS
    )
    head = ("Reading", "photo", "by hand", "expected", "limit", "will pass")
    table = Table(head, tuple(rows), strong=strong, caption=f"{capital(last.words)}, where nothing else is said.")
    return Section("readings", "Readings", tally, (table,), tuple(_reading_notes(study)), short=str(len(rows)))


def _reading(stage: Stage, measured: Measured, *, is_last: bool) -> tuple[Cell, ...]:
    quantity = measured.quantity
    name = capital(NAMES[quantity])
    verdict = measured.verdict
    return (
        name if is_last else f"{name}, {stage.words}",
        _cell(stage, quantity, measured.by_photo, "read from the picture"),
        _cell(stage, quantity, measured.by_hand, measured_words(measured)),
        measured.expected or "",
        f"{verdict.limit.words}{_unit_of_limit(quantity, verdict.limit.words)}" if verdict else "",
        Chance(verdict.true_value_passes, counted=True) if verdict else "",
    )


def _roll(roll: Roll, *, is_last: bool) -> tuple[Cell, ...]:
    name = f"Roll of the {roll.edge}, radius"
    words = name if is_last else f"{name}, {roll.sitting.state_words}"
    return words, "", f"{plain(roll.radius_mm, 1)} mm", roll.expected or "", "", ""


def _unit_of_limit(quantity: Quantity, words: str) -> str:
    unit = quantity.unit
    return "" if "%" in words or unit == "per cm" else f" {unit}"


def _cell(stage: Stage, quantity: Quantity, estimate: Estimate | None, words: str) -> Cell:
    return "" if estimate is None else stage.figure(quantity, estimate, words)


def _reading_notes(study: SwatchStudy) -> Iterator[Note]:
    """What a reader of the table asks next."""
    specimen = study.bench.specimen
    photos = [photo for sitting in specimen.sittings for photo in sitting.photos]
    waiting = sum(not photo.is_confirmed for photo in photos)
    if waiting:
        many = "One picture waits" if waiting == 1 else f"{waiting} pictures wait"
        yield Note("Until you say it sits", f"{many} for your yes; the reading moves nothing.")
    if any(measured.quantity is Quantity.LEAN for _, measured in _latest(study)):
        yield Note("Mind the sign", "Right on the face is Z. Seen from the back the same cloth leans left.")
    judged = [measured for _, measured in _latest(study) if measured.verdict]
    for measured in judged:
        assert measured.verdict is not None
        apart = measured.verdict.true_value_passes - measured.verdict.next_piece_passes
        if apart > NOTABLE:
            chance = Chance(measured.verdict.next_piece_passes, counted=True).text
            yield Note(
                "The next piece", f"{capital(NAMES[measured.quantity])}: pieces stray, and one keeps it in {chance}."
            )


NOTABLE = 0.05  # a difference of chances worth a line


def _findings(study: SwatchStudy) -> Section | None:
    if not study.findings:
        return None
    return Section("findings", "What needs you", "", (Findings(study.findings),), short=str(len(study.findings)))


_SHOWN = (Quantity.WALES, Quantity.COURSES, Quantity.MASS, Quantity.LEAN, Quantity.WIDTH_CHANGE, Quantity.LENGTH_CHANGE)


def _sittings(study: SwatchStudy) -> Section | None:
    specimen = study.bench.specimen
    if not specimen.sittings:
        return None
    read = {sitting.key: by_hand(specimen, sitting) for sitting in specimen.sittings}
    shown = [quantity for quantity in _SHOWN if any(quantity in each for each in read.values())]
    head = (
        "Sitting",
        "state",
        "day",
        "by",
        *(f"{NAMES[each]}, {each.unit}".replace(", per cm", "") for each in shown),
    )
    rows = tuple(
        (
            sitting.key,
            _state_words(sitting),
            sitting.on,
            sitting.by,
            *(_mean(read[sitting.key].get(quantity), quantity) for quantity in shown),
        )
        for sitting in specimen.sittings
    )
    table = Table(head, rows, words=(0, 1, 2, 3))
    return Section(
        "sittings", "Its life so far", "", (table,), tuple(_sitting_notes(specimen.sittings)), str(len(rows))
    )


def _state_words(sitting: Sitting) -> str:
    return f"{sitting.state_words}; left out" if sitting.unreliable else sitting.state_words


def _mean(summary: Summary | None, quantity: Quantity) -> str:
    if summary is None:
        return ""
    return plain(summary.mean, {Quantity.MASS: 0, Quantity.WALES: 2, Quantity.COURSES: 2}.get(quantity, 1))


def _sitting_notes(sittings: Sequence[Sitting]) -> Iterator[Note]:
    for sitting in sittings:
        lay = [
            sitting.wash,
            f"dried {sitting.dried}" if sitting.dried else "",
            sitting.air,
            sitting.note,
            sitting.unreliable,
        ]
        if said := "; ".join(part for part in lay if part):
            yield Note(f"Sitting {sitting.key}", f"{capital(said)}.")


def _spread(study: SwatchStudy) -> Section | None:
    rows = [
        _spread_row(stage, quantity, key, summary)
        for stage in study.bench.stages
        for quantity, measured in stage.measured.items()
        for key, summary in measured.hand.items()
    ]
    if not rows:
        return None
    head = ("Reading", "sitting", "readings", "mean", "s", "CV %", "± at 95 %", "for ± 2 %")
    caption = (
        "Mean ± t·s/√n from the readings alone, as the standards have it. One reading has no spread of its own; "
        "the usual one of the trade stands for it. Readings for ± 2 % at 95 %, counted with t."
    )
    return Section("spread", "How the readings scatter", "", (Table(head, tuple(rows), caption, words=(0, 1)),))


def _spread_row(stage: Stage, quantity: Quantity, key: str, summary: Summary) -> tuple[Cell, ...]:
    digits = 1 if quantity is Quantity.MASS else 2
    half, cv = summary.half_95, summary.cv_percent
    return (
        f"{capital(NAMES[quantity])}, {quantity.unit}".replace(", per cm", ""),
        f"{key}, {stage.words}",
        str(summary.n),
        plain(summary.mean, digits),
        "" if summary.sd is None else plain(summary.sd, digits + 1),
        plain(cv, 1) if cv is not None and quantity.is_ratio else "",
        "" if half is None else plain(half, digits),
        str(summary.needed) if summary.needed and quantity.is_ratio else "",
    )


def _people(study: SwatchStudy) -> Section | None:
    rows = [
        (
            f"{capital(NAMES[quantity])}, {stage.words}",
            str(people.people),
            str(people.readings),
            plain(people.repeatability_sd, 3),
            plain(people.between_sd, 3),
            plain(people.reproducibility_sd, 3),
            people.advice,
        )
        for stage in study.bench.stages
        for quantity, measured in stage.measured.items()
        if (people := measured.people) is not None
    ]
    if not rows:
        return None
    head = ("Reading", "people", "readings", "s_r, one person", "s_L, between", "s_R, both", "what would help")
    return Section("people", "Who measured", "", (Table(head, tuple(rows), words=(0, 6)),))


def _recovery(study: SwatchStudy) -> Section | None:
    rows = []
    for sitting in study.bench.specimen.sittings:
        for each in sitting.stretches:
            if each.extension_percent:
                extension = sum(each.extension_percent) / len(each.extension_percent)
                left = sum(each.left_percent) / len(each.left_percent) if each.left_percent else None
                came_back = recovery_percent(extension=extension, left=left) if left is not None and extension else None
                load = f"{each.load_n:g} N" if each.load_n else ""
                strip = f"{each.strip_cm:g} cm" if each.strip_cm else ""
                rows.append((
                    f"{capital(each.way)}, sitting {sitting.key}", load, strip, str(each.cycles), plain(extension, 1),
                    "" if left is None else plain(left, 1), "" if came_back is None else plain(came_back, 0),
                ))  # fmt: skip
    if not rows:
        return None
    head = ("Strip pulled in", "load", "strip", "cycles", "extension %", "left %", "came back %")
    caption = "S = 100·(E − L)/L, C = 100·(Q − P)/P, R = 100·(S − C)/S. Compare only at one load, strip and rest."
    return Section("stretch", "Stretch and recovery", "", (Table(head, tuple(rows), caption),))


def _checks(study: SwatchStudy) -> Section | None:
    if not study.cautions:
        return None
    blocks: tuple[Block, ...] = (Cautions(study.cautions),)
    return Section("checks", "Cautions", "", blocks, short=str(len(study.cautions)))
