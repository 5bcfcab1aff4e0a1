"""The days on which work can be done: workshop open, and the van there where it must be."""

from __future__ import annotations

import datetime as dt

from fleetcare.rules.outcome import Judgement
from fleetcare.windows import each_day, eve


def free(judged: Judgement, day: dt.date, needs_van: bool) -> bool:
    """Whether work can be done on a day: the workshop is open and, where the work needs the van,
    no hire touches the day and no hold keeps the van elsewhere."""
    if not judged.book.working(day):
        return False
    if not needs_van:
        return True
    if day in judged.known.kept_away:
        return False
    return not any(h.from_on <= day <= h.through_on for h in judged.hires)


def free_days(judged: Judgement, first: dt.date, before: dt.date, needs_van: bool) -> list[dt.date]:
    """The days from `first` to the day before `before` on which work can be done."""
    return [day for day in each_day(first, eve(before)) if free(judged, day, needs_van)]


def first_free(
    judged: Judgement, first: dt.date, before: dt.date, needs_van: bool
) -> dt.date | None:
    """The first of those days."""
    days = each_day(first, eve(before))
    return next((day for day in days if free(judged, day, needs_van)), None)


def last_free(
    judged: Judgement, first: dt.date, before: dt.date, needs_van: bool
) -> dt.date | None:
    """The last of those days."""
    day = eve(before)
    while day >= first:
        if free(judged, day, needs_van):
            return day
        day = eve(day)
    return None
