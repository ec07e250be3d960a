"""How a repeat is kept symmetric: every node has a partner on the other side, and moves with it.

A frictionless repeat of a balanced structure may gain a little energy by breaking its symmetry (ribs do, by 0.2 to 1
%), which real cloth does not show; so its rest state is sought among the symmetric ones. `Mirror` pairs every node
with its partner and its `basis` spans the moves that keep them partners. Source: mechanics reference, section 8.2.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import scipy.sparse as sparse
from numpy.typing import NDArray

from loopwright.mechanics.balance import turns_of
from loopwright.mechanics.form import Points
from loopwright.mechanics.kernels.repeat import Floats, Yarns
from loopwright.structure.notation import Notation

PARTNERS_APART = 0.8  # diameters (root mean square) that partners of a drawn start may miss each other by


@dataclass(frozen=True, slots=True, eq=False)
class Mirror:
    """One symmetry of a repeat: node n goes to `partner[n]` of image `image[n]` = (i, j), its axes times `signs`.

    The place of the partner is signs × place + `offset`, with the lattice of the state.
    """

    partner: NDArray[np.int64]
    image: NDArray[np.int64]
    signs: Floats

    def offset(self, q: Points, lattice: Floats) -> Floats:
        """The shift of the symmetry (3,) that fits a state best."""
        mean: Floats = (self._places(q, lattice) - self.signs * q).mean(axis=0)
        return mean

    def _places(self, q: Points, lattice: Floats) -> Points:
        shift = np.column_stack(
            [self.image @ lattice[:2], self.image[:, 1] * lattice[2], np.zeros(len(q))],
        )
        places: Points = q[self.partner] + shift
        return places

    def kept(self, q: Points, lattice: Floats) -> Points:
        """The nodes moved half-way to where their partners want them: a symmetric state."""
        wanted = self.signs * (self._places(q, lattice) - self.offset(q, lattice))
        return (q + wanted) / 2

    def misses(self, q: Points, lattice: Floats) -> float:
        """Root mean square by which partners miss each other, in diameters."""
        gap = self._places(q, lattice) - self.signs * q - self.offset(q, lattice)
        return float(np.sqrt((gap**2).sum(axis=1).mean()))

    def basis(self) -> sparse.csc_matrix:
        """Orthonormal moves (3N, M) of the nodes that keep the symmetry."""
        count = len(self.partner)
        rows, columns, values = [], [], []
        column = 0
        seen = np.zeros(count, bool)
        for node in range(count):
            if seen[node]:
                continue
            orbit: dict[int, Floats] = {}
            at, signs = node, np.ones(3)
            while at not in orbit:
                orbit[at] = signs
                at, signs = int(self.partner[at]), signs * self.signs
            seen[list(orbit)] = True
            for axis in np.flatnonzero(orbit[at] == signs):
                rows += [3 * each + axis for each in orbit]
                columns += [column] * len(orbit)
                values += [orbit[each][axis] / np.sqrt(len(orbit)) for each in orbit]
                column += 1
        return sparse.csc_matrix((values, (rows, columns)), shape=(3 * count, column))

    @property
    def is_mutual(self) -> bool:
        """Whether every node is its partner's partner."""
        return bool((self.partner[self.partner] == np.arange(len(self.partner))).all())

    @property
    def drifting(self) -> tuple[int, ...]:
        """Axes along which the whole repeat may still be shifted."""
        return tuple(np.flatnonzero(self.signs > 0).tolist())


def mirrors_of(notation: Notation, q: Points, lattice: Floats, yarns: Yarns) -> list[Mirror]:
    """The symmetries of a drawn start of a balanced notation; none when the start does not show any.

    Face and back are exchanged in place, or with right and left exchanged too. They are not to be kept together: a rib
    that has to keep both cannot close.
    """
    fitting = []
    for from_right in reversed(turns_of(notation)):
        signs = np.array([-1.0 if from_right else 1.0, 1.0, -1.0])
        pairings = [_paired(q, lattice, yarns, signs, step) for step in range(len(yarns.edge))]
        found = [each for each in pairings if each is not None and each.is_mutual]
        found = [each for each in found if each.misses(q, lattice) < PARTNERS_APART]
        fitting += sorted(found, key=lambda each: each.misses(q, lattice))[:1]
    return fitting


def _paired(q: Points, lattice: Floats, yarns: Yarns, signs: Floats, step: int) -> Mirror | None:
    """Pair yarn r with yarn r + step, at the node that fits best."""
    first, count = yarns.first, len(yarns.edge)
    partner, image = np.empty(len(q), np.int64), np.empty((len(q), 2), np.int64)
    offset: Floats | None = None
    for r in range(count):
        row, other = divmod(r + step, count)
        own, length = q[first[r] : first[r + 1]], first[other + 1] - first[other]
        if len(own) != length:
            return None
        theirs = q[first[other] : first[other + 1]] + np.array([row * lattice[1], row * lattice[2], 0.0])
        best, least = 0, np.inf
        for start in range(-length, length) if offset is not None else range(length):
            at = start + (np.arange(length) if signs[0] > 0 else -np.arange(length))
            places = theirs[at % length] + np.outer(at // length, [lattice[0], 0.0, 0.0])
            gap = places - signs * own
            shift = gap.mean(axis=0) if offset is None else offset
            miss = float(((gap - shift) ** 2).sum())
            if miss < least:
                best, least = start, miss
        at = best + (np.arange(length) if signs[0] > 0 else -np.arange(length))
        partner[first[r] : first[r + 1]] = first[other] + at % length
        image[first[r] : first[r + 1], 0] = at // length
        image[first[r] : first[r + 1], 1] = row
        if offset is None:
            places = theirs[at % length] + np.outer(at // length, [lattice[0], 0.0, 0.0])
            offset = (places - signs * own).mean(axis=0)
    return Mirror(partner, image, signs)
