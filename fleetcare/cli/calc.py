"""calc: sums of the trade that need no book."""

from __future__ import annotations

from typing import Any

import click

from fleetcare import clock
from fleetcare.errors import Problem, Refused


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
