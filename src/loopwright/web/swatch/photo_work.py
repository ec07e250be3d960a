"""Pictures read in a thread: one at a time, the last word of a window first, each reading kept for all who ask again.

In: the bytes of a picture by their name, and what is said of it. Out: `Progress`, asked for again and again; the answer
is in it when it is done. Not covered: the reading itself (`swatch.photo`), taking it into the record (`photo_door`),
who waits (`waited_for`).
"""

from __future__ import annotations

from collections.abc import Callable

from loopwright.swatch.photo.answer import PhotoReading, PhotoRefused
from loopwright.swatch.photo.photo import read_of_picture
from loopwright.swatch.photo.picture import Picture, Unreadable, read_picture
from loopwright.swatch.photo.refusal import Stopped
from loopwright.swatch.photo.scale import ScaleRefusal
from loopwright.web.swatch.photo_asked import Told
from loopwright.web.waited_for import GaveUp, GivenUp, Progress, Report, Works

Answer = PhotoReading | PhotoRefused
Fetch = Callable[[str], bytes]
Read = Callable[[Picture, Told, Report, GivenUp], Answer]


def read(picture: Picture, told: Told, report: Report, stop: GivenUp) -> Answer:
    """Read a picture as a window says."""
    return read_of_picture(picture, told.as_asked(), progress=report, cancelled=stop)


class PhotoBench:
    """All pictures that are being read, and the readings of those that were."""

    def __init__(self, fetch: Fetch, work: Read = read) -> None:
        self.fetch, self.work = fetch, work
        self.works: Works[Answer] = Works("read a photo")
        self._open: tuple[str, Picture] | None = None

    def begin(self, photo: str, told: Told, window: str) -> Progress[Answer]:
        """Read a picture for a window, which no longer waits for anything else."""

        def do(report: Report, stop: GivenUp) -> Answer:
            return self._read(photo, told, report, stop)

        return self.works.begin((photo, told.name), window, do)

    def progress(self, photo: str, told: Told, window: str) -> Progress[Answer]:
        """How far it is; asking says that the window still waits."""
        return self.works.progress((photo, told.name), window)

    def give_up(self, photo: str, told: Told, window: str) -> Progress[Answer]:
        """A window no longer waits; the last one stops the reading."""
        return self.works.give_up((photo, told.name), window)

    def answer(self, photo: str, told: Told) -> Answer | None:
        """The reading of a picture, when it is there."""
        return self.works.answer((photo, told.name))

    def size_px(self, photo: str) -> tuple[int, int] | None:
        """Width and height of the picture that is open now."""
        opened = self._open
        return (opened[1].width_px, opened[1].height_px) if opened and opened[0] == photo else None

    def close(self) -> None:
        """The program ends."""
        self.works.close()

    def _read(self, photo: str, told: Told, report: Report, stop: GivenUp) -> Answer:
        try:
            return self.work(self._picture(photo), told, report, stop)
        except Unreadable as problem:
            return PhotoRefused(ScaleRefusal.UNREADABLE.value, problem.what, problem.tries)
        except Stopped:
            raise GaveUp from None

    def _picture(self, photo: str) -> Picture:
        """The picture, open; the last one stays open, for a person says one thing about it after the other."""
        if self._open is None or self._open[0] != photo:
            self._open = None
            self._open = (photo, read_picture(self.fetch(photo)))
        return self._open[1]
