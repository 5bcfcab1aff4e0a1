"""history, answers: what was in force on a day, and what was answered."""

from __future__ import annotations

import datetime as dt
from typing import Any

import click

from fleetcare.cli.app import Settings
from fleetcare.cli.words import as_known_aside, asks, settings, van_argument
from fleetcare.errors import ExitCode


@click.command()
@van_argument
@as_known_aside
@asks()
@settings
def history(
    s: Settings, /, van: str, on: dt.date | None, known_at: Any, form: str | None
) -> tuple[str, int]:
    """What was in force for a van on a day, on which records, and what is known otherwise now.

    Example: fleetcare --db fleet.db history V01 --on 2026-02-27 --known-at 2026-03-01T12:00:00Z
    """
    from fleetcare import clock
    from fleetcare.desk import history as desk
    from fleetcare.render import history as text
    from fleetcare.render import plain
    from fleetcare.reports.history import as_json

    found = desk.on_day(s.db, van, on or clock.today(), known_at)
    if form == "json":
        return plain.as_json(as_json(found)), ExitCode.DONE
    if form == "csv":
        keys = (
            "rule",
            "place",
            "standing",
            "last_good_day",
            "records",
            "reason",
            "terms",
            "source",
        )
        rows = [row._asdict() | {"records": " ".join(map(str, row.records))} for row in found.rules]
        return plain.as_csv(rows, keys).rstrip("\r\n"), ExitCode.DONE
    return text.history(found), ExitCode.DONE


@click.command()
@van_argument
@click.option("--json", "form", flag_value="json", help="Print JSON.")
@settings
def answers(s: Settings, /, van: str, form: str | None) -> None:
    """The answers kept of a van, and which records changed them since.

    Example: fleetcare --db fleet.db answers V01
    """
    from fleetcare.desk import answers as kept
    from fleetcare.render import history, plain
    from fleetcare.reports.answered import as_json

    rows = kept.answers(s.db, van)
    if form == "json":
        click.echo(plain.as_json([as_json(row) for row in rows]))
    else:
        click.echo(history.answers(rows, van))


COMMANDS: dict[str, click.Command] = {"history": history, "answers": answers}
