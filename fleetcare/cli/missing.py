"""missing: what stands between a van and yes."""

from __future__ import annotations

import datetime as dt
from typing import Any

import click

from fleetcare.cli.app import Settings
from fleetcare.cli.words import asks, settings, vans_beginning
from fleetcare.errors import ExitCode

_KEYS = ("van", "rule", "place", "group", "if", "command")


@click.command()
@click.argument("van", required=False, shell_complete=vans_beginning)
@asks()
@settings
def missing(
    s: Settings, /, van: str | None, on: dt.date | None, form: str | None
) -> tuple[str, int]:
    """What must be written down before a van may go, each with its command; of the whole fleet
    where no van is named. Exit 3 while anything is missing.

    Example: fleetcare --db fleet.db missing V01
    """
    from fleetcare.desk import missing as desk
    from fleetcare.render import missing as render
    from fleetcare.render import plain
    from fleetcare.reports.missing import as_json

    found = desk.missing(s.db, van, on)
    code = ExitCode.NO if any(one.items or one.stops for one in found) else ExitCode.DONE
    if form is None:
        return render.missing(found), code
    rows: list[Any] = [as_json(one) for one in found]
    if form == "json":
        return plain.as_json(rows[0] if van is not None else rows), code
    lines = [{"van": row["van"], **item} for row in rows for item in row["items"]]
    return plain.as_csv(lines, _KEYS).rstrip("\r\n"), code


COMMANDS = {"missing": missing}
