"""work: vans booked in with a workshop."""

from __future__ import annotations

import datetime as dt

import click

from fleetcare.cli.app import Settings
from fleetcare.cli.words import DAY, asks, even_so, settings, van_argument, writes
from fleetcare.errors import ExitCode


@click.group()
def work() -> None:
    """Vans booked in with a workshop, and what one visit could do."""


@work.command("book")
@van_argument
@click.argument("words", required=False)
@click.option("--from", "start", required=True, type=DAY, help="First day in the workshop.")
@click.option("--through", type=DAY, help="Last day there; the first day if not given.")
@click.option("--where", required=True, help="Which workshop.")
@click.option("--for", "jobs", multiple=True, metavar="RULE", help="What is done; say it again.")
@click.option("--parts", metavar="WORDS", help="Parts on order for it.")
@click.option("--parts-due", type=DAY, help="The day they come.")
@even_so
@writes
@settings
def work_book(
    s: Settings,
    /,
    van: str,
    words: str | None,
    start: dt.date,
    through: dt.date | None,
    where: str,
    jobs: tuple[str, ...],
    parts: str | None,
    parts_due: dt.date | None,
    even_so: str | None,
    dry_run: bool,
) -> list[str]:
    """Book a van in: it goes on no hire on these days, and Monday's list says so.

    Example: fleetcare --db fleet.db work book V01 --from 2027-03-01 --through 2027-03-02
    --where "Fell Motors" --for chassis --for brake-fluid
    """
    from fleetcare.desk import work as desk
    from fleetcare.records.yard import Visit

    visit = Visit(
        0, van, start, through or start, where, jobs or None, words, parts, parts_due, even_so
    )
    return desk.book(s.db, s.by, visit, dry_run=dry_run)


@work.command("list")
@asks()
@settings
def work_list(s: Settings, /, on: dt.date | None, form: str | None) -> tuple[str, int]:
    """The visits to come, and what falls due besides: as one visit where one can do it.

    Example: fleetcare --db fleet.db work list
    """
    from fleetcare.desk import work as desk
    from fleetcare.render import plain
    from fleetcare.render import work as render
    from fleetcare.reports.work import as_json

    found = desk.listed(s.db, on)
    if form is None:
        return render.workshops(found), ExitCode.DONE
    rows = [as_json(one) for one in found]
    if form == "json":
        return plain.as_json(rows), ExitCode.DONE
    visits = [
        {"van": row["van"], **visit, "for": ", ".join(visit["for"])}
        for row in rows
        for visit in row["visits"]
    ]
    keys = ("van", "record", "from", "through", "where", "for", "parts", "parts_due")
    return plain.as_csv(visits, keys).rstrip("\r\n"), ExitCode.DONE


COMMANDS = {"work": work}
