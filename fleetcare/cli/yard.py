"""event, recall: what happened to a van, and what its maker says."""

from __future__ import annotations

import datetime as dt
from typing import Any

import click

from fleetcare.cli.app import Settings
from fleetcare.cli.words import (
    DAY,
    NUMBER,
    VerbOrSet,
    at_option,
    done_on,
    settings,
    van_argument,
    writes,
)


@click.command()
@van_argument
@click.argument("what")
@click.argument("words", required=False)
@done_on("The day it happened; today if not given.")
@at_option
@click.option("--by", "name", metavar="NAME", help="Who says so.")
@click.option("--ref", help="The hire it happened on; the one it is out on if not given.")
@click.option("--where", metavar="PLACE", help="Where the van is from then on.")
@click.option("--told", metavar="WORDS", help="What the hirer was told.")
@click.option("--came", metavar="WHO", help="Who came out to it.")
@writes
@settings
def event(
    s: Settings,
    /,
    van: str,
    what: str,
    words: str | None,
    on: dt.date,
    at: str | None,
    name: str | None,
    ref: str | None,
    where: str | None,
    told: str | None,
    came: str | None,
    dry_run: bool,
) -> list[str]:
    """Write down what happened to a van: a knock, gas work, a wheel off, an alarm that sounded.

    Example: fleetcare --db fleet.db event V01 knock --by "W. Yard" "gatepost, rear left"
    """
    from fleetcare.desk import events
    from fleetcare.records.kinds import Event

    happened = Event(0, van, what, on, at, name, None, words, where, told, came)
    return events.event(s.db, s.by, happened, ref, dry_run=dry_run)


@click.group(cls=VerbOrSet, invoke_without_command=False)
def recall() -> None:
    """Makers' recalls: written down, and closed by the dealer's paper.

    Example: fleetcare --db fleet.db recall V01 R-2026-17 --stop-use "seat belt anchor"
    """


@recall.command("set", hidden=True)
@van_argument
@click.argument("maker_number")
@click.argument("words")
@click.option("--stop-use", is_flag=True, help="Not to be used until it is done.")
@click.option("--do-by", type=DAY, help="Last day it may wait.")
@done_on("The day it came; today if not given.")
@writes
@settings
def recall_set(
    s: Settings,
    /,
    van: str,
    maker_number: str,
    words: str,
    stop_use: bool,
    do_by: dt.date | None,
    on: dt.date,
    dry_run: bool,
) -> list[str]:
    """Write down a recall under the maker's number.

    Example: fleetcare --db fleet.db recall V01 R-2026-17 --do-by 2027-01-31 "software"
    """
    from fleetcare.desk import events
    from fleetcare.records.kinds import Recall

    new = Recall(0, van, maker_number, on, words, stop_use or None, do_by)
    return events.recall(s.db, s.by, new, dry_run=dry_run)


@recall.command("done")
@click.argument("number", type=NUMBER)
@click.option("--by", "name", required=True, metavar="NAME", help="The dealer.")
@click.option("--certificate", required=True, metavar="NUMBER", help="Number of the paper.")
@done_on("The day it was done; today if not given.")
@writes
@settings
def recall_done(
    s: Settings,
    /,
    number: int,
    name: str,
    certificate: str,
    on: dt.date,
    dry_run: bool,
) -> list[str]:
    """Close a recall by the dealer's paper.

    Example: fleetcare --db fleet.db recall done 57 --by "Fell Motors" --certificate W-4411
    """
    from fleetcare.desk import events
    from fleetcare.records.kinds import RecallDone

    done = RecallDone(0, "", number, on, name, certificate)
    return events.recall_done(s.db, s.by, done, dry_run=dry_run)


COMMANDS: dict[str, Any] = {"event": event, "recall": recall}
