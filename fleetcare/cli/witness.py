"""witness: what bears the book out from outside it."""

from __future__ import annotations

import click

from fleetcare.cli.app import Settings
from fleetcare.cli.words import settings


@click.command()
@click.option("--to", metavar="FILE", help="The witness; the one told last if not said.")
@settings
def witness(s: Settings, /, to: str | None) -> None:
    """Add a line to a file kept elsewhere: how many records, their root, and what proves that the
    book grew from the line before by added records alone (RFC 9162).

    Example: fleetcare --db fleet.db witness --to /media/stick/fleet-witness.jsonl
    """
    from fleetcare.desk import witness as desk

    if to and "@" in to:
        from fleetcare.desk.mail import is_address

        if is_address(to):
            raise click.UsageError(
                f'--to "{to}" is an address: name a file, and "fleetcare mail due" takes it along'
            )
    for line in desk.add(s.db, to):
        click.echo(line)


COMMANDS: dict[str, click.Command] = {"witness": witness}
