"""status, verify, prove: whether anyone has touched the book."""

from __future__ import annotations

import click

from fleetcare.cli.app import Settings
from fleetcare.cli.words import NUMBER, VerbOrSet, put, settings
from fleetcare.errors import ExitCode


@click.command()
@click.option("--json", "form", flag_value="json", help="Print JSON.")
@settings
def status(s: Settings, /, form: str | None) -> None:
    """How much the book holds and its tally, to be kept on paper elsewhere.

    Example: fleetcare --db fleet.db status
    """
    from fleetcare.desk import trust
    from fleetcare.render import plain

    found = trust.status(s.db)
    if form == "json":
        click.echo(plain.as_json(found._asdict()))
        return
    for name, value in found._asdict().items():
        click.echo(f"{name.replace('_', ' '):<13} {value}")


@click.command()
@click.option("--tally", "tallies", multiple=True, help='An older tally, like "4,812 7F3A-91C0".')
@settings
@click.pass_context
def verify(ctx: click.Context, s: Settings, /, tallies: tuple[str, ...]) -> None:
    """Check every record against its leaf, the tree, and any older tally. Nothing is repaired.

    Example: fleetcare --db fleet.db verify --tally "4,812 7F3A-91C0"
    """
    from fleetcare.desk import trust

    held, found = trust.verify(s.db, tallies)
    for line in held:
        click.echo(line)
    for line in found:
        click.echo(f"AT FAULT: {line}")
    if found:
        ctx.exit(ExitCode.NO)


@click.command()
@click.argument("number", type=NUMBER)
@click.option("-o", "output", metavar="FILE", help="Write to a new file instead.")
@settings
def prove(s: Settings, /, number: int, output: str | None) -> None:
    """Write what proves to another program that a record is in the book (RFC 9162).

    Example: fleetcare --db fleet.db prove 57 -o proof.json
    """
    from fleetcare.desk import trust
    from fleetcare.render import plain

    put(plain.as_json(trust.prove(s.db, number)), output)


@click.group(cls=VerbOrSet, invoke_without_command=False)
def backup() -> None:
    """A verified copy of the book, and the check of one.

    Example: fleetcare --db fleet.db backup monday.db
    """


@backup.command("set", hidden=True)
@click.argument("target")
@settings
def backup_to(s: Settings, /, target: str) -> None:
    """Copy the book to a new file, read it through, and put its manifest beside it.

    Example: fleetcare --db fleet.db backup monday.db
    """
    from fleetcare.desk import trust

    for line in trust.back_up(s.db, target):
        click.echo(line)


@backup.command("check")
@click.argument("target")
def backup_check(target: str) -> None:
    """Hold a copy to its manifest and read it through.

    Example: fleetcare backup check monday.db
    """
    from fleetcare.desk import trust

    for line in trust.check_copy(target):
        click.echo(line)


@click.command()
@click.argument("target")
@click.argument("new_book")
def restore(target: str, new_book: str) -> None:
    """Bring a copy back as a book at a new path; nothing is written over.

    Example: fleetcare restore monday.db restored.db
    """
    from fleetcare.desk import trust

    for line in trust.restore(target, new_book):
        click.echo(line)


COMMANDS: dict[str, click.Command] = {
    "status": status, "verify": verify, "prove": prove, "backup": backup, "restore": restore,
}  # fmt: skip
