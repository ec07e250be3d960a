"""What the pages share: the shelf, the desk, who is at the page, and how the program was started."""

from __future__ import annotations

import getpass
from dataclasses import dataclass, field

from fastapi import Request

from loopwright.store.shelf import Shelf
from loopwright.store.values import Role
from loopwright.web.comparing import CompareDesk
from loopwright.web.desk import Desk
from loopwright.web.handing.desk import IssueDesk
from loopwright.web.loop.desk import LoopDesk
from loopwright.web.season_desk import SeasonDesk
from loopwright.web.sign_in import Sessions
from loopwright.web.swatch.next_swatch import NextDesk
from loopwright.web.swatch.photo_door import PhotoDesk


@dataclass(slots=True)
class House:
    """One running workroom. With `sessions` people sign in; without, the one person at this machine may do all."""

    shelf: Shelf
    desk: Desk
    sessions: Sessions | None = None
    owner: str = field(default_factory=lambda: _owner())
    seasons: SeasonDesk = field(init=False)
    loops: LoopDesk = field(init=False)
    photos: PhotoDesk = field(init=False)
    next_swatches: NextDesk = field(init=False)
    comparisons: CompareDesk = field(init=False)
    issues: IssueDesk = field(init=False)

    def __post_init__(self) -> None:
        """The desks of seasons, loops, pictures, next swatches, comparisons and issues read the same shelf."""
        self.seasons = SeasonDesk(self.shelf)
        self.loops = LoopDesk(self.shelf, self.desk)
        self.photos = PhotoDesk(self.shelf)
        self.next_swatches = NextDesk(self.shelf)
        self.comparisons = CompareDesk(self.shelf, self.desk)
        self.issues = IssueDesk(self.shelf, self.desk)

    def who(self, request: Request) -> str:
        """The name that changes of this request carry."""
        if self.sessions is None:
            return self.owner
        person = self.sessions.of(request)
        return person.name if person else "nobody"

    def may_edit(self, request: Request) -> bool:
        """Whether this request may change anything."""
        if self.sessions is None:
            return True
        person = self.sessions.of(request)
        return person is not None and person.role is Role.EDIT


def _owner() -> str:
    """The name of the account; "you" where there is none."""
    try:
        return getpass.getuser()
    except (KeyError, OSError):
        return "you"
