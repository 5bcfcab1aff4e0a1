"""What a van carries: asked for a party, and the weighbridge ticket it is reckoned from."""

from __future__ import annotations

import datetime as dt
from decimal import Decimal
from typing import NamedTuple

from fleetcare import clock
from fleetcare.desk import checks
from fleetcare.desk.asking import asking
from fleetcare.desk.checks import Done
from fleetcare.errors import Problem, Refused
from fleetcare.intake.aboard import read_aboard, unread
from fleetcare.reports.weigh import Weigh, weigh_report
from fleetcare.rules.party import Party


def weigh(place: str, van: str, party: Party, on: dt.date | None) -> Weigh:
    """Each figure with this party aboard; what it does not say that it brings, it brings none of,
    and the fuel is as it was weighed."""
    none = Decimal(0)
    party = party._replace(luggage_kg=party.luggage_kg or none, water_l=party.water_l or none)
    with asking(place) as asked:
        report: Weigh = asked.filled(weigh_report(asked.judged(van), party, on or clock.today()))
        return report


class Ticket(NamedTuple):
    """A weighbridge ticket as typed: what stood on each axle, and what was aboard in words."""

    axles: tuple[tuple[str, str], ...]  # front, rear, tag, each with its mass
    aboard: str
    by: str
    on: dt.date | None = None
    at: str | None = None
    certificate: str | None = None
    papers: tuple[str, ...] = ()
    even_so: str | None = None


def weighed(place: str, by: str, van: str, ticket: Ticket, *, dry_run: bool = False) -> list[str]:
    """Write a ticket down, as the check it is. Returns what to print."""
    aboard, faults = read_aboard(ticket.aboard)
    for axle, mass in ticket.axles:
        faults += unread(mass, "mass", axle)
    if faults:
        raise Refused(faults)
    readings = [f"weighed-{axle}={mass}" for axle, mass in ticket.axles]
    readings += [f"{one.what}={one.figure}" for one in aboard]
    done = Done(
        _kind(place), ticket.on, ticket.at, by=ticket.by, certificate=ticket.certificate,
        readings=tuple(readings), even_so=ticket.even_so, papers=ticket.papers,
    )  # fmt: skip
    return checks.record(place, by, van, done, dry_run=dry_run)


def _kind(place: str) -> str:
    """The kind of check a ticket is; refused where the rules adopted know of none."""
    with asking(place) as asked:
        found = next((k.name for k in asked.book.checks.values() if k.weighbridge), None)
    if found is None:
        how = "adopt the program's rules with: fleetcare rules adopt"
        raise Refused([Problem("", f"the rules adopted know of no weighing: {how}")])
    return found
