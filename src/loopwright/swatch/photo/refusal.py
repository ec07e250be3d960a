"""Why a picture of a swatch can't be read, in words of the trade: a code, one sentence with numbers, what to try.

In: a code and the numbers that led to it. Out: `Refused`, a value and no exception: to refuse is an answer.
Source: the failure classes of the project's feasibility note on swatch pictures.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum


class Stopped(Exception):
    """The person asked to stop while a picture was being read."""


class Refusal(StrEnum):
    """The reasons for which a picture isn't read."""

    RESOLUTION = "resolution"
    BLUR = "blur"
    WEAK_PATTERN = "weak_pattern"
    ONE_DIRECTION = "one_direction"
    AMBIGUOUS = "ambiguous"
    TOO_FEW = "too_few"
    FOLD = "fold"
    NOT_UNIFORM = "not_uniform"
    MOIRE = "moire"
    COMPRESSION_GRID = "compression_grid"
    SIDE = "side"
    ORIENTATION = "orientation"


_SENTENCES: dict[Refusal, tuple[str, tuple[str, ...]]] = {
    Refusal.RESOLUTION: (
        "One stitch is only {wale_px:.1f} × {course_px:.1f} pixels (wale × course).",
        ("go closer or scan the swatch", "12 pixels or more for each wale is good"),
    ),
    Refusal.BLUR: (
        "The picture is too blurred to tell one wale from half a wale.",
        ("steady the camera and focus on the stitches", "use a scan"),
    ),
    Refusal.WEAK_PATTERN: (
        "No repeating stitches found.",
        ("more light from one side for hairy, felted or very dark cloth", "check that the cloth is knitted"),
    ),
    Refusal.ONE_DIRECTION: (
        "Only lines in one direction are visible, so either wales or courses can't be counted.",
        ("focus on single stitches", "light from one side"),
    ),
    Refusal.AMBIGUOUS: (
        "Two readings are possible: {first} or {second}.",
        ("mark one stitch in the picture", "say how many wales and courses repeat"),
    ),
    Refusal.TOO_FEW: (
        "Only {wales:.0f} wales and {courses:.0f} courses are in view.",
        ("show at least 10 × 10 stitches", "20 × 20 is good"),
    ),
    Refusal.FOLD: (
        "Only {share:.0%} of the picture follows the stitches; {needed:.0%} is needed.",
        ("lay the cloth flat", "crop the picture to the cloth"),
    ),
    Refusal.NOT_UNIFORM: (
        "The stitches change over the picture: wales by {wale:.1%}, courses by {course:.1%}, lean by {skew_deg:.1f}°.",
        ("let the cloth relax and lie flat", "hold the camera square to the cloth"),
    ),
    Refusal.MOIRE: (
        "The pattern seen is no stitch: it comes from the pixels and is gone in a finer copy of the picture.",
        ("go closer", "don't photograph a screen or a print"),
    ),
    Refusal.COMPRESSION_GRID: (
        "The pattern found coincides with the 8-pixel blocks of a compressed picture.",
        ("use the picture as the camera made it", "go closer"),
    ),
    Refusal.SIDE: (
        "The picture looks like the {seen} of the cloth; {told} was given.",
        ("check which side lies up", "leave the side open"),
    ),
    Refusal.ORIENTATION: (
        "The wales don't run {told} in this picture (nearest: {angle_deg:.0f}° off).",
        ("turn the picture", "say that the wales run {other}"),
    ),
}


@dataclass(frozen=True, slots=True)
class Reason:
    """A code with its sentence and what to try."""

    code: Refusal
    sentence: str
    tries: tuple[str, ...]


def reason(code: Refusal, **numbers: float | str) -> Reason:
    """The reason named by `code`, its sentence filled with `numbers`.

    >>> reason(Refusal.TOO_FEW, wales=5, courses=14).sentence
    'Only 5 wales and 14 courses are in view.'
    """
    sentence, tries = _SENTENCES[code]
    return Reason(code, sentence.format(**numbers), tuple(each.format(**numbers) for each in tries))
