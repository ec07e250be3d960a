"""Photos that may leave the house: the pixels stay, where, when and with what they were taken goes.

In: the bytes of a picture file. Out: bytes of a picture without position, time, camera, maker's notes, captions or
hidden second pictures; the orientation, the colour profile and the dots per inch are kept as plain values.
JPEG, PNG and WebP keep their coded pixels untouched; TIFF and BMP are written again without loss; a HEIC comes out as
JPEG, for nothing here writes HEIC. Not covered: what can be seen in the picture itself.
"""

from __future__ import annotations

import io
import struct
import zlib

from PIL import Image, ImageOps

from loopwright.swatch.photo.picture import (
    BROKEN,
    ORIENTATION_TAG,
    open_unturned,
    open_upright,
    plain_float,
    plain_image,
    unreadable,
)

WORKING_COPY_PX = 2000
KEPT_CHUNKS = frozenset((b"IHDR", b"PLTE", b"tRNS", b"gAMA", b"cHRM", b"sRGB", b"iCCP", b"sBIT", b"bKGD", b"pHYs"))
RESOLUTION_TAGS = (0x011A, 0x011B, 0x0128)  # dots across, dots down, and of which unit
PNG_START = b"\x89PNG\r\n\x1a\n"


def without_position(data: bytes) -> bytes:
    """The picture as bytes of a file that tells nothing but the picture.

    Raises:
        Unreadable: no picture can be had from the bytes.
    """
    image, kind = open_unturned(data)
    try:
        plain = _plain_exif(image)
        if kind == "JPEG":
            return _jpeg(data, plain)
        if kind == "PNG":
            return _png(data, plain)
        if kind == "WEBP":
            return _webp(data, plain)
    except BROKEN as error:
        raise unreadable(f"the {kind} picture in it is damaged or cut off.") from error
    return _written_again(data, kind)


def working_copy(data: bytes, *, longest_px: int = WORKING_COPY_PX) -> bytes:
    """A JPEG of the picture, upright, no side longer than `longest_px`, that tells nothing but the picture.

    Raises:
        Unreadable: no picture can be had from the bytes.
    """
    image, kind = open_unturned(data)
    try:
        if kind == "JPEG":
            image.draft("RGB", (longest_px, longest_px))
        image.load()
        upright = image if kind == "HEIC" else ImageOps.exif_transpose(image)
        upright.thumbnail((longest_px, longest_px), Image.Resampling.LANCZOS, reducing_gap=2.0)
        return _jpeg_of(upright, quality=85)
    except BROKEN as error:
        raise unreadable(f"the {kind} picture in it is damaged or cut off.") from error


def media_type(data: bytes) -> str:
    """The media type of a picture that `without_position` or `working_copy` wrote."""
    starts = ((b"\xff\xd8", "jpeg"), (PNG_START, "png"), (b"RIFF", "webp"), (b"BM", "bmp"))
    return "image/" + next((name for start, name in starts if data.startswith(start)), "tiff")


def _plain_exif(image: Image.Image) -> bytes:
    """An EXIF block of orientation and dots per inch alone; empty when there is nothing to say."""
    told = image.getexif()
    plain = Image.Exif()
    orientation = told.get(ORIENTATION_TAG, 1)
    if isinstance(orientation, int) and 2 <= orientation <= 8:
        plain[ORIENTATION_TAG] = orientation
    for tag in RESOLUTION_TAGS:
        if tag in told:
            plain[tag] = told[tag]
    return bytes(plain.tobytes()) if len(plain) else b""


def _jpeg(data: bytes, exif: bytes) -> bytes:
    """The JPEG with its coded picture and without its application segments but JFIF, colour profile and colour kind."""
    kept = [b"\xff\xd8"]
    if exif:
        kept.append(b"\xff\xe1" + struct.pack(">H", len(exif) + 2) + exif)
    at = 2
    while at < len(data):
        marker, end = _segment(data, at)
        if marker == 0xD9:
            break
        if _is_kept(marker, data[at + 4 : at + 16]):
            kept.append(_plain_jfif(data[at:end]) if marker == 0xE0 else data[at:end])
        at = end
    return b"".join([*kept, b"\xff\xd9"])


def _segment(data: bytes, at: int) -> tuple[int, int]:
    """Marker of the JPEG segment at `at`, and where it ends; a scan goes with its coded data."""
    if data[at] != 0xFF:
        raise ValueError("no marker where a segment should start")
    marker = data[at + 1]
    if marker == 0xFF:
        return _segment(data, at + 1)
    if marker in (0x01, 0xD8, 0xD9) or 0xD0 <= marker <= 0xD7:
        return marker, at + 2
    end = at + 2 + struct.unpack_from(">H", data, at + 2)[0]
    while marker == 0xDA:
        end = data.find(b"\xff", end)
        if end < 0 or end + 1 >= len(data):
            return marker, len(data)
        if data[end + 1] not in (0x00, 0xFF, *range(0xD0, 0xD8)):
            break
        end += 1 if data[end + 1] == 0xFF else 2
    return marker, end


def _is_kept(marker: int, start: bytes) -> bool:
    if marker == 0xFE:  # a comment
        return False
    if 0xE0 <= marker <= 0xEF:
        names = {0xE0: b"JFIF\0", 0xE2: b"ICC_PROFILE\0", 0xEE: b"Adobe"}
        return start.startswith(names.get(marker, b"none of these"))
    return True


def _plain_jfif(segment: bytes) -> bytes:
    """The JFIF segment without the small picture that it may carry."""
    return segment[:2] + struct.pack(">H", 16) + segment[4:16] + b"\0\0"


def _png(data: bytes, exif: bytes) -> bytes:
    """The PNG with the chunks that make the picture."""
    before: list[bytes] = []
    pixels: list[bytes] = []
    at = len(PNG_START)
    while at + 12 <= len(data):
        length, name = struct.unpack_from(">I4s", data, at)
        chunk = data[at : at + 12 + length]
        at += 12 + length
        if name == b"IEND":
            break
        if name == b"IDAT":
            pixels.append(chunk)
        elif name in KEPT_CHUNKS:
            before.append(chunk)
    if exif:
        before.append(_chunk(b"eXIf", exif.removeprefix(b"Exif\0\0")))
    return b"".join([PNG_START, *before, *pixels, _chunk(b"IEND", b"")])


def _chunk(name: bytes, body: bytes) -> bytes:
    return struct.pack(">I", len(body)) + name + body + struct.pack(">I", zlib.crc32(name + body))


def _webp(data: bytes, exif: bytes) -> bytes:
    """The WebP with the chunks that make the picture; the flags say what is left."""
    kept: list[bytes] = []
    at = 12
    while at + 8 <= len(data):
        name, length = struct.unpack_from("<4sI", data, at)
        body = data[at + 8 : at + 8 + length]
        if name == b"VP8X":
            body = bytes([(body[0] & ~0x0C) | (0x08 if exif else 0)]) + body[1:]
        if name in (b"VP8X", b"VP8 ", b"VP8L", b"ALPH", b"ICCP", b"ANIM", b"ANMF"):
            kept.append(_riff(name, body))
        at += 8 + length + length % 2
    if exif and kept and kept[0].startswith(b"VP8X"):
        kept.append(_riff(b"EXIF", exif))
    body = b"WEBP" + b"".join(kept)
    return b"RIFF" + struct.pack("<I", len(body)) + body


def _riff(name: bytes, body: bytes) -> bytes:
    return name + struct.pack("<I", len(body)) + body + b"\0" * (len(body) % 2)


def _written_again(data: bytes, kind: str) -> bytes:
    """The picture upright, coded anew: TIFF and BMP without loss, HEIC as a fine JPEG."""
    image, _ = open_upright(data)
    try:
        if kind == "HEIC":
            return _jpeg_of(image, quality=95)
        bare = Image.frombytes(image.mode, image.size, image.tobytes())
        if image.mode == "P" and image.palette is not None:
            bare.putpalette(image.palette)
        out = io.BytesIO()
        dpi = image.info.get("dpi")
        size = {"dpi": dpi} if dpi else {}
        bare.save(out, kind, **({"compression": "tiff_adobe_deflate"} if kind == "TIFF" else {}), **size)
        return out.getvalue()
    except BROKEN as error:
        raise unreadable(f"the {kind} picture in it is damaged or cut off.") from error


def _jpeg_of(image: Image.Image, *, quality: int) -> bytes:
    """A JPEG of the pixels alone."""
    coloured = _eight_bit(image)
    bare = Image.frombytes(coloured.mode, coloured.size, coloured.tobytes())
    profile = image.info.get("icc_profile") if image.mode == "RGB" else None
    out = io.BytesIO()
    bare.save(out, "JPEG", quality=quality, subsampling=0 if quality > 90 else -1, icc_profile=profile)
    return out.getvalue()


def _eight_bit(image: Image.Image) -> Image.Image:
    """The picture as RGB or grey of 8 bits, for looking at."""
    plain = plain_image(image)
    if plain.mode in ("RGB", "L"):
        return plain
    return Image.fromarray((plain_float(plain) * 255).round().astype("uint8"))
