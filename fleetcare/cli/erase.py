"""erase."""

from __future__ import annotations

import click

from fleetcare.cli.app import Settings
from fleetcare.cli.words import NUMBER, settings, writes


@click.command()
@click.argument("why")
@click.option("--name", metavar="NAME", help="A person's name, wherever it stands alone.")
@click.option(
    "--record",
    "number",
    type=NUMBER,
    help="The names and words of one record, or the paper it keeps.",
)
@writes
@settings
def erase(
    s: Settings, /, why: str, name: str | None, number: int | None, dry_run: bool
) -> list[str]:
    """Empty a name, or a record's words or paper, for good. It can't be undone.

    Example: fleetcare --db fleet.db erase --name "A. Fitter" "left in 2019, asked for it"
    """
    from fleetcare.desk import erase as desk

    if (name is None) is (number is None):
        raise click.UsageError("say what to erase: --name NAME, or --record NUMBER")
    if name is not None:
        return desk.erase_name(s.db, s.by, name, why, dry_run=dry_run)
    return desk.erase_record(s.db, s.by, number or 0, why, dry_run=dry_run)


COMMANDS: dict[str, click.Command] = {"erase": erase}
