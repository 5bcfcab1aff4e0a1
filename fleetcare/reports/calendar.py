"""What falls due as days in a calendar: last days, the last free days for the work, and on the day
it is made whatever does not stand good.

The horizon is everything the book knows of, for whoever follows a calendar looks ahead; the Monday
report is the alarm, a feed is only as fresh as its reader makes it.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator
from typing import NamedTuple

from fleetcare.reports.due import due_items
from fleetcare.reports.due_item import DueItem
from fleetcare.rules.evidence import records_of
from fleetcare.rules.outcome import Judgement
from fleetcare.windows import next_day

HORIZON_WEEKS = 520
ALARM_DAYS = {"last day": 14, "do by": 7}  # common practice, no source
_GOOD = ("in date", "due soon")


class Entry(NamedTuple):
    """One all-day entry. `key` names the duty whatever its day; `record` is the newest record it
    rests on, and `sequence` never falls while the book grows and days pass (RFC 5545 3.8.7.4).
    Nobody's name is in it: calendars go to strangers' servers."""

    key: str
    on: dt.date
    until: dt.date  # the first day that is not of it
    title: str
    words: str
    alarm_days: int
    record: int
    sequence: int


def entries(judged: Judgement, on: dt.date, unsettled: int) -> list[Entry]:
    """The entries of one van, by what is known on a day. `unsettled` is the newest record that took
    something away, so that what is left may be older than what stood before."""
    rests_on = {
        (o.rule.name, o.place): max(records_of(judged, o, on), default=1) for o in judged.outcomes
    }
    found: dict[str, Entry] = {}
    for item in due_items(judged, on, HORIZON_WEEKS):
        record = max(rests_on.get((item.rule, item.place), 1), unsettled)
        for entry in _of(item, record, on):
            # A rule that rests on several things nobody said is several lines and one duty.
            known = found.get(entry.key)
            if known is None or entry.on < known.on:
                found[entry.key] = entry
    return list(found.values())


def _of(item: DueItem, record: int, on: dt.date) -> Iterator[Entry]:
    key = f"{item.van}|{item.rule}|{item.place or ''}|"
    for what, day in (("last day", item.last_good_day), ("do by", item.do_by)):
        if day is not None:
            yield Entry(
                f"{key}{what}", day, next_day(day), f"{_named(item)}: {what}",
                _words(item), ALARM_DAYS[what], record, record,
            )  # fmt: skip
    if item.standing not in _GOOD:  # it moves on with the days until it is put right
        yield Entry(
            f"{key}stands", on, next_day(on), f"{_named(item)}: {item.standing}",
            _words(item), 0, record, record + on.toordinal(),
        )  # fmt: skip


def _named(item: DueItem) -> str:
    place = f" {item.place}" if item.place else ""
    return f"{item.van}{f' ({item.plate})' if item.plate else ''} {item.title}{place}"


def _words(item: DueItem) -> str:
    spoils = [f"Next hire it spoils: {item.spoils}."] if item.spoils else []
    return "\n".join([*spoils, f"Why: fleetcare why {item.van} {item.rule}", item.source])
