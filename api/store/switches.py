"""Switches of the shop that an admin sets: off until he does, with who set them and when."""

from __future__ import annotations

from datetime import datetime
from typing import Literal

from sqlalchemy import ForeignKey, String
from sqlalchemy.orm import Mapped, Session, mapped_column

from api.store.tables import Account, Table

Switch = Literal["compare_people"]


class SwitchSet(Table):
    """A switch as it was set last."""

    __tablename__ = "switches"

    name: Mapped[str] = mapped_column(String(32), primary_key=True)
    is_on: Mapped[bool]
    set_by: Mapped[int] = mapped_column(ForeignKey("accounts.id"))
    set_at: Mapped[datetime]


def switch(session: Session, name: Switch) -> SwitchSet | None:
    """Return how a switch was set, or None where nobody ever did: it is off then."""
    return session.get(SwitchSet, name)


def is_on(session: Session, name: Switch) -> bool:
    """Return whether a switch is on."""
    found = switch(session, name)
    return found is not None and found.is_on


def set_switch(session: Session, name: Switch, on: bool, *, by: Account, now: datetime) -> None:
    """Set a switch."""
    session.merge(SwitchSet(name=name, is_on=on, set_by=by.id, set_at=now))
    session.flush()
