"""withdraw, correct."""

from __future__ import annotations

from typing import Any

import click

from fleetcare.cli.app import Settings
from fleetcare.cli.typed import option_of
from fleetcare.cli.words import COUNT, DAY, NUMBER, settings, writes
from fleetcare.desk.correct import correctable
from fleetcare.records.fields import Is


@click.command()
@click.argument("number", type=NUMBER)
@click.argument("why")
@writes
@settings
def withdraw(s: Settings, /, number: int, why: str, dry_run: bool) -> list[str]:
    """Take a record back. It stays in the book, and is no longer counted.

    Example: fleetcare --db fleet.db withdraw 57 "typed on the wrong van"
    """
    from fleetcare.desk import correct as desk

    return desk.withdraw(s.db, s.by, number, why, dry_run=dry_run)


def _options(command: Any) -> Any:
    """An option for every field that some kind of record has, from their one spelling."""
    types = {Is.DAY: DAY, Is.COUNT: COUNT, Is.FLAG: bool}
    for name, field in reversed(correctable().items()):
        if field.holds is Is.PART:
            continue
        multiple = field.holds is Is.NAMES
        command = click.option(
            option_of(name),
            f"field_{name}",
            type=types.get(field.holds, str),
            multiple=multiple,
            default=None,
            help=f"{field.holds.value}.",
        )(command)
    return command


@click.command()
@click.argument("number", type=NUMBER)
@click.argument("why")
@click.option(
    "--reading",
    "readings",
    multiple=True,
    metavar="WHAT[:PLACE]=FIGURE",
    help="A reading put right, or added; the others stay.",
)
@click.option("--van", "to_van", help="The van it is of, where it was typed on another.")
@click.option("--clear", "cleared", multiple=True, metavar="FIELD", help="Leave a field empty.")
@_options
@writes
@settings
def correct(
    s: Settings,
    /,
    number: int,
    why: str,
    readings: tuple[str, ...],
    to_van: str | None,
    cleared: tuple[str, ...],
    dry_run: bool,
    **fields: Any,
) -> list[str]:
    """Put a record right: a new one stands in its stead, the old one stays to be seen.

    Example: fleetcare --db fleet.db correct 57 --on 2026-03-02 "read the stamp again"
    """
    from fleetcare.desk import correct as desk

    changes = {
        name.removeprefix("field_"): value
        for name, value in fields.items()
        if value is not None and value != ()
    }
    if to_van:
        if changes or readings or cleared:
            raise click.UsageError("--van moves a record as it is: put the rest right after it")
        return desk.to_van(s.db, s.by, number, why, to_van, dry_run=dry_run)
    said = desk.Correction(changes, readings, cleared)
    return desk.correct(s.db, s.by, number, why, said, dry_run=dry_run)


COMMANDS = {"withdraw": withdraw, "correct": correct}
