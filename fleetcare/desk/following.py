"""The calendar's address: whoever has it reads what falls due, and nothing else, without signing
in. It is one long token, kept as its digest beside the book, and holds until another is made."""

from __future__ import annotations

from typing import NamedTuple

from fleetcare import clock, secret
from fleetcare.desk import feeds
from fleetcare.store import doors
from fleetcare.store.doors import FeedRow
from fleetcare.store.people import beside


class Given(NamedTuple):
    """Who gave the address out, and when (UTC)."""

    by: str
    at: str


def given(place: str) -> Given | None:
    """Who gave out the address that holds; None where none does."""
    with beside(place) as connection:
        row = doors.feed_given(connection)
    return Given(row.by, row.made_at) if row else None


def renew(place: str, by: str) -> str:
    """A new token; the address given out before leads nowhere from here on."""
    made = secret.token()
    at = clock.now().isoformat(timespec="seconds")
    with beside(place, writes=True) as connection:
        doors.put_feed(connection, FeedRow(secret.digest(made), by, at))
    return made


def end(place: str) -> None:
    """No address leads to the calendar any more."""
    with beside(place, writes=True) as connection:
        doors.put_feed(connection, None)


def calendar(place: str, token: str) -> bytes | None:
    """What falls due, for whoever has the address; None for any other token, which costs the same
    whatever it is."""
    with beside(place) as connection:
        row = doors.feed_given(connection)
    if row is None or not secret.same(row.digest, secret.digest(token)):
        return None
    return feeds.calendar(place, None)
