"""How far a van was driven, and how far it can have been by a day to come."""

from __future__ import annotations

import datetime as dt
from bisect import bisect_right
from decimal import Decimal
from functools import cached_property
from math import floor

from fleetcare.records.kinds import Hire
from fleetcare.rules.kinds.case import Case
from fleetcare.trade.forecast import Rate
from fleetcare.trade.measures import read_measure
from fleetcare.van.odometer import Rises
from fleetcare.windows import FOREVER, nights_after

_FARTHEST_KM = Decimal(10_000_000)  # a slip of the pen is no reason to fall over
_FARTHEST = 36_500  # days ahead that are looked at: a hundred years


class Driven:
    """The odometer of one van: readings of different days, in order, none lower than before."""

    def __init__(
        self, rises: Rises, hires: list[Hire], hire_day: Decimal, most_a_day: Decimal
    ) -> None:
        self.readings = readings = rises.readings
        self.turned, self._trend = rises.turned, rises.trend
        self.last = readings[-1]
        self._hires = sorted(hires, key=lambda hire: hire.from_on)
        self._hire_day, self._most_a_day = float(hire_day), float(most_a_day)
        self._days, self._values = rises.days, rises.values

    @cached_property
    def rate(self) -> Rate | None:
        """Km a day; None where the readings are too few to tell."""
        return self._trend.rate

    def at(self, day: dt.date) -> Decimal | None:
        """What it showed at least on a day: the last reading up to it; None before the first. What
        was driven between two readings may all have been driven after it."""
        place = bisect_right(self._days, day)
        return self.readings[place - 1].value if place else None

    def reached(self, km: Decimal) -> dt.date | None:
        """The last day before a figure was passed, by the readings; None where none passed it."""
        over = bisect_right(self._values, km)
        if over == len(self.readings):
            return None
        one = self.readings[over]
        if over == 0:
            return nights_after(one.on, -1)
        before = self.readings[over - 1]
        part = (km - before.value) / (one.value - before.value)
        return nights_after(before.on, max(floor((one.on - before.on).days * part) - 1, 0))

    def sure_to(self, km: Decimal) -> dt.date:
        """The last day on which a figure can't be passed yet; the day of the last reading at least,
        FOREVER where nothing moves the van."""
        return self.sure_after(self.last.on, km - self.last.value)

    def sure_after(self, day: dt.date, km: Decimal) -> dt.date:
        """The same of so many km driven from a day on, on which it is read."""
        more = float(min(km, _FARTHEST_KM))
        if self.rate is None:
            days: float | None = more / self._most_a_day
        else:
            days = self._trend.soonest(more)
        found = [d for d in (days, self._booked(day, more)) if d is not None]
        return sure_day(day, min(found, default=_FARTHEST))

    def _booked(self, first: dt.date, more: float) -> float | None:
        """In how many days from one on the hires booked drive so far, the days between them at the
        usual rate; None where they do not."""
        usual = self.rate.usual if self.rate else self._most_a_day
        day, left = first, more
        for hire in self._hires:
            if hire.through_on <= day:
                continue
            start = max(hire.from_on, day)
            for days, a_day in (
                ((start - day).days, usual), ((hire.through_on - start).days + 1, self._hire_day),
            ):  # fmt: skip
                if a_day > 0 and left <= days * a_day:
                    return (day - first).days + left / a_day
                left -= days * a_day
                day = nights_after(day, days)
        return (day - first).days + left / usual if usual > 0 else None

    def told(self, km: Decimal) -> tuple[str, dt.date, dt.date | None, bool]:
        """What a sentence says of a figure: the last reading as typed, its day, the day it is
        reached as usually driven, and whether the readings were enough to tell."""
        usual = self.rate.usual if self.rate else 0.0
        days = float(min(km - self.last.value, _FARTHEST_KM)) / usual if usual > 0 else _FARTHEST
        reached = nights_after(self.last.on, floor(days)) if 0 < days < _FARTHEST else None
        return self.last.typed, self.last.on, reached, self.rate is not None


def sure_day(day: dt.date, days: float) -> dt.date:
    """The last day before so many have gone by since one; FOREVER past all measure."""
    whole = floor(days)
    return FOREVER if whole >= _FARTHEST else nights_after(day, max(whole - 1, 0))


def driven(case: Case) -> Driven | None:
    """The odometer of a case's van; None where it was never read."""
    rises = case.van.rises
    if not rises.readings:
        return None
    most = read_measure(case.terms["most_a_day"], "distance").value
    said = case.terms.get("hire_day_distance")
    hire_day = read_measure(said, "distance").value if said else case.van.driven_a_hire_day or most
    return Driven(rises, case.van.hires, hire_day, most)
