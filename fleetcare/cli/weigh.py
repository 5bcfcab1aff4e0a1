"""weigh, weighed: what a van carries, and its weighbridge ticket."""

from __future__ import annotations

import datetime as dt
from typing import Any

import click

from fleetcare.cli.app import Settings
from fleetcare.cli.party import takes_party
from fleetcare.cli.words import asks, at_option, even_so, on_option, settings, van_argument, writes
from fleetcare.errors import ExitCode


@click.command()
@van_argument
@takes_party()
@asks()
@settings
def weigh(
    s: Settings, /, van: str, on: dt.date | None, form: str | None, **typed: Any
) -> tuple[str, int]:
    """What it carries with a party aboard, axle by axle, and what to leave behind. Exit 3 unless
    it fits.

    Example: fleetcare --db fleet.db weigh V01 --people 4 --bikes 2 --luggage-kg 120 --water-l 40
    """
    from fleetcare.cli.party import party_of
    from fleetcare.desk import weigh as desk
    from fleetcare.render import plain
    from fleetcare.render import weigh as render
    from fleetcare.reports.weigh import as_json

    report = desk.weigh(s.db, van, party_of(typed), on)
    code = ExitCode.DONE if report.fits == "yes" else ExitCode.NO
    rows = as_json(report)
    if form == "json":
        return plain.as_json(rows), code
    if form == "csv":
        keys = ("what", "value", "limit", "margin", "unit", "says")
        return plain.as_csv(rows["figures"], keys).rstrip("\r\n"), code
    return render.weigh(report), code


@click.command()
@van_argument
@click.option("--front", required=True, metavar="MASS", help="On the front axle, like 1620kg.")
@click.option("--rear", required=True, metavar="MASS", help="On the rear axle.")
@click.option("--tag", metavar="MASS", help="On the tag axle, where there is one.")
@click.option(
    "--as",
    "aboard",
    required=True,
    metavar="WORDS",
    help='What was aboard, like "driver, full fuel, no water, full gas".',
)
@click.option("--by", "name", required=True, metavar="NAME", help="Who had it weighed.")
@click.option("--certificate", metavar="NUMBER", help="Number of the ticket.")
@click.option(
    "--paper", "papers", multiple=True, metavar="FILE", help="Its scan or photo: PDF, PNG or JPEG."
)
@on_option("The day it was weighed; today if not given.")
@at_option
@even_so
@writes
@settings
def weighed(
    s: Settings,
    /,
    van: str,
    front: str,
    rear: str,
    tag: str | None,
    aboard: str,
    name: str,
    dry_run: bool,
    **said: Any,
) -> list[str]:
    """Write down a weighbridge ticket: each axle, and what was aboard. What is not said to have
    been aboard is counted on top.

    Example: fleetcare --db fleet.db weighed V01 --front 1620kg --rear 1840kg --by "C. Jones"
    --as "driver, full fuel, no water, full gas"
    """
    from fleetcare.desk import weigh as desk

    axles = [("front", front), ("rear", rear), ("tag", tag)]
    masses = tuple((axle, mass) for axle, mass in axles if mass is not None)
    ticket = desk.Ticket(masses, aboard, name, **said)
    return desk.weighed(s.db, s.by, van, ticket, dry_run=dry_run)


COMMANDS = {"weigh": weigh, "weighed": weighed}
