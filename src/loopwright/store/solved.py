"""Solved structures as files beside the shelf: what the mechanics worked out live is worked out once.

In: the key of a content (`mechanics.live.key_of`) and its chapter. Out: the same chapter, read back; none when there is
no file, or when it is torn, foreign or of another content: then it is simply solved again. A file is written beside its
name first and put in place whole. The newest `MOST_FILES` are kept.
"""

from __future__ import annotations

import contextlib
import logging
import os
import tempfile
from collections import OrderedDict
from pathlib import Path
from typing import Any

from sqlalchemy import Engine

from loopwright.mechanics.chapter import Chapter
from loopwright.mechanics.fields import FIELDS
from loopwright.mechanics.stored import Stored, arrays_of, decoded, encoded, from_arrays, words_of
from loopwright.problems import Problem
from loopwright.store.database import data_folder

FOLDER, ENDING = "solved", ".loop"
MOST_FILES, MOST_HELD = 400, 40

log = logging.getLogger("loopwright.store")


def solved_beside(engine: Engine) -> SolvedFiles:
    """The files beside a shelf: in its own folder, or in the person's when the shelf stands on a server."""
    is_file = engine.dialect.name == "sqlite" and engine.url.database
    return SolvedFiles((Path(str(engine.url.database)).parent if is_file else data_folder()) / FOLDER)


class SolvedFiles:
    """Chapters by the key of their content; those read last are held."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        self._held: OrderedDict[str, Stored] = OrderedDict()

    def read(self, key: str) -> Stored | None:
        """The chapter of a content, when it was solved before."""
        held = self._held.get(key)
        if held is not None:
            return held
        try:
            data = self._file(key).read_bytes()
        except OSError:
            return None
        try:
            found = _opened(key, data)
        except (ValueError, TypeError, LookupError, Problem) as fault:
            log.warning("a solved structure cannot be read and is solved again: %s", fault)
            return None
        return self._hold(key, found)

    def keep(self, key: str, chapter: Chapter) -> Stored:
        """Write a chapter down; where the folder cannot be written it is held while the program runs."""
        data = encoded(chapter.key, words_of(chapter) | {"content": key}, arrays_of(chapter))
        try:
            self._write(key, data)
            self._keep_few()
        except OSError as fault:
            log.warning("a solved structure cannot be kept in %s: %s", self.folder, fault)
        return self._hold(key, _opened(key, data))

    def _file(self, key: str) -> Path:
        return self.folder / f"{key}{ENDING}"

    def _hold(self, key: str, chapter: Stored) -> Stored:
        self._held[key] = chapter
        while len(self._held) > MOST_HELD:
            self._held.popitem(last=False)
        return chapter

    def _write(self, key: str, data: bytes) -> None:
        self.folder.mkdir(parents=True, exist_ok=True)
        handle, name = tempfile.mkstemp(dir=self.folder, prefix=key, suffix=".part")
        try:
            with os.fdopen(handle, "wb") as file:
                file.write(data)
            Path(name).replace(self._file(key))
        finally:
            with contextlib.suppress(FileNotFoundError):
                Path(name).unlink()

    def _keep_few(self) -> None:
        files = sorted(self.folder.glob(f"*{ENDING}"), key=lambda file: file.stat().st_mtime)
        for file in files[:-MOST_FILES]:
            file.unlink(missing_ok=True)


def _opened(key: str, data: bytes) -> Stored:
    """A chapter from its file.

    Raises:
        ValueError, TypeError, LookupError, Problem: torn, foreign, or of another content.
    """
    header, arrays = decoded(data)
    if header["content"] != key:
        raise ValueError("the file is of another content")
    _check(arrays)
    return from_arrays(str(header["key"]), header, arrays)


def _check(arrays: dict[str, Any]) -> None:
    """Whether the arrays belong together."""
    count, nodes = len(arrays["ratios"]), int(arrays["first"][-1])
    shapes = {
        "numbers": (count, len(FIELDS)),
        "nodes": (count, nodes, 3),
        "lattices": (count, 3),
        "pulled": (count, 4, nodes, 3),
        "pulled_lattices": (count, 4, 3),
    }
    for name, shape in shapes.items():
        if arrays[name].shape != shape:
            raise ValueError(f"{name} has the shape {arrays[name].shape}, not {shape}")
