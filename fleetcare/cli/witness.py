"""witness: what bears the book out from outside it."""

from __future__ import annotations

import click

from fleetcare.cli.app import Settings
from fleetcare.cli.words import ca_option, put_bytes, settings


@click.command()
@click.option("--to", metavar="FILE", help="The witness; the one told last if not said.")
@click.option(
    "--timestamp-request",
    "request",
    metavar="FILE",
    help="Add nothing: write what asks an authority to time-stamp the newest line (RFC 3161).",
)
@click.option(
    "--timestamp-reply",
    "reply",
    metavar="FILE",
    help="Add what an authority replied, once it is checked by --ca.",
)
@ca_option
@settings
def witness(
    s: Settings, /, to: str | None, request: str | None, reply: str | None, ca: str | None
) -> None:
    """Add a line to a file kept elsewhere: how many records, their root, and what proves that the
    book grew from the line before by added records alone (RFC 9162).

    Example: fleetcare --db fleet.db witness --to /media/stick/fleet-witness.jsonl
    """
    from fleetcare.desk import stamps
    from fleetcare.desk import witness as desk

    if request and reply:
        raise click.UsageError("ask for a time-stamp first, and give what was replied afterwards")
    if (reply is None) != (ca is None):
        raise click.UsageError(
            "a reply is checked by certificates: --timestamp-reply FILE --ca FILE"
        )
    if to and "@" in to:
        _refuse_address(to)
    if request:
        put_bytes(stamps.request(s.db, to), request)
        lines = [f'Wrote "{request}".']
    elif reply and ca:
        lines = stamps.keep(s.db, to, reply, ca)
    else:
        lines = desk.add(s.db, to)
    for line in lines:
        click.echo(line)


def _refuse_address(to: str) -> None:
    from fleetcare.desk.mail import is_address

    if is_address(to):
        raise click.UsageError(
            f'--to "{to}" is an address: name a file, and "fleetcare mail due" takes it along'
        )


COMMANDS: dict[str, click.Command] = {"witness": witness}
