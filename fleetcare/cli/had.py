"""who-had: for a charge notice."""

from __future__ import annotations

import datetime as dt
import re
from typing import Any

import click

from fleetcare.cli.app import Settings
from fleetcare.cli.words import DAY, settings, van_argument
from fleetcare.errors import ExitCode

_MOMENT = re.compile(r"(\d{4}-\d{2}-\d{2})(?:[T ]((?:[01]\d|2[0-3]):[0-5]\d))?")


class Moment(click.ParamType[tuple[dt.date, str | None]]):
    """A day, or a day and a time by the clock of the place, as a notice gives it."""

    name = "YYYY-MM-DDTHH:MM"

    def convert(self, value: Any, param: Any, ctx: Any) -> tuple[dt.date, str | None]:
        """Day and time; a usage error for anything else."""
        if isinstance(value, tuple):
            return value
        found = _MOMENT.fullmatch(str(value))
        if not found:
            self.fail(f'"{value}" is not a moment: type it like 2026-11-14T15:20', param, ctx)
        return DAY.convert(found[1], param, ctx), found[2]


@click.command("who-had")
@van_argument
@click.option("--at", "moment", type=Moment(), required=True, help="As the notice gives it.")
@click.option("--json", "form", flag_value="json", help="Print JSON.")
@settings
def who_had(s: Settings, /, van: str, moment: tuple[dt.date, str | None], form: str | None) -> None:
    """Which hire had a van at a moment, by its release and return. Exit 3 where none had.

    Example: fleetcare --db fleet.db who-had V05 --at 2026-11-14T15:20
    """
    from fleetcare.desk import had as desk
    from fleetcare.render import plain

    found = desk.who_had(s.db, van, *moment)
    when = " ".join(str(part) for part in moment if part)
    if form == "json":
        click.echo(plain.as_json([one._asdict() for one in found]))
    for one in () if form else found:
        sure = "" if one.sure == "yes" else "perhaps "
        click.echo(f"{van} at {when}: {sure}{one.ref}. Out {one.out}; back {one.back}.")
    if not found:
        if not form:
            click.echo(f"{van} at {when}: with no hire that is in the book.")
        click.get_current_context().exit(ExitCode.NO)


COMMANDS = {"who-had": who_had}
