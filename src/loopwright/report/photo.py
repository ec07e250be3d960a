"""The reading of a photo in plain lines, for the terminal.

In: `PhotoReading` or `PhotoRefused`. Out: lines of text. The spread shown is nine in ten.
"""

from __future__ import annotations

from collections.abc import Iterator

from loopwright.swatch.photo.answer import Measured, PhotoReading, PhotoRefused


def photo_lines(answer: PhotoReading | PhotoRefused) -> Iterator[str]:
    """The answer line by line."""
    if isinstance(answer, PhotoRefused):
        yield f"Not read ({answer.code}): {answer.sentence}"
        if answer.tries:
            yield f"Try: {'; '.join(answer.tries)}."
        if answer.nearly is not None:
            yield f"For information only: {_pixels(answer.nearly)}"
        return
    for words, each, unit in (
        ("Wales", answer.wales_per_10_cm, " per 10 cm"),
        ("Courses", answer.courses_per_10_cm, " per 10 cm"),
        ("Lean of the wales", answer.skew_deg, "°"),
        ("Lean over a length", answer.lean_percent, " %"),
        ("Course over wale", answer.course_over_wale, ""),
    ):
        if each is not None:
            yield f"{words:<20}{_shown(each)}{unit}"
    yield f"{'In pixels':<20}{_pixels(answer)}"
    yield f"{'Scale':<20}{_scale(answer)}"
    for note in answer.notes:
        yield f"{'Note':<20}{note}"


def _shown(measured: Measured) -> str:
    """Value and nine-in-ten half-width with two digits of the latter."""
    half = measured.half_90
    places = max(0, min(4, 1 - _exponent(half)))
    return f"{measured.value:.{places}f} ± {half:.{places}f}"


def _exponent(value: float) -> int:
    return int(f"{value:e}".partition("e")[2]) if value > 0 else -3


def _pixels(answer: PhotoReading) -> str:
    return (
        f"one stitch {answer.wale_pitch_px:.2f} × {answer.course_pitch_px:.2f} px (wale × course), "
        f"{answer.wales_seen:.0f} × {answer.courses_seen:.0f} in view, side: {answer.side}"
    )


def _scale(answer: PhotoReading) -> str:
    scale = answer.scale
    if scale is None:
        return "none"
    tilt = "" if scale.tilt_deg is None else f", camera {scale.tilt_deg:.1f}° off the plumb line"
    mended = " and mended" if scale.is_tilt_corrected else ""
    return f"{scale.px_per_mm:.2f} px to a mm, from {scale.how}{tilt}{mended}"
