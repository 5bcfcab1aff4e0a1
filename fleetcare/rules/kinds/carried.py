"""What is aboard besides what was weighed: people, luggage, water, fuel, gas, rack and bikes.

The base is the last weighbridge ticket, else the plated mass in running order, in which stand the
driver, the fuel and full gas bottles (EU 1230/2012 Art 2(4); the gas by EN 1646-2, second-hand).
"""

from __future__ import annotations

import datetime as dt
from decimal import Decimal
from typing import NamedTuple

from fleetcare.records.kinds import Check, Fit
from fleetcare.rules.kinds.case import Case
from fleetcare.rules.reads import checks_for
from fleetcare.trade.axles import read_position
from fleetcare.trade.measures import read_measure
from fleetcare.van.places import key_of, stay_at, stay_on


class Carried(NamedTuple):
    """One load: its mass, the fact (or the thing) that says where it sits, and from where to where
    that may be; None where nobody said."""

    kg: Decimal
    says: str
    at_mm: Decimal | None = None
    to_mm: Decimal | None = None  # where it may as well be; None: at the same place


class Sum(NamedTuple):
    """Everything the figures of a day are made of; without what is unsaid or lacking some mass of
    it is not known."""

    weighed: Check | None
    carried: tuple[Carried, ...]
    unsaid: tuple[str, ...] = ()  # facts of the van
    lacking: tuple[str, ...] = ()  # what the weighing or the party leaves open


def aboard(case: Case, day: dt.date) -> Sum:
    """All of it on a day, beside the ticket that is then the last."""
    # A ticket weighs what it weighs, passed or failed; one by nobody named only makes for doubt.
    tickets = [c for c in checks_for(case.van, case.rule) if c.on <= day]
    ticket = tickets[-1] if tickets else None
    carried, unsaid, lacking = [], [], []
    parts = (_people(case, ticket), _taken(case, ticket), _rack(case, day, ticket))
    for loads, facts, marks in parts:
        carried += loads
        unsaid += facts
        lacking += marks
    if ticket is not None and ticket not in case.passes and ticket.outcome != "fail":
        lacking.append("name")
    tag = ticket is not None and weighed_kg(ticket, "weighed-tag") is not None
    if tag and case.fit_out.facts.axles not in (None, "tag"):
        lacking.append("tag")
    return Sum(ticket, tuple(c for c in carried if c.kg), tuple(unsaid), tuple(lacking))


Part = tuple[list[Carried], list[str], list[str]]


def _people(case: Case, ticket: Check | None) -> Part:
    """The driver, where not weighed aboard, and who rides along."""
    party, one = case.party, Decimal(case.terms["person_kg"])
    lacking = [] if party.people or not party.says_load else ["people"]
    beside = (party.people or 1) - 1
    driver = ticket is not None and _read(ticket, "weighed-driver") != "aboard"
    front, rear = _at(case, one, "front_seats_at"), _at(case, one, "rear_seats_at")
    carried = [front] if driver else []
    if beside:  # the first may ride in front or behind
        known = front.at_mm is not None and rear.at_mm is not None
        carried.append(front._replace(to_mm=rear.at_mm) if known else rear._replace(at_mm=None))
    carried.append(rear._replace(kg=max(beside - 1, 0) * one))
    return carried, [], lacking


def _taken(case: Case, ticket: Check | None) -> Part:
    """Luggage, water, fuel and gas, as far as they were not weighed with the van. A plated mass in
    running order holds fuel and gas; what water it holds differs, so none is taken for granted."""
    party, facts = case.party, case.fit_out.facts
    carried = [_at(case, party.luggage_kg or Decimal(0), "luggage_at")]
    unsaid: list[str] = []
    said = (("luggage", party.luggage_kg), ("water", party.water_l))
    lacking = [name for name, figure in said if figure is None and party.says_load]
    before = _litres(ticket)
    asked = (
        party.water_l if party.water_l is not None else (before if party.says_load else Decimal(0))
    )
    carried.append(_at(case, asked - before, "water_tank_at"))
    if ticket is not None and _read(ticket, "weighed-fuel") != "full":
        if party.fuel_l is not None:
            carried.append(Carried(party.fuel_l * Decimal(case.terms["fuel_kg_per_l"]), "fuel"))
        else:
            lacking.append("fuel")
    if ticket is not None and _read(ticket, "weighed-gas") != "full" and facts.lpg is not False:
        if facts.gas_mass is not None:
            carried.append(Carried(read_measure(facts.gas_mass, "mass").value, "gas"))
        else:
            unsaid.append("gas_mass")
    return carried, unsaid, lacking


def _rack(case: Case, day: dt.date, ticket: Check | None) -> Part:
    """The bikes, where the rack is; and the rack itself where it came since the weighing."""
    carried, lacking = [], []
    bikes, every = case.party.bikes_kg, case.van.stays(case.rule.over or "")
    for place, stays in every.items():
        stay = stay_on(stays, day)
        was = stay_at(every, place, key_of(ticket)) if ticket else stay
        now, then = (one.fit if one else None for one in (stay, was))
        if now is not None:
            carried.append(Carried(bikes, "rack", _behind(now)))
            bikes = Decimal(0)  # all of them on the first
        for rack, sign in ((now, 1), (then, -1)):  # what was weighed is taken off again
            if rack is None or now is then:
                continue
            if rack.own_mass is None:
                lacking.append("rack")
            else:
                kg = read_measure(rack.own_mass, "mass").value
                carried.append(Carried(sign * kg, "rack", _behind(rack)))
    carried.append(Carried(bikes, "rack"))
    return carried, [], lacking


def _behind(rack: Fit) -> Decimal | None:
    return read_measure(rack.behind_rear_axle, "length").value if rack.behind_rear_axle else None


def _at(case: Case, kg: Decimal, fact: str) -> Carried:
    said = case.fit_out.get(fact)
    return Carried(kg, fact, read_position(said) if said is not None else None)


def _read(check: Check, what: str) -> str | None:
    return next((r.figure for r in check.readings if r.what == what), None)


def weighed_kg(check: Check, what: str) -> Decimal | None:
    """What a ticket read of an axle; None where it did not."""
    figure = _read(check, what)
    return read_measure(figure, "mass").value if figure is not None else None


def _litres(check: Check | None) -> Decimal:
    figure = _read(check, "weighed-water") if check else None
    return read_measure(figure, "volume").value if figure is not None else Decimal(0)
