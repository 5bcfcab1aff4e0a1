"""The only reader of today and now. Everything else is given the day it asks about."""

from __future__ import annotations

import contextlib
import datetime as dt
import os
from collections.abc import Iterator

_fixed: list[dt.datetime] = []


def today() -> dt.date:
    """The local calendar day.

    FLEETCARE_TODAY (YYYY-MM-DD) stands in for it when a sample or a test needs a fixed day.
    """
    if _fixed:
        return _fixed[-1].date()
    named = os.environ.get("FLEETCARE_TODAY")
    return dt.date.fromisoformat(named) if named else dt.date.today()


def stands() -> bool:
    """Whether a day was named that stands in for today: whoever reads an answer is to know it."""
    return bool(_fixed) or "FLEETCARE_TODAY" in os.environ


def now() -> dt.datetime:
    """This moment, in UTC."""
    return _fixed[-1] if _fixed else dt.datetime.now(dt.UTC)


def hour(ahead: int = 0) -> tuple[dt.date, str]:
    """The local day and hour so many hours ahead, like (2026-03-02, "14:30")."""
    moment = _fixed[-1] if _fixed else now().astimezone()
    then = dt.datetime.combine(today(), moment.time()) + dt.timedelta(hours=ahead)
    return then.date(), then.strftime("%H:%M")


def hour_of(moment: str) -> tuple[dt.date, str]:
    """The local day and hour of a moment kept in UTC."""
    zone = _fixed[-1].tzinfo if _fixed else None
    local = dt.datetime.fromisoformat(moment).astimezone(zone)
    return local.date(), local.strftime("%H:%M")


@contextlib.contextmanager
def standing_at(moment: dt.datetime) -> Iterator[None]:
    """A clock that stands still, for building a sample; `moment` has its zone."""
    _fixed.append(moment)
    try:
        yield
    finally:
        _fixed.pop()
