"""Likely slips: what may be true and probably is a slip of the pen.

Each is refused with the words that record it anyway: a book that refuses the truth gets kept on
the wall instead.
"""

from __future__ import annotations

import datetime as dt
from decimal import Decimal
from typing import Any

from fleetcare.errors import Problem
from fleetcare.faults.context import Context, fault
from fleetcare.records.facts import Facts
from fleetcare.records.kinds import Check, Fit, Odometer
from fleetcare.records.yard import Back, Out
from fleetcare.rules.kinds import kind_of
from fleetcare.trade.marks import read_mark
from fleetcare.trade.measures import read_measure
from fleetcare.van.odometer import shown_before
from fleetcare.van.said import fit_outs
from fleetcare.windows import add_months, eve_of_months

# How a likely slip is written down all the same; each rim says it in its own words.
ANYWAY = Problem("", 'If it is true, add: --even-so "why"')


def check(within: Context, new: Check) -> list[Problem]:
    """Its day, its certificate, its print, its odometer."""
    found = too_early(within.facts, new.on)
    if new.certificate:
        for van, where in within.others.holders(new.what, new.certificate):
            if van != new.van:
                words = f'"{new.certificate}" is already the certificate of {van} ({where})'
                found += fault("certificate", words)
    found += _figures(within, new) if new.readings else []
    kind = within.rules.checks.get(new.what)
    months = kind.print_limit_months if kind else None
    if months and new.last_day and new.outcome == "pass":
        most = eve_of_months(new.on, months)
        if new.last_day > most:
            words = (
                f"{new.last_day} is more than a test of {new.on} can give: {months} months less "
                f"a day is {most}"
            )
            found += fault("last_day", words)
    return found + (odometer_at(within.facts, new.on, new.odometer) if new.odometer else [])


def _figures(within: Context, new: Check) -> list[Problem]:
    """Figures that say another thing than the check does."""
    rules = within.rules.under(within.van.fit_outs[-1][1].home).rules
    said = [one for rule in rules for one in kind_of(rule).asks_back(rule, new)]
    return [
        problem
        for reading, figure, words in dict.fromkeys(said)
        for problem in fault("readings", words, f'"{reading}={figure}"')
    ]


def fit(within: Context, new: Fit) -> list[Problem]:
    """A component fitted before it was made, or before there was a van."""
    found = too_early(within.facts, new.on)
    kind = within.rules.components.get(new.what)
    if kind and _made_after(new, kind.week_code):
        found += fault("made", f"{new.made} is after the day it was fitted ({new.on})")
    return found


def _made_after(new: Fit, week_code: bool) -> bool:
    """Whether the earliest day a component can be made lies after the day it was fitted."""
    if new.made is None:
        return False
    try:
        made = read_mark(new.made, week_code, new.on)
    except ValueError:
        return False
    return made is not None and made > new.on


def odometer(within: Context, new: Odometer) -> list[Problem]:
    """It shows less than before."""
    return odometer_at(within.facts, new.on, new.shown)


def out(within: Context, new: Out) -> list[Problem]:
    """It goes out with less than it showed before, or days before its hire begins."""
    found = odometer_at(within.facts, new.on, new.odometer) if new.odometer else []
    planned = next((t.planned for t in within.van.trips if t.hire.number == new.hire), None)
    if planned and new.on < planned.from_on:
        days = (planned.from_on - new.on).days
        early = f"{days} {'day' if days == 1 else 'days'} early"
        found += fault("ref", f"{planned.ref} begins {planned.from_on}: it would go {early}")
    return found


def back(within: Context, new: Back) -> list[Problem]:
    """It comes back with less than it showed before, or went out with, be it the same day."""
    if not new.odometer:
        return []
    found = odometer_at(within.facts, new.on, new.odometer)
    went = next((one.odometer for one in within.facts.outs if one.hire == new.hire), None)
    if found or not went or _km(new.odometer) >= _km(went):
        return found
    return fault("odometer", f"{new.odometer} is less than the {went} it went out with")


def odometer_at(facts: Facts, on: dt.date, reading: str) -> list[Problem]:
    """An odometer that shows less than it did on the last earlier day it was read."""
    last = shown_before(facts, on)
    if last is None or last.value <= _km(reading):
        return []
    return fault("odometer", f"{reading} is less than {last.typed} on {last.on}")


def _km(typed: str) -> Decimal:
    return read_measure(typed, "distance").value


def too_early(facts: Facts, on: dt.date) -> list[Problem]:
    """A day long before the van was first registered."""
    registered = fit_outs(facts.stated)[-1][1].facts.first_registered_on
    if registered and on < add_months(registered, -12):
        words = f"{on} is over a year before the van was first registered ({registered})"
        return fault("on", words)
    return []


def plate(facts: Facts, on: dt.date, read: str) -> list[Problem]:
    """The plate on a paper is another than the van bore."""
    ours = None
    for start, fit_out in fit_outs(facts.stated):
        if start <= on or ours is None:
            ours = fit_out.facts.plate
    if ours is not None and _squeezed(ours) == _squeezed(read):
        return []
    return fault("plate", f'the paper says "{read}", the van bore "{ours}" on {on}')


def _squeezed(text: str) -> str:
    return text.replace(" ", "").upper()


def anyway(found: list[Problem], new: Any) -> list[Problem]:
    """Slips with the words that record them all the same; none where the record says so."""
    return [*found, ANYWAY] if found and not getattr(new, "even_so", None) else []
