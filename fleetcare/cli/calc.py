"""calc: sums of the trade that need no book."""

from __future__ import annotations

from collections.abc import Callable
from decimal import Decimal
from typing import Any, TypeVar

import click

from fleetcare import clock
from fleetcare.cli.party import Figure
from fleetcare.errors import Problem, Refused

F = TypeVar("F", bound=Callable[..., Any])


@click.group()
def calc() -> None:
    """Sums of the trade."""


def _print(rows: dict[str, Any], as_json: bool, text: str) -> None:
    from fleetcare.render import plain

    click.echo(plain.as_json(rows) if as_json else text)


json_flag = click.option("--json", "as_json", is_flag=True, help="Print JSON.")


@calc.command("tyre-date")
@click.argument("code")
@json_flag
def tyre_date(code: str, as_json: bool) -> None:
    """The days a tyre's week code can mean.

    Example: fleetcare calc tyre-date 3026
    """
    from fleetcare.render.text import day
    from fleetcare.trade.tyre_dates import read_tyre_code

    try:
        week = read_tyre_code(code, clock.today())
    except ValueError as fault:
        raise Refused([Problem("", str(fault))]) from None
    rows = {
        "from": week.from_on,
        "through": week.through_on,
        "readings": [
            {"name": r.name, "from": r.from_on, "through": r.through_on} for r in week.readings
        ],
        "cautions": list(week.cautions),
    }
    lines = [
        f"{code}: made {day(week.from_on)} at the earliest, {day(week.through_on)} at the "
        "latest; age counts from the earliest day"
    ]
    lines += [f"  {r.name}: {day(r.from_on)} to {day(r.through_on)}" for r in week.readings]
    lines += [f"  caution: {caution}" for caution in week.cautions]
    _print(rows, as_json, "\n".join(lines))


@calc.command("load-index")
@click.argument("index")
@json_flag
def load_index(index: str, as_json: bool) -> None:
    """What a tyre of a load index carries, singly and in a twin pair.

    Example: fleetcare calc load-index 121
    """
    from fleetcare.trade.load_index import grade, load_kg, read_load_index

    try:
        read = read_load_index(index)
    except ValueError as fault:
        raise Refused([Problem("", str(fault))]) from None
    single = load_kg(read.single)
    dual = load_kg(read.dual) if read.dual is not None else None
    rows = {
        "index": index,
        "single_kg": str(single),
        "dual_kg": str(dual) if dual else None,
        "seen": grade(read.single),
    }
    text = f"{index}: {single} kg a tyre" + (f", {dual} kg in a twin pair" if dual else "")
    _print(rows, as_json, f"{text} (UNECE R54 Annex 4; {grade(read.single)})")


def _figure(name: str, words: str) -> Callable[[F], F]:
    return click.option(name, type=Figure(signed=True), required=True, help=words)


@calc.command("axle-load")
@_figure("--front-kg", "What the front axle bears before.")
@_figure("--rear-kg", "What the rear axle bears before.")
@_figure("--wheelbase-mm", "Between the axle centres.")
@_figure("--load-kg", "What is added.")
@_figure("--behind-rear-axle-mm", "How far behind the rear axle; ahead of it: with a minus.")
@json_flag
def axle_load(
    front_kg: Decimal,
    rear_kg: Decimal,
    wheelbase_mm: Decimal,
    load_kg: Decimal,
    behind_rear_axle_mm: Decimal,
    as_json: bool,
) -> None:
    """What both axles bear once a load is on.

    Example: fleetcare calc axle-load --front-kg 1500 --rear-kg 2000 --wheelbase-mm 3000
    --load-kg 150 --behind-rear-axle-mm 1000
    """
    from fleetcare.trade.axles import moments

    try:
        found = moments(front_kg, rear_kg, load_kg, behind_rear_axle_mm, wheelbase_mm)
    except ValueError as fault:
        raise Refused([Problem("", str(fault))]) from None
    rows = {"front_kg": float(found.front_kg), "rear_kg": float(found.rear_kg)}
    lines = [
        f"front axle {found.front_kg.normalize():f} kg, rear axle {found.rear_kg.normalize():f} kg"
    ]
    if found.front_kg < 0:
        lines.append("  caution: the front lifts off: the van would stand on its tail")
    lines.append(
        "  caution: weights are checked on a weighbridge, the maker's limits win, and the driver "
        "answers for the load"
    )
    _print(rows, as_json, "\n".join(lines))


@calc.command("vin")
@click.argument("vin")
@json_flag
def vin(vin: str, as_json: bool) -> None:
    """Whether a VIN is well formed. A European one need not carry the check digit.

    Example: fleetcare calc vin 1G4AH59H45G118341
    """
    from fleetcare.trade.vin import read_vin

    read = read_vin(vin)
    form = "well formed" if read.format_ok else "not well formed"
    digit = {
        True: "check digit agrees",
        False: "check digit does not agree",
        None: "check digit not looked at",
    }[read.check_digit_ok]
    lines = [f"{read.vin}: {form}, {digit}"]
    lines += [f"  caution: {caution}" for caution in read.cautions]
    _print(read._asdict() | {"cautions": list(read.cautions)}, as_json, "\n".join(lines))


COMMANDS = {"calc": calc}
