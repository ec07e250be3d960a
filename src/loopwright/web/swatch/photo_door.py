"""The door of pictures: bytes in, the working copy out, a reading with its progress, and the yes that keeps it.

A picture comes as application/octet-stream, is cleaned of where it was taken and kept by the hash of its bytes beside
the shelf; the sitting names it at once, unconfirmed. A reading changes nothing until it is accepted.
Not covered: reading (`photo_work`), files (`store.photos`).
"""

from __future__ import annotations

import asyncio
from collections import OrderedDict
from typing import Annotated, Any, Literal

from fastapi import FastAPI, Query, Request, Response
from fastapi.responses import PlainTextResponse
from pydantic import Field, TypeAdapter, ValidationError

from loopwright.problems import Problem
from loopwright.store.photos import photos_beside
from loopwright.store.shelf import Shelf
from loopwright.store.values import Edit, Item, Saved
from loopwright.swatch.photo.stripped import working_copy
from loopwright.web.asked import Asked, Key, Number
from loopwright.web.swatch.photo_asked import Told
from loopwright.web.swatch.photo_words import progress_document, record_of, said_of
from loopwright.web.swatch.photo_work import Answer, PhotoBench
from loopwright.web.swatch.readings import path_of, swatch_of
from loopwright.web.told import saved_dict
from loopwright.web.waited_for import Progress

MOST_COPIES = 12  # working copies that are held; about a megabyte each
KEPT = {"cache-control": "private, max-age=31536000, immutable"}
WindowKey = Annotated[str, Field(min_length=1, max_length=64)]
Photo = Annotated[str, Field(pattern=r"^[0-9a-f]{64}$")]
_FILE = {"requestBody": {"content": {"application/octet-stream": {"schema": {"type": "string", "format": "binary"}}}}}


class PhotoDesk:
    """The pictures beside a shelf, the bench that reads them, and the copies that windows look at."""

    def __init__(self, shelf: Shelf) -> None:
        self.shelf, self.files = shelf, photos_beside(shelf.engine)
        self.bench = PhotoBench(self.files.read)
        self._copies: OrderedDict[str, bytes] = OrderedDict()

    def copy(self, photo: str) -> bytes:
        """The working copy of a picture.

        Raises:
            Problem: its file is gone, or no picture.
        """
        if photo not in self._copies:
            self._copies[photo] = working_copy(self.files.read(photo))
            while len(self._copies) > MOST_COPIES:
                self._copies.popitem(last=False)
        return self._copies[photo]

    def must_have(self, item_id: int, photo: str) -> None:
        """A picture is asked for through the swatch that names it.

        Raises:
            Problem: no such swatch, or none of its sittings names this picture.
        """
        _, swatch = swatch_of(self.shelf.load(item_id).document)
        if not any(photo in sitting.get("photos", {}) for sitting in swatch.get("sittings", {}).values()):
            raise Problem("photo", "no sitting of this swatch names that picture.", tries=["bring it again"])

    def bring(self, item_id: int, sitting: str, data: bytes, told: Told, by: str) -> tuple[str, Saved]:
        """Keep a picture and name it in its sitting; the one that is there already stays as it is.

        Raises:
            Problem: no picture, no such sitting, or it cannot be kept.
        """
        item = self.shelf.load(item_id)
        path_of(item.document, sitting)
        told.as_asked()
        photo = self.files.keep(data)
        path = path_of(item.document, sitting, "photos", photo)
        if photo in _photos(item, sitting):
            return photo, Saved(item, None)
        record = {"reference": told.reference, **({"side": told.side} if told.side else {})}
        label = f"Picture of sitting {sitting}"
        return photo, self.shelf.change(item_id, [Edit(path, record)], base_version=item.version, by=by, label=label)

    def accept(self, item_id: int, photo: str, sitting: str, told: Told, by: str) -> Saved:
        """Take a reading into the record.

        Raises:
            Problem: it is not read, or the picture is not of this sitting.
        """
        item = self.shelf.load(item_id)
        before = _photos(item, sitting).get(photo)
        if before is None:
            raise Problem("photo", "this picture is not of that sitting any more.", tries=["bring it again"])
        answer = self.bench.answer(photo, told)
        record = record_of(answer, reference=told.reference, side=told.side)
        record |= {"note": before["note"]} if "note" in before else {}
        path = path_of(item.document, sitting, "photos", photo)
        label = (
            f"Picture read: {said_of(answer)}".removesuffix(".")[:200]
            if answer and not hasattr(answer, "code")
            else "Picture read"
        )
        return self.shelf.change(item_id, [Edit(path, record)], base_version=item.version, by=by, label=label)

    def told(self, photo: str, progress: Progress[Answer]) -> dict[str, Any]:
        """How far a picture is, for the page."""
        return progress_document(progress, self.bench.size_px(photo))


def _photos(item: Item, sitting: str) -> dict[str, Any]:
    """Pictures of a sitting by name."""
    _, swatch = swatch_of(item.document)
    found: dict[str, Any] = swatch.get("sittings", {}).get(sitting, {}).get("photos", {})
    return found


class AskedPhoto(Asked):
    """A reading that is accepted, or given up, by a window."""

    told: Told
    sitting: Key = "-"
    window: WindowKey = "-"


def add_photo_door(api: FastAPI, photos: PhotoDesk, changed: Any, who: Any) -> None:
    """Put the ways of pictures into the application behind /api."""
    _files(api, photos, changed, who)
    _readings(api, photos, changed, who)


def _files(api: FastAPI, photos: PhotoDesk, changed: Any, who: Any) -> None:
    @api.post("/items/{item_id}/photos", status_code=201, openapi_extra=_FILE)
    async def bring(
        item_id: Number,
        request: Request,
        sitting: Annotated[str, Query(max_length=200)],
        reference: Annotated[str, Query(max_length=40)] = "none",
        side: Literal["face", "back"] | None = None,
    ) -> dict[str, Any]:
        """Put a picture, sent as application/octet-stream, into a sitting."""
        data = await request.body()
        told = Told(reference=reference, side=side)
        photo, saved = await asyncio.to_thread(photos.bring, item_id, sitting, data, told, who(request))
        changed(item_id)
        return saved_dict(saved) | {"photo": photo}

    @api.get("/items/{item_id}/photos/{photo}", response_class=Picture, responses={404: {"description": "not here"}})
    async def picture(item_id: Number, photo: Photo, request: Request) -> Response:
        """The working copy of a picture, upright."""
        try:
            await asyncio.to_thread(photos.must_have, item_id, photo)
            if request.headers.get("if-none-match") == f'"{photo}"':
                return Response(status_code=304, headers=KEPT | {"etag": f'"{photo}"'})
            data = await asyncio.to_thread(photos.copy, photo)
        except Problem as problem:
            return PlainTextResponse(f"{problem.sentence()}", 404)
        return Picture(data, headers=KEPT | {"etag": f'"{photo}"'})


class Picture(Response):
    """A picture to look at."""

    media_type = "image/jpeg"


def _readings(api: FastAPI, photos: PhotoDesk, changed: Any, who: Any) -> None:
    @api.get("/items/{item_id}/photos/{photo}/reading")
    async def reading(
        item_id: Number,
        photo: Photo,
        told: Annotated[str, Query(max_length=30000)] = "{}",
        window: Annotated[str, Query(max_length=64)] = "-",
    ) -> dict[str, Any]:
        """Read a picture, or how far its reading is; the first to ask begins it, who asks again waits for it."""
        await asyncio.to_thread(photos.must_have, item_id, photo)
        asked = _told(told)
        asked.as_asked()
        return photos.told(photo, photos.bench.begin(photo, asked, window or "-"))

    @api.post("/items/{item_id}/photos/{photo}/stop")
    async def stop(item_id: Number, photo: Photo, asked: AskedPhoto) -> dict[str, Any]:
        """A window no longer waits; the last one stops the reading."""
        await asyncio.to_thread(photos.must_have, item_id, photo)
        return photos.told(photo, photos.bench.give_up(photo, asked.told, asked.window))

    @api.post("/items/{item_id}/photos/{photo}/accept")
    async def accept(item_id: Number, photo: Photo, asked: AskedPhoto, request: Request) -> dict[str, Any]:
        """Take a reading into the record: each white square holds one stitch."""
        saved = await asyncio.to_thread(photos.accept, item_id, photo, asked.sitting, asked.told, who(request))
        changed(item_id)
        return saved_dict(saved)


def _told(words: str) -> Told:
    """What is said of a picture, from the address.

    Raises:
        Problem: it cannot be understood.
    """
    try:
        return _TOLD.validate_json(words)
    except ValidationError as error:
        first = error.errors()[0]
        where = ".".join(str(part) for part in first["loc"])[:60]
        raise Problem(f"told {where}".strip(), f"{first['msg'][:120]}.", tries=["{}"]) from None


_TOLD: TypeAdapter[Told] = TypeAdapter(Told)
