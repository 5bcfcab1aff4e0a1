"""The days on which work can be done: workshop open, and the van there where it must be."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator

from fleetcare.rules.outcome import Judgement
from fleetcare.windows import Windows, each_day, each_day_back


def _free(
    judged: Judgement, first: dt.date, before: dt.date, needs_van: bool, *, last_first: bool = False
) -> Iterator[dt.date]:
    """The days from `first` to the day before `before` on which work can be done: the workshop is
    open and, where the work needs the van, no hire touches the day and no hold keeps it away."""
    days = Windows([(first, before)])
    if needs_van:
        days = days - judged.known.elsewhere
    if last_first:
        listed = (each_day_back(*run) for run in reversed(days.runs()))
    else:
        listed = (each_day(*run) for run in days.runs())
    return (day for run in listed for day in run if judged.book.working(day))


def free_days(judged: Judgement, first: dt.date, before: dt.date, needs_van: bool) -> list[dt.date]:
    """Those days."""
    return list(_free(judged, first, before, needs_van))


def first_free(
    judged: Judgement, first: dt.date, before: dt.date, needs_van: bool
) -> dt.date | None:
    """The first of them."""
    return next(_free(judged, first, before, needs_van), None)


def last_free(
    judged: Judgement, first: dt.date, before: dt.date, needs_van: bool
) -> dt.date | None:
    """The last of them."""
    return next(_free(judged, first, before, needs_van, last_first=True), None)
