"""What a phone sends by itself once it has a signal again: taken in once, at the hour it was said.

How long ago that was is told by the phone as a length of time, by its own clock from first to last:
one that goes wrong by hours still tells a quarter of an hour.
"""

from __future__ import annotations

import contextlib
import datetime as dt
from collections.abc import Iterator
from typing import NamedTuple

from fleetcare import clock
from fleetcare.errors import Problem
from fleetcare.store import doors
from fleetcare.store.people import Connection, beside

LONGEST = dt.timedelta(hours=12)  # what waited longer is looked at anew: common practice, no source
TAKEN = "It was sent before, and is in the book."


class Sent(NamedTuple):
    """How long something waited to be sent, in seconds, and the key it bears."""

    ago: int = 0
    key: str | None = None

    @property
    def moment(self) -> str:
        """When it was said, in UTC."""
        said = clock.now() - dt.timedelta(seconds=self.ago)
        return said.isoformat(timespec="microseconds")

    @property
    def hour(self) -> tuple[dt.date, str]:
        """The local day and hour at which it was said."""
        return clock.hour_of(self.moment)


@contextlib.contextmanager
def once(place: str, sent: Sent) -> Iterator[Connection | None]:
    """The people beside the book, to write to; None where what bears the key was taken in already.

    Whoever sends the same at the same time waits, and is then told so.
    """
    with beside(place, writes=True) as connection:
        if sent.key and doors.is_taken(connection, sent.key):
            yield None
            return
        yield connection
        if sent.key:
            doors.take(connection, sent.key, Sent().moment)


def too_late(sent: Sent, line: str) -> Problem | None:
    """The fault of what waited too long."""
    if dt.timedelta(seconds=sent.ago) <= LONGEST:
        return None
    hours = int(LONGEST.total_seconds() // 3600)
    return Problem(line, f"was answered more than {hours} hours ago: look again, and answer anew")
