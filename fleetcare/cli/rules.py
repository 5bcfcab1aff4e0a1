"""rules."""

from __future__ import annotations

import datetime as dt

import click

from fleetcare.cli.app import Settings
from fleetcare.cli.words import asks, settings, writes
from fleetcare.errors import ExitCode


@click.group()
def rules() -> None:
    """The rules a van is judged by. Without --db, those this program ships."""


@rules.command("list")
@asks("The day whose terms are shown; today if not given.")
@settings
def rules_list(s: Settings, /, on: dt.date | None, form: str | None) -> tuple[str, int]:
    """Every rule, its grade, whether it blocks and its terms.

    Example: fleetcare rules list
    """
    from fleetcare.desk import rulebook
    from fleetcare.render import plain, text

    rows = [row._asdict() for row in rulebook.listed(s.db_if_named, on)]
    if form == "json":
        return plain.as_json(rows), ExitCode.DONE
    if form == "csv":
        return plain.as_csv(rows, rows[0]).rstrip("\r\n"), ExitCode.DONE
    return "\n".join(text.rows_table(rows)), ExitCode.DONE


@rules.command("kinds")
@click.option("--json", "form", flag_value="json", help="Print JSON.")
@settings
def rules_kinds(s: Settings, /, form: str | None) -> None:
    """Every word for a check, a component, an event or a card, and the rules it feeds.

    Example: fleetcare rules kinds
    """
    from fleetcare.desk import rulebook
    from fleetcare.render import plain, text

    rows = [row._asdict() for row in rulebook.words(s.db_if_named)]
    click.echo(plain.as_json(rows) if form else "\n".join(text.rows_table(rows)))


@rules.command("show")
@click.argument("rule")
@asks("The day whose terms are shown; today if not given.")
@settings
def rules_show(s: Settings, /, rule: str, on: dt.date | None, form: str | None) -> tuple[str, int]:
    """A rule with every version, its sources and what to tell a hirer.

    Example: fleetcare rules show mot
    """
    from fleetcare.desk import rulebook
    from fleetcare.render import plain, text

    found = rulebook.shown(s.db_if_named, rule)
    if form in ("json", "csv"):
        return plain.as_json([one._asdict() for one in found]), ExitCode.DONE
    return text.rules(found), ExitCode.DONE


@rules.command("check")
@click.argument("file", required=False)
def rules_check(file: str | None) -> None:
    """Read the rules, and a firm's own file with them, and report every fault.

    Example: fleetcare rules check
    """
    from fleetcare.desk import rulebook

    for line in rulebook.check(file):
        click.echo(line)


@rules.command("preview")
@click.argument("file", required=False)
@click.option("--json", "form", flag_value="json", help="Print JSON.")
@settings
def rules_preview(s: Settings, /, file: str | None, form: str | None) -> None:
    """Which vans and hires other rules would change: the program's, or with a firm's file, before
    they are adopted. Exit 3 where any would.

    Example: fleetcare --db fleet.db rules preview our-rules.toml
    """
    from fleetcare.desk import rulebook
    from fleetcare.render import plain

    found = rulebook.preview(s.db, file)
    if form == "json":
        click.echo(plain.as_json(found._asdict()))
    else:
        same = "These rules are in use: nothing would change."
        heading = f"Rules {found.rules[:8]}, in use are {found.were[:8]}."
        lines = [line for listed in found.vans.values() for line in listed]
        told = [heading, *found.differences, *(lines or ["No van and no hire is touched."])]
        click.echo("\n".join(told) if found.rules != found.were else same)
    if found.vans:
        click.get_current_context().exit(ExitCode.NO)


@rules.command("adopt")
@click.argument("file")
@writes
@settings
def rules_adopt(s: Settings, /, file: str, dry_run: bool) -> list[str]:
    """Take a firm's own rules and settings in, and say what changed.

    Example: fleetcare --db fleet.db rules adopt our-rules.toml
    """
    from fleetcare.desk import rulebook

    return rulebook.take_in(s.db, s.by, file, dry_run=dry_run)


COMMANDS = {"rules": rules}
