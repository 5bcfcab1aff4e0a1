"""Entries as an iCalendar feed (RFC 5545, RFC 7986), written by the icalendar library."""

from __future__ import annotations

import datetime as dt
import hashlib
import hmac
import uuid
from typing import NamedTuple

from icalendar import Alarm, Calendar, Event

from fleetcare.reports.calendar import Entry

_REFRESH = dt.timedelta(hours=12)


class Stamped(NamedTuple):
    """An entry, and when the newest record it rests on was written down."""

    entry: Entry
    at: dt.datetime


def feed(stamped: list[Stamped], firm: str, secret: str) -> bytes:
    """The feed: the same entries give the same bytes.

    `secret` is the book's own and never shown: an entry's UID is made of it and of the duty, so it
    stays the same when the day moves and tells nobody which van or firm it is of (RFC 7986 5.3).
    """
    calendar = Calendar()
    calendar.add("prodid", "-//fleetcare//due dates//EN")
    calendar.add("version", "2.0")
    calendar.add("method", "PUBLISH")
    calendar.add("x-wr-calname", f"{firm}: what falls due" if firm else "What falls due")
    calendar.add("refresh-interval", _REFRESH, parameters={"VALUE": "DURATION"})
    calendar.add("x-published-ttl", "PT12H")
    for one in sorted(stamped, key=lambda one: (one.entry.on, one.entry.key)):
        calendar.add_component(_event(one.entry, one.at, secret))
    return bytes(calendar.to_ical())


def _event(entry: Entry, at: dt.datetime, secret: str) -> Event:
    event = Event()
    event.add("uid", uid(secret, entry.key))
    event.add("dtstamp", at)
    event.add("last-modified", at)
    event.add("sequence", entry.sequence)
    event.add("dtstart", entry.on)
    event.add("dtend", entry.until)
    event.add("summary", entry.title)
    event.add("description", entry.words)
    event.add("transp", "TRANSPARENT")
    alarm = Alarm()
    alarm.add("action", "DISPLAY")
    alarm.add("description", entry.title)
    alarm.add("trigger", -dt.timedelta(days=entry.alarm_days))
    event.add_component(alarm)
    return event


def uid(secret: str, key: str) -> str:
    """A random-looking UUID (version 4 form) that is always the same for one duty of one book."""
    made = hmac.new(secret.encode(), key.encode(), hashlib.sha256).digest()[:16]
    return str(uuid.UUID(bytes=made, version=4))
