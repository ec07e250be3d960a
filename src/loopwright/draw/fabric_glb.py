"""The fabric of a study as a 3D file: a few of its loops in real size.

In: a `Fabric`, and the same as simulated where the atlas holds it. Out: GLB bytes, metres. Simulated loops lie at rest
as the mechanics relaxed them, at their own spacing; loops that nobody relaxed are placed by loop length, wales and
courses. The file says which of the two it shows. Nothing is solved here.
"""

from __future__ import annotations

from loopwright.draw.glb import cloth_glb
from loopwright.draw.tubes import Plies
from loopwright.fabric.fabric import Fabric
from loopwright.fabric.loop_path import loop_paths
from loopwright.mechanics.cloth import SimulatedCloth
from loopwright.mechanics.form import ClothForm, Strand

WALES, COURSES, SIDES = 4, 6, 6  # shown at least; corners of a yarn: enough to see, and few bytes
MOST_PLIES = 3  # that are told apart on a yarn
RELAXED = "simulated: loops at rest, without friction, at their own spacing; the gauge to knit is that of the pages"
PLACED = "indicative: loops placed by loop length, wales and courses, not relaxed"


def fabric_glb(fabric: Fabric, simulated: SimulatedCloth | None = None) -> bytes:
    """A piece of the fabric as a GLB file."""
    thickness = simulated.finish.diameter_mm if simulated else None
    d = (thickness or fabric.yarn.diameter_mm).value
    form, words = (simulated.page.form(), RELAXED) if simulated else (placed_form(fabric, d), PLACED)
    plies = Plies(min(max(fabric.yarn.count.folds, 1), MOST_PLIES), fabric.yarn.fold_direction or "S")
    return cloth_glb(form, diameter_mm=d, wales=WALES, courses=COURSES, sides=SIDES, plies=plies, words=words)


def placed_form(fabric: Fabric, diameter_mm: float) -> ClothForm:
    """The form of loops that are placed by geometry alone, in yarn diameters."""
    paths, anatomy = loop_paths(fabric.geometry, diameter_mm), fabric.structure.anatomy
    strands = tuple(Strand(path.yarn, path.feed, path.points[:-1] / diameter_mm) for path in paths.paths)
    size = (paths.width_mm / diameter_mm, paths.height_mm / diameter_mm)
    return ClothForm(strands, *size, shear=0.0, wales=anatomy.visible_wales, courses=anatomy.visible_courses)
