"""Pictures of swatches lie beside the shelf whole or not at all, once each, and tell nobody where they were taken."""

import hashlib
import io
import subprocess
import sys
from pathlib import Path

import pytest
from PIL import Image

from loopwright.problems import Problem
from loopwright.store import photos as store
from loopwright.store.photos import Photos


def picture(shade: int = 120, *, with_position: bool = False) -> bytes:
    file = io.BytesIO()
    image = Image.new("RGB", (40, 30), (shade, shade, 90))
    exif = Image.Exif()
    if with_position:
        exif.get_ifd(0x8825)[1] = "N"
        exif.get_ifd(0x8825)[2] = (52.0, 31.0, 12.0)
    image.save(file, "JPEG", exif=exif)
    return file.getvalue()


@pytest.fixture
def photos(tmp_path: Path) -> Photos:
    return Photos(tmp_path / "photos")


def test_a_picture_comes_back_under_the_hash_of_its_bytes(photos):
    name = photos.keep(picture())
    data = photos.read(name)
    assert hashlib.sha256(data).hexdigest() == name
    assert Image.open(io.BytesIO(data)).size == (40, 30)


def test_the_same_picture_twice_is_kept_once(photos):
    assert photos.keep(picture()) == photos.keep(picture())
    photos.keep(picture(60))
    assert len(list(photos.folder.iterdir())) == 2


def test_where_it_was_taken_is_not_in_the_file(photos):
    data = photos.read(photos.keep(picture(with_position=True)))
    assert not Image.open(io.BytesIO(data)).getexif().get_ifd(0x8825)
    assert photos.keep(picture(with_position=True)) == hashlib.sha256(data).hexdigest()


def test_a_damaged_file_is_noticed_and_mended_by_the_same_picture(photos):
    name = photos.keep(picture())
    whole = photos.read(name)
    (photos.folder / name).write_bytes(whole[:-5])
    with pytest.raises(Problem, match="damaged"):
        photos.read(name)
    assert photos.keep(picture()) == name
    assert photos.read(name) == whole


@pytest.mark.parametrize("name", ["../shelf.db", "a" * 63, "A" * 64, "", "/etc/hosts"])
def test_no_name_leads_out_of_the_folder(photos, name):
    with pytest.raises(Problem, match="no name of a picture"):
        photos.read(name)


def test_a_picture_that_is_elsewhere_is_said_so(photos):
    with pytest.raises(Problem, match="not beside this shelf"):
        photos.read("0" * 64)


def test_what_is_no_picture_or_too_long_is_refused_and_nothing_kept(photos, monkeypatch):
    with pytest.raises(Problem):
        photos.keep(b"[style]")
    monkeypatch.setattr(store, "MOST_BYTES", 100)
    with pytest.raises(Problem, match="MB"):
        photos.keep(picture())
    assert not photos.folder.exists()


def test_a_folder_that_cannot_be_written_is_said_in_words(tmp_path):
    (tmp_path / "photos").write_text("a file in its place", "utf-8")
    with pytest.raises(Problem, match="cannot be kept"):
        Photos(tmp_path / "photos").keep(picture())


def test_a_program_killed_in_the_middle_leaves_no_half_picture(tmp_path):
    saver = subprocess.Popen(
        [sys.executable, str(Path(__file__).with_name("photo_saver.py")), str(tmp_path)], stdout=subprocess.PIPE
    )
    assert saver.stdout is not None
    told = [saver.stdout.readline().decode().strip() for _ in range(5)]
    saver.kill()
    told += saver.stdout.read().decode().split("\n")[:-1]
    saver.wait()
    photos = Photos(tmp_path)
    names = [file.name for file in tmp_path.iterdir() if not file.name.endswith(".part")]
    assert set(filter(None, told)) <= set(names)
    for name in names:
        assert photos.read(name)
