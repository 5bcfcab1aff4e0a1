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
@click.option("--sheet", is_flag=True, help="As a workbook to fill and read back, with -o.")
@asks()
@settings
def missing(
    s: Settings, /, van: str | None, sheet: bool, on: dt.date | None, form: str | None
) -> tuple[str | bytes, int]:
    """What must be written down before a van may go, each with its command; of the whole fleet
    where no van is named. Exit 3 while anything is missing.

    Example: fleetcare --db fleet.db missing V01
    """
    from fleetcare.desk import missing as desk
    from fleetcare.render import missing as render
    from fleetcare.render import plain
    from fleetcare.reports.missing import as_json

    found = desk.missing(s.db, van, on)
    if sheet:
        if not click.get_current_context().params.get("output"):
            raise click.UsageError("--sheet is a workbook: name its file with -o todo.xlsx")
        return desk.sheet(s.db, found), ExitCode.DONE
    code = ExitCode.NO if any(one.items or one.stops for one in found) else ExitCode.DONE
    if form is None:
        return render.missing(found), code
    rows: list[Any] = [as_json(one) for one in found]
    if form == "json":
        return plain.as_json(rows[0] if van is not None else rows), code
    lines = [{"van": row["van"], **item} for row in rows for item in row["items"]]
    return plain.as_csv(lines, _KEYS).rstrip("\r\n"), code


COMMANDS = {"missing": missing}
