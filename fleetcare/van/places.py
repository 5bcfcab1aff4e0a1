"""What was in each place of a van, and when."""

from __future__ import annotations

import datetime as dt
from typing import NamedTuple

from fleetcare.records.kinds import Check, Fit, TakeOff
from fleetcare.records.yard import Back, Event, Out

# Orders records: the day first, then the time of day (none said stands first), then the number.
Key = tuple[dt.date, str, int]


def key_of(record: Check | Fit | TakeOff | Event | Out | Back) -> Key:
    """Where a record stands: time of day only orders records of one day."""
    return (record.on, record.at or "", record.number)


class Stay(NamedTuple):
    """From a moment on, what is in a place: a component, or nothing."""

    key: Key
    fit: Fit | None

    @property
    def on(self) -> dt.date:
        """The day it starts."""
        return self.key[0]

    @property
    def part(self) -> int | None:
        """The component's number: that of its first fit."""
        return (self.fit.part or self.fit.number) if self.fit else None


def in_place_by(fitted: Key, checked: Key) -> bool:
    """Whether a component was in its place when a check was done.

    On one day the time decides, or the number where neither has a time. With a time on only one
    of them the component came later: what was checked was the one before it.
    """
    if fitted[0] != checked[0]:
        return fitted[0] < checked[0]
    if bool(fitted[1]) != bool(checked[1]):
        return False
    return fitted[1:] < checked[1:]


def stay_on(stays: list[Stay], day: dt.date) -> Stay | None:
    """What is in a place at the end of a day."""
    found = None
    for stay in stays:
        if stay.on > day:
            break
        found = stay
    return found
