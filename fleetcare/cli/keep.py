"""init, export."""

from __future__ import annotations

import datetime as dt
from typing import Any

import click

from fleetcare.cli.app import Settings
from fleetcare.cli.words import as_known, on_option, put_bytes, settings


@click.command()
@settings
def init(s: Settings, /) -> None:
    """Make a book, or bring an older one up to this program.

    Example: fleetcare --db fleet.db init
    """
    from fleetcare.desk import keep

    for line in keep.init(s.db, s.by):
        click.echo(line)


@click.group()
def export() -> None:
    """Papers for others."""


@export.command("insurers")
@on_option("The day the workbook speaks of; today if not given.")
@click.option("-o", "output", metavar="FILE", help="A new file; otherwise insurers-DAY.xlsx here.")
@click.option("--picture", is_flag=True, help="With the fleet along the months beside it, as SVG.")
@click.option(
    "--evidence", multiple=True, metavar="VAN", help="With a sheet of evidence for this van."
)
@as_known
@settings
def insurers(
    s: Settings,
    /,
    on: dt.date | None,
    output: str | None,
    picture: bool,
    evidence: tuple[str, ...],
    known_at: Any,
) -> None:
    """The workbook for insurers: fleet, checks, components, defects and holds, rules.

    Example: fleetcare --db fleet.db export insurers -o insurers.xlsx
    """
    from fleetcare.desk import papers

    name, data = papers.insurers(s.db, on, known_at, evidence)
    put_bytes(data, output or name)
    click.echo(output or name)
    if picture:
        from fleetcare.desk import pictures

        beside = f"{(output or name).removesuffix('.xlsx')}.svg"
        put_bytes(pictures.drawn(s.db, "fleet", on, dots=False), beside)
        click.echo(beside)


@export.command("calendar")
@on_option("The day it is made for; today if not given.")
@click.option("-o", "output", metavar="FILE", help="A new file; otherwise due-DAY.ics here.")
@settings
def calendar(s: Settings, /, on: dt.date | None, output: str | None) -> None:
    """A calendar feed (iCalendar): every last day, and the last free day for the work.

    Example: fleetcare --db fleet.db export calendar -o due.ics
    """
    from fleetcare import clock
    from fleetcare.desk import feeds

    name = output or f"due-{on or clock.today()}.ics"
    put_bytes(feeds.calendar(s.db, on), name)
    click.echo(name)


COMMANDS = {"init": init, "export": export}
