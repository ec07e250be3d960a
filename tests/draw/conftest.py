"""Forms of cloth for pictures: loops placed by the geometry of a structure, standing in for relaxed ones."""

from collections.abc import Callable
from functools import cache

import pytest

from loopwright.fabric.fabric import fabric_of
from loopwright.fabric.loop_path import loop_paths
from loopwright.mechanics.form import ClothForm, Strand
from loopwright.structure.library import library
from loopwright.yarn.yarn import yarn_from_words

Placed = Callable[[str], tuple[ClothForm, float]]


@pytest.fixture(scope="session")
def placed() -> Placed:
    """By the key of a structure: its placed form in yarn diameters, and the diameter in mm."""

    @cache
    def form(key: str) -> tuple[ClothForm, float]:
        fabric = fabric_of(library()[key], yarn_from_words("2/28 Nm merino"))
        paths = loop_paths(fabric.geometry, fabric.yarn.diameter_mm.value)
        d, anatomy = paths.diameter_mm, fabric.structure.anatomy
        strands = tuple(Strand(path.yarn, path.feed, path.points[:-1] / d) for path in paths.paths)
        size = (paths.width_mm / d, paths.height_mm / d)
        return ClothForm(strands, *size, shear=0.0, wales=anatomy.visible_wales, courses=anatomy.visible_courses), d

    return form
