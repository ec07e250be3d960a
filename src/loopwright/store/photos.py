"""Pictures of swatches as files beside the shelf, each under the SHA-256 of its own bytes.

In: the bytes of a picture. Out: its name; the bytes again, or a problem when the file is gone or damaged. Where the
picture was taken is out of the bytes before they are named (`swatch.photo.stripped`). The same picture is kept once. A
file is written beside its name first and put in place whole, so that a program that dies leaves no half picture.
Not covered: reading stitches (`swatch.photo`); the back-up of the shelf is text without pictures: copy this folder too.
"""

from __future__ import annotations

import contextlib
import hashlib
import os
import re
import tempfile
from pathlib import Path

from sqlalchemy import Engine

from loopwright.problems import Problem
from loopwright.store.database import data_folder
from loopwright.swatch.photo.stripped import without_position

FOLDER = "photos"
MOST_BYTES = 64_000_000  # a 48-megapixel photo with room to spare; prior
_PART, _WHERE = ".part", "photo"
_NAME = re.compile(r"[0-9a-f]{64}")


def photos_beside(engine: Engine) -> Photos:
    """The pictures beside a shelf: in its own folder, or in the person's when the shelf stands on a server."""
    is_file = engine.dialect.name == "sqlite" and engine.url.database
    return Photos((Path(str(engine.url.database)).parent if is_file else data_folder()) / FOLDER)


class Photos:
    """Pictures by the SHA-256 of their bytes."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder

    def keep(self, data: bytes) -> str:
        """Keep a picture without its position, and tell its name.

        Raises:
            Problem: it is too long, no picture, or the folder cannot be written.
        """
        if len(data) > MOST_BYTES:
            raise Problem(_WHERE, f"it is {len(data) / 1e6:.0f} MB long.", limit=f"{MOST_BYTES / 1e6:g} MB")
        clean = without_position(data)
        name = hashlib.sha256(clean).hexdigest()
        if not self._is_whole(name):
            try:
                self._write(name, clean)
            except OSError as error:
                what = f"it cannot be kept in {self.folder} ({error.strerror})."
                tries = ["free some room on the disk", "name another folder in LOOPWRIGHT_FOLDER"]
                raise Problem(_WHERE, what, tries=tries) from None
        return name

    def read(self, name: str) -> bytes:
        """The bytes of a picture.

        Raises:
            Problem: there is no such picture here, or its file is damaged.
        """
        try:
            data = self._file(name).read_bytes()
        except OSError:
            tries = ["copy the folder photos from the machine that has it", "take the picture again"]
            raise Problem(_WHERE, "its file is not beside this shelf.", tries=tries) from None
        if hashlib.sha256(data).hexdigest() != name:
            raise Problem(_WHERE, "its file is damaged.", tries=["bring it back from a copy", "take it again"])
        return data

    def _is_whole(self, name: str) -> bool:
        try:
            self.read(name)
        except Problem:
            return False
        return True

    def _file(self, name: str) -> Path:
        """The file of a picture; nothing but a hash is a name, so that none leads out of the folder.

        Raises:
            Problem: it is no name of a picture.
        """
        if not _NAME.fullmatch(name):
            raise Problem(_WHERE, f"“{name[:70]}” is no name of a picture.", limit="64 signs of a SHA-256")
        return self.folder / name

    def _write(self, name: str, data: bytes) -> None:
        self.folder.mkdir(parents=True, exist_ok=True)
        handle, part = tempfile.mkstemp(dir=self.folder, prefix=name[:12], suffix=_PART)
        try:
            with os.fdopen(handle, "wb") as file:
                file.write(data)
                file.flush()
                os.fsync(file.fileno())
            Path(part).replace(self._file(name))
        finally:
            with contextlib.suppress(FileNotFoundError):
                Path(part).unlink()
