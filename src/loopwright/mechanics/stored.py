"""A chapter of the atlas as it is kept, and reading it between the solved loop lengths.

In: a `chapter.Chapter`, or the bytes of one. Out: `Stored`, and `Page` at any loop length within its reach: every
number of `fields.FIELDS` with its error, and the form to be drawn. Between loop lengths the numbers follow a monotone
cubic; the error of a number is half of what leaving its nearest solved neighbour out would change. Between sets they
are linear in f, between twists in the twist, from zero. Nodes are kept as whole numbers of 16 bits.
"""

from __future__ import annotations

import io
import json
import math
import zipfile
import zlib
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from loopwright.mechanics.fields import LEAN_SETS, PLACE, SETS, TURNS
from loopwright.mechanics.form import ClothForm, Strand
from loopwright.structure.anatomy import anatomy
from loopwright.structure.notation import Notation, read

if TYPE_CHECKING:
    from loopwright.mechanics.chapter import Chapter  # its solver is not needed to read

Floats = NDArray[np.float64]
PULLED = ("width 0.2", "width 1", "length 0.2", "length 1")
STEPS_OF_NODES = 32_000


@dataclass(frozen=True, slots=True)
class Simulated:
    """A number with the error of reading it between solved points, and the range between rest states where one is
    known.
    """

    value: float
    error: float

    @property
    def is_known(self) -> bool:
        """Whether it could be computed."""
        return math.isfinite(self.value)


@dataclass(frozen=True, slots=True, eq=False)
class Stored:
    """One structure as stored: see `chapter.Chapter`; `slopes` and `errors` (n, fields) are made when it is read."""

    key: str
    notation: Notation
    ratios: Floats
    numbers: Floats
    slopes: Floats
    errors: Floats
    nodes: NDArray[np.int16]
    lattices: Floats
    pulled: NDArray[np.int16]
    pulled_lattices: Floats
    unit: float
    first: NDArray[np.int64]
    feeds: tuple[int, ...]
    letters: tuple[str, ...]
    diameters: tuple[float, ...]
    messages: tuple[str, ...]

    @property
    def reach(self) -> tuple[float, float]:
        """Tightest and slackest loop length over diameter that were solved."""
        return float(self.ratios[0]), float(self.ratios[-1])


@dataclass(frozen=True, slots=True, eq=False)
class Page:
    """What the atlas says of a structure at one loop length over diameter; units of d and B."""

    chapter: Stored
    ratio: float
    numbers: Floats
    errors: Floats

    def __getitem__(self, name: str) -> Simulated:
        """A number of `FIELDS`."""
        place = PLACE[name]
        return Simulated(float(self.numbers[place]), float(self.errors[place]))

    @property
    def is_settled(self) -> bool:
        """Whether the rest states on both sides were sound."""
        return bool(self.numbers[PLACE["settled"]] > 0.999)

    @property
    def message(self) -> str:
        """How the nearest solved loop length ended."""
        return self.chapter.messages[int(np.abs(self.chapter.ratios - self.ratio).argmin())]

    def spacing(self, way: str, held_set: float = 0.0) -> Simulated:
        """Spacing of visible wales ("wale") or courses ("course") in diameters, with a set taken in the held state.

        A set that did not settle is bridged from its neighbours.
        """
        names = [way, *(f"held_{way}_{n}" for n in range(len(SETS)))]
        known = [(name, at) for name, at in zip(names, (0.0, *SETS), strict=True) if name == way or self[name].is_known]
        return self._between([name for name, _ in known], tuple(at for _, at in known), held_set)

    def curvature(self, way: str, share: float) -> Simulated:
        """Curvature (1/d) that a free edge takes at "sides" or "ends" with a set of f; below the first set its value
        there.

        Positive: to the back. The number is read between the solved sets.
        """
        return self._between([f"curl_{way}_{n}" for n in range(len(SETS))], SETS, max(share, SETS[0]))

    def is_bound(self, way: str, share: float) -> bool:
        """Whether contact stops the roll, so that the curvature is only a bound."""
        names = [f"bound_{way}_{n}" for n in range(len(SETS))]
        return share < SETS[0] or self._between(names, SETS, share).value > 0

    def stiffness(self, way: str, share: float) -> Simulated:
        """Bending stiffness (B/d) that the roll of "sides" or "ends" works against."""
        return self._between([f"stiffness_{way}_{n}" for n in range(len(SETS))], SETS, max(share, SETS[0]))

    def lean(self, turns_per_loop: float, share: float = 0.0) -> Simulated:
        """Lean in degrees (right positive) from residual turns per loop (Z-lively positive), odd in the twist."""
        sets = [self._lean_at(s, abs(turns_per_loop)) for s in range(len(LEAN_SETS))]
        part = min(max(share, LEAN_SETS[0]), LEAN_SETS[-1]) / LEAN_SETS[-1]
        value = sets[0].value * (1 - part) + sets[1].value * part
        return Simulated(math.copysign(1, turns_per_loop) * value, max(each.error for each in sets))

    def _lean_at(self, place: int, turns: float) -> Simulated:
        names = [f"lean_{place}_{n}" for n in range(len(TURNS))]
        values = [self[name] for name in names]
        at = (0.0, *TURNS)
        value = float(np.interp(turns, at, [0.0, *(each.value for each in values)]))
        if turns > at[-1]:
            value = values[-1].value * turns / at[-1]
        return Simulated(value, max(each.error for each in values))

    def _between(self, names: list[str], at: tuple[float, ...], where: float) -> Simulated:
        values = [self[name] for name in names]
        value = float(np.interp(where, at, [each.value for each in values]))
        return Simulated(value, float(np.interp(where, at, [each.error for each in values])))

    def form(self) -> ClothForm:
        """The rest state to be drawn."""
        return self._form(self.chapter.nodes, self.chapter.lattices)

    def pulled_form(self, which: str) -> ClothForm | None:
        """The cloth pulled ("width 0.2", "width 1", "length 0.2", "length 1": direction and tension); None past the
        lock.
        """
        place = PULLED.index(which)
        lattices = self.chapter.pulled_lattices[:, place]
        low, _ = self._bracket()
        if np.isnan(lattices[low : low + 2]).any():
            return None
        return self._form(self.chapter.pulled[:, place], lattices)

    def _bracket(self) -> tuple[int, float]:
        ratios = self.chapter.ratios
        if len(ratios) == 1:
            return 0, 0.0
        low = min(int(np.searchsorted(ratios, self.ratio, side="right")) - 1, len(ratios) - 2)
        return low, float((self.ratio - ratios[low]) / (ratios[low + 1] - ratios[low]))

    def _form(self, nodes: NDArray[np.int16], lattices: Floats) -> ClothForm:
        chapter = self.chapter
        low, part = self._bracket()
        high = min(low + 1, len(nodes) - 1)
        q = chapter.unit * ((1 - part) * nodes[low].astype(float) + part * nodes[high])
        lattice = (1 - part) * lattices[low] + part * lattices[high]
        middle = np.array([0.0, 0.0, float(q[:, 2].mean())])
        strands = tuple(
            Strand(letter, feed, q[chapter.first[r] : chapter.first[r + 1]] - middle, diameter)
            for r, (letter, feed, diameter) in enumerate(
                zip(chapter.letters, chapter.feeds, chapter.diameters, strict=True)
            )
        )
        counted = anatomy(chapter.notation)
        width, shear, height = (float(each) for each in lattice)
        return ClothForm(strands, width, height, shear, counted.visible_wales, counted.visible_courses)


def stored(chapter: Chapter) -> Stored:
    """A solved chapter as it is kept."""
    return from_arrays(chapter.key, words_of(chapter), arrays_of(chapter))


def words_of(chapter: Chapter) -> dict[str, Any]:
    """What a chapter says in words, for the header."""
    return {
        "lines": chapter.lines,
        "gating": chapter.gating,
        "feeds": chapter.feeds,
        "letters": chapter.letters,
        "diameters": chapter.diameters,
        "messages": chapter.messages,
        "unit": _unit(chapter),
    }


def _unit(chapter: Chapter) -> float:
    """Diameters per step of the stored nodes."""
    return float(max(np.abs(chapter.nodes).max(), np.nan_to_num(np.abs(chapter.pulled)).max()) / STEPS_OF_NODES)


def arrays_of(chapter: Chapter) -> dict[str, Any]:
    """The arrays of a chapter in their compact types."""
    unit = _unit(chapter)
    return {
        "ratios": chapter.ratios.astype(np.float32),
        "numbers": chapter.numbers.astype(np.float32),
        "nodes": np.round(chapter.nodes / unit).astype(np.int16),
        "lattices": chapter.lattices.astype(np.float32),
        "pulled": np.round(np.nan_to_num(chapter.pulled) / unit).astype(np.int16),
        "pulled_lattices": chapter.pulled_lattices.astype(np.float32),
        "first": chapter.first.astype(np.int32),
    }


def from_arrays(key: str, words: dict[str, Any], arrays: dict[str, Any]) -> Stored:
    """A stored chapter from its header entry and arrays."""
    ratios, numbers = arrays["ratios"].astype(float), arrays["numbers"].astype(float)
    return Stored(
        key,
        read(words["lines"], words["gating"]),
        ratios,
        numbers,
        slopes_of(ratios, numbers),
        errors_of(ratios, numbers),
        arrays["nodes"],
        arrays["lattices"].astype(float),
        arrays["pulled"],
        arrays["pulled_lattices"].astype(float),
        float(words["unit"]),
        arrays["first"].astype(np.int64),
        tuple(words["feeds"]),
        tuple(words["letters"]),
        tuple(words.get("diameters") or [1.0] * len(words["letters"])),
        tuple(words["messages"]),
    )


def encoded(key: str, words: dict[str, Any], arrays: dict[str, Any]) -> bytes:
    """One chapter as a compressed file."""
    text = np.frombuffer(json.dumps({"key": key, **words}).encode(), np.uint8)
    data = io.BytesIO()
    np.savez_compressed(data, header=text, **arrays)
    return data.getvalue()


def decoded(data: bytes) -> tuple[dict[str, Any], dict[str, Any]]:
    """Header and arrays of one chapter's file.

    Raises:
        ValueError: the bytes are no chapter (cut off, or something else).
    """
    try:
        with np.load(io.BytesIO(data), allow_pickle=False) as archive:
            arrays = {name: archive[name] for name in archive.files}
            header: dict[str, Any] = json.loads(bytes(arrays.pop("header")).decode("utf-8"))
    except (OSError, KeyError, EOFError, ValueError, zipfile.BadZipFile, zlib.error) as fault:
        raise ValueError(f"no chapter of the atlas: {fault}") from fault
    return header, arrays


def page_at(chapter: Stored, loop_over_diameter: float) -> Page | None:
    """The page at a loop length; none outside the chapter's reach."""
    if not chapter.reach[0] <= loop_over_diameter <= chapter.reach[1]:
        return None
    ratios = chapter.ratios
    if len(ratios) == 1:
        return Page(chapter, loop_over_diameter, chapter.numbers[0], np.zeros_like(chapter.numbers[0]))
    low = min(int(np.searchsorted(ratios, loop_over_diameter, side="right")) - 1, len(ratios) - 2)
    step = ratios[low + 1] - ratios[low]
    part = (loop_over_diameter - ratios[low]) / step
    near, far = chapter.numbers[low], chapter.numbers[low + 1]
    t2, t3 = part * part, part * part * part
    numbers = (
        (2 * t3 - 3 * t2 + 1) * near
        + (t3 - 2 * t2 + part) * step * chapter.slopes[low]
        + (3 * t2 - 2 * t3) * far
        + (t3 - t2) * step * chapter.slopes[low + 1]
    )
    away = 4 * part * (1 - part)  # solved points are exact
    errors = away * np.maximum(chapter.errors[low], chapter.errors[low + 1])
    return Page(chapter, loop_over_diameter, numbers, errors)


def slopes_of(x: Floats, y: Floats) -> Floats:
    """Slopes (n, m) of the monotone cubic through columns of y (n, m): harmonic mean of neighbouring chords, else 0."""
    h, chord = np.diff(x)[:, None], np.diff(y, axis=0) / np.diff(x)[:, None]
    slopes = np.zeros_like(y)
    if len(x) == 1:
        return slopes
    slopes[0], slopes[-1] = chord[0], chord[-1]
    if len(x) > 2:
        before, after = chord[:-1], chord[1:]
        w1, w2 = 2 * h[1:] + h[:-1], h[1:] + 2 * h[:-1]
        same = before * after > 0
        safe = np.where(same, before, 1.0), np.where(same, after, 1.0)
        slopes[1:-1] = np.where(same, (w1 + w2) / (w1 / safe[0] + w2 / safe[1]), 0.0)
    slopes[np.isnan(y)] = 0.0
    return np.nan_to_num(slopes, nan=0.0)


def errors_of(x: Floats, y: Floats) -> Floats:
    """Error (n, m) of reading between points: half of what leaving a point out changes there (end points: as next)."""
    errors = np.full_like(y, np.nan)
    for n in range(1, len(x) - 1):
        rest = np.delete(np.arange(len(x)), n)
        chord = y[n - 1] + (y[n + 1] - y[n - 1]) * (x[n] - x[n - 1]) / (x[n + 1] - x[n - 1])
        if len(rest) > 3:
            kept_x, kept_y = x[rest], y[rest]
            slopes = slopes_of(kept_x, kept_y)
            h = x[n + 1] - x[n - 1]
            t = (x[n] - x[n - 1]) / h
            chord = (
                (2 * t**3 - 3 * t**2 + 1) * y[n - 1]
                + (t**3 - 2 * t**2 + t) * h * slopes[n - 1]
                + (3 * t**2 - 2 * t**3) * y[n + 1]
                + (t**3 - t**2) * h * slopes[n]
            )
        errors[n] = np.abs(y[n] - chord) / 2
    if len(x) > 2:
        errors[0], errors[-1] = errors[1], errors[-2]
    elif len(x) == 2:
        errors[:] = np.abs(np.diff(y, axis=0)) / 2
    else:
        errors[:] = 0.0
    return np.where(np.isnan(errors) & ~np.isnan(y), np.nanmax(np.nan_to_num(errors), axis=0), errors)
