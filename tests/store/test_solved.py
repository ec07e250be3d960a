"""Solved structures as files: written whole, read back the same, and a torn or foreign file is no more than missing."""

import json
from pathlib import Path

import numpy as np
import pytest

from loopwright.mechanics import atlas
from loopwright.mechanics.chapter import Chapter
from loopwright.mechanics.stored import Stored, arrays_of, encoded, words_of
from loopwright.store import solved
from loopwright.store.shelf import open_shelf
from loopwright.store.solved import SolvedFiles, solved_beside
from loopwright.structure.library import library

KEY = "0123456789abcdef01234567"


def chapter_of(known: Stored, row: int = 3) -> Chapter:
    """One loop length of a chapter of the atlas, as the solver would hand it over."""
    one = slice(row, row + 1)
    return Chapter(
        key=known.key,
        lines=known.notation.lines(),
        gating=known.notation.gating.value,
        ratios=known.ratios[one],
        numbers=known.numbers[one],
        nodes=known.nodes[one] * known.unit,
        lattices=known.lattices[one],
        pulled=known.pulled[one] * known.unit,
        pulled_lattices=known.pulled_lattices[one],
        first=known.first,
        feeds=known.feeds,
        letters=known.letters,
        diameters=known.diameters,
        messages=known.messages[one],
    )


@pytest.fixture(scope="module")
def plain() -> Chapter:
    known = atlas.chapter_for(library()["plain"].notation)
    assert known is not None
    return chapter_of(known)


@pytest.fixture
def files(tmp_path: Path) -> SolvedFiles:
    return SolvedFiles(tmp_path / "solved")


def the_file(files: SolvedFiles) -> Path:
    (file,) = files.folder.iterdir()
    return file


def test_what_was_kept_is_read_back_by_the_next_program(files, plain):
    kept = files.keep(KEY, plain)
    again = SolvedFiles(files.folder).read(KEY)
    assert again is not None
    assert again.notation == kept.notation
    assert np.array_equal(again.numbers, kept.numbers, equal_nan=True)
    assert np.array_equal(again.nodes, kept.nodes)
    assert files.read(KEY) is kept


def test_only_whole_files_lie_in_the_folder(files, plain):
    files.keep(KEY, plain)
    assert the_file(files).name == f"{KEY}.loop"


@pytest.mark.parametrize("share", [0.0, 0.3, 0.9, 0.999])
def test_a_torn_file_is_as_if_it_were_not_there(share, files, plain):
    files.keep(KEY, plain)
    file = the_file(files)
    data = file.read_bytes()
    file.write_bytes(data[: int(share * len(data))])
    assert SolvedFiles(files.folder).read(KEY) is None


@pytest.mark.parametrize("data", [b"", b"<html>", b"\x93NUMPY\x01\x00", b"PK\x05\x06" + 18 * b"\0", 4096 * b"\xff"])
def test_a_foreign_file_is_as_if_it_were_not_there(data, files):
    files.folder.mkdir()
    (files.folder / f"{KEY}.loop").write_bytes(data)
    assert files.read(KEY) is None


def test_a_file_that_is_an_array_and_no_archive_is_refused(files):
    files.folder.mkdir()
    with (files.folder / f"{KEY}.loop").open("wb") as file:
        np.save(file, np.arange(4))
    assert files.read(KEY) is None


def test_a_file_under_the_name_of_another_content_is_refused(files, plain):
    files.keep(KEY, plain)
    other = "f" * 24
    the_file(files).rename(files.folder / f"{other}.loop")
    assert SolvedFiles(files.folder).read(other) is None


def test_arrays_that_do_not_belong_together_are_refused(files, plain):
    files.folder.mkdir()
    arrays = arrays_of(plain)
    for name, wrong in (("numbers", arrays["numbers"][:, :-1]), ("nodes", arrays["nodes"][:, :-2])):
        data = encoded(plain.key, words_of(plain) | {"content": KEY}, arrays | {name: wrong})
        (files.folder / f"{KEY}.loop").write_bytes(data)
        assert SolvedFiles(files.folder).read(KEY) is None


def test_a_header_that_is_no_table_is_refused(files, plain):
    files.folder.mkdir()
    header = np.frombuffer(json.dumps([1, 2]).encode(), np.uint8)
    with (files.folder / f"{KEY}.loop").open("wb") as file:
        np.savez(file, header=header, **arrays_of(plain))
    assert files.read(KEY) is None


def test_where_the_folder_cannot_be_made_the_chapter_is_held_all_the_same(tmp_path, plain):
    (tmp_path / "solved").write_text("a file stands where the folder belongs")
    files = SolvedFiles(tmp_path / "solved")
    assert files.keep(KEY, plain) is files.read(KEY)


def test_the_oldest_files_go(files, plain, monkeypatch):
    monkeypatch.setattr(solved, "MOST_FILES", 2)
    for n in range(4):
        files.keep(f"{n:024d}", plain)
    assert len(list(files.folder.iterdir())) == 2


def test_they_lie_beside_the_shelf(tmp_path):
    shelf = open_shelf(f"sqlite:///{tmp_path / 'shelf.db'}")
    assert solved_beside(shelf.engine).folder == tmp_path / "solved"
    shelf.close()
