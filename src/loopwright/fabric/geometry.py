"""Wales and courses: the dimensions of a relaxed fabric from its loop length, or from a swatch.

In: structure, loop length (mm), state of relaxation. Out: `StitchGeometry`, one type for predicted, simulated and
measured fabrics. The law is courses = kc/l and wales = kw/l (l in cm) with constants per structure and state.
Assumption: constants hold for spun yarns at usual tightness (K/K_jam about 0.7 to 1.05); published for wool plain and
cotton interlock, working assumptions elsewhere. States are never mixed; a state without its own constants is carried
over from plain's ratio, and says so. Not covered: mass (`mass`), change between states (`relaxation`).
Sources: munden_1959, knapton_1968, roy_interlock, fletcher_1952 (Peirce's loop).
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

from loopwright.fabric.kin import element, is_own_row, kin_key, row_for
from loopwright.figure import Basis, Figure, State, Term, banded, exact, power_law
from loopwright.sources.table import Row, table
from loopwright.structure.library import Structure


@dataclass(frozen=True, slots=True)
class StitchGeometry:
    """Loop length, visible wales and courses per cm of one fabric in one state."""

    structure: Structure
    loop_length_mm: Figure
    wales_per_cm: Figure
    courses_per_cm: Figure
    state: State

    @property
    def needles_per_cm(self) -> Figure:
        """Needle places per cm of relaxed width: visible wales × places over visible wales of the repeat."""
        anatomy = self.structure.anatomy
        places = exact("needle places per visible wale", anatomy.needles / anatomy.visible_wales, "", words="counted")
        return power_law(
            "needles per cm",
            self.wales_per_cm.value * places.value,
            "per cm",
            [Term("w", self.wales_per_cm)],
            words="visible wales per cm × needle places per visible wale",
            formula="w·places",
            source="counted from the notation",
            state=self.state,
        )


@dataclass(frozen=True, slots=True)
class SwatchCounts:
    """What a person counted on a swatch of this structure and yarn: visible wales and courses per cm, loop length.

    `mass_g_per_m2` and `thickness_mm` where they were measured.
    """

    name: str
    wales_per_cm: float
    courses_per_cm: float
    loop_length_mm: float
    state: State
    mass_g_per_m2: float | None = None
    thickness_mm: float | None = None


def courses_per_cm(*, kc: float, loop_length_mm: float) -> float:
    """c = kc / l with l in cm (eq 3.1); wales likewise with kw.

    >>> round(courses_per_cm(kc=5.0, loop_length_mm=6.0), 3)    # F-20, dry-relaxed plain
    8.333
    """
    return 10 * kc / loop_length_mm


def peirce_loop_length_mm(*, course_spacing_mm: float, wale_spacing_mm: float, diameter_mm: float) -> float:
    """Loop length of Peirce's plain loop: l = 2p + a + 5.94 d (eq 3.3).

    >>> round(peirce_loop_length_mm(course_spacing_mm=1.0, wale_spacing_mm=1.3, diameter_mm=0.3), 3)    # F-25
    5.082
    """
    return 2 * course_spacing_mm + wale_spacing_mm + PEIRCE_YARN_TERM * diameter_mm


PEIRCE_YARN_TERM = 5.94  # yarn diameters of a loop that lie in its crossings (Peirce 1947, read in fletcher_1952)


def predicted_geometry(
    structure: Structure, loop_length_mm: Figure, state: State, *, fibre: str = ""
) -> StitchGeometry:
    """Geometry from the constants of the structure and state; `fibre` is the yarn's main fibre, when it is known."""
    kc, kw = (_for_fibre(constant, structure, fibre) for constant in constants(structure, state))
    return StitchGeometry(
        structure,
        loop_length_mm,
        _density("wales per cm", kw, loop_length_mm, "kw / l", state),
        _density("courses per cm", kc, loop_length_mm, "kc / l", state),
        state,
    )


def _for_fibre(constant: Figure, structure: Structure, fibre: str) -> Figure:
    """The constant as it stands for its own fibre; in another fibre it is carried over with a wider band."""
    measured_in = row_for("geometry", structure).text("fibre")
    if not measured_in or not fibre or fibre_family(fibre) == measured_in:
        return constant
    return power_law(
        constant.name,
        constant.value,
        "",
        [Term("k", constant)],
        words=f"{constant.why.words}, measured in {measured_in}; carried over to another fibre",
        source=constant.why.source,
        state=constant.state,
        model_spread=element("other_fibre_spread")["value"],
    )


def fibre_family(fibre: str) -> str:
    """Whose constants a fibre may take as its own: the wools and hairs as wool, cotton as cotton.

    >>> fibre_family("wool_carded"), fibre_family("cashmere"), fibre_family("acrylic")
    ('wool', 'wool', 'acrylic')
    """
    hairs = ("wool", "cashmere", "alpaca", "mohair", "camel", "angora")
    return "wool" if fibre.startswith(hairs) else fibre


def measured_geometry(structure: Structure, loop_length_mm: Figure, counts: SwatchCounts) -> StitchGeometry:
    """Geometry from a swatch's own constants: its counts scaled by its loop length over the wanted one.

    With the wanted loop length equal to the swatch's, the counts come back unchanged.
    """
    own_kc = _swatch_constant("kc of the swatch", counts.courses_per_cm, counts)
    own_kw = _swatch_constant("kw of the swatch", counts.wales_per_cm, counts)
    return StitchGeometry(
        structure,
        loop_length_mm,
        _density("wales per cm", own_kw, loop_length_mm, "kw / l", counts.state),
        _density("courses per cm", own_kc, loop_length_mm, "kc / l", counts.state),
        counts.state,
    )


def _swatch_constant(name: str, per_cm: float, counts: SwatchCounts) -> Figure:
    value = per_cm * counts.loop_length_mm / 10
    spread = element("swatch_count_spread")["value"]
    return banded(
        name,
        value,
        "",
        low=value * (1 - spread),
        high=value * (1 + spread),
        basis=Basis.MEASURED,
        words=f"counts per cm × loop length in cm of {counts.name}; ± {100 * spread:g} % after one swatch",
        source=counts.name,
        state=counts.state,
    )


def _density(name: str, constant: Figure, loop_length_mm: Figure, formula: str, state: State) -> Figure:
    return power_law(
        name,
        10 * constant.value / loop_length_mm.value,
        "per cm",
        [Term(formula[:2], constant), Term("l", loop_length_mm, -1)],
        words="constant of structure and state over the loop length in cm",
        formula=formula,
        source=constant.why.source,
        state=state,
    )


@lru_cache(maxsize=512)
def constants(structure: Structure, state: State) -> tuple[Figure, Figure]:
    """(kc, kw) of a structure in a state, per visible course and wale.

    Raises:
        ValueError: the on-machine state, for which there are no constants (take-down decides it).
    """
    if state is State.ON_MACHINE:
        raise ValueError("no constants describe the on-machine state")
    return _constant(structure, state, "kc"), _constant(structure, state, "kw")


def _constant(structure: Structure, state: State, column: str) -> Figure:
    row = row_for("geometry", structure)
    name = f"{column} of {structure.name}"
    relaxed = row.figure(name, column, "", words=f"constant of {structure.name}, fully relaxed")
    if not is_own_row("geometry", structure):
        kin = kin_key("geometry", structure)
        relaxed = _assumed(relaxed, f"constant of {kin}, the library structure most like this one; measure a swatch")
    plain = _plain_row(state)
    if plain is None:
        return relaxed
    if kin_key("geometry", structure) == "plain" and is_own_row("geometry", structure):
        return plain.figure(name, column, "", words=f"constant of plain, {state.value}", state=state)
    ratio = plain[column] / table(__package__, "geometry").by("structure", "state")["plain", "fully-relaxed"][column]
    return power_law(
        name,
        relaxed.value * ratio,
        "",
        [Term(column, relaxed)],
        words=f"fully relaxed constant × {ratio:.3f}, plain's ratio of {state.value} to fully relaxed",
        source=f"{row.source}; ratio of plain from {plain.source}",
        state=state,
        model_spread=element("state_ratio_spread")["value"],
    )


def _plain_row(state: State) -> Row | None:
    """Plain's own row for a state; none for the fully relaxed one and for finished, which is practically that."""
    if state in (State.FULLY_RELAXED, State.FINISHED):
        return None
    return table(__package__, "geometry").by("structure", "state")["plain", state.value]


def _assumed(figure: Figure, words: str) -> Figure:
    """The kin's constant with twice its spread, marked as assumed."""
    wider = (figure.value - figure.low, figure.high - figure.value)
    return banded(
        figure.name,
        figure.value,
        figure.unit,
        low=figure.value - min(2 * wider[0], 0.5 * figure.value),
        high=figure.value + 2 * wider[1],
        basis=Basis.ASSUMED,
        words=words,
        source=figure.why.source,
    )
