"""defect, hold."""

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
from fleetcare.records.kinds import GRADES


@click.group()
def defect() -> None:
    """Defects: reported, rectified, signed off, rechecked."""


@defect.command("report")
@van_argument
@click.argument("words")
@click.option("--grade", required=True, type=click.Choice(GRADES))
@done_on("The day it was found; today if not given.")
@at_option
@click.option("--by", "name", metavar="NAME", help="Who found it.")
@click.option("--recheck-by", type=DAY, help="Last day a minor one may wait; 28 days otherwise.")
@click.option("--about", metavar="WORD", help="What it is of, like tyre-walls, to find repeats.")
@click.option("--ref", help="The hire it was found on; the one it is out on if not given.")
@click.option("--odometer", metavar="READING", help="With its unit, like 42310mi.")
@writes
@settings
def report(
    s: Settings,
    /,
    van: str,
    words: str,
    grade: str,
    on: dt.date,
    at: str | None,
    name: str | None,
    recheck_by: dt.date | None,
    about: str | None,
    ref: str | None,
    odometer: str | None,
    dry_run: bool,
) -> list[str]:
    """Report a defect. Dangerous and major ones stop hire until signed off.

    Example: fleetcare --db fleet.db defect report V01 --grade major "Wiper torn"
    """
    from fleetcare.desk import defects
    from fleetcare.records.kinds import Defect

    found = Defect(0, van, on, grade, words, at, name, None, recheck_by, about, None, odometer)
    return defects.report(s.db, s.by, found, ref, dry_run=dry_run)


@defect.command("repair")
@click.argument("number", type=NUMBER)
@click.argument("words", required=False)
@click.option("--by", "name", required=True, metavar="NAME", help="Who rectified it.")
@click.option("--temporary", is_flag=True, help="Only for the hire it is out on now.")
@done_on("The day it was rectified; today if not given.")
@writes
@settings
def repair(
    s: Settings,
    /,
    number: int,
    words: str | None,
    name: str,
    temporary: bool,
    on: dt.date,
    dry_run: bool,
) -> list[str]:
    """Write down that a defect was rectified. A sign-off releases it; a temporary repair lasts to
    the end of the hire the van is out on.

    Example: fleetcare --db fleet.db defect repair 57 --by "B. Smith" "new wiper"
    """
    from fleetcare.desk import defects
    from fleetcare.records.kinds import Repair

    done = Repair(0, "", number, on, name, words, temporary or None)
    return defects.repair(s.db, s.by, done, dry_run=dry_run)


@defect.command("sign-off")
@click.argument("number", type=NUMBER)
@click.argument("words", required=False)
@click.option("--by", "name", required=True, metavar="NAME", help="Who releases it.")
@done_on("The day it was signed off; today if not given.")
@at_option
@writes
@settings
def sign_off(
    s: Settings,
    /,
    number: int,
    words: str | None,
    name: str,
    on: dt.date,
    at: str | None,
    dry_run: bool,
) -> list[str]:
    """Release a defect; "no fault found" is a sign-off with words.

    Example: fleetcare --db fleet.db defect sign-off 57 --by "C. Jones"
    """
    from fleetcare.desk import defects
    from fleetcare.records.kinds import SignOff

    done = SignOff(0, "", number, on, at, None, name, words)
    return defects.sign_off(s.db, s.by, done, dry_run=dry_run)


@defect.command("recheck")
@click.argument("number", type=NUMBER)
@click.argument("words", required=False)
@click.option("--by", "name", required=True, metavar="NAME", help="Who looked at it.")
@click.option("--next", "next_on", required=True, type=DAY, help="Last day it may wait now.")
@done_on("The day it was looked at; today if not given.")
@writes
@settings
def recheck(
    s: Settings,
    /,
    number: int,
    words: str | None,
    name: str,
    next_on: dt.date,
    on: dt.date,
    dry_run: bool,
) -> list[str]:
    """A minor or advisory defect looked at again; it may wait until a new day.

    Example: fleetcare --db fleet.db defect recheck 57 --by "B. Smith" --next 2026-12-01
    """
    from fleetcare.desk import defects
    from fleetcare.records.kinds import Recheck

    done = Recheck(0, "", number, on, next_on, name, words)
    return defects.recheck(s.db, s.by, done, dry_run=dry_run)


@click.group(cls=VerbOrSet, invoke_without_command=False)
def hold() -> None:
    """Take a van off hire, or lift a hold.

    Example: fleetcare --db fleet.db hold V01 --from 2026-12-01 "windscreen cracked"
    """


@hold.command("set", hidden=True)
@van_argument
@click.argument("words")
@click.option("--from", "from_on", required=True, type=DAY, help="First day held.")
@click.option("--through", "through_on", type=DAY, help="Last day held; until lifted otherwise.")
@click.option("--workshop", is_flag=True, help="Held in the workshop: work can be done in it.")
@writes
@settings
def hold_set(
    s: Settings,
    /,
    van: str,
    words: str,
    from_on: dt.date,
    through_on: dt.date,
    workshop: bool,
    dry_run: bool,
) -> list[str]:
    """Take a van off hire from a day on.

    Example: fleetcare --db fleet.db hold V01 --from 2026-12-01 "windscreen cracked"
    """
    from fleetcare.desk import defects
    from fleetcare.records.kinds import Hold

    held = Hold(0, van, from_on, words, through_on, workshop or None)
    return defects.hold(s.db, s.by, held, dry_run=dry_run)


@hold.command("lift")
@click.argument("number", type=NUMBER)
@click.argument("words", required=False)
@click.option("--by", "name", required=True, metavar="NAME", help="Who lifts it.")
@done_on("The day it was lifted; today if not given.")
@writes
@settings
def hold_lift(
    s: Settings, /, number: int, words: str | None, name: str, on: dt.date, dry_run: bool
) -> list[str]:
    """Lift a hold.

    Example: fleetcare --db fleet.db hold lift 61 --by "C. Jones" "new windscreen in"
    """
    from fleetcare.desk import defects
    from fleetcare.records.kinds import Lift

    done = Lift(0, "", number, on, name, words)
    return defects.lift(s.db, s.by, done, dry_run=dry_run)


COMMANDS: dict[str, Any] = {"defect": defect, "hold": hold}
