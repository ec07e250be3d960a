"""What a reading of a picture says in words and as the page draws it: counts, lean, scale, what to try.

In: `Progress` of a picture. Out: JSON of values and words; the spread said is nine in ten. Nothing provisional is a
figure. Not covered: the reading (`swatch.photo`), the record (`photo_door`).
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from loopwright.figure import plain
from loopwright.problems import Problem
from loopwright.swatch.photo.answer import PhotoReading, PhotoRefused
from loopwright.web.swatch.photo_work import Answer
from loopwright.web.swatch.places import with_spread
from loopwright.web.waited_for import Progress

UPRIGHT_DEG = 0.05  # a lean under this is said as none


def progress_document(progress: Progress[Answer], size_px: tuple[int, int] | None) -> dict[str, Any]:
    """How far a picture is, for the page that asks; its size as soon as it is open."""
    answer = progress.answer
    told: dict[str, Any] = {
        "state": progress.state,
        "share": round(progress.share, 3),
        "seconds": round(progress.seconds, 1),
        "size_px": list(size_px) if size_px else None,
        "read": None,
        "refused": None,
    }
    if isinstance(answer, PhotoReading):
        told["read"] = reading_document(answer) | {"notes": list(_notes(answer, progress.seconds))}
    elif isinstance(answer, PhotoRefused):
        told["refused"] = {"code": answer.code, "sentence": answer.sentence, "tries": list(answer.tries)}
    return told


def reading_document(reading: PhotoReading) -> dict[str, Any]:
    """A reading as it is drawn and said."""
    drawn = reading.drawn
    return {
        "said": said_of(reading),
        "corners": [list(corner) for corner in drawn.patch],
        "stitches": [drawn.patch_wales, drawn.patch_courses],
        "size_px": [reading.width_px, reading.height_px],
        "wales": _label(drawn.patch_wales, "wales", reading.wale_pitch_mm),
        "courses": _label(drawn.patch_courses, "courses", reading.course_pitch_mm),
        "lean": lean_words(reading.skew_deg.value),
    }


def _label(many: int, words: str, pitch_mm: float | None) -> str:
    return f"{many} {words}" if pitch_mm is None else f"{many} {words} {plain(many * pitch_mm, 1)} mm"


def lean_words(skew_deg: float) -> str:
    """A lean as a label.

    >>> lean_words(4.12), lean_words(-0.6), lean_words(0.01)
    ('leans right 4.1°', 'leans left 0.6°', 'upright')
    """
    if abs(skew_deg) < UPRIGHT_DEG:
        return "upright"
    return f"leans {'right' if skew_deg > 0 else 'left'} {plain(abs(skew_deg), 1)}°"


def said_of(reading: PhotoReading) -> str:
    """The reading in one line."""
    counts = [
        f"{with_spread(each.value, each.half_90)} {words}"
        for each, words in ((reading.wales_per_10_cm, "wales"), (reading.courses_per_10_cm, "courses"))
        if each is not None
    ]
    half = reading.skew_deg.half_90
    lean = lean_words(reading.skew_deg.value).removesuffix("°")
    lean = f"{lean} ± {plain(half, 1)}°" if lean != "upright" else f"upright ± {plain(half, 1)}°"
    if not counts:
        return f"No scale, so no counts; {lean}."
    return f"{' and '.join(counts)} in 10 cm; {lean}."


def _notes(reading: PhotoReading, seconds: float) -> Iterator[str]:
    """How the picture was read, for the lines under it."""
    megapixels = reading.width_px * reading.height_px / 1e6
    wide = f"one wale is {plain(reading.wale_pitch_px, 0)} pixels wide"
    side = "which side lies up can't be told" if reading.side == "unsure" else f"the {reading.side} lies up"
    yield f"{plain(megapixels, 1)} megapixels, read in {plain(seconds, 1)} s; {wide}; {side}."
    scale = reading.scale
    if scale is not None:
        tilt = f", camera {plain(scale.tilt_deg, 0)}° off the plumb line" if scale.tilt_deg else ""
        mended = ", corrected" if scale.is_tilt_corrected else ""
        yield f"Scale from {scale.how}{tilt}{mended}."
    yield from (f"{note[:1].upper()}{note[1:]}." for note in reading.notes)


def record_of(answer: PhotoReading | PhotoRefused | None, *, reference: str, side: str | None) -> dict[str, Any]:
    """What the record keeps of a picture that sits.

    Raises:
        Problem: it is not read.
    """
    if answer is None:
        raise Problem("photo", "this reading is not there any more.", tries=["read it again"])
    if isinstance(answer, PhotoRefused):
        raise Problem("photo", answer.sentence, tries=answer.tries)
    counts = {"wales": answer.wales_per_10_cm, "courses": answer.courses_per_10_cm}
    kept: dict[str, Any] = {}
    for name, each in counts.items():
        if each is not None:
            kept |= {f"{name}_per_10_cm": round(each.value, 3), f"{name}_u95": round(each.u95, 4)}
    kept |= {"lean_deg": round(answer.skew_deg.value, 3), "lean_u95_deg": round(max(answer.skew_deg.u95, 1e-4), 4)}
    kept |= {
        "side": side or (answer.side if answer.side in ("face", "back") else "face"),
        "confirmed": True,
        "reference": reference,
        "corners_px": [[round(x, 1), round(y, 1)] for x, y in answer.drawn.patch],
        "stitches": [answer.drawn.patch_wales, answer.drawn.patch_courses],
    }
    return kept
