"""sheet: spreadsheets in."""

from __future__ import annotations

import click

from fleetcare.cli.app import Settings
from fleetcare.cli.words import put, put_bytes, settings, shown
from fleetcare.errors import ExitCode, Refused

_KINDS = ("vans", "components", "checks", "due", "defects", "hires", "all")


@click.group()
def sheet() -> None:
    """Spreadsheets in: a blank to fill, and what was filled."""


@sheet.command("blank")
@click.argument("kind", type=click.Choice(_KINDS))
@click.option("-o", "output", metavar="FILE", help="A new file; otherwise KIND.xlsx here.")
@settings
def sheet_blank(s: Settings, /, kind: str, output: str | None) -> None:
    """Write a workbook to fill, with lists of choices and an example.

    Example: fleetcare --db fleet.db sheet blank vans -o vans.xlsx
    """
    from fleetcare.desk import filling

    name, data = filling.blank(s.db_if_named, kind)
    put_bytes(data, output or name)
    click.echo(output or name)


@sheet.command("draft")
@click.argument("file")
@click.option("-o", "output", metavar="FILE", help="A new file; the screen if not given.")
def sheet_draft(file: str, output: str | None) -> None:
    """Look at a sheet of your own and draft how it is to be read; nothing of it is read.

    Example: fleetcare sheet draft fleet.xlsx -o ours.toml
    """
    from fleetcare.desk import drafting

    text, told = drafting.draft(file)
    put(text.rstrip("\n"), output)
    for line in told:
        click.echo(line, err=True)


@sheet.command("read")
@click.argument("file")
@click.option("--map", "mapping", metavar="FILE", help="How your own headings are to be read.")
@click.option("--dry-run", is_flag=True, help="Say what would change and write nothing.")
@click.option("--json", "form", flag_value="json", help="Print JSON.")
@settings
@click.pass_context
def sheet_read(
    ctx: click.Context,
    s: Settings,
    /,
    file: str,
    mapping: str | None,
    dry_run: bool,
    form: str | None,
) -> None:
    """Read a filled workbook or CSV: every fault at once, all or nothing.

    Example: fleetcare --db fleet.db sheet read vans.xlsx --dry-run
    """
    from fleetcare.desk import filling
    from fleetcare.render import plain

    found = filling.read(s.db, s.by, file, mapping, dry_run=dry_run, shown=shown)
    if form == "json":
        data = found._asdict() | {"faults": [fault._asdict() for fault in found.faults]}
        click.echo(plain.as_json({"file": file, "dry_run": dry_run, **data}))
        if found.faults:
            ctx.exit(ExitCode.REFUSED)
        return
    if found.faults:
        raise Refused(found.faults)
    for line in found.said:
        click.echo(line)


COMMANDS: dict[str, click.Command] = {"sheet": sheet}
