"""The swatches of a style as values, and the counts that a zone takes from the swatch it names.

In: `Style`. Out: specimens by key; the style with counts in the place of names, and findings that say which sitting
was taken or why none was. A zone that says neither structure, yarn nor loop has those of its swatch. A document of one
swatch alone is a body knitted as the swatch. Not covered: the fabric that follows (`parts`).
"""

from __future__ import annotations

from collections.abc import Iterator

from loopwright.figure import State
from loopwright.problems import Finding, Problem, Sign
from loopwright.study.parts import yarn_of, zone_structure
from loopwright.study.specimens import specimen_from
from loopwright.study.style import Style, Zone
from loopwright.study.swatch_parts import SwatchSpec
from loopwright.swatch.bench import Bench, Stage, bench_of
from loopwright.swatch.observed import Quantity
from loopwright.swatch.specimen import Specimen
from loopwright.yarn.yarn import Yarn

SETTLED = (State.FULLY_RELAXED, State.FINISHED)  # practically the same
COUNTS = (Quantity.WALES, Quantity.COURSES)


def specimens_of(style: Style) -> dict[str, Specimen]:
    """Every swatch of a style, by its key.

    Raises:
        Problem: an unknown structure, a yarn that is not of this style, or a limit that says nothing.
    """
    return {key: specimen_of(style, key) for key in style.swatches}


def specimen_of(style: Style, key: str) -> Specimen:
    """One swatch of a style; without a yarn of its own it is of the style's only yarn.

    Raises:
        Problem: there is no such swatch, its structure is not known, its yarn is not of this style, a limit is wrong.
    """
    if key not in style.swatches:
        known = ", ".join(style.swatches) or "none yet"
        raise Problem("swatch", f"“{key}” is no swatch of this style.", limit=f"swatches here: {known}")
    spec = style.swatches[key]
    place = f"swatches.{key}"
    try:
        structure = zone_structure(style, Zone(structure=spec.structure))
    except Problem as problem:
        raise problem.at(place) from None
    return specimen_from(key, spec, structure, _yarn(style, spec.yarn, place))


def _yarn(style: Style, name: str | None, place: str) -> Yarn | None:
    if name is None and len(style.yarns) != 1:
        return None
    key = name or next(iter(style.yarns))
    if key not in style.yarns:
        known = ", ".join(style.yarns) or "none yet"
        raise Problem(f"{place}.yarn", f"“{key}” is no yarn of this style.", limit=f"yarns here: {known}")
    try:
        return yarn_of(key, style.yarns[key])
    except Problem:
        return None  # the yarn says so itself, at its own place


def with_counts(style: Style) -> Style:
    """The style with the counts of its swatches in the zones that name one; names that give none stay."""
    zones = dict(style.zones)
    if not zones and style.garment is None and len(style.swatches) == 1:
        zones["body"] = Zone(swatch=next(iter(style.swatches)))
    if not any(isinstance(zone.swatch, str) for zone in zones.values()):
        return style
    return style.model_copy(update={"zones": {name: _counted(style, zone) for name, zone in zones.items()}})


def _counted(style: Style, zone: Zone) -> Zone:
    """The zone with the counts of the swatch that it names."""
    if not isinstance(zone.swatch, str) or zone.swatch not in style.swatches:
        return zone
    spec = style.swatches[zone.swatch]
    own: dict[str, object] = {}
    if "structure" not in zone.model_fields_set:
        own["structure"] = spec.structure
    if zone.yarn is None and spec.yarn in style.yarns:
        own["yarn"] = spec.yarn
    zone = zone.model_copy(update=own)
    try:
        bench, stage = _taken(style, zone)
    except Problem:
        is_open = zone.loop_length_mm is None and zone.tightness is None and not spec.unreliable
        return zone.model_copy(update={"loop_length_mm": spec.loop_length_mm}) if is_open else zone
    return zone.model_copy(update={"swatch": _counts(bench, stage)})


def _counts(bench: Bench, stage: Stage) -> SwatchSpec:
    """The counts of a stage, with mass and thickness where they were measured."""
    values = {quantity: measured.estimate.value for quantity, measured in stage.measured.items()}
    return SwatchSpec.model_validate(
        {
            "name": bench.specimen.name,
            "loop_length_mm": bench.loop_length_mm,
            "wales_per_cm": values[Quantity.WALES],
            "courses_per_cm": values[Quantity.COURSES],
            "state": stage.state.value,
            "mass_g_per_m2": values.get(Quantity.MASS),
            "thickness_mm": values.get(Quantity.THICKNESS),
        }
    )


def _taken(style: Style, zone: Zone) -> tuple[Bench, Stage]:
    """The stage that a zone takes its counts from: the last in the wanted state, else the last one counted.

    Raises:
        Problem: the swatch has none to give, in words.
    """
    specimen = specimen_of(style, str(zone.swatch))
    if specimen.unreliable:
        raise Problem("", f"{specimen.name} is marked unreliable: {specimen.unreliable}")
    if zone_structure(style, zone) != specimen.structure:
        what = f"{specimen.name} is {specimen.structure.name}, and this is knitted in {zone.structure}"
        raise Problem("", what, tries=["knit a swatch of this structure"])
    bench = bench_of(specimen)
    if bench.loop_length_mm is None:
        raise Problem("", f"{specimen.name} has no loop length", tries=["unrove a course", "type loop_length_mm"])
    counted = [
        stage
        for stage in bench.stages
        if all(each in stage.measured for each in COUNTS) and stage.state is not State.ON_MACHINE
    ]
    if not counted:
        raise Problem("", f"wales and courses of {specimen.name} were not counted", tries=["count both at rest"])
    wanted = State(style.state)
    alike = SETTLED if wanted in SETTLED else (wanted,)
    return bench, next((stage for stage in reversed(counted) if stage.state in alike), counted[-1])


def taken_findings(style: Style) -> Iterator[Finding]:
    """Which sitting every zone takes, or why it takes none."""
    for name, zone in style.zones.items():
        if isinstance(zone.swatch, str):
            yield _finding(style, _with_own_structure(style, zone), f"zones.{name}")


def _with_own_structure(style: Style, zone: Zone) -> Zone:
    spec = style.swatches.get(str(zone.swatch))
    if spec is None or "structure" in zone.model_fields_set:
        return zone
    return zone.model_copy(update={"structure": spec.structure})


def _finding(style: Style, zone: Zone, place: str) -> Finding:
    if zone.swatch not in style.swatches:
        known = ", ".join(style.swatches) or "none yet"
        sentence = f"“{zone.swatch}” is no swatch of this style. Swatches here: {known}."
        return Finding(Sign.STOPS, place, sentence, (f"[swatches.{zone.swatch}]",), weight=1.0)
    try:
        bench, stage = _taken(style, zone)
    except Problem as problem:
        sentence = f"Nothing is taken from the swatch: {problem.what}."
        return Finding(Sign.DECIDE, place, sentence, problem.tries, weight=0.6)
    on = f" of {stage.sittings[-1].on}" if stage.sittings[-1].on else ""
    sentence = f"The counts are those of {bench.specimen.name}, {stage.words}{on}."
    return Finding(Sign.KNOW, place, sentence, weight=0.2)
