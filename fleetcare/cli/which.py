"""which: the vans that can go."""

from __future__ import annotations

import datetime as dt
from typing import Any

import click

from fleetcare.cli.app import Settings
from fleetcare.cli.party import takes_party, takes_wish, wish_of
from fleetcare.cli.words import DAY, asks, settings
from fleetcare.errors import ExitCode


class Between(click.ParamType[tuple[dt.date, dt.date]]):
    """Two days with two dots between, the second not before the first."""

    name = "D..D"

    def convert(self, value: Any, param: Any, ctx: Any) -> tuple[dt.date, dt.date]:
        """The days; a usage error for anything else."""
        if isinstance(value, tuple):
            return value
        first, dots, last = str(value).partition("..")
        if not dots:
            self.fail(f'"{value}" is not two days: type 2027-05-01..2027-05-31', param, ctx)
        days = (DAY.convert(first, param, ctx), DAY.convert(last, param, ctx))
        if days[1] < days[0]:
            self.fail(f"{last} is before {first}", param, ctx)
        return days


@click.command()
@click.option("--from", "start", type=DAY, help="Collection day.")
@click.option("--through", type=DAY, help="Return day.")
@click.option("--nights", type=click.IntRange(0, 92), help="How long, where the days are open.")
@click.option("--within", type=Between(), help="The days it must lie in, at most 92.")
@takes_party()
@takes_wish
@click.option("--ref", help="A booking: its days and party, asked of every van.")
@click.option("--most", type=click.IntRange(1, 500), default=5, help="Vans told of each sort.")
@asks("The first day work can be done; today if not given.")
@settings
def which(
    s: Settings,
    /,
    start: dt.date | None,
    through: dt.date | None,
    nights: int | None,
    within: tuple[dt.date, dt.date] | None,
    ref: str | None,
    most: int,
    on: dt.date | None,
    form: str | None,
    **typed: Any,
) -> tuple[str, int]:
    """Which vans can go, best first. Exit 3 when none can.

    Example: fleetcare --db fleet.db which --from 2027-05-01 --through 2027-05-08 --people 4
    """
    from fleetcare.cli.party import party_of
    from fleetcare.desk import which as desk
    from fleetcare.desk.calls import Question
    from fleetcare.render import plain
    from fleetcare.render import which as render
    from fleetcare.reports.which import as_json

    if (nights is None) != (within is None):
        raise click.UsageError("--nights and --within go together: so many nights within some days")
    if nights is not None and (start or through or ref):
        raise click.UsageError("say the days, or --nights and --within; not both")
    open_ = desk.Open(nights, *within) if nights is not None and within else None
    question = Question(start, through, party_of(typed), on, ref)
    report = desk.which(s.db, desk.Call(question, open_, wish_of(typed), most))
    code = ExitCode.DONE if report.can else ExitCode.NO
    if form == "json":
        return plain.as_json(as_json(report)), code
    if form == "csv":
        rows = [{"van": r.van, "bookable": r.bookable, "jobs": len(r.to_do)} for r in report.can]
        return plain.as_csv(rows, ("van", "bookable", "jobs")).rstrip("\r\n"), code
    return render.which(report), code


COMMANDS = {"which": which}
