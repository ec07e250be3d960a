"""The section of pictures of a sitting: where one is dropped, chosen or taken, what gives its scale, and those there.

In: the sitting on show. Out: HTML. The picture with its lattice is drawn by the browser (`workroom/photo.js`), which
finds the pictures of the sitting written here. Not covered: reading them (`photo_work`).
"""

from __future__ import annotations

import json
from collections.abc import Mapping
from html import escape
from typing import Any

from loopwright.figure import plain
from loopwright.store.photos import MOST_BYTES
from loopwright.study.swatch_parts import PhotoSpec, SittingSpec
from loopwright.swatch.photo.asked import SIZES
from loopwright.web.swatch.photo_words import lean_words

REFERENCES = (
    ("card", "a bank or travel card beside it"),
    ("ruler", "a ruler beside it"),
    ("coin", "a coin beside it"),
    ("square", "a square drawn round it"),
    ("dpi", "a flat-bed scanner"),
    ("none", "nothing: lean alone"),
)
_ASKS = {"ruler": ("1", "smallest division, mm"), "coin": ("", "diameter, mm"), "square": ("", "side, mm"),
         "dpi": ("600", "dots per inch")}  # fmt: skip


def photo_html(sitting: str, spec: SittingSpec, *, may_edit: bool) -> str:
    """The pictures of a sitting, and the form that brings one."""
    photos = [_document(name, photo) for name, photo in spec.photos.items()]
    data = escape(json.dumps(photos), quote=True)
    form = _form() if may_edit else ""
    none = "" if photos or may_edit else '<p class="line">No picture of this sitting.</p>'
    return (
        f'<div class="pictures" data-sitting="{escape(sitting, quote=True)}" data-photos="{data}" '
        f'data-may="{"edit" if may_edit else "look"}">{none}'
        f'<div class="photo-picks" data-keep></div><div class="photo-stage" data-keep></div>{form}</div>'
    )


def _document(name: str, photo: PhotoSpec) -> Mapping[str, Any]:
    return {
        "photo": name,
        "confirmed": photo.confirmed,
        "side": photo.side,
        "reference": photo.reference,
        "corners": photo.corners_px,
        "stitches": photo.stitches,
        "said": recorded_words(photo) if photo.confirmed else "",
        "lean": lean_words(photo.lean_deg) if photo.lean_deg is not None else "",
        "note": photo.note,
    }


def recorded_words(photo: PhotoSpec) -> str:
    """What the record has of a picture."""
    counts = [
        f"{plain(value, 1)} {words}"
        for value, words in ((photo.wales_per_10_cm, "wales"), (photo.courses_per_10_cm, "courses"))
        if value is not None
    ]
    lean = [lean_words(photo.lean_deg)] if photo.lean_deg is not None else []
    said = [f"{' and '.join(counts)} in 10 cm", *lean] if counts else lean
    return f"In the record: {', '.join(said)}."


def _form() -> str:
    references = "".join(f'<option value="{value}">{words}</option>' for value, words in REFERENCES)
    asks = escape(json.dumps({kind: [*_ASKS[kind], *SIZES[kind][1:]] for kind in SIZES}), quote=True)
    return (
        f'<form class="photo-form" data-keep data-most="{MOST_BYTES}" data-asks="{asks}">'
        '<p class="drop"><label class="button" for="photo-file">Choose a picture</label>'
        '<input id="photo-file" class="unseen" type="file" name="file" aria-label="Choose a picture" '
        'accept="image/*,.heic,.heif,.tif,.tiff">'
        '<label class="button taking" for="photo-camera">Take one</label>'
        '<input id="photo-camera" class="unseen" type="file" name="camera" aria-label="Take a picture" '
        'accept="image/*" capture="environment"><span class="line">or drop it here; JPEG, PNG, TIFF, HEIC, WebP</span>'
        "</p>"
        f'<p class="says-of"><label>Scale from <select name="reference">{references}</select></label>'
        '<label class="size-of"><span></span> <input name="size" inputmode="decimal" autocomplete="off"></label>'
        '<label>Wales run <select name="wales"><option value="upright">up and down</option>'
        '<option value="level">across</option></select></label>'
        '<label>Side up <select name="side"><option value="">look for it</option><option value="face">face</option>'
        '<option value="back">back</option></select></label></p><p class="why-not" role="alert"></p></form>'
    )
