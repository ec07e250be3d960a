"""From the needle notation to one periodic repeat of yarn, ready to be relaxed.

In: a structure and its loop length over the yarn diameter. Out: a `Repeat`: yarns with their lengths, starting nodes,
lattice. Lengths of tucks and floats are those of `fabric.mass`; the starting form is that of `fabric.loop_path`, which
follows every loop through transfers and racks to the needle that knits it off. Everything is in diameters of the first
yarn and in its bending rigidity.
Assumption: one yarn in every feed unless `diameters` gives another thickness to a yarn of the notation; a plated feed
has a second yarn behind the first. Not covered: relaxing (`relax`). Source: mechanics reference, section 6.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace

import numpy as np

from loopwright.fabric.geometry import constants
from loopwright.fabric.loop_path import LoopPaths, YarnPath, paths_of
from loopwright.fabric.mass import piece_lengths
from loopwright.fabric.wales import feed_heights, wales_of
from loopwright.figure import State
from loopwright.mechanics.form import ClothForm, Points, Strand, closed
from loopwright.mechanics.kernels.repeat import Floats, Yarns
from loopwright.problems import Problem
from loopwright.structure.library import Structure
from loopwright.structure.notation import Feed, Stitch

NODES_PER_DIAMETER = 2.35  # nodes per diameter of yarn: 40 on a loop of 17
FEWEST_NODES = 8  # on a yarn that hardly bends
AXIAL = 300.0  # EA in B/d²: nearly inextensible
TORSION = 0.7  # C/B of a yarn, assumed; a solid rod has 0.7 to 0.8
GENERIC_WALE, GENERIC_COURSE = 4.2, 5.3  # start: loop length over the spacing of wales and of courses
YARNS_APART = 0.5  # diameters by which a later yarn of the same course starts higher
CROSSING = (2.2, 1.0)  # diameters by which loops moved to the left and to the right start before others: never the same
SLACKEST, TIGHTEST = 40.0, 9.0  # loop length over diameter outside which nothing is cloth


@dataclass(frozen=True, slots=True)
class Material:
    """What the yarn is, in units of d and B: `torsion` C/B; `turns_per_loop` residual twist (Z-lively positive)."""

    torsion: float = TORSION
    turns_per_loop: float = 0.0
    diameters: Mapping[str, float] = field(default_factory=dict, hash=False)
    plating: float = 0.0  # diameter of a second yarn laid behind the first in every feed; 0 for none


@dataclass(frozen=True, slots=True, eq=False)
class Repeat:
    """One repeat: nodes q (N, 3), lattice (W, S, H, k), yarns, and which feed and yarn letter each yarn is."""

    structure: Structure
    loop_over_diameter: float
    material: Material
    q: Points
    lattice: Floats
    yarns: Yarns
    feeds: tuple[int, ...]
    letters: tuple[str, ...]
    drawn: Floats
    paths: LoopPaths

    @property
    def loops(self) -> int:
        """Knitted loops of a repeat."""
        return self.structure.anatomy.loops

    def with_state(self, q: Points, lattice: Floats) -> Repeat:
        """The same repeat in another state."""
        return replace(self, q=q, lattice=lattice)

    def form(self) -> ClothForm:
        """Centre lines to be drawn; the mid-surface lies at z = 0."""
        first, counted = self.yarns.first, self.structure.anatomy
        middle = np.array([0.0, 0.0, float(self.q[:, 2].mean())])
        strands = tuple(
            Strand(letter, feed, self.q[first[r] : first[r + 1]] - middle, float(self.yarns.diameter[r]))
            for r, (letter, feed) in enumerate(zip(self.letters, self.feeds, strict=True))
        )
        width, shear, height = (float(each) for each in self.lattice[:3])
        return ClothForm(strands, width, height, shear, counted.visible_wales, counted.visible_courses)


def repeat_of(
    structure: Structure,
    loop_over_diameter: float,
    material: Material | None = None,
    *,
    generic: bool = False,
    density: float = NODES_PER_DIAMETER,
) -> Repeat:
    """The repeat of a structure in its starting form.

    Args:
        structure: any structure whose feeds all take a loop.
        loop_over_diameter: length of a knit loop over the yarn diameter.
        material: the yarn; a balanced one with C/B 0.7 when left out.
        generic: start from the spacing of plain instead of the structure's own constants.
        density: nodes per diameter of yarn.

    Raises:
        Problem: a loop length at which nothing is cloth, or a feed that takes no loop.
    """
    yarn = material or Material()
    _refuse(structure, loop_over_diameter)
    paths = _drawn_paths(structure, loop_over_diameter, generic=generic)
    lengths = feed_lengths(structure, loop_over_diameter)
    strands = [_strand(path, length, density, yarn) for path, length in zip(paths.paths, lengths, strict=True)]
    letters, feeds = [path.yarn for path in paths.paths], list(range(len(strands)))
    if yarn.plating:
        strands += [_behind(path, strand, yarn.plating) for path, strand in zip(paths.paths, strands, strict=True)]
        letters, feeds, lengths = letters + ["plating"] * len(feeds), feeds * 2, [*lengths, *lengths]
    first = np.cumsum([0, *(len(strand) for strand in strands)])
    diameters = np.array([yarn.plating if each == "plating" else yarn.diameters.get(each, 1.0) for each in letters])
    loops = np.array([_loops(structure.notation.feeds[feed]) for feed in feeds])
    yarns = _yarns(first, np.array(lengths), diameters, loops, yarn)
    lattice = np.array([paths.width_mm, 0.0, paths.height_mm, 0.0])
    drawn = np.array([_length(strand, paths.width_mm) for strand in strands])
    return Repeat(
        structure,
        loop_over_diameter,
        yarn,
        np.concatenate(strands),
        lattice,
        yarns,
        tuple(feeds),
        tuple(letters),
        drawn,
        paths,
    )


def feed_lengths(structure: Structure, loop_over_diameter: float) -> list[float]:
    """Yarn of each feed of a repeat, in diameters: loops, tucks and floats × their lengths."""
    _, kw = constants(structure, State.FULLY_RELAXED)
    pieces = piece_lengths(
        structure, loop_length_mm=loop_over_diameter, wales_per_cm=10 * kw.value / loop_over_diameter
    )
    lengths = []
    for feed in structure.notation.feeds:
        stitches = feed.front + feed.back
        takes = [front in _TAKES or back in _TAKES for front, back in zip(feed.front, feed.back, strict=True)]
        lengths.append(
            stitches.count(Stitch.KNIT) * pieces.loop_mm[feed.role]
            + stitches.count(Stitch.TUCK) * pieces.tuck_mm
            + takes.count(False) * pieces.float_mm
        )
    return lengths


_TAKES = (Stitch.KNIT, Stitch.TUCK)


def _refuse(structure: Structure, ratio: float) -> None:
    if not TIGHTEST <= ratio <= SLACKEST:
        raise Problem(
            "loop over diameter",
            f"a loop {ratio:g} yarn diameters long is no cloth.",
            limit=f"{TIGHTEST:g} to {SLACKEST:g}; plain jams at 16.7",
            tries=["check the unit of loop length and diameter", "17 is a firm plain, 20 a slack one"],
        )
    for number, feed in enumerate(structure.notation.feeds, start=1):
        if not _loops(feed):
            raise Problem(
                f"feed {number} of {structure.name}",
                "this yarn is laid in and takes no loop, so nothing holds its length.",
                tries=["let one needle knit or tuck it"],
            )


def _loops(feed: Feed) -> int:
    return sum(stitch in _TAKES for stitch in feed.front + feed.back)


def _drawn_paths(structure: Structure, ratio: float, *, generic: bool) -> LoopPaths:
    counted, wales = structure.anatomy, len(wales_of(structure.notation))
    if generic:
        width, height = wales * ratio / GENERIC_WALE, counted.visible_courses * ratio / GENERIC_COURSE
    else:
        kc, kw = constants(structure, State.FULLY_RELAXED)
        width, height = counted.visible_wales * ratio / kw.value, counted.visible_courses * ratio / kc.value
    paths = paths_of(structure.notation, width, height, height / counted.visible_courses, ratio, 1.0, CROSSING)
    return _laid_over(paths, structure)


def _laid_over(paths: LoopPaths, structure: Structure) -> LoopPaths:
    """Yarns that share a course lie over each other: each later one higher, so that they don't meet where they
    change.
    """
    levels = feed_heights(structure.notation)
    raised = []
    for path in paths.paths:
        rank = int((paths.height_mm * np.abs(levels[: path.feed] - levels[path.feed]) < YARNS_APART).sum())
        raised.append(replace(path, points=path.points + np.array([0.0, YARNS_APART * rank, 0.0])))
    return replace(paths, paths=tuple(raised))


def _strand(path: YarnPath, length: float, density: float, yarn: Material) -> Points:
    """Nodes (n, 3) at equal distances along the drawn path."""
    count = max(FEWEST_NODES, round(density * length / max(yarn.diameters.get(path.yarn, 1.0), 0.5)))
    steps = np.linalg.norm(np.diff(path.points, axis=0), axis=1)
    along = np.concatenate([[0.0], np.cumsum(steps)])
    wanted = np.arange(count) / count * along[-1]
    return np.column_stack([np.interp(wanted, along, path.points[:, axis]) for axis in range(3)])


def _behind(path: YarnPath, strand: Points, diameter: float) -> Points:
    """The plating yarn: beside the first, away from the viewer of a face loop's face, half of both diameters off."""
    own = 1.0 if path.stitches and path.stitches[0].on_front else -1.0
    behind: Points = strand - np.array([0.0, 0.12, 0.5 * own * (1 + diameter)])
    return behind


def _length(nodes: Points, width: float) -> float:
    return float(np.linalg.norm(np.diff(closed(nodes, width), axis=0), axis=1).sum())


def _yarns(first: Points, lengths: Floats, diameters: Floats, loops: Floats, yarn: Material) -> Yarns:
    counts = np.diff(first)
    rigidity = diameters**2  # of one fibre the rigidity grows with the count, the square of the diameter
    return Yarns(
        first=first.astype(np.int64),
        edge=lengths / counts,
        total=lengths.astype(float),
        rigidity=rigidity.astype(float),
        axial=AXIAL * rigidity / diameters**2,
        torsion=yarn.torsion * rigidity,
        diameter=diameters.astype(float),
        residual=-2 * np.pi * yarn.turns_per_loop * loops,
    )
