"""The drawer of a style: what its own swatches and those of an outside drawer say of the cloth of each zone.

In: `Style`, observations from elsewhere, the fabric of a zone as published or counted. Out: `Drawer`, `LearntCloth` (a
prediction of every quantity), and the figures that are to stand. Precedence: a swatch that the zone names; swatches of
the very cloth; then whichever of the calibrated simulation and the learnt figure knows the counts more closely. A
figure that the swatches did not move stays untouched.
Not covered: the model (`swatch.learning`), which swatch to knit next (`next_swatch`).
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import lru_cache

from loopwright.fabric.fabric import Fabric
from loopwright.fabric.geometry import StitchGeometry
from loopwright.fabric.known import BetterKnown
from loopwright.fabric.relaxation import Change
from loopwright.fabric.stretch import Stretch
from loopwright.fabric.tightness import usual_loop_length
from loopwright.figure import Basis, Figure, State
from loopwright.problems import Problem
from loopwright.structure.library import Structure, find_structure
from loopwright.study.simulation import doubt
from loopwright.study.style import Style
from loopwright.study.taken_swatch import specimen_of
from loopwright.swatch.learning.drawer import Drawer, Wanted, cloth_of, learnt
from loopwright.swatch.learning.levels import Cloth, structure_key, yarn_key
from loopwright.swatch.learning.predict import Prediction
from loopwright.swatch.observations import observations_of
from loopwright.swatch.observed import Observed, Quantity
from loopwright.units import quantity
from loopwright.yarn.yarn import yarn_from_words


@dataclass(frozen=True, slots=True, eq=False)
class LearntCloth:
    """What a drawer says of one cloth, and which figures are to stand for that."""

    predictions: tuple[Prediction, ...]
    known: BetterKnown

    def __getitem__(self, quantity: Quantity) -> Prediction:
        """The prediction of a quantity."""
        return next(each for each in self.predictions if each.quantity is quantity)


def drawer_of(style: Style, outside: tuple[Observed, ...] = ()) -> Drawer | None:
    """The style's own swatches and an outside drawer together; none when there is no observation."""
    told = (*own_observations(style), *outside)
    return learnt(told) if told else None


def own_observations(style: Style, today: str = "") -> tuple[Observed, ...]:
    """What the swatches of a style say; one that cannot be read says nothing here, its own study says why."""
    return _told(style.model_dump_json(include=SAID_BY), today) if style.swatches else ()


SAID_BY = {"yarns", "structures", "swatches"}
KEPT = 16  # styles whose swatches are read already


@lru_cache(maxsize=KEPT)
def _told(document: str, today: str) -> tuple[Observed, ...]:
    style = Style.model_validate_json(document)
    told: dict[str, tuple[Observed, ...]] = {}
    for key in style.swatches:
        try:
            found = observations_of(specimen_of(style, key), today=today)
        except Problem:
            continue
        name = found[0].swatch if found else key
        told[_fresh(name, told)] = found
    return tuple(replace(each, swatch=name) for name, found in told.items() for each in found)


def _fresh(name: str, taken: dict[str, tuple[Observed, ...]]) -> str:
    """A name that no other swatch has: two swatches of one name are still two."""
    numbers = (f"{name} ({number})" if number > 1 else name for number in range(1, len(taken) + 2))
    return next(each for each in numbers if each not in taken)


def learnt_cloth(drawer: Drawer, fabric: Fabric, lot: str = "") -> LearntCloth:
    """What a drawer says of a fabric."""
    geometry = fabric.geometry
    cloth = Cloth(fabric.structure, fabric.yarn, geometry.loop_length_mm.value, geometry.state, lot)
    predictions = tuple(drawer.predict_all([Wanted(cloth, quantity) for quantity in Quantity]))
    return LearntCloth(predictions, _known(fabric, {each.quantity: each for each in predictions}))


def _known(fabric: Fabric, told: dict[Quantity, Prediction]) -> BetterKnown:
    """The learnt figures that are to stand: where the swatches said something, and nothing was counted here."""

    def moved(quantity: Quantity) -> Figure | None:
        return told[quantity].posterior if told[quantity].is_moved else None

    own = fabric.geometry
    is_counted = own.wales_per_cm.basis is Basis.MEASURED
    wales, courses = moved(Quantity.WALES), moved(Quantity.COURSES)
    width, length = moved(Quantity.WIDTH_STRETCH), moved(Quantity.LENGTH_STRETCH)
    wider, longer = moved(Quantity.WIDTH_CHANGE), moved(Quantity.LENGTH_CHANGE)
    is_settled = own.state is not State.DRY_RELAXED
    return BetterKnown(
        geometry=_geometry(own, wales, courses) if (wales or courses) and not is_counted else None,
        mass=None if is_counted else moved(Quantity.MASS),
        thickness=moved(Quantity.THICKNESS),
        lean=moved(Quantity.LEAN),
        stretch=Stretch(width or fabric.stretch.width_percent, length or fabric.stretch.length_percent)
        if width or length
        else None,
        change=Change(longer or fabric.change_from_dry.length_percent, wider or fabric.change_from_dry.width_percent)
        if is_settled and (wider or longer)
        else None,
    )


def _geometry(own: StitchGeometry, wales: Figure | None, courses: Figure | None) -> StitchGeometry:
    return replace(own, wales_per_cm=wales or own.wales_per_cm, courses_per_cm=courses or own.courses_per_cm)


def better_of(simulated: StitchGeometry | None, learnt_here: BetterKnown) -> BetterKnown:
    """The calibrated simulation or the learnt counts: measured ones, else the more closely known."""
    own = learnt_here.geometry
    if simulated is None:
        return learnt_here
    if own is not None and (own.wales_per_cm.basis is Basis.MEASURED or doubt(own) <= doubt(simulated)):
        return learnt_here
    return replace(learnt_here, geometry=simulated, mass=None)


def cloths_asked(
    drawer: Drawer, structure: str | None, yarn: str | None, loop_length: str | None, state: str, lot: str
) -> list[Cloth]:
    """The cloths that trade words ask for; what is left out is that of the drawer's last swatches.

    Raises:
        Problem: a word that is not understood, or nothing to ask about.
    """
    there = _cloths_in(drawer, None if structure is None else find_structure(structure), yarn)
    if not there and (structure is None or yarn is None):
        tries = ['--structure plain --yarn "2/30 Nm merino"']
        raise Problem("drawer", "there is no swatch to take structure and yarn from.", tries=tries)
    if not there:
        made = yarn_from_words(str(yarn))
        own = find_structure(str(structure))
        there = [Cloth(own, made, usual_loop_length(own, made).value, State.FULLY_RELAXED)]
    known = [each.value for each in State if each is not State.ON_MACHINE]
    if state not in known:
        raise Problem("state", f"“{state}” is no state of relaxation.", limit=", ".join(known), tries=["fully-relaxed"])
    length = None if loop_length is None else quantity(loop_length, "mm")
    if length is not None and not 0 < length <= LONGEST_LOOP_MM:
        raise Problem("loop length", f"{length:g} mm is out of reach.", limit=f"above 0, at most {LONGEST_LOOP_MM:g}")
    return [
        Cloth(each.structure, each.yarn, length or each.loop_length_mm, State(state), lot or each.lot) for each in there
    ]


LONGEST_LOOP_MM = 1000.0


def _cloths_in(drawer: Drawer, structure: Structure | None, yarn: str | None) -> list[Cloth]:
    """Structures and yarns that lie in the drawer, each at the loop length of its last swatch."""
    found: dict[tuple[str, tuple[str, float]], Cloth] = {}
    for each in map(cloth_of, drawer.observations):
        is_asked = structure is None or structure_key(structure) == structure_key(each.structure)
        if is_asked and (yarn is None or yarn.casefold() == each.yarn.name.casefold()):
            found[structure_key(each.structure), yarn_key(each.yarn)] = each
    if found or structure is None or yarn is None:
        return list(found.values())
    named = next((each.yarn for each in drawer.observations if yarn.casefold() == each.yarn.name.casefold()), None)
    return (
        []
        if named is None
        else [Cloth(structure, named, usual_loop_length(structure, named).value, State.FULLY_RELAXED)]
    )
