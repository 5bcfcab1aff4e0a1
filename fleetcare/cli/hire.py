"""hire."""

from __future__ import annotations

import datetime as dt

import click

from fleetcare.cli.app import Settings
from fleetcare.cli.words import COUNT, DAY, settings


@click.group()
def hire() -> None:
    """Bookings."""


@hire.command("add")
@click.argument("van")
@click.option("--from", "start", required=True, type=DAY, help="Collection day.")
@click.option("--through", required=True, type=DAY, help="Return day.")
@click.option("--ref", required=True, help="The booking's reference; no names.")
@click.option("--bikes", type=COUNT, default=0, help="Ordinary bikes.")
@click.option("--electric-bikes", type=COUNT, default=0, help="E-bikes.")
@click.option("--bike-kg", multiple=True, help="Mass of a bike that was weighed, in kg.")
@click.option("--dry-run", is_flag=True, help="Say what would change and write nothing.")
@settings
def hire_add(
    s: Settings,
    /,
    van: str,
    start: dt.date,
    through: dt.date,
    ref: str,
    bikes: int,
    electric_bikes: int,
    bike_kg: tuple[str, ...],
    dry_run: bool,
) -> None:
    """Add a booking and hear what must be done first. A clash is refused.

    Example: fleetcare --db fleet.db hire add V01 --from 2027-07-03 --through 2027-07-17 --ref H1
    """
    from fleetcare.cli.party import party_of
    from fleetcare.desk import hires
    from fleetcare.records.kinds import Hire
    from fleetcare.render import text

    party = party_of(bikes, electric_bikes, bike_kg)
    booking = Hire(0, van, ref, start, through, bikes, electric_bikes, party.weighed_kg or None)
    lines, report = hires.hire_add(s.db, s.by, van, booking, dry_run=dry_run)
    for line in (*lines, "", text.hire(report)):
        click.echo(line)


COMMANDS = {"hire": hire}
