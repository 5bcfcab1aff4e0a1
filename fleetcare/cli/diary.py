"""diary: the fleet along the weeks."""

from __future__ import annotations

import datetime as dt

import click

from fleetcare.cli.app import Settings
from fleetcare.cli.words import as_file, asks, settings
from fleetcare.errors import ExitCode


@click.command()
@click.option("--weeks", type=click.IntRange(1, 11), default=6, help="How many; 6 if not given.")
@asks()
@settings
def diary(
    s: Settings, /, weeks: int, on: dt.date | None, form: str | None
) -> tuple[str | bytes, int]:
    """A row a van: hires, days in the workshop, what lapses; on paper with -o diary.pdf.

    Example: fleetcare --db fleet.db diary --weeks 8
    """
    from fleetcare.desk import diary as desk
    from fleetcare.render import diary as render
    from fleetcare.render import plain
    from fleetcare.reports.diary import row_json

    found = desk.diary(s.db, on, weeks)
    if as_file(".pdf"):
        return desk.paper(found), ExitCode.DONE
    if form == "json":
        return plain.as_json([row_json(row, found.on) for row in found.rows]), ExitCode.DONE
    if form == "csv":
        rows = [{"van": row.van, "days": row.marks} for row in found.rows]
        return plain.as_csv(rows, ("van", "days")).rstrip("\r\n"), ExitCode.DONE
    return render.diary(found.on, found.rows, found.known_at), ExitCode.DONE


COMMANDS = {"diary": diary}
