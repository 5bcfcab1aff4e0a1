"""van, fit, take-off, odometer."""

from __future__ import annotations

import datetime as dt
from typing import TYPE_CHECKING, Any

import click

from fleetcare.cli.app import Settings
from fleetcare.cli.words import (
    DAY,
    NUMBER,
    as_known_aside,
    asks,
    at_option,
    done_on,
    even_so,
    on_option,
    settings,
    van_argument,
    writes,
)
from fleetcare.errors import ExitCode

if TYPE_CHECKING:
    from fleetcare.desk.vans import Said

_COUNT = click.IntRange(min=0, max=60)
# option, type, help: in the order of a weight plate and a walk round the van
_FACTS: tuple[tuple[str, Any, str], ...] = (
    ("plate", str, "Registration, as on the plate."),
    ("vin", str, "Vehicle identification number."),
    ("test-class", str, "motor-caravan, living-van or over-8-seats."),
    ("first-registered", DAY, "Day of first registration."),
    ("in-service-from", DAY, "First day on fleet."),
    ("out-of-service-from", DAY, "First day no longer on fleet."),
    ("max-mass", str, "Maximum mass (MAM), like 3500kg."),
    ("front-axle-mass", str, "Front axle on the weight plate, like 1850kg."),
    ("rear-axle-mass", str, "Rear axle on the weight plate."),
    ("tag-axle-mass", str, "Tag axle on the weight plate."),
    ("running-order-mass", str, "Mass in running order (MIRO)."),
    ("height", str, "Travelling height, like 3050mm or 10ft1in."),
    ("notice-height", str, "Figure on the cab height notice."),
    ("wheelbase", str, "Wheelbase, like 4035mm."),
    ("rear-overhang", str, "From the rear axle to the tail, like 2070mm."),
    ("overall-length", str, "Overall length, like 7.45m."),
    ("front-seats-at", str, 'Where they are from the rear axle, like "2900mm ahead".'),
    ("rear-seats-at", str, "The same of the seats behind."),
    ("water-tank-at", str, "The same of the fresh water tank."),
    ("luggage-at", str, 'Where luggage is stowed, like "1200mm behind".'),
    ("gas-mass", str, "All its gas bottles or its tank, full, like 29kg."),
    ("service-distance", str, "Between chassis services, by its maker's schedule, like 20000mi."),
    ("oil-distance", str, "The same between oil changes."),
    ("belt-distance", str, "The same between timing belt changes."),
    ("unladen-mass", str, "Unladen mass, as speed limits go by."),
    ("seats", _COUNT, "Seats to ride in, the driver's among them."),
    ("belted-seats", _COUNT, "Those of them with a belt."),
    ("berths", _COUNT, "Berths."),
    ("axles", str, "single, dual-rear or tag."),
    ("spare", str, "wheel, kit or none."),
    ("electrical-certificate", str, "Number of the maker's electrical certificate."),
)
_YES_NO = (
    ("lpg", "LPG on board."),
    ("mains", "Mains hook-up."),
    ("rack", "Bike rack."),
    ("gas-alarm", "Gas alarm."),
)
_RENAMED = {"first_registered": "first_registered_on"}


def _facts(command: Any) -> Any:
    for name, holds, words in reversed(_FACTS):
        command = click.option(f"--{name}", type=holds, help=words)(command)
    for name, words in _YES_NO:
        command = click.option(f"--{name}/--no-{name}", default=None, help=words)(command)
    for option in (
        click.option(
            "--gas-hose-at",
            metavar="PLACES",
            help="Where gas hoses are, like locker-1,locker-2; none for none.",
        ),
        click.option("--appliance", metavar="NAMES", help="Gas appliances, like hob,heater."),
        click.option(
            "--places",
            multiple=True,
            metavar="KIND=PLACES",
            help="Places of another kind of component.",
        ),
        click.option(
            "--has",
            "has_",
            multiple=True,
            metavar="FACT",
            help="A fact that has no option of its own: yes, like zero-emission.",
        ),
        click.option("--has-no", multiple=True, metavar="FACT", help="The same: no."),
    ):
        command = option(command)
    return command


def _said(said: dict[str, Any]) -> Said:
    """Options as the desk takes them: facts, places, the firm's own facts."""
    from fleetcare.desk.vans import Said

    places = []
    hose, appliance = said.pop("gas_hose_at"), said.pop("appliance")
    if hose:
        places.append(("gas-hose", hose))
    if appliance:
        places.append(("appliance", appliance))
    for word in said.pop("places"):
        kind, _, listed = word.partition("=")
        places.append((kind, listed))
    has = dict.fromkeys(said.pop("has_"), True) | dict.fromkeys(said.pop("has_no"), False)
    return Said({_RENAMED.get(name, name): value for name, value in said.items()}, places, has)


@click.group()
def van() -> None:
    """Vans and what is said of them."""


@van.command("add")
@van_argument
@click.option("--jurisdiction", help="Whose rules: gb.")
@click.option("--like", metavar="VAN", help="Take over its facts and places, no part, no check.")
@_facts
@even_so
@writes
@settings
def van_add(s: Settings, /, van: str, like: str | None, dry_run: bool, **said: Any) -> list[str]:
    """Add a van. What is not said is not assumed: what rests on it cannot be judged.

    Example: fleetcare --db fleet.db van add V01 --plate "QI24 QIQ" --jurisdiction gb
    --first-registered 2017-05-01 --in-service-from 2017-05-10 --lpg
    """
    from fleetcare.desk import vans

    return vans.van_add(s.db, s.by, van, _said(said), like, dry_run=dry_run)


@van.command("change")
@van_argument
@on_option("From which day; from the van's beginning if not given.")
@_facts
@even_so
@writes
@settings
def van_change(
    s: Settings, /, van: str, on: dt.date | None, dry_run: bool, **said: Any
) -> list[str]:
    """Say more of a van, or what changed on a day; what was true before stays.

    Example: fleetcare --db fleet.db van change V01 --on 2026-03-02 --max-mass 3850kg
    """
    from fleetcare.desk import vans

    return vans.van_change(s.db, s.by, van, on, _said(said), dry_run=dry_run)


@van.command("lay-up")
@van_argument
@click.argument("words")
@click.option("--from", "from_on", type=DAY, help="First day off the road.")
@click.option("--back", "back_on", type=DAY, help="The day it is wanted back.")
@writes
@settings
def van_lay_up(
    s: Settings,
    /,
    van: str,
    words: str,
    from_on: dt.date | None,
    back_on: dt.date | None,
    dry_run: bool,
) -> list[str]:
    """Lay a van up; without --from, say when one that is laid up is wanted back.

    Example: fleetcare --db fleet.db van lay-up V01 --from 2026-11-30 --back 2027-03-01 "SORN"
    """
    from fleetcare.desk import vans

    return vans.lay_up(s.db, s.by, van, (from_on, back_on), words, dry_run=dry_run)


@van.command("gone")
@van_argument
@click.argument("words")
@click.option("--on", required=True, type=DAY, help="First day it is gone.")
@writes
@settings
def van_gone(s: Settings, /, van: str, words: str, on: dt.date, dry_run: bool) -> list[str]:
    """A van leaves the fleet for good. Its records stay; hires left on it are named.

    Example: fleetcare --db fleet.db van gone V01 --on 2027-01-04 "sold"
    """
    from fleetcare.desk import vans

    return vans.gone(s.db, s.by, van, on, words, dry_run=dry_run)


@van.command("list")
@as_known_aside
@asks()
@settings
def van_list(
    s: Settings, /, on: dt.date | None, known_at: Any, form: str | None
) -> tuple[str, int]:
    """The fleet: each van, and to when it may go out.

    Example: fleetcare --db fleet.db van list
    """
    from fleetcare.desk import fleet
    from fleetcare.render import plain, text

    rows = [row._asdict() for row in fleet.fleet(s.db, on, known_at)]
    if form == "json":
        return plain.as_json(rows), ExitCode.DONE
    if form == "csv":
        return plain.as_csv(rows, rows[0] if rows else ()).rstrip("\r\n"), ExitCode.DONE
    for row in rows:  # where a van is says which hire it is out on
        row.pop("out_as")
    return "\n".join(text.rows_table(rows)), ExitCode.DONE


@van.command("show")
@van_argument
@as_known_aside
@asks()
@settings
def van_show(
    s: Settings, /, van: str, on: dt.date | None, known_at: Any, form: str | None
) -> tuple[str, int]:
    """Everything the book holds of a van: facts, what is fitted, records with their numbers.

    Example: fleetcare --db fleet.db van show V01
    """
    from fleetcare.desk import fleet
    from fleetcare.render import plain, text

    shown = fleet.van(s.db, van, on, known_at)
    if form == "json":
        return plain.as_json(shown._asdict()), ExitCode.DONE
    if form == "csv":
        return plain.as_csv(shown.records, shown.records[0]).rstrip("\r\n"), ExitCode.DONE
    return text.van(shown), ExitCode.DONE


@click.command()
@van_argument
@click.argument("component")
@click.argument("place", required=False)
@done_on("The day it was fitted; today if not given.")
@at_option
@click.option("--part", type=NUMBER, metavar="NUMBER", help="One of the book, fitted again.")
@click.option("--made", metavar="MARK", help="As marked: a day, month, year, tyre week, illegible.")
@click.option("--commissioned", metavar="DAY", help="Day an extinguisher was commissioned.")
@click.option("--replace-by", metavar="MARK", help="The maker's last day, as marked.")
@click.option(
    "--type",
    "variety",
    help="Extinguisher: powder, foam, water, wet-chemical, co2, sealed; tyre: summer, m+s, alpine; "
    "gas hose: rubber, stainless; CO alarm: en-50291-2, en-50291-1.",
)
@click.option("--load-index", metavar="INDEX", help="Tyre load index, like 112 or 112/110.")
@click.option("--speed-symbol", metavar="LETTER", help="Tyre speed symbol, like R.")
@click.option("--tyre-mark", type=click.Choice(["r30", "r54"]), help="Regulation it is marked to.")
@click.option("--cold-pressure", metavar="PRESSURE", help="Like 65psi or 4.5bar.")
@click.option("--rating", metavar="MASS", help="What a rack bears, like 60kg.")
@click.option("--own-mass", metavar="MASS", help="What it weighs itself.")
@click.option("--bikes", type=_COUNT, help="Places for ordinary bikes.")
@click.option("--electric-bikes", type=_COUNT, help="Places for e-bikes.")
@click.option("--behind-rear-axle", metavar="LENGTH", help="How far behind the rear axle it sits.")
@even_so
@writes
@settings
def fit(
    s: Settings,
    /,
    van: str,
    component: str,
    place: str | None,
    on: dt.date,
    dry_run: bool,
    **said: Any,
) -> list[str]:
    """Fit a component to a place; what was there comes off that day.

    Example: fleetcare --db fleet.db fit V01 tyre front-left --made 2219 --on 2019-08-01
    --load-index 112 --speed-symbol R --cold-pressure 65psi
    """
    from fleetcare.desk import fitted
    from fleetcare.records.kinds import Fit

    return fitted.fit(s.db, s.by, Fit(0, van, component, place or "", on, **said), dry_run=dry_run)


@click.command("take-off")
@van_argument
@click.argument("component")
@click.argument("place", required=False)
@done_on("The day it came off; today if not given.")
@at_option
@writes
@settings
def take_off(
    s: Settings,
    /,
    van: str,
    component: str,
    place: str | None,
    on: dt.date,
    at: str | None,
    dry_run: bool,
) -> list[str]:
    """Empty a place. The component keeps its number, age and readings.

    Example: fleetcare --db fleet.db take-off V01 tyre front-left
    """
    from fleetcare.desk import fitted
    from fleetcare.records.kinds import TakeOff

    return fitted.take_off(
        s.db, s.by, TakeOff(0, van, component, place or "", on, at), dry_run=dry_run
    )


@click.command()
@van_argument
@click.argument("reading")
@done_on("The day it was read; today if not given.")
@at_option
@even_so
@writes
@settings
def odometer(
    s: Settings,
    /,
    van: str,
    reading: str,
    on: dt.date,
    at: str | None,
    even_so: str | None,
    dry_run: bool,
) -> list[str]:
    """Write down what the odometer showed, with its unit.

    Example: fleetcare --db fleet.db odometer V01 42310mi
    """
    from fleetcare.desk import fitted
    from fleetcare.records.kinds import Odometer

    return fitted.odometer(s.db, s.by, Odometer(0, van, on, reading, at, even_so), dry_run=dry_run)


COMMANDS = {"van": van, "fit": fit, "take-off": take_off, "odometer": odometer}
