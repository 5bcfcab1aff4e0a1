"""What a van's odometer showed, from every record that says so."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator
from decimal import Decimal
from functools import cached_property
from typing import Any, NamedTuple

from fleetcare.records.facts import Facts
from fleetcare.trade.forecast import Trend
from fleetcare.trade.measures import read_measure
from fleetcare.van.trips import Trip


class Shown(NamedTuple):
    """What it showed on a day, as typed and in km."""

    on: dt.date
    value: Decimal
    typed: str


def shown(facts: Facts) -> Iterator[Shown]:
    """Every reading of the odometer, in no order."""
    for one in facts.odometers:
        yield Shown(one.on, read_measure(one.shown, "distance").value, one.shown)
    others: list[Any] = [*facts.checks, *facts.outs, *facts.backs, *facts.defects]
    for record in others:
        if record.odometer:
            typed = record.odometer
            yield Shown(record.on, read_measure(typed, "distance").value, typed)


def shown_before(facts: Facts, on: dt.date) -> Shown | None:
    """What it showed at most on the last day before one on which it was read."""
    return max((one for one in shown(facts) if one.on < on), default=None)


def shown_after(facts: Facts, on: dt.date) -> Shown | None:
    """What it showed at least on the first day after one on which it was read."""
    return min((one for one in shown(facts) if one.on > on), default=None)


class Rises:
    """Readings that make one line, the highest of each day, in order; and whether one before them
    was higher (`turned`): another instrument, or a slip, and what was read before is void."""

    def __init__(self, readings: list[Shown], *, turned: bool = False) -> None:
        self.readings, self.turned = readings, turned
        self.days = [one.on for one in readings]
        self.values = [one.value for one in readings]

    @cached_property
    def trend(self) -> Trend:
        """How it rises, in km a day."""
        days = [float(day.toordinal()) for day in self.days]
        return Trend(list(zip(days, map(float, self.values), strict=True)))


def rising(facts: Facts) -> Rises:
    """The readings from the last one on that was lower than the one before."""
    by_day: dict[dt.date, Shown] = {}
    for one in shown(facts):
        other = by_day.get(one.on)
        by_day[one.on] = one if other is None else max(one, other)
    found: list[Shown] = []
    turned = False
    for one in sorted(by_day.values()):
        if found and one.value < found[-1].value:
            found, turned = [], True
        found.append(one)
    return Rises(found, turned=turned)


def most_a_hire_day(trips: list[Trip]) -> Decimal | None:
    """The most driven a day on a hire, in km; None where fewer than three tell."""
    found = []
    for trip in trips:
        out, back = trip.out, trip.back
        if out and back and out.odometer and back.odometer:
            km = read_measure(back.odometer, "distance").value
            km -= read_measure(out.odometer, "distance").value
            found.append(km / max((back.on - out.on).days, 1))
    return max(found) if len(found) >= 3 else None
