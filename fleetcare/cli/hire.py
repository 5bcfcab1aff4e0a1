"""hire: bookings, and the release and return of each."""

from __future__ import annotations

import datetime as dt
from typing import Any

import click

from fleetcare.cli.app import Settings
from fleetcare.cli.party import takes_party, takes_wish
from fleetcare.cli.typed import as_typed
from fleetcare.cli.words import (
    DAY,
    asks,
    at_option,
    dry_run_option,
    even_so,
    on_option,
    settings,
    writes,
)
from fleetcare.errors import ExitCode
from fleetcare.records.workshop import PENCILLED_HOURS


def _hours(command: Any) -> Any:
    for name, words in (
        ("--return-at", "Hour of return."),
        ("--collect-at", "Hour of collection."),
    ):
        command = click.option(name, metavar="HH:MM", help=words)(command)
    return command


@click.group()
def hire() -> None:
    """Bookings, and what became of them: out, back, changed, cancelled."""


@hire.command("add")
@click.argument("van", required=False)
@click.option("--van", "named", metavar="VAN", help='The same; "any": the best that can go.')
@click.option("--from", "start", required=True, type=DAY, help="Collection day.")
@click.option("--through", required=True, type=DAY, help="Return day.")
@click.option("--ref", required=True, help="The booking's reference; no names.")
@takes_party()
@takes_wish
@_hours
@click.option(
    "--pencilled",
    is_flag=False,
    flag_value=PENCILLED_HOURS,
    type=click.IntRange(1, 336),
    metavar="[HOURS]",
    help=f"Kept for so many hours, {PENCILLED_HOURS} if not given; then it lapses by itself.",
)
@even_so
@dry_run_option
@settings
def hire_add(
    s: Settings,
    /,
    van: str | None,
    named: str | None,
    start: dt.date,
    through: dt.date,
    ref: str,
    collect_at: str | None,
    return_at: str | None,
    pencilled: int | None,
    even_so: str | None,
    dry_run: bool,
    **typed: Any,
) -> None:
    """Add a booking and hear what must be done first. A clash is refused; exit 3 if it can't go.

    Example: fleetcare --db fleet.db hire add V01 --from 2027-07-03 --through 2027-07-17 --ref H1
    """
    from fleetcare.cli.party import party_of, wish_of
    from fleetcare.desk import hires
    from fleetcare.records.kinds import Hire
    from fleetcare.render import text

    van = van or named
    if van is None or (named or van) != van:
        raise click.UsageError("name one van: hire add V01 …, or --van any for the best")
    party, wish = party_of(typed), wish_of(typed)
    if van != hires.ANY and wish != hires.ANY_VAN:
        raise click.UsageError("--berths, --with and --without choose a van: name any")
    booking = Hire(
        0, van, ref, start, through, party.bikes, party.electric_bikes, party.weighed_kg or None,
        party.licence, abroad=party.abroad or None, people=party.people,
        children=party.children, even_so=even_so, collect_at=collect_at, return_at=return_at,
    )._replace(**party.load)  # fmt: skip
    with as_typed():
        lines, report = hires.hire_add(
            s.db, s.by, hires.New(booking, wish, pencilled), dry_run=dry_run
        )
    for line in (*lines, "", text.hire(report)):
        click.echo(line)


@hire.command("list")
@click.option("--from", "start", type=DAY, help="First day; today if not given.")
@click.option("--through", type=DAY, help="Last day; all that is to come if not given.")
@asks()
@settings
def hire_list(
    s: Settings,
    /,
    start: dt.date | None,
    through: dt.date | None,
    on: dt.date | None,
    form: str | None,
) -> tuple[str, int]:
    """The bookings that touch some days, with how each stands and whether it may go.

    Example: fleetcare --db fleet.db hire list --from 2027-07-01 --through 2027-07-31
    """
    from fleetcare.desk import diary as desk
    from fleetcare.render import diary as render
    from fleetcare.render import plain
    from fleetcare.reports.diary import booking_json

    found = desk.listed(s.db, on, start, through)
    if form is None:
        return render.bookings(found), ExitCode.DONE
    rows = [booking_json(one) for one in found]
    if form == "json":
        return plain.as_json(rows), ExitCode.DONE
    keys = ("ref", "van", "from", "through", "party", "stands", "answer")
    return plain.as_csv(rows, keys).rstrip("\r\n"), ExitCode.DONE


@hire.command("change")
@click.argument("ref")
@click.argument("words", required=False)
@click.option("--from", "from_on", type=DAY, help="Another collection day.")
@click.option("--through", "through_on", type=DAY, help="Another return day.")
@click.option("--van", "to_van", help="Another van.")
@click.option("--swap", metavar="REF", help="Change vans with another booking.")
@takes_party(None)
@_hours
@click.option("--firm", is_flag=True, help="Pencilled no more; one that lapsed is booked again.")
@click.option("--even-so", is_flag=True, help="It stands so, whatever the answer.")
@dry_run_option
@settings
def hire_change(
    s: Settings,
    /,
    ref: str,
    words: str | None,
    to_van: str | None,
    swap: str | None,
    firm: bool,
    even_so: bool,
    dry_run: bool,
    bike_kg: tuple[str, ...],
    **changes: Any,
) -> None:
    """Change a booking, move it to another van, or swap two; hear the answer for what is new.

    Example: fleetcare --db fleet.db hire change H1 --through 2027-07-20 "a few days more"
    """
    from fleetcare.cli.party import LOAD, weighed_kg
    from fleetcare.desk import hires
    from fleetcare.render import text
    from fleetcare.rules.party import Party

    changes["children"] = changes.pop("children_under_135")
    changes |= Party(**{name: changes.pop(name) for name in LOAD}).load
    said = {name: value for name, value in changes.items() if value is not None}
    if bike_kg:
        said["bike_kg"] = weighed_kg(bike_kg)
    with as_typed():
        change = hires.Change(ref, said, to_van, swap, words, even_so, firm)
        lines, reports = hires.hire_change(s.db, s.by, change, dry_run=dry_run)
    for line in lines:
        click.echo(line)
    for report in reports:
        click.echo(f"\n{text.hire(report)}")


@hire.command("swap")
@click.argument("ref")
@click.argument("words")
@click.option("--to", "to_van", required=True, metavar="VAN", help="The van they go on with.")
@click.option("--where", required=True, metavar="PLACE", help="Where the other one is left.")
@click.option("--odometer", required=True, metavar="READING", help="Of the van left.")
@click.option("--by", "name", required=True, metavar="NAME", help="Who says so.")
@click.option("--told", metavar="WORDS", help="What the hirer was told.")
@click.option("--came", metavar="WHO", help="Who came out to it.")
@click.option("--through", type=DAY, help="Their new return day, where they are late already.")
@on_option("The day; today if not given.")
@at_option
@even_so
@writes
@settings
def hire_swap(
    s: Settings,
    /,
    ref: str,
    words: str,
    to_van: str,
    where: str,
    odometer: str,
    name: str,
    told: str | None,
    came: str | None,
    through: dt.date | None,
    on: dt.date | None,
    at: str | None,
    even_so: str | None,
    dry_run: bool,
) -> list[str]:
    """A hirer out on the road changes vans: the one left behind goes nowhere until it is inspected.

    Example: fleetcare --db fleet.db hire swap H1 --to V04 --where "services, M6 north"
    --odometer 42700mi --by "W. Yard" "clutch gone"
    """
    from fleetcare.desk import swap

    left = swap.Left(where, words, name, odometer, on, at, told, came, even_so, through)
    return swap.on_the_road(s.db, s.by, ref, to_van, left, dry_run=dry_run)


@hire.command("cancel")
@click.argument("ref")
@click.argument("why")
@writes
@settings
def hire_cancel(s: Settings, /, ref: str, why: str, dry_run: bool) -> list[str]:
    """Cancel a booking; afterwards too, where nobody came.

    Example: fleetcare --db fleet.db hire cancel H1 "did not come"
    """
    from fleetcare.desk import hires

    return hires.hire_cancel(s.db, s.by, ref, why, dry_run=dry_run)


@hire.command("driver")
@click.argument("ref")
@click.option("--licence", required=True, metavar="CLASS", help="Class, like B or C1.")
@click.option("--until", type=DAY, required=True, help="Last day of that class on the licence.")
@click.option("--shown", required=True, metavar="HOW", help="photocard, online or paper.")
@click.option("--driver", type=click.IntRange(1, 9), default=1, help="The first, the second …")
@on_option("The day it was seen; today if not given.")
@writes
@settings
def hire_driver(
    s: Settings,
    /,
    ref: str,
    licence: str,
    until: dt.date,
    shown: str,
    driver: int,
    on: dt.date | None,
    dry_run: bool,
) -> list[str]:
    """Write down that a driver's licence was seen: its class and days, no name and no number.

    Example: fleetcare --db fleet.db hire driver H1 --licence C1 --until 2031-04-02
    --shown photocard
    """
    from fleetcare.desk import hires

    seen = hires.Seen(licence, shown, until, driver, on)
    return hires.licence_seen(s.db, s.by, ref, seen, dry_run=dry_run)


@hire.command("out")
@click.argument("ref")
@click.option("--by", "name", required=True, metavar="NAME", help="Who hands it over.")
@click.option("--odometer", required=True, metavar="READING", help="With its unit, like 42310mi.")
@on_option("The day it went out; today if not given.")
@at_option
@click.option("--unreleased", metavar="WHY", help="It left although it was not to, with why.")
@even_so
@writes
@settings
def hire_out(
    s: Settings,
    /,
    ref: str,
    name: str,
    odometer: str,
    on: dt.date | None,
    at: str | None,
    unreleased: str | None,
    even_so: str | None,
    dry_run: bool,
) -> list[str]:
    """Release a van. Exit 3 unless it may go now and all of the handover is recorded.

    Example: fleetcare --db fleet.db hire out H1 --by "W. Yard" --odometer 42310mi --at 10:30
    """
    from fleetcare.desk import yard

    done = yard.Handing(ref, name, odometer, on, at, unreleased, even_so)
    return yard.hire_out(s.db, s.by, done, dry_run=dry_run)


@hire.command("back")
@click.argument("ref")
@click.option("--odometer", required=True, metavar="READING", help="With its unit, like 42310mi.")
@click.option("--by", "name", metavar="NAME", help="Who took it back.")
@click.option("--where", metavar="PLACE", help="Where it was left, if not in the yard.")
@on_option("The day it came back; today if not given.")
@at_option
@even_so
@writes
@settings
def hire_back(
    s: Settings,
    /,
    ref: str,
    odometer: str,
    name: str | None,
    where: str | None,
    on: dt.date | None,
    at: str | None,
    even_so: str | None,
    dry_run: bool,
) -> list[str]:
    """Write down that a van came back.

    Example: fleetcare --db fleet.db hire back H1 --odometer 42890mi
    """
    from fleetcare.desk import yard

    done = yard.Handing(ref, name, odometer, on, at, None, even_so, where)
    return yard.hire_back(s.db, s.by, done, dry_run=dry_run)


@hire.command("waive")
@click.argument("ref")
@click.argument("rule")
@click.argument("why")
@click.option("--place", help="Which one, where the rule has several.")
@click.option("--by", "name", required=True, metavar="NAME", help="Who answers for it.")
@writes
@settings
def hire_waive(
    s: Settings, /, ref: str, rule: str, why: str, place: str | None, name: str, dry_run: bool
) -> list[str]:
    """Let one hire go without one item of common practice. Law and standards are never waived.

    Example: fleetcare --db fleet.db hire waive H1 stood "inspected by eye, short of staff"
    --by "C. Jones"
    """
    from fleetcare.desk import yard

    waived = yard.Waived(rule, place, name, why)
    return yard.waive(s.db, s.by, ref, waived, dry_run=dry_run)


COMMANDS = {"hire": hire}
