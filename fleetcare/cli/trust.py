"""status, verify, prove: whether anyone has touched the book."""

from __future__ import annotations

from typing import TYPE_CHECKING

import click

from fleetcare.cli.app import Settings
from fleetcare.cli.words import NUMBER, ca_option, put, settings, shown, writes
from fleetcare.errors import ExitCode

if TYPE_CHECKING:
    from fleetcare.desk.tally import Held


@click.command()
@click.option("--json", "form", flag_value="json", help="Print JSON.")
@click.option("--tidy", is_flag=True, help="Remove what killed runs and erasing left on the disk.")
@settings
def status(s: Settings, /, form: str | None, tidy: bool) -> None:
    """How much the book holds and its tally, to be kept on paper elsewhere.

    Example: fleetcare --db fleet.db status
    """
    from fleetcare.desk import trust, witness
    from fleetcare.render import plain

    found = trust.status(s.db)
    for line in trust.tidied(s.db) if tidy else ():
        click.echo(line, err=True)
    if form == "json":
        click.echo(plain.as_json(found._asdict()))
        return
    for name, value in found._asdict().items():
        click.echo(f"{name.replace('_', ' '):<14} {value or 'none known of'}")
    for line in [*trust.copy_wanted(s.db, found), *witness.wanted(s.db)]:
        click.echo(f"Caution: {line}")


_tally_option = click.option(
    "--tally",
    "tallies",
    multiple=True,
    help='A tally as printed, like "4,812 7F3A-91C0-22D4-0B6E-5A17-C8F3-E049-6BD2".',
)


@click.command()
@_tally_option
@click.option(
    "--against",
    "files",
    metavar="FILE",
    multiple=True,
    help="A witness, or what status --json said earlier.",
)
@ca_option
@click.option("--json", "form", flag_value="json", help="Print JSON.")
@settings
@click.pass_context
def verify(
    ctx: click.Context,
    s: Settings,
    /,
    tallies: tuple[str, ...],
    files: tuple[str, ...],
    ca: str | None,
    form: str | None,
) -> None:
    """Check every record against its leaf, the tree, and any older tally or witness. Nothing is
    repaired.

    Example: fleetcare --db fleet.db verify --tally "4,812 7F3A-91C0-22D4-0B6E-5A17-C8F3-E049-6BD2"
    """
    from fleetcare.desk import trust
    from fleetcare.render import plain

    if ca and not files:
        raise click.UsageError("--ca is of the time-stamps in a witness: add --against FILE")
    verified = trust.verify(s.db, tallies, files, ca)
    if form == "json":
        click.echo(plain.as_json(verified.as_data()))
    else:
        _tell(verified.found)
        for line in verified.cautions:
            click.echo(f"Caution: {line}")
    if not verified.found.sound:
        ctx.exit(ExitCode.NO)


def _tell(found: Held) -> None:
    """What was held, each line under its word."""
    for line in found.held:
        click.echo(line)
    for line in found.hints:
        click.echo(f"A HINT: {line}")
    for line in found.faults:
        click.echo(f"AT FAULT: {line}")


@click.command()
@click.argument("number", type=NUMBER, required=False)
@click.option("--size", type=NUMBER, help="Under the tally of so many records; of all if not said.")
@click.option("-o", "output", metavar="FILE", help="Write to a new file instead.")
@click.option("--check", "file", metavar="FILE", help="Hold a proof to --tally. Needs no book.")
@_tally_option
@settings
@click.pass_context
def prove(
    ctx: click.Context,
    s: Settings,
    /,
    number: int | None,
    size: int | None,
    output: str | None,
    file: str | None,
    tallies: tuple[str, ...],
) -> None:
    """Write what proves to anybody that a record is in the book (RFC 9162), or check it.

    Example: fleetcare --db fleet.db prove 57 -o proof.json
    """
    from fleetcare.desk import proof
    from fleetcare.render import plain

    if file is None:
        if number is None or tallies:
            raise click.UsageError(
                'name the record, or a proof to check: "fleetcare --db FILE prove NUMBER", or '
                '"fleetcare prove --check FILE --tally TALLY"'
            )
        put(plain.as_json(proof.prove(s.db, number, size)), output)
        return
    if number is not None or size is not None or output is not None:
        raise click.UsageError("--check is of a proof that is made: leave out NUMBER, --size, -o")
    if not tallies:
        raise click.UsageError(
            "say which tally the proof is held to: add --tally as it was printed on paper"
        )
    found = proof.check(file, tallies)
    _tell(found)
    if not found.sound:
        ctx.exit(ExitCode.NO)


@click.group(invoke_without_command=True)
@click.option("-o", "target", metavar="FILE", help="The copy to make: a new file.")
@settings
@click.pass_context
def backup(ctx: click.Context, s: Settings, /, target: str | None) -> None:
    """Copy the book to a new file, read it through, and put its manifest beside it.

    Example: fleetcare --db fleet.db backup -o monday.db
    """
    from fleetcare.desk import trust

    if ctx.invoked_subcommand:
        if target:
            raise click.UsageError("-o is of the copying alone: leave it out")
        return
    if not target:
        raise click.UsageError('Name the copy to make: "fleetcare --db FILE backup -o COPY"')
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
@click.option("--into", "new_book", metavar="NEW", required=True, help="A path not taken yet.")
def restore(target: str, new_book: str) -> None:
    """Bring a copy back as a book at a new path; nothing is written over.

    Example: fleetcare restore monday.db --into restored.db
    """
    from fleetcare.desk import trust

    for line in trust.restore(target, new_book):
        click.echo(line)


@click.command()
@click.option("-o", "target", metavar="FILE", required=True, help="The file to write: a new one.")
@settings
def dump(s: Settings, /, target: str) -> None:
    """Write the whole book as JSON Lines: records, corrections, names, papers.

    Example: fleetcare --db fleet.db dump -o fleet.jsonl
    """
    from fleetcare.desk import load as desk

    if target == "-":
        raise click.UsageError("a dump is kept in a file: name a new one")
    for line in desk.dump(s.db, target):
        click.echo(line)


@click.command()
@click.argument("file")
@writes
@settings
def load(s: Settings, /, file: str, dry_run: bool) -> list[str]:
    """Take in a dump, into an empty book; or facts as JSON Lines, into the book there is. "-" reads
    standard input.

    Example: fleetcare --db postgresql+psycopg://host/fleet load fleet.jsonl --dry-run
    """
    from fleetcare.desk import load as desk

    return desk.load(s.db, s.by, file, dry_run=dry_run, shown=shown)


COMMANDS: dict[str, click.Command] = {
    "status": status, "verify": verify, "prove": prove, "backup": backup, "restore": restore,
    "dump": dump, "load": load,
}  # fmt: skip
