"""Likely slips: what may be true and probably is a slip of the pen.

Each is refused with the words that record it anyway: a book that refuses the truth gets kept on
the wall instead.
"""

from __future__ import annotations

import datetime as dt
from decimal import Decimal
from typing import Any

from fleetcare.errors import Problem, an, near
from fleetcare.faults.context import Context, fault
from fleetcare.faults.hires import over
from fleetcare.records.facts import Facts
from fleetcare.records.kinds import Check, Fit, Hire, Odometer, Reading, VanFacts
from fleetcare.records.yard import Back, Out, Visit
from fleetcare.things import WEIGHED, all_hold, holds, unusual
from fleetcare.trade.axles import read_position
from fleetcare.trade.marks import read_mark
from fleetcare.trade.measures import read_measure
from fleetcare.van.odometer import shown_after, shown_before
from fleetcare.van.said import fit_outs
from fleetcare.van.van import SUPPOSED
from fleetcare.windows import add_months, eve_of_months
from fleetcare.words.days import day_words

# How a likely slip is written down all the same; each rim says it in its own words.
ANYWAY = Problem("", 'If it is true, add: --even-so "why"')


def check(within: Context, new: Check) -> list[Problem]:
    """Its day, its certificate, its print, its odometer."""
    found = too_early(within.facts, new.on)
    found += _asked_by_nobody(within, new)
    if new.certificate:
        named = (new.what, new.certificate)
        for other in (c for c in within.facts.checks if (c.what, c.certificate) == named):
            words = (
                f'"{new.certificate}" is the certificate of #{other.number} of {other.on} already'
            )
            found += fault("certificate", words)
        for van, where in within.others.holders(new.what, new.certificate):
            if van != new.van:
                words = f'"{new.certificate}" is already the certificate of {van} ({where})'
                found += fault("certificate", words)
    found += _figures(within, new) if new.readings else []
    kind = within.rules.checks.get(new.what)
    months = kind.print_limit_months if kind else None
    if months and kind and new.last_day and new.outcome == "pass":
        begins = new.from_on or new.on
        most = eve_of_months(begins, months)
        if new.last_day > most:
            what = "a paper from" if kind.paper else "a test of"
            words = (
                f"{new.last_day} is more than {what} {begins} can give: {months} months less "
                f"a day is {most}"
            )
            found += fault("last_day", words)
    return found + (odometer_at(within.facts, new.on, new.odometer) if new.odometer else [])


def _asked_by_nobody(within: Context, new: Check) -> list[Problem]:
    """A check that no rule asks for of the van as it was said to be: a gas check without LPG."""
    fit_out = within.van.fit_outs[-1][1]
    rules = within.rules.under(fit_out.home).fed_by.get(new.what, ())
    spared = [c for rule in rules for c in rule.when if holds(c, fit_out.get(c.name)) is False]
    if not rules or not all(all_hold(rule.when, fit_out.get) is False for rule in rules):
        return []
    facts = within.rules.facts
    said = ", ".join(dict.fromkeys(facts[c.name].title for c in spared if c.name in facts))
    title = within.rules.checks[new.what].title
    words = f"{title}: no rule asks for it of {new.van} as it was said to be ({said})"
    return fault("what", words)


def _figures(within: Context, new: Check) -> list[Problem]:
    """Figures that say another thing than the check does, or are none of a motorhome's."""
    said = within.rules.asks_back(within.van.fit_outs[-1][1].home, new)
    for reading in new.readings:
        kind = within.rules.readings.get(reading.what)
        words = (
            unusual(reading.figure, kind.dimension, kind.usual) if kind and kind.dimension else None
        )
        words = words or _over_plate(within, reading)
        said += [(reading.what, reading.figure, words)] if words else []
    return [
        problem
        for reading, figure, words in dict.fromkeys(said)
        for problem in fault("readings", words, f'"{reading}={figure}"')
    ]


def _over_plate(within: Context, reading: Reading) -> str | None:
    """An axle weighed at far more than its plate: a digit out of place, more likely than a load."""
    plate = within.van.fit_outs[-1][1].get(WEIGHED.get(reading.what, ""))
    if plate is None:
        return None
    read, plated = (read_measure(one, "mass").value for one in (reading.figure, plate))
    if read <= plated * _OVER:
        return None
    return f"{reading.figure} is over a quarter more than the {plate} plated"


_OVER = Decimal("1.25")  # common practice, no source


def hire(within: Context, new: Hire) -> list[Problem]:
    """A booking whose last day is over."""
    return over(within, new.through_on)


def visit(within: Context, new: Visit) -> list[Problem]:
    """Days that are over, days on which the van is booked, parts that come too late."""
    found = over(within, new.through_on)
    for trip in within.van.trips:
        if trip.hire.from_on <= new.through_on and new.from_on <= trip.hire.through_on:
            booked = f"{new.van} is booked as {trip.hire.ref}, {day_words(trip.hire.from_on)}"
            words = f"{booked} to {day_words(trip.hire.through_on)} (#{trip.hire.number})"
            found += fault("from_on", words)
    if new.parts_due_on and new.parts_due_on > new.from_on:
        words = f"{new.parts_due_on} is after the van comes in ({new.from_on})"
        found += fault("parts_due_on", words)
    return found


def fit(within: Context, new: Fit) -> list[Problem]:
    """A component fitted before it was made, or before there was a van."""
    found = too_early(within.facts, new.on)
    kind = within.rules.components.get(new.what)
    if kind and all_hold(kind.when, within.van.fit_outs[-1][1].get) is False:
        facts = within.rules.facts
        said = ", ".join(facts[c.name].title for c in kind.when if c.name in facts)
        no_place = f"{new.van} was said to have no place for {an(kind.title)} ({said})"
        found += fault("what", no_place)
    stated = within.van.fit_outs[-1][1].places.get(new.what)
    if kind and stated and new.place not in (*stated, *within.van.stays(new.what)):
        no_place = f'"{new.place}" is none of the places said for {kind.title}: '
        found += fault("place", f"{no_place}{', '.join(stated)}.{near(new.place, stated)}")
    if kind and _made_after(new, kind.week_code):
        found += fault("made", f"{new.made} is after the day it was fitted ({new.on})")
    read = within.rules.readings.get("pressure")
    if new.cold_pressure and read:
        words = unusual(new.cold_pressure, "pressure", read.usual)
        found += fault("cold_pressure", words) if words else []
    return found


def statement(within: Context, new: VanFacts) -> list[Problem]:
    """Figures no motorhome has, masses that do not go together, a name that is nearly another's."""
    found = []
    for name, fact in within.rules.facts.items():
        typed = getattr(new, name, None)
        words = unusual(typed, fact.holds, fact.usual) if typed and fact.usual else None
        found += fault(name, words) if words else []
    found += _rewritten(within.facts, new)
    if not within.facts.stated:
        beside = [v for v in within.others.vans() if v.casefold() == new.van.casefold()]
        found += fault("van", f'"{beside[0]}" is in the fleet already') if beside else []
    if new.plate:
        borne = {
            v for v, plate in within.others.plates() if _squeezed(plate) == _squeezed(new.plate)
        }
        for van in sorted(borne - {new.van}):
            found += fault("plate", f'"{new.plate}" is the plate of {van} already')
    last = new._replace(number=new.number or SUPPOSED)  # said last, though not written down yet
    said = fit_outs([*within.facts.stated, last])[-1][1].facts
    return found + _masses(said, new) + _belts(said, new) + _seats(said, new)


def _seats(said: VanFacts, new: VanFacts) -> list[Problem]:
    """Seats in front that are behind the rear axle, or ahead of the cab."""
    typed = new.front_seats_at
    if typed is None:
        return []
    ahead = -read_position(typed)
    if ahead <= 0:
        return fault("front_seats_at", f"{typed} the rear axle is no place for the front seats")
    if said.wheelbase and ahead > read_measure(said.wheelbase, "length").value + _CAB_MM:
        words = f"{typed} is ahead of the cab: the wheelbase is {said.wheelbase}"
        return fault("front_seats_at", words)
    return []


_CAB_MM = 800  # and no front seat is farther ahead of the front axle: common practice, no source


def _belts(said: VanFacts, new: VanFacts) -> list[Problem]:
    """More seats with a belt than seats."""
    if (new.seats, new.belted_seats) == (None, None) or said.seats is None:
        return []
    if said.belted_seats is None or said.belted_seats <= said.seats:
        return []
    return fault("belted_seats", f"{said.belted_seats} of {said.seats} seats")


_SAID_BY_NAME = ("number", "van", "on", "places", "has", "even_so")


def _rewritten(facts: Facts, new: VanFacts) -> list[Problem]:
    """What was said from the van's beginning and is now said otherwise from there: last year's
    answers would change without a word."""
    if new.on is not None:
        return []
    found = []
    for name in (one for one in VanFacts._fields if one not in _SAID_BY_NAME):
        earlier = [s for s in facts.stated if s.on is None and getattr(s, name) is not None]
        value = getattr(new, name)
        if not earlier or value is None or getattr(earlier[-1], name) == value:
            continue
        was, number = _plain(getattr(earlier[-1], name)), earlier[-1].number
        words = f"{_plain(value)} would stand from the van's beginning, where {was} was said "
        found += fault(name, f"{words}(#{number}): say from which day with --on")
    return found


def _plain(value: Any) -> str:
    if isinstance(value, bool):
        return "yes" if value else "no"
    return str(value)


_AXLES = ("front_axle_mass", "rear_axle_mass", "tag_axle_mass")


def _masses(said: VanFacts, new: VanFacts) -> list[Problem]:
    """A maximum mass over what the axles may bear together, or no more than the van weighs."""
    named = ("max_mass", "running_order_mass", "axles", *_AXLES)
    if said.max_mass is None or not any(getattr(new, name) is not None for name in named):
        return []
    most, axles = _kg(said.max_mass), [getattr(said, name) for name in _AXLES]
    found = []
    both = None not in axles[:2]
    if both and (axles[2] is not None or said.axles in ("single", "dual-rear")):
        borne = sum((_kg(axle) for axle in axles if axle is not None), Decimal(0))
        if most > borne:
            words = f"{said.max_mass} is more than the axles together: {borne.normalize():f} kg"
            found += fault("max_mass", words)
    weighs = said.running_order_mass
    if weighs is not None and _kg(weighs) >= most:
        words = f"{weighs} leaves nothing to load of {said.max_mass}"
        found += fault("running_order_mass", words)
    return found


def _kg(typed: str) -> Decimal:
    return read_measure(typed, "mass").value


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
    """An odometer that shows less than on the last day it was read, far too much more, or more
    than on the next."""
    after = shown_after(facts, on)
    if after is not None and _km(reading) > after.value:
        return fault("odometer", f"{reading} is more than {after.typed} on {after.on}")
    last = shown_before(facts, on)
    if last is None:
        return []
    driven = _km(reading) - last.value
    if driven < 0:
        return fault("odometer", f"{reading} is less than {last.typed} on {last.on}")
    if driven > _MOST_KM_A_DAY * (on - last.on).days:
        words = f"{reading} is over {_MOST_KM_A_DAY} km a day more than {last.typed} on {last.on}"
        return fault("odometer", words)
    return []


_MOST_KM_A_DAY = 1500  # common practice, no source: two drivers, a day and a night


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
