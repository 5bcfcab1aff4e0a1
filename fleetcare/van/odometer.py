"""What a van's odometer showed, from every record that says so."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator
from decimal import Decimal
from typing import Any, NamedTuple

from fleetcare.records.facts import Facts
from fleetcare.trade.measures import read_measure


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
