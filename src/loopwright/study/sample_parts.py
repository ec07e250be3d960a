"""Sample garments in a style document: deliveries that came back, each with its pieces as measured.

In: `[samples.NAME]` with its pieces. Out: checked values, and the pieces as the check takes them.
Not covered: a table of pieces in a file (`report.returned`), what the pieces prove (`returned`).
"""

from __future__ import annotations

from pydantic import Field

from loopwright.garment.pieces import FaultClass, Piece
from loopwright.study.written import Cm, Day, Grams, Name, Part, Words


class PieceSpec(Part):
    """One garment on the table; faults in words by class."""

    name: Words = ""
    size: Name
    colour: Words = ""
    measures_cm: dict[Name, Cm] = Field(default_factory=dict)
    mass_g: Grams | None = None
    critical: Words = ""
    major: Words = ""
    minor: Words = ""


class SampleSpec(Part):
    """A delivery of sample garments, or the sample drawn from a lot; the lot is the order when it is left out."""

    name: Words = ""
    on: Day = ""
    lot_pieces: int | None = Field(None, ge=1, le=10_000_000)
    invented: bool = False
    note: str = Field("", max_length=2000)
    pieces: list[PieceSpec] = Field(default_factory=list, max_length=2000)

    def as_pieces(self) -> tuple[Piece, ...]:
        """The pieces as values; one without a name is called by its place."""
        return tuple(_piece(number, spec) for number, spec in enumerate(self.pieces, start=1))


def _piece(number: int, spec: PieceSpec) -> Piece:
    words = {FaultClass.CRITICAL: spec.critical, FaultClass.MAJOR: spec.major, FaultClass.MINOR: spec.minor}
    faults = tuple((fault, said) for fault, said in words.items() if said)
    return Piece(spec.name or f"piece {number}", spec.size, spec.colour, dict(spec.measures_cm), spec.mass_g, faults)


def piece_document(piece: Piece) -> dict[str, object]:
    """A piece as the document holds it."""
    found: dict[str, object] = {"name": piece.name, "size": piece.size}
    if piece.colour:
        found["colour"] = piece.colour
    if piece.measures_cm:
        found["measures_cm"] = {point: round(value, 3) for point, value in piece.measures_cm.items()}
    if piece.mass_g is not None:
        found["mass_g"] = piece.mass_g
    return {**found, **{fault.value: words[:200] for fault, words in piece.faults}}
