"""What falls due as days in a calendar: last days, and the last free days for the work.

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


class Entry(NamedTuple):
    """One all-day entry. `key` names the duty whatever its day; `record` is the newest record it
    rests on. Nobody's name is in it: calendars go to strangers' servers."""

    key: str
    on: dt.date
    until: dt.date  # the first day that is not of it
    title: str
    words: str
    alarm_days: int
    record: int


def entries(judged: Judgement, on: dt.date) -> Iterator[Entry]:
    """The entries of one van, by what is known on a day."""
    rests_on = {
        (o.rule.name, o.place): max(records_of(judged, o, on), default=1) for o in judged.outcomes
    }
    for item in due_items(judged, on, HORIZON_WEEKS):
        record = rests_on.get((item.rule, item.place), 1)
        for what, day in (("last day", item.last_good_day), ("do by", item.do_by)):
            if day is not None:
                yield Entry(
                    f"{item.van}|{item.rule}|{item.place or ''}|{what}", day, next_day(day),
                    f"{_named(item)}: {what}", _words(item), ALARM_DAYS[what], record,
                )  # fmt: skip


def _named(item: DueItem) -> str:
    place = f" {item.place}" if item.place else ""
    return f"{item.van}{f' ({item.plate})' if item.plate else ''} {item.title}{place}"


def _words(item: DueItem) -> str:
    spoils = [f"Next hire it spoils: {item.spoils}."] if item.spoils else []
    return "\n".join([*spoils, f"Why: fleetcare why {item.van} {item.rule}", item.source])
