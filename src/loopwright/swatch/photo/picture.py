"""A picture file of a swatch: its bytes become brightness, upright, whatever the camera or scanner wrote.

In: the bytes of a JPEG, PNG, TIFF, HEIC, WebP or BMP file. Out: `Picture`, brightness 0 to 1 of shape (height, width)
with the orientation of the camera applied, and a small copy in colour for finding card, coin or ruler.
Of grey, red, green and blue the one with the most local contrast is taken, grey unless another is clearly better.
Assumed: the first picture of a file with several is meant. The dots per inch of a file are a hint only.
Not covered: where a photo was taken is never read; taking it out of a file is in `stripped`.
"""

from __future__ import annotations

import io
import struct
import warnings
import zlib
from dataclasses import dataclass

import numpy as np
import pi_heif
from numpy.typing import NDArray
from PIL import Image, ImageOps

from loopwright.problems import Problem

MOST_PIXELS = 80_000_000  # a 48-megapixel photo and a sheet scanned at 800 dpi go in; prior
MOST_BYTES = 400_000_000
KINDS = ("JPEG", "PNG", "TIFF", "WEBP", "BMP")
SMALL_PIXELS = 1_000_000  # of the copy in which card, coin and ruler are looked for; prior
BETTER_CHANNEL = 1.5  # a colour channel is taken when its local contrast is so many times that of grey; prior
ORIENTATION_TAG, FOCAL_TAG, EXIF_TAG = 0x0112, 0x920A, 0x8769

BROKEN = (
    OSError,
    SyntaxError,
    ValueError,
    EOFError,
    LookupError,
    TypeError,
    ArithmeticError,
    AttributeError,
    AssertionError,
    MemoryError,
    RuntimeError,
    NotImplementedError,
    struct.error,
    zlib.error,
    Image.DecompressionBombError,
    Image.DecompressionBombWarning,
)  # what Pillow and libheif raise on files that are cut off, damaged or made to harm

Grey = NDArray[np.float32]


class Unreadable(Problem):
    """The file gives no picture: cut off, damaged, of another kind, too large."""


@dataclass(frozen=True, slots=True)
class Picture:
    """A picture, upright.

    `grey` is brightness 0 to 1, shape (height, width); `small` the same picture in colour 0 to 1, shape (h, w, 3), with
    `small_step` pixels of the picture to one of the copy. `dpi` is what the file claims; `is_from_camera` says that it
    was taken through a lens of known focal length, so that its dots per inch mean nothing.
    """

    grey: Grey
    small: Grey
    small_step: float
    kind: str
    channel: str
    dpi: float | None
    is_from_camera: bool
    notes: tuple[str, ...] = ()

    @property
    def width_px(self) -> int:
        """Pixels across, upright."""
        return int(self.grey.shape[1])

    @property
    def height_px(self) -> int:
        """Pixels down, upright."""
        return int(self.grey.shape[0])


def read_picture(data: bytes) -> Picture:
    """The picture in the bytes of a file.

    Raises:
        Unreadable: no picture can be had from them.
    """
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        image, kind = open_upright(data)
        try:
            return _picture(image, kind)
        except BROKEN as error:
            raise unreadable(f"the {kind} picture in it is damaged or cut off.") from error


def open_upright(data: bytes) -> tuple[Image.Image, str]:
    """The picture as Pillow holds it, loaded and upright, and the kind of file.

    Raises:
        Unreadable: no picture can be had from the bytes.
    """
    image, kind = open_unturned(data)
    try:
        image.load()
        if kind != "HEIC":
            ImageOps.exif_transpose(image, in_place=True)
    except BROKEN as error:
        raise unreadable(f"the {kind} picture in it is damaged or cut off.") from error
    return image, kind


def open_unturned(data: bytes) -> tuple[Image.Image, str]:
    """The picture as it lies in the file, not loaded yet, and the kind of file; a HEIC comes upright.

    Raises:
        Unreadable: not a picture that is read here, or too large.
    """
    if not data:
        raise unreadable("it is empty.")
    if len(data) > MOST_BYTES:
        raise unreadable(f"it has {len(data) / 1e6:.0f} million bytes; {MOST_BYTES / 1e6:.0f} million are read.")
    try:
        if pi_heif.is_supported(data):
            return _heic(data), "HEIC"
        image = Image.open(io.BytesIO(data), formats=KINDS)
    except Unreadable:
        raise
    except Image.DecompressionBombError as error:
        raise too_large() from error
    except BROKEN as error:
        raise unreadable("it is no JPEG, PNG, TIFF, HEIC, WebP or BMP picture, or is damaged at its start.") from error
    _allow(*image.size)
    return image, "JPEG" if image.format == "MPO" else str(image.format)


def unreadable(what: str) -> Unreadable:
    """The problem of a file that gives no picture."""
    return Unreadable("photo", f"the file can't be read: {what}", tries=("export it again as JPEG or PNG",))


def too_large(width_px: int = 0, height_px: int = 0) -> Unreadable:
    """The problem of a picture with more pixels than are read."""
    size = f"{width_px} × {height_px} pixels" if width_px else "far too many pixels"
    return Unreadable(
        "photo",
        f"the file can't be read: it claims {size}; {MOST_PIXELS / 1e6:.0f} million are read.",
        tries=("crop it to the swatch", "make it smaller"),
    )


def _heic(data: bytes) -> Image.Image:
    file = pi_heif.open_heif(data, convert_hdr_to_8bit=True)
    _allow(*file.size)
    image: Image.Image = file.to_pillow()
    return image


def _allow(width_px: int, height_px: int) -> None:
    if width_px * height_px > MOST_PIXELS:
        raise too_large(width_px, height_px)
    if min(width_px, height_px) < 16:
        raise unreadable(f"it has {width_px} × {height_px} pixels.")


def _picture(image: Image.Image, kind: str) -> Picture:
    notes = ("the first of several pictures in the file is read",) if getattr(image, "n_frames", 1) > 1 else ()
    dpi, is_from_camera = _dpi(image), _is_from_camera(image)
    plain = plain_image(image)
    step = max(1.0, (plain.width * plain.height / SMALL_PIXELS) ** 0.5)
    if plain.mode == "RGB":
        small = _reduced(plain, step)
        channel = _best_channel(small)
        grey = plain_float(plain.convert("L") if channel == "grey" else plain.getchannel(channel[0].upper()))
    else:
        grey, channel = plain_float(plain), "grey"
        small = np.repeat(plain_float(_reduced_grey(grey, step))[:, :, None], 3, axis=2)
    return Picture(grey, small, plain.width / small.shape[1], kind, channel, dpi, is_from_camera, notes)


def plain_image(image: Image.Image) -> Image.Image:
    """The picture as RGB of 8 bits, or as grey of any depth; what is transparent lies on white."""
    if image.mode == "RGB" or image.mode in ("L", "F", "I") or image.mode.startswith("I;"):
        return image
    if image.mode == "1":
        return image.convert("L")
    if image.has_transparency_data:
        coloured = image.convert("RGBA")
        ground = Image.new("RGBA", coloured.size, "white")
        return Image.alpha_composite(ground, coloured).convert("RGB")
    if image.mode == "LAB":
        return image.getchannel("L")
    return image.convert("RGB")


def plain_float(image: Image.Image) -> Grey:
    """Brightness 0 to 1; deep pictures are stretched between their darkest and brightest thousandth."""
    if image.mode == "L":
        return np.asarray(image, np.float32) / np.float32(255)
    deep = np.asarray(image.convert("I") if image.mode.startswith("I;") else image).astype(np.float32)
    known = deep[np.isfinite(deep)]
    if known.size == 0:
        raise ValueError("no numbers in the picture")
    low, high = np.percentile(known[:: max(1, known.size // 200_000)], (0.1, 99.9))
    filled = np.nan_to_num(deep, nan=float(low), posinf=float(high), neginf=float(low))
    stretched: Grey = np.clip((filled - low) / max(float(high - low), 1e-12), 0, 1).astype(np.float32)
    return stretched


def _reduced(image: Image.Image, step: float) -> Grey:
    size = (max(1, round(image.width / step)), max(1, round(image.height / step)))
    smaller = image if step == 1 else image.resize(size, Image.Resampling.BOX, reducing_gap=2.0)
    return np.asarray(smaller, np.float32) / np.float32(255)


def _reduced_grey(grey: Grey, step: float) -> Image.Image:
    size = (max(1, round(grey.shape[1] / step)), max(1, round(grey.shape[0] / step)))
    return Image.fromarray(np.rint(grey * 255).astype(np.uint8)).resize(size, Image.Resampling.BOX)


def _best_channel(small: Grey) -> str:
    """The name of the channel with the most local contrast; grey unless another has `BETTER_CHANNEL` times as much."""
    grey = small @ np.array([0.299, 0.587, 0.114], np.float32)
    contrast = {name: _local_contrast(small[:, :, at]) for at, name in enumerate(("red", "green", "blue"))}
    best = max(contrast, key=lambda name: contrast[name])
    return best if contrast[best] > BETTER_CHANNEL * _local_contrast(grey) else "grey"


def _local_contrast(channel: Grey) -> float:
    """Median over small blocks of the spread relative to the brightness."""
    side = 8
    rows, columns = channel.shape[0] // side, channel.shape[1] // side
    if rows == 0 or columns == 0:
        return float(channel.std())
    blocks = channel[: rows * side, : columns * side].reshape(rows, side, columns, side)
    return float(np.median(blocks.std(axis=(1, 3))))


def _dpi(image: Image.Image) -> float | None:
    """The dots per inch that the file claims, when both directions agree."""
    claimed = image.info.get("dpi")
    if not isinstance(claimed, tuple) or len(claimed) < 2:
        return None
    try:
        across, down = float(claimed[0]), float(claimed[1])
    except BROKEN:
        return None
    is_usable = 1 < across < 100_000 and abs(across - down) < 0.01 * across
    return across if is_usable else None


def _is_from_camera(image: Image.Image) -> bool:
    """Whether the file tells a focal length, as cameras write and scanners don't."""
    try:
        return FOCAL_TAG in image.getexif().get_ifd(EXIF_TAG)
    except BROKEN:
        return False
