"""Picture files: every kind comes in upright, damage is said in words, and nothing tells where a photo was taken.

The HEIC file shows a drawn pattern and carries an invented position; it was written once by another program.
"""

import io
import random
import struct
import zipfile
import zlib
from pathlib import Path

import numpy as np
import pytest
from PIL import Image, ImageDraw

from loopwright.swatch.photo.asked import Asked
from loopwright.swatch.photo.photo import read_photo
from loopwright.swatch.photo.picture import Unreadable, read_picture
from loopwright.swatch.photo.stripped import media_type, without_position, working_copy

HEIC = (Path(__file__).parent / "made-with-position.heic").read_bytes()
WIDE, HIGH = 96, 64


def picture(mode: str = "RGB") -> Image.Image:
    """Dark with a bright upper left quarter."""
    image = Image.new("RGB", (WIDE, HIGH), (60, 50, 40))
    ImageDraw.Draw(image).rectangle((0, 0, WIDE // 2 - 1, HIGH // 2 - 1), fill=(230, 220, 210))
    return image.convert(mode)


def written(image: Image.Image, kind: str, **words) -> bytes:
    out = io.BytesIO()
    image.save(out, kind, **words)
    return out.getvalue()


def told(orientation: int = 1) -> bytes:
    """EXIF of a camera that knows where it is."""
    exif = Image.Exif()
    exif[0x0110], exif[0x0112] = "night train camera", orientation
    place = exif.get_ifd(0x8825)
    place[1], place[2], place[3], place[4] = "N", (52.0, 31.0, 12.0), "E", (13.0, 24.0, 18.0)
    return exif.tobytes()


KINDS = {
    "JPEG": written(picture(), "JPEG", quality=95),
    "grey JPEG": written(picture("L"), "JPEG", quality=95),
    "JPEG in four inks": written(picture("CMYK"), "JPEG", quality=95),
    "progressive JPEG": written(picture(), "JPEG", progressive=True, quality=95),
    "PNG": written(picture(), "PNG"),
    "PNG with a palette": written(picture("P"), "PNG"),
    "PNG of two tones": written(picture("1"), "PNG"),
    "PNG with alpha": written(picture("RGBA"), "PNG"),
    "deep grey PNG": written(Image.fromarray(np.asarray(picture("L"), np.uint16) * 200), "PNG"),
    "TIFF": written(picture(), "TIFF", compression="tiff_lzw"),
    "deep grey TIFF": written(Image.fromarray(np.asarray(picture("L"), np.uint16) * 200), "TIFF"),
    "TIFF in four inks": written(picture("CMYK"), "TIFF"),
    "TIFF of floating numbers": written(Image.fromarray(np.asarray(picture("L"), np.float32)), "TIFF"),
    "WebP": written(picture(), "WEBP", quality=95),
    "BMP": written(picture(), "BMP"),
}


@pytest.mark.parametrize("name", KINDS)
def test_every_kind_of_file_shows_the_bright_quarter(name):
    seen = read_picture(KINDS[name]).grey
    assert seen.shape == (HIGH, WIDE)
    assert seen.dtype == np.float32
    assert 0 <= seen.min() <= seen.max() <= 1
    bright = seen[: HIGH // 2 - 4, : WIDE // 2 - 4].mean()  # means: two tones are scattered dots
    assert bright > seen[HIGH // 2 + 4 :].mean() + 0.2
    assert bright > seen[:, WIDE // 2 + 4 :].mean() + 0.2


@pytest.mark.parametrize("orientation", range(1, 9))
def test_the_camera_held_any_way_gives_the_picture_upright(orientation):
    """The oracle is the table of the EXIF standard: which turn or mirror each value asks for."""
    turns = {
        1: lambda a: a,
        2: np.fliplr,
        3: lambda a: np.rot90(a, 2),
        4: np.flipud,
        5: lambda a: np.fliplr(np.rot90(a, -1)),
        6: lambda a: np.rot90(a, -1),
        7: lambda a: np.fliplr(np.rot90(a)),
        8: np.rot90,
    }
    grey = np.asarray(picture("L"))
    seen = read_picture(written(picture("L"), "PNG", exif=told(orientation))).grey
    assert np.abs(seen * 255 - turns[orientation](grey)).max() < 1


def test_a_photo_of_a_phone_in_heic_is_read_upright():
    seen = read_picture(HEIC)
    assert (seen.kind, seen.height_px, seen.width_px) == ("HEIC", 128, 96)


def test_a_picture_that_shows_its_stitches_in_one_colour_is_read_in_that_colour():
    stripes = (np.indices((64, 96)).sum(axis=0) % 6 < 3) * 200
    red = np.dstack([stripes, np.full_like(stripes, 40), np.full_like(stripes, 40)]).astype(np.uint8)
    assert read_picture(written(Image.fromarray(red), "PNG")).channel == "red"
    assert read_picture(KINDS["PNG"]).channel == "grey"


def damaged():
    """Files cut off at many places, with bytes turned, and files that are no pictures."""
    dice = random.Random(6)
    for name, data in {**KINDS, "HEIC": HEIC}.items():
        for share in (0.02, 0.3, 0.7, 0.97):
            yield f"{name} cut at {share}", data[: int(len(data) * share)]
        for _ in range(4):
            turned = bytearray(data)
            for _ in range(dice.choice((1, 3, 20))):
                turned[dice.randrange(len(turned))] = dice.randrange(256)
            yield f"{name} with bytes turned", bytes(turned)
    archive = io.BytesIO()
    with zipfile.ZipFile(archive, "w") as each:
        each.writestr("swatch.txt", "loops")
    yield "an archive", archive.getvalue()
    yield "text", b"wales 52, courses 70\n" * 40
    yield "a drawing", b"<svg xmlns='http://www.w3.org/2000/svg' width='9' height='9'/>"
    yield "nothing", b""
    yield "a moving picture", written(picture(), "GIF", save_all=True, append_images=[picture("L")])


def said_by(door, data: bytes) -> str:
    """What a door says of a file; empty when it opens. Anything but an `Unreadable` breaks the test."""
    try:
        door(data)
    except Unreadable as problem:
        return problem.what
    return ""


def test_damaged_and_foreign_files_are_refused_in_words_or_read_but_never_break_anything():
    for name, data in damaged():
        for door in (read_picture, without_position, working_copy):
            said = said_by(door, data)
            assert said == "" or "can't be read" in said, name


@pytest.mark.parametrize("words", ["an archive", "text", "a drawing", "nothing", "a moving picture"])
def test_what_is_no_picture_is_refused(words):
    data = next(data for name, data in damaged() if name == words)
    assert "can't be read" in said_by(read_picture, data)


@pytest.mark.parametrize("data", [b"", b"wales 52", KINDS["PNG"][:200]], ids=["empty", "text", "cut off"])
def test_an_unreadable_file_is_an_answer_with_a_code(data):
    answer = read_photo(data, Asked()).as_dict()
    assert answer["read"] is False
    assert answer["refused"]["code"] == "unreadable"
    assert answer["refused"]["tries"]


def test_a_file_that_claims_to_be_huge_is_refused_before_it_is_unpacked():
    head = struct.pack(">IIBBBBB", 60_000, 60_000, 8, 2, 0, 0, 0)
    chunk = struct.pack(">I", len(head)) + b"IHDR" + head + struct.pack(">I", zlib.crc32(b"IHDR" + head))
    with pytest.raises(Unreadable, match="million"):
        read_picture(b"\x89PNG\r\n\x1a\n" + chunk + KINDS["PNG"][33:])
    with pytest.raises(Unreadable, match="10000 × 9000"):
        read_picture(written(Image.new("1", (10_000, 9_000)), "PNG"))


TELLING = {
    "JPEG": written(picture(), "JPEG", exif=told(6), dpi=(300, 300), comment="taken at home", quality=95),
    "PNG": written(picture(), "PNG", exif=told(6), dpi=(300, 300)),
    "WEBP": written(picture(), "WEBP", exif=told(6), lossless=True),
    "TIFF": written(picture(), "TIFF", exif=told(6), dpi=(300, 300)),
    "HEIC": HEIC,
}


@pytest.mark.parametrize("kind", TELLING)
def test_no_file_that_leaves_tells_where_or_with_what_it_was_taken(kind):
    before = TELLING[kind]
    for after in (without_position(before), working_copy(before)):
        with Image.open(io.BytesIO(after)) as image:
            exif = image.getexif()
            assert not exif.get_ifd(0x8825)
            assert set(exif) <= {0x0112, 0x011A, 0x011B, 0x0128} | (
                set(range(0x100, 0x11D)) if kind == "TIFF" else set()
            )
            assert media_type(after) == Image.MIME[image.format]
        for word in (b"night train camera", b"taken at home", b"GPS", b"Nachtlinie"):
            assert word not in after


@pytest.mark.parametrize("kind", TELLING)
def test_what_is_stripped_still_shows_the_same_picture(kind):
    before, after = read_picture(TELLING[kind]), read_picture(without_position(TELLING[kind]))
    assert before.grey.shape == after.grey.shape
    assert np.abs(before.grey - after.grey).max() < (0.1 if kind == "HEIC" else 1e-6)


@pytest.mark.parametrize("kind", ["JPEG", "PNG", "TIFF"])
def test_the_dots_per_inch_stay_with_what_is_stripped(kind):
    assert read_picture(without_position(TELLING[kind])).dpi == pytest.approx(300, rel=0.001)


def test_a_hidden_second_picture_behind_the_first_goes():
    hidden = TELLING["JPEG"] + written(picture(), "JPEG", exif=told())
    assert b"night train camera" not in without_position(hidden)


def test_the_working_copy_is_small_and_upright():
    large = written(Image.new("RGB", (3000, 1000), "grey"), "JPEG", exif=told(6))
    with Image.open(io.BytesIO(working_copy(large))) as image:
        assert image.size == (667, 2000)
        assert image.format == "JPEG"
