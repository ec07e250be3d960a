"""One fabric: everything that structure, yarn, loop length and state decide, with findings.

In: structure, yarn, loop length, state, and where known the gauge and a swatch. Out: `Fabric`. A swatch's own counts
come before published constants. Not covered: loop mechanics (radius of curl, stretch curve), which come later.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace

from loopwright.fabric.behaviour import Curl, Run, curl_of, run_of
from loopwright.fabric.bulk import cover_figure, porosity_figure, thickness
from loopwright.fabric.geometry import StitchGeometry, SwatchCounts, measured_geometry, predicted_geometry
from loopwright.fabric.kin import element, is_own_row, row_for
from loopwright.fabric.known import NOTHING, BetterKnown
from loopwright.fabric.mass import PieceLengths, fabric_mass, piece_lengths
from loopwright.fabric.relaxation import Change, change_between
from loopwright.fabric.spirality import is_signed, spirality
from loopwright.fabric.stretch import Ceilings, Stretch, ceilings_of, stretch_of
from loopwright.fabric.suitability import gauge_findings, pitch_mm
from loopwright.fabric.tightness import tightness_figure, tightness_over_jam, tightness_scale, usual_loop_length
from loopwright.figure import Basis, Figure, State, banded, plain, shown
from loopwright.problems import Finding, Problem, Sign
from loopwright.sources.table import table
from loopwright.structure.library import Structure
from loopwright.yarn.yarn import Yarn

WIDEST_SHARE_OF_BED = 1.1  # prior: cardigan stitches lie about as wide as their needles, no cloth much wider
SWATCH_MASS_SPREAD = 0.04  # prior: mass after one swatch of the same yarn and structure
SWATCH_THICKNESS_SPREAD = 0.08  # prior: thickness after one swatch


@dataclass(frozen=True, slots=True)
class Fabric:
    """A fabric in one state, with everything that follows from it."""

    structure: Structure
    yarn: Yarn
    geometry: StitchGeometry
    lengths: PieceLengths
    tightness: Figure
    tightness_over_jam: Figure
    mass: Figure
    thickness: Figure
    porosity: Figure
    cover: Figure
    spirality: Figure
    curl: Curl
    run: Run
    stretch: Stretch
    ceilings: Ceilings | None
    change_from_dry: Change
    findings: tuple[Finding, ...]

    @property
    def identity(self) -> tuple[object, ...]:
        """What makes two zones one fabric: structure, yarn, loop length, and how they are known."""
        loop = self.geometry.loop_length_mm.value
        return (self.structure.key, self.yarn.name, self.yarn.ends, loop, self.geometry.wales_per_cm, self.mass)

    def figures(self) -> dict[str, Figure]:
        """All figures by a key whose tail is the unit."""
        ceilings = self.ceilings
        only_plain = (
            {
                "width_lock_up_percent": ceilings.width_percent,
                "length_lock_up_percent": ceilings.length_percent,
                "length_change_when_pulled_wide_percent": ceilings.length_change_at_wide_percent,
            }
            if ceilings
            else {}
        )
        return {
            "loop_length_mm": self.geometry.loop_length_mm,
            "wales_per_cm": self.geometry.wales_per_cm,
            "courses_per_cm": self.geometry.courses_per_cm,
            "needles_per_cm": self.geometry.needles_per_cm,
            "tightness_sqrt_tex_per_cm": self.tightness,
            "tightness_over_jam": self.tightness_over_jam,
            "mass_g_per_m2": self.mass,
            "thickness_mm": self.thickness,
            "porosity": self.porosity,
            "optical_cover": self.cover,
            "spirality_percent": self.spirality,
            "width_stretch_percent": self.stretch.width_percent,
            "length_stretch_percent": self.stretch.length_percent,
            "length_change_from_dry_percent": self.change_from_dry.length_percent,
            "width_change_from_dry_percent": self.change_from_dry.width_percent,
            "side_curl_rank": self.curl.sides,
            "end_curl_rank": self.curl.ends,
            "run_risk": self.run.risk,
            **only_plain,
        }


def fabric_of(
    structure: Structure,
    yarn: Yarn,
    loop_length_mm: Figure | None = None,
    state: State = State.FULLY_RELAXED,
    *,
    gauge: float | None = None,
    swatch: SwatchCounts | None = None,
    known: BetterKnown = NOTHING,
    own_lengths_mm: Mapping[str, float] | None = None,
    place: str = "fabric",
) -> Fabric:
    """The fabric that a structure makes of a yarn.

    Args:
        structure: the structure.
        yarn: the yarn with all its ends.
        loop_length_mm: loop length of the knit loops; the structure's usual tightness decides when it is left out.
        state: state of relaxation; a swatch brings its own.
        gauge: needles per inch, for the limits of the machine and the length of floats.
        swatch: counts of a swatch of this structure and yarn.
        known: figures that are better known than the constants; counts and mass where there is no swatch.
        own_lengths_mm: the person's own lengths of other pieces ("plain", "back", "tuck", "float").
        place: where the fabric is used, for the findings.
    """
    loop = loop_length_mm or usual_loop_length(structure, yarn)
    ratio = tightness_over_jam(yarn, loop)
    _refuse_no_fabric(ratio, loop, yarn)
    if swatch is not None:
        geometry = measured_geometry(structure, loop, swatch)
    else:
        own = known.geometry
        geometry = own or predicted_geometry(structure, loop, state, fibre=yarn.blend.main_fibre)
    lengths = piece_lengths(
        structure,
        loop_length_mm=loop.value,
        pitch_mm=pitch_mm(gauge) if gauge else None,
        wales_per_cm=geometry.wales_per_cm.value,
        own_mm=own_lengths_mm,
    )
    mass = fabric_mass(geometry, yarn, lengths)
    mass = _weighed(swatch, loop, mass) if swatch is not None else _learnt_mass(known, mass, geometry, yarn)
    thick = _gauged(swatch, known.thickness or thickness(structure, yarn))
    air = porosity_figure(mass, thick, yarn)
    _refuse_denser_than_fibre(air, mass, thick, yarn)
    lean = known.lean or spirality(structure, yarn, loop)
    findings = [
        *(gauge_findings(structure, yarn, loop.value, gauge, place) if gauge else ()),
        *_tightness_findings(structure, yarn, ratio, place),
        *_usual_band_findings(structure, yarn, tightness_figure(yarn, loop), place),
        *_width_findings(geometry, gauge, place),
        *_stitch_findings(structure, lengths.float_mm, place),
        *_lean_findings(lean, place),
        *(() if known.replaces_a_swatch else _swatch_findings(structure, swatch, loop, place)),
    ]
    return Fabric(
        structure=structure,
        yarn=yarn,
        geometry=geometry,
        lengths=lengths,
        tightness=tightness_figure(yarn, loop),
        tightness_over_jam=ratio,
        mass=mass,
        thickness=thick,
        porosity=air,
        cover=cover_figure(geometry, yarn),
        spirality=lean,
        curl=curl_of(structure),
        run=run_of(structure, filament="filament" in yarn.spinning),
        stretch=known.stretch or stretch_of(structure, geometry.state),
        ceilings=ceilings_of(geometry, yarn),
        change_from_dry=known.change or change_between(structure, State.DRY_RELAXED, geometry.state),
        findings=tuple(findings),
    )


def _refuse_no_fabric(ratio: Figure, loop: Figure, yarn: Yarn) -> None:
    """Refuse loops that no machine makes of this yarn.

    Raises:
        Problem: so tight that the loops cannot lie beside each other, or so long that they hold nothing.
    """
    if LOOSEST_OVER_JAM <= ratio.value <= TIGHTEST_OVER_JAM:
        return
    low, high = (loop.value * ratio.value / limit for limit in (TIGHTEST_OVER_JAM, LOOSEST_OVER_JAM))
    raise Problem(
        "loop length",
        f"{plain(loop.value, 2)} mm in a yarn of {plain(yarn.tex.value, 0)} tex is {plain(ratio.value, 2)} of the "
        "tightness at which it jams.",
        limit=f"cloth comes from {LOOSEST_OVER_JAM:g} to {TIGHTEST_OVER_JAM:g} of it",
        tries=[f"a loop between {plain(low, 1)} and {plain(high, 1)} mm", "check the unit and the count"],
    )


def _refuse_denser_than_fibre(air: Figure, mass: Figure, thick: Figure, yarn: Yarn) -> None:
    """Refuse counts of a swatch that leave no room for air.

    Raises:
        Problem: mass over thickness reaches the density of the fibre.
    """
    if air.value > 0:
        return
    fibre = yarn.density.value
    raise Problem(
        "swatch",
        f"{plain(mass.value, 0)} g/m² in {plain(thick.value, 2)} mm is {plain((1 - air.value) * fibre, 1)} g/cm³.",
        limit=f"the fibre itself has {plain(fibre, 2)} g/cm³",
        tries=["count the swatch again", "check the units of wales, courses and thickness"],
    )


LOOSEST_OVER_JAM, TIGHTEST_OVER_JAM = 0.15, 1.8  # prior: beyond them there is no cloth to speak of


def _weighed(swatch: SwatchCounts | None, loop: Figure, computed: Figure) -> Figure:
    """The swatch's mass, carried to the wanted loop length (mass falls as loop length grows)."""
    if swatch is None or swatch.mass_g_per_m2 is None:
        return computed
    value = swatch.mass_g_per_m2 * swatch.loop_length_mm / loop.value
    return _measured("mass per area", value, "g/m²", SWATCH_MASS_SPREAD, swatch)


def _learnt_mass(known: BetterKnown, computed: Figure, geometry: StitchGeometry, yarn: Yarn) -> Figure:
    """The mass that swatches tell, with floats as they are laid on this machine."""
    if known.mass is None:
        return computed
    loop, wales = geometry.loop_length_mm.value, geometry.wales_per_cm.value
    over_a_wale = piece_lengths(geometry.structure, loop_length_mm=loop, wales_per_cm=wales)
    share = computed.value / fabric_mass(geometry, yarn, over_a_wale).value
    mass = known.mass
    return replace(mass, value=share * mass.value, low=share * mass.low, high=share * mass.high)


def _gauged(swatch: SwatchCounts | None, computed: Figure) -> Figure:
    if swatch is None or swatch.thickness_mm is None:
        return computed
    return _measured("thickness at 1 kPa", swatch.thickness_mm, "mm", SWATCH_THICKNESS_SPREAD, swatch)


def _measured(name: str, value: float, unit: str, spread: float, swatch: SwatchCounts) -> Figure:
    return banded(
        name,
        value,
        unit,
        low=value * (1 - spread),
        high=value * (1 + spread),
        basis=Basis.MEASURED,
        words=f"measured on {swatch.name}; ± {100 * spread:g} % after one swatch",
        source=swatch.name,
        state=swatch.state,
    )


def _tightness_findings(structure: Structure, yarn: Yarn, ratio: Figure, place: str) -> list[Finding]:
    anatomy = structure.anatomy
    if anatomy.beds > 1 or anatomy.tucks or anatomy.floats:
        return []
    share = f"{plain(ratio.value, 2)} of the tightness at which this yarn jams"
    if ratio.value > 1:
        longer = plain(yarn.diameter_mm.value * element("jam_loop_over_diameter")["value"], 2)
        sentence = f"The loops are jammed: {share}. The carriage will labour and the cloth will be a board."
        return [
            Finding(
                Sign.DECIDE, place, sentence, (f"a loop of {longer} mm or more", "a finer yarn"), weight=ratio.value
            )
        ]
    row = element("stable_tightness_over_jam")
    if ratio.value < row["value"]:
        sentence = f"Slack: {share}; below {row['value']:g} plain tends to grow and to lean in washing."
        return [Finding(Sign.KNOW, place, sentence, ("a shorter loop",), weight=1 - ratio.value, source=row.source)]
    return []


def _usual_band_findings(structure: Structure, yarn: Yarn, tightness: Figure, place: str) -> list[Finding]:
    row, scale = row_for("tightness", structure), tightness_scale(yarn)
    low, high = row["normal_low"] * scale, row["normal_high"] * scale
    if low <= tightness.value <= high:
        return []
    side, other = ("slacker", "shorter") if tightness.value < low else ("tighter", "longer")
    cell = f" (cell basis {plain(tightness.value / 2, 1)})" if structure.anatomy.beds == 2 else ""
    sentence = (
        f"{structure.name[:1].upper()}{structure.name[1:]} at a tightness of {plain(tightness.value, 1)}{cell} "
        f"is {side} than usual for this yarn, {plain(low, 1)} to {plain(high, 1)}."
    )
    weight = abs(tightness.value / (low if tightness.value < low else high) - 1)
    return [Finding(Sign.KNOW, place, sentence, (f"a {other} loop",), weight=weight, source=row.source)]


def _stitch_findings(structure: Structure, float_mm: float, place: str) -> list[Finding]:
    """Tucks and floats past what hooks and wearers take."""
    anatomy, found = structure.anatomy, []
    checks = (
        (anatomy.held_tucks, "held_tucks_most", "tucks gather on one needle", "let the needle knit sooner"),
        (
            anatomy.adjacent_tucks,
            "adjacent_tucks_most",
            "neighbouring needles tuck together",
            "part them by a knit needle",
        ),
        (anatomy.longest_float, "float_places_most", "wales are passed by a free float", "bind the float with a tuck"),
    )
    for count, name, words, attempt in checks:
        row = element(name)
        if count > row["value_low"]:
            sign = Sign.DECIDE if count > row["value"] else Sign.KNOW
            band = (
                f"{row['value_low']:g} to {row['value']:g}" if row["value_low"] < row["value"] else f"{row['value']:g}"
            )
            sentence = f"{structure.name[:1].upper()}{structure.name[1:]}: {count} {words}; the usual limit is {band}."
            found.append(Finding(sign, place, sentence, (attempt,), weight=count / row["value"], source=row.source))
    length, limit = anatomy.longest_float * float_mm, element("float_mm_most")
    if length > limit["value"]:
        sentence = f"A float of {plain(length, 0)} mm lies free; inside garments {limit['value']:g} mm catch."
        found.append(Finding(Sign.DECIDE, place, sentence, ("bind the float",), weight=1.0, source=limit.source))
    return found


def _width_findings(geometry: StitchGeometry, gauge: float | None, place: str) -> list[Finding]:
    """Cloth that would lie wider than it hung on the needles."""
    if gauge is None:
        return []
    share = 10 / (geometry.needles_per_cm.value * pitch_mm(gauge))
    if share <= WIDEST_SHARE_OF_BED:
        return []
    sentence = (
        f"At this loop length the cloth would lie {plain(100 * share, 0)} % as wide as its needles on E {gauge:g}; "
        f"past {100 * WIDEST_SHARE_OF_BED:.0f} % it is a net or the loop does not belong to this gauge."
    )
    return [Finding(Sign.DECIDE, place, sentence, ("a shorter loop", "a coarser gauge"), weight=share - 1)]


def _lean_findings(lean: Figure, place: str) -> list[Finding]:
    limit = table(__package__, "spirality").by("quantity")["limit_percent"]
    furthest = max(lean.high, -lean.low)
    if furthest <= limit["value"]:
        return []
    sentence = (
        f"The wales may lean {plain(lean.low, 0)} to {plain(lean.high, 0)} per cent after washing"
        f"{_signed(lean)}; the usual limit is {limit['value']:g}."
    )
    tries = (
        "a balanced two-fold yarn",
        "a shorter loop",
        "S and Z ends in alternate courses",
        "wash a swatch and measure",
    )
    sign = Sign.DECIDE if abs(lean.value) > limit["value"] else Sign.KNOW
    return [Finding(sign, place, sentence, tries, weight=furthest / limit["value"] - 1, source=limit.source)]


def _signed(lean: Figure) -> str:
    """Which way a lean goes, once a swatch has told."""
    if not is_signed(lean):
        return ""
    side = "right" if lean.value > 0 else "left"
    return f" ({shown(lean)} is likely, to the {side} on the face; right is positive)"


def _swatch_findings(structure: Structure, swatch: SwatchCounts | None, loop: Figure, place: str) -> list[Finding]:
    if swatch is not None:
        change = loop.value / swatch.loop_length_mm - 1
        reach = element("swatch_length_reach")["value"]
        if abs(change) <= reach:
            return []
        sentence = (
            f"{swatch.name} was knitted at {plain(swatch.loop_length_mm, 2)} mm; {plain(loop.value, 2)} mm is "
            f"{plain(100 * change, 0)} % away, past the {plain(100 * reach, 0)} % for which its constants hold."
        )
        return [Finding(Sign.DECIDE, place, sentence, ("knit a swatch at this loop length",), weight=abs(change))]
    if not is_own_row("geometry", structure):
        sentence = f"No constants are known for {structure.name}; those of its nearest kin are used with a wide band."
        return [Finding(Sign.DECIDE, place, sentence, ("knit and measure a swatch",), weight=0.5)]
    if row_for("geometry", structure).basis is Basis.ASSUMED:
        sentence = f"The width of {structure.name} rests on a working assumption, not on a published constant."
        return [Finding(Sign.KNOW, place, sentence, (f"knit a swatch of {structure.name}",), weight=0.2)]
    return []
