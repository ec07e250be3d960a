"""The marker of cut-and-sew: how the pieces lie on the cloth, what length they take, and how much cloth is lost.

In: closed outlines in cm with how often each is cut, the cloth's width and form. Out: `Marker` with every placement,
its length and its efficiency (area of the pieces over length × width).
Main assumptions: wales stay upright, so a piece is turned by 0 or 180° only, on one-way cloth not at all; the laying is
a plain one (lowest place first, over several orders), which a skilled marker betters by some per cent, and its band
says so. Every piece bears the same seam allowance all round.
Not covered: plaids, several plies, spreading; the cloth that this takes (`cutting`).
Sources: common_practice, house; production reference 5.1.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache

from shapely import Polygon  # type: ignore[import-untyped]

from loopwright.figure import Basis, Figure, banded
from loopwright.makeup.nesting import Laid, Laying, Stretches, laying, stretches
from loopwright.problems import Problem
from loopwright.sources.table import Row, table

Outline = tuple[tuple[float, float], ...]

COLUMN_CM = 1.5  # finer columns gain less than more orders do in the same time
MOST_ORDERS, LEAST_ORDERS = 120, 20  # orders of the pieces that are tried …
ORDERS_TIMES_PIECES = 1200  # … so many that a few garments take well under a second
NO_LENGTH_CM = 0.001  # points nearer than this to the line of their neighbours are left out
GOLDEN = (math.sqrt(5) - 1) / 2


@dataclass(frozen=True, slots=True)
class Piece:
    """A shape to cut `count` times; of a `is_paired` shape every second one is cut mirrored (left and right)."""

    name: str
    outline: Outline
    count: int = 1
    is_paired: bool = False

    def __post_init__(self) -> None:
        """Check once, at the door.

        Raises:
            Problem: the outline encloses no area or crosses itself, or the piece is not cut at all.
        """
        shape = Polygon(self.outline) if len(self.outline) >= 3 else Polygon()
        if not shape.is_valid or not shape.area > 0:
            raise Problem(
                f"piece {self.name}",
                f"its {len(self.outline)} points enclose no single area.",
                tries=["give the points in order round the edge"],
            )
        if self.count < 1:
            raise Problem(f"piece {self.name}", f"{self.count} to cut; at least 1.", tries=["leave it out"])

    def cut(self, seam_allowance_cm: float) -> Polygon:
        """The shape with its seam allowance; sharp corners are cut off at about twice the allowance."""
        smooth = Polygon(self.outline).simplify(NO_LENGTH_CM)
        return smooth.buffer(seam_allowance_cm, join_style="mitre", mitre_limit=2)


@dataclass(frozen=True, slots=True)
class Cloth:
    """Cloth on the table: open, or a tube folded flat (then every shape is cut twice, once mirrored).

    `width_cm` as it lies; `is_one_way` cloth has a direction (nap, print) that every piece keeps.
    """

    width_cm: float
    is_tube: bool = False
    is_one_way: bool = False

    @property
    def layers(self) -> int:
        """Layers cut at once."""
        return 2 if self.is_tube else 1

    @property
    def usable_cm(self) -> float:
        """Width between the edges that cannot be used."""
        return self.width_cm - 2 * marker_value("edge_tube" if self.is_tube else "edge_open")


@dataclass(frozen=True, slots=True)
class Placement:
    """One shape on the cloth: `outline` with its seam allowance, x across the cloth, y along it."""

    piece: str
    rotation_deg: int
    is_mirrored: bool
    x_cm: float
    y_cm: float
    outline: Outline


@dataclass(frozen=True, slots=True)
class Marker:
    """All pieces on the cloth; `cut_area_cm2` of all of them with seam allowance, both layers of a tube counted."""

    cloth: Cloth
    placements: tuple[Placement, ...]
    length_cm: float
    cut_area_cm2: float
    efficiency: Figure


def marker(
    pieces: Sequence[Piece], cloth: Cloth, *, seam_allowance_cm: float | None = None, gap_cm: float | None = None
) -> Marker:
    """Lay the pieces of a garment, or of several together, on the cloth.

    Raises:
        Problem: nothing to cut, a piece wider than the cloth, or an odd number of a piece on a tube.
    """
    allowance = marker_value("seam_allowance") if seam_allowance_cm is None else seam_allowance_cm
    gap = marker_value("gap") if gap_cm is None else gap_cm
    if not pieces or allowance < 0 or gap < 0:
        raise Problem(
            "marker",
            f"{len(pieces)} pieces with {allowance:g} cm of seam allowance and {gap:g} cm between them.",
            limit="at least 1 piece, and no width below 0",
        )
    return _marker(tuple(pieces), cloth, allowance, gap)


@lru_cache(maxsize=64)
def _marker(pieces: tuple[Piece, ...], cloth: Cloth, allowance: float, gap: float) -> Marker:
    shapes = [shape for piece in pieces for shape in _shapes(piece, cloth, allowance)]
    width = cloth.usable_cm + gap
    column = width / max(round(width / COLUMN_CM), 1)
    turns = {shape: _turns(shape, cloth, gap, column) for shape in dict.fromkeys(shapes)}
    for shape in turns:
        _check_width(shape, cloth)
    shortest = _shortest(shapes, turns, width, column)
    length = shortest.length_cm - gap
    area = cloth.layers * sum(Polygon(shape.outline).area for shape in shapes)
    placements = tuple(_placement(shapes[one.index], one, cloth) for one in shortest.laid)
    share = area / (cloth.layers * length * cloth.width_cm)
    return Marker(cloth, placements, length, area, _efficiency(share))


@dataclass(frozen=True, slots=True)
class _Shape:
    """A shape as it is cut, seam allowance on, its lower left corner at the origin."""

    piece: str
    is_mirrored: bool
    outline: Outline


def _shapes(piece: Piece, cloth: Cloth, allowance: float) -> list[_Shape]:
    """Every shape of a piece that the marker has to hold."""
    if piece.count % cloth.layers:
        raise Problem(
            f"piece {piece.name}",
            f"{piece.count} to cut, and a tube folded flat cuts every shape twice.",
            tries=["mark two garments together", "cut from open cloth"],
        )
    upright = tuple(piece.cut(allowance).exterior.coords[:-1])
    mirrored = [piece.is_paired and not cloth.is_tube and index % 2 == 1 for index in range(piece.count)]
    return [
        _Shape(piece.name, flip, _at_origin(tuple((-x, y) for x, y in upright) if flip else upright))
        for flip in mirrored[: piece.count // cloth.layers]
    ]


def _turns(shape: _Shape, cloth: Cloth, gap: float, column: float) -> tuple[Stretches, ...]:
    """The shape upright and, where the cloth allows it, upside down, each with half the gap round it."""
    outlines = [shape.outline] if cloth.is_one_way else [shape.outline, _upside_down(shape.outline)]
    grown = [Polygon(outline).buffer(gap / 2).exterior.coords[:-1] for outline in outlines]
    return tuple(stretches(_at_origin(tuple(points)), column) for points in grown)


def _check_width(shape: _Shape, cloth: Cloth) -> None:
    width = max(x for x, _ in shape.outline)
    if width > cloth.usable_cm:
        raise Problem(
            f"piece {shape.piece}",
            f"{width:.1f} cm wide with its seam allowance.",
            limit=f"{cloth.usable_cm:.1f} cm of usable width on cloth of {cloth.width_cm:g} cm",
            tries=["wider cloth", "cut it in two with a seam"],
        )


Turns = dict[_Shape, tuple[Stretches, ...]]


def _shortest(shapes: Sequence[_Shape], turns: Turns, width_cm: float, column_cm: float) -> Laying:
    """The shortest laying over the usual orders (tallest, largest, widest first) and small changes of the best one."""
    usual = _usual_orders(shapes)
    tries = min(MOST_ORDERS, max(LEAST_ORDERS, ORDERS_TIMES_PIECES // len(shapes))) if len(shapes) > 1 else 1
    order, best = usual[0], Laying((), math.inf)
    for attempt in range(tries):
        candidate = usual[attempt] if attempt < len(usual) else _moved(order, attempt)
        if attempt and [shapes[index] for index in candidate] == [shapes[index] for index in order]:
            continue  # two equal pieces changed places
        in_turn = ((index, turns[shapes[index]]) for index in candidate)
        found = laying(in_turn, width_cm=width_cm, column_cm=column_cm, most_cm=best.length_cm)
        if found.length_cm <= best.length_cm:
            order, best = candidate, found
    return best


def _usual_orders(shapes: Sequence[_Shape]) -> list[list[int]]:
    tall = [max(y for _, y in shape.outline) for shape in shapes]
    wide = [max(x for x, _ in shape.outline) for shape in shapes]
    large = [Polygon(shape.outline).area for shape in shapes]
    return [sorted(range(len(shapes)), key=lambda index: -size[index]) for size in (tall, large, wide)]


def _moved(order: Sequence[int], attempt: int) -> list[int]:
    """The order with two pieces swapped, or one moved; which ones is spread over all pairs by the golden section."""
    size = len(order)
    first, second = divmod(int(attempt * GOLDEN % 1 * size * (size - 1)), size - 1)
    second += second >= first
    changed = list(order)
    if attempt % 2:
        changed[first], changed[second] = changed[second], changed[first]
    else:
        changed.insert(second, changed.pop(first))
    return changed


def _placement(shape: _Shape, one: Laid, cloth: Cloth) -> Placement:
    """Back to the cloth: half a gap lies outside the strip on every side, as round every shape."""
    edge = (cloth.width_cm - cloth.usable_cm) / 2
    outline = _upside_down(shape.outline) if one.turn else shape.outline
    x_cm, y_cm = edge + one.x_cm, one.y_cm
    return Placement(
        shape.piece, 180 * one.turn, shape.is_mirrored, x_cm, y_cm, tuple((x + x_cm, y + y_cm) for x, y in outline)
    )


def _upside_down(outline: Outline) -> Outline:
    return _at_origin(tuple((-x, -y) for x, y in outline))


def _at_origin(outline: Outline) -> Outline:
    left, low = min(x for x, _ in outline), min(y for _, y in outline)
    return tuple((x - left, y - low) for x, y in outline)


def _efficiency(share: float) -> Figure:
    return banded(
        "marker efficiency",
        share,
        "",
        low=share,
        high=min(1.0, share + marker_value("most_gain")),
        basis=Basis.SIMULATED,
        words="these outlines laid on this width, lowest place first; the laying can be cut as it is, and a skilled "
        "marker reaches some per cent more",
        formula="Σ areas / (length · width)",
        source=marker_row("most_gain").source,
    )


def marker_value(name: str) -> float:
    """A default of the marker table by name."""
    return marker_row(name)["value"]


def marker_row(name: str) -> Row:
    """A row of the marker table by name."""
    return table(__package__, "marker").by("quantity")[name]
