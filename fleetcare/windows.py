"""Sets of days, and the only sums ever done on days.

A window is half open inside, `[start, until)`, and its last day is spoken of outside. A
`Windows` is always normalised (sorted, disjoint, nothing adjacent, nothing empty), so two
equal sets of days are two equal values. EVER and FOREVER stand for open ends: no `None`.

Months are added in one step from the day they count from, never one by one: chaining drifts
(31 January, a month, a month is 28 March; two months is 31 March). Where the month has no
such day its last day stands in (*Dodds v Walker* [1981] 1 WLR 1027, for short months).
"""

from __future__ import annotations

import calendar
import datetime as dt
from collections.abc import Iterable, Iterator
from functools import lru_cache
from typing import NoReturn

EVER = dt.date.min
FOREVER = dt.date.max

_DAY = dt.timedelta(days=1)


def next_day(day: dt.date) -> dt.date:
    """The day after; FOREVER stays FOREVER."""
    return day if day == FOREVER else day + _DAY


def after_days(day: dt.date, days: int) -> dt.date:
    """The first day that is more than so many days after `day`; EVER stays EVER."""
    return day if day in (EVER, FOREVER) else day + _DAY * (days + 1)


def days_before(day: dt.date, days: int) -> dt.date:
    """The last day that leaves so many whole days before `day`: one before Saturday is Thursday."""
    return day if day in (EVER, FOREVER) else day - _DAY * (days + 1)


def eve(day: dt.date) -> dt.date:
    """The day before; EVER and FOREVER stay themselves."""
    return day if day in (EVER, FOREVER) else day - _DAY


def nights_after(day: dt.date, nights: int) -> dt.date:
    """The day so many nights on, or back; EVER and FOREVER stay themselves."""
    return day if day in (EVER, FOREVER) else day + _DAY * nights


@lru_cache(maxsize=65536)
def add_months(day: dt.date, months: int) -> dt.date:
    """`day` moved by whole calendar months in one step, clamped to the month's last day.

    Past the end of the calendar it is FOREVER, before its beginning EVER.
    """
    if day in (EVER, FOREVER):
        return day
    year, month = divmod(day.year * 12 + day.month - 1 + months, 12)
    month += 1
    if year > dt.MAXYEAR:
        return FOREVER
    if year < dt.MINYEAR:
        return EVER
    return dt.date(year, month, min(day.day, calendar.monthrange(year, month)[1]))


@lru_cache(maxsize=65536)
def eve_of_months(day: dt.date, months: int) -> dt.date:
    """The eve of `day` moved by months: the last day of "for N months, the first included".

    The eve of a day that does not exist (29 February + 12 months) ends on that month's last
    day, so twelve months from 29 February 2024 end on 28 February 2025.
    """
    end = add_months(day, months)
    return eve(end) if end.day == day.day else end


@lru_cache(maxsize=65536)
def month_end(day: dt.date, months: int = 0) -> dt.date:
    """The last day of the month that lies `months` after the month of `day`."""
    end = add_months(day, months)
    return end.replace(day=calendar.monthrange(end.year, end.month)[1])


@lru_cache(maxsize=65536)
def early_from(deadline: dt.date, months: int) -> dt.date:
    """First day of the `months` ending with `deadline`: the day after the clamped date.

    30 April less two months clamps to 28 February, so the window opens on 1 March; opening it
    on the clamped day itself would let two on-time checks stand over fourteen months apart.
    """
    return next_day(add_months(deadline, -months)) if months else next_day(deadline)


@lru_cache(maxsize=65536)
def latest_deadline(day: dt.date, months: int) -> dt.date:
    """The latest deadline whose early window of `months` still holds `day`."""
    deadline = add_months(day, months)
    while early_from(next_day(deadline), months) <= day:
        deadline = next_day(deadline)
    while early_from(deadline, months) > day and deadline > day:
        deadline = eve(deadline)
    return deadline


def each_day(start: dt.date, through: dt.date) -> Iterator[dt.date]:
    """Every day from `start` to `through`, both included."""
    day = start
    while day <= through:
        yield day
        if day == FOREVER:
            return
        day = next_day(day)


def each_day_back(start: dt.date, through: dt.date) -> Iterator[dt.date]:
    """The same days, the last of them first."""
    day = through
    while day >= start:
        yield day
        if day == EVER:
            return
        day = eve(day)


class Windows:
    """An immutable set of days."""

    __slots__ = ("spans",)
    spans: tuple[tuple[dt.date, dt.date], ...]

    def __init__(self, spans: Iterable[tuple[dt.date, dt.date]] = ()) -> None:
        merged: list[tuple[dt.date, dt.date]] = []
        for start, until in sorted(span for span in spans if span[0] < span[1]):
            if merged and start <= merged[-1][1]:
                if until > merged[-1][1]:
                    merged[-1] = (merged[-1][0], until)
            else:
                merged.append((start, until))
        object.__setattr__(self, "spans", tuple(merged))

    def __setattr__(self, name: str, value: object) -> NoReturn:
        raise AttributeError("a set of days never changes")

    @classmethod
    def through(cls, start: dt.date, last: dt.date) -> Windows:
        """The days from `start` to `last`, both included."""
        return cls([(start, next_day(last))])

    def __eq__(self, other: object) -> bool:
        return isinstance(other, Windows) and self.spans == other.spans

    def __hash__(self) -> int:
        return hash(self.spans)

    def __bool__(self) -> NoReturn:
        raise TypeError("ask a set of days for .empty or .covers, not for its truth")

    def __repr__(self) -> str:
        return "Windows(" + ", ".join(f"{a}..{eve(b)}" for a, b in self.spans) + ")"

    def __contains__(self, day: dt.date) -> bool:
        return any(start <= day < until or until == day == FOREVER for start, until in self.spans)

    @property
    def empty(self) -> bool:
        """True when there is no day in it."""
        return not self.spans

    def __or__(self, other: Windows) -> Windows:
        return Windows(self.spans + other.spans)

    def __and__(self, other: Windows) -> Windows:
        return Windows((max(a, c), min(b, d)) for a, b in self.spans for c, d in other.spans)

    def __invert__(self) -> Windows:
        edge, gaps = EVER, []
        for start, until in self.spans:
            gaps.append((edge, start))
            edge = until
        return Windows([*gaps, (edge, FOREVER)])

    def __sub__(self, other: Windows) -> Windows:
        return self & ~other

    def covers(self, start: dt.date, through: dt.date) -> bool:
        """Whether every day from `start` to `through` is in the set."""
        return any(a <= start and through < b for a, b in self.spans)

    def last_good(self, day: dt.date) -> dt.date | None:
        """Last day of the stretch that holds `day`; None when `day` is not in the set."""
        return next((eve(b) for a, b in self.spans if a <= day < b), None)

    def runs(self) -> list[tuple[dt.date, dt.date]]:
        """Each stretch as its first and last day."""
        return [(a, eve(b)) for a, b in self.spans]
