"""Likely slips: what may be true and probably is a slip of the pen.

Each is refused with the words that record it anyway: a book that refuses the truth gets kept on
the wall instead.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator
from decimal import Decimal
from typing import Any

from fleetcare.errors import Problem
from fleetcare.intake.words import made_after_fitting
from fleetcare.records.facts import Facts
from fleetcare.records.kinds import Check, Fit
from fleetcare.rules.book import Book
from fleetcare.trade.measures import read_measure
from fleetcare.van.said import fit_outs
from fleetcare.windows import add_months, eve_of_months

ANYWAY = 'If it is true, add: --even-so "why"'


def check_slips(
    facts: Facts, check: Check, book: Book, holders: list[tuple[str, int]], plate: str | None
) -> list[Problem]:
    """The likely slips in a check: its day, its plate, its certificate, its print, its odometer."""
    found = [*_too_early(facts, check.on), *_plate(facts, check.on, plate)]
    for van, number in holders:
        if van != check.van:
            found.append(
                Problem(
                    "--certificate",
                    f'"{check.certificate}" is already the certificate of {van} (#{number})',
                )
            )
    kind = book.checks.get(check.what)
    months = kind.print_limit_months if kind else None
    if months and check.last_day and check.outcome == "pass":
        most = eve_of_months(check.on, months)
        if check.last_day > most:
            found.append(
                Problem(
                    "--last-day",
                    f"{check.last_day} is more than a test of "
                    f"{check.on} can give: {months} months less a day "
                    f"is {most}",
                )
            )
    if check.odometer:
        found += odometer_slips(facts, check.on, check.odometer)
    return found


def fit_slips(facts: Facts, fit: Fit, week_code: bool) -> list[Problem]:
    """A component fitted before it was made, or before there was a van."""
    found = _too_early(facts, fit.on)
    if made_after_fitting(fit, week_code):
        found.append(Problem("--made", f"{fit.made} is after the day it was fitted ({fit.on})"))
    return found


def odometer_slips(facts: Facts, on: dt.date, reading: str) -> list[Problem]:
    """An odometer that shows less than it did on the last earlier day it was read."""
    new = read_measure(reading, "distance").value
    earlier = [one for one in _odometers(facts) if one[0] < on]
    if not earlier:
        return []
    day, typed, value = max(earlier, key=lambda one: (one[0], one[2]))
    if value <= new:
        return []
    return [Problem("--odometer", f"{reading} is less than {typed} on {day}")]


def less_than_out(went_out: str | None, came_back: str | None) -> list[Problem]:
    """A van that comes back with less on its odometer than it went out with, be it the same day."""
    if not went_out or not came_back:
        return []
    if read_measure(came_back, "distance").value >= read_measure(went_out, "distance").value:
        return []
    return [Problem("--odometer", f"{came_back} is less than the {went_out} it went out with")]


def _odometers(facts: Facts) -> Iterator[tuple[dt.date, str, Decimal]]:
    for odometer in facts.odometers:
        yield odometer.on, odometer.shown, read_measure(odometer.shown, "distance").value
    others: list[Any] = [*facts.checks, *facts.outs, *facts.backs, *facts.defects]
    for record in others:
        if record.odometer:
            yield record.on, record.odometer, read_measure(record.odometer, "distance").value


def _too_early(facts: Facts, on: dt.date) -> list[Problem]:
    registered = fit_outs(facts.stated)[-1][1].facts.first_registered_on
    if registered and on < add_months(registered, -12):
        return [
            Problem(
                "--on", f"{on} is over a year before the van was first registered ({registered})"
            )
        ]
    return []


def _plate(facts: Facts, on: dt.date, plate: str | None) -> list[Problem]:
    if plate is None:
        return []
    ours = None
    for start, fit_out in fit_outs(facts.stated):
        if start <= on or ours is None:
            ours = fit_out.facts.plate
    if ours is not None and _squeezed(ours) == _squeezed(plate):
        return []
    return [Problem("--plate", f'the paper says "{plate}", the van bore "{ours}" on {on}')]


def _squeezed(plate: str) -> str:
    return plate.replace(" ", "").upper()
