"""The people of a team and what each may do. Not covered: passwords; only what a hash made of them is kept (`web`)."""

from __future__ import annotations

from dataclasses import asdict
from datetime import UTC, datetime
from typing import Any

from sqlalchemy import Engine, Row, delete, insert, select, update

from loopwright.problems import Problem
from loopwright.store.database import reading, writing
from loopwright.store.rows import one_line
from loopwright.store.tables import person
from loopwright.store.values import Person, Role


class People:
    """The part of the shelf that knows people."""

    engine: Engine

    def add_person(self, name: str, password_hash: str, role: str) -> Person:
        """A new person.

        Raises:
            Problem: no name, an unknown role, or somebody of that name is there.
        """
        shown = one_line(name)
        if not shown:
            raise Problem("people", "a person needs a name.")
        made = Person(shown, password_hash, _role(role), datetime.now(UTC))
        with writing(self.engine) as connection:
            if connection.execute(select(person.c.name).where(person.c.name == shown)).first():
                raise Problem("people", f"there is a “{shown}” already.", tries=["choose another name"])
            connection.execute(insert(person).values(asdict(made)))
        return made

    def person(self, name: str) -> Person | None:
        """The person of that name, if there is one."""
        with reading(self.engine) as connection:
            row = connection.execute(select(person).where(person.c.name == one_line(name))).one_or_none()
        return _person_of(row) if row else None

    def people(self) -> list[Person]:
        """Everybody, by name."""
        with reading(self.engine) as connection:
            rows = connection.execute(select(person)).all()
        return sorted(map(_person_of, rows), key=lambda each: each.name.casefold())

    def set_role(self, name: str, role: str) -> None:
        """Let a person do more, or less.

        Raises:
            Problem: nobody of that name, or an unknown role.
        """
        change = update(person).where(person.c.name == one_line(name)).values(role=_role(role))
        with writing(self.engine) as connection:
            _require_somebody(connection.execute(change).rowcount, name)

    def remove_person(self, name: str) -> None:
        """Take a person off the team; what they did stays in the histories.

        Raises:
            Problem: nobody of that name.
        """
        with writing(self.engine) as connection:
            _require_somebody(connection.execute(delete(person).where(person.c.name == one_line(name))).rowcount, name)


def _role(role: str) -> Role:
    if role not in set(Role):
        raise Problem("people", f"“{role}” is no role.", limit=" or ".join(Role))
    return Role(role)


def _require_somebody(rows: int, name: str) -> None:
    if not rows:
        raise Problem("people", f"there is no “{one_line(name)}”.", tries=["look at the list of people"])


def _person_of(row: Row[Any]) -> Person:
    return Person(row.name, row.password_hash, Role(row.role), row.made_at)
