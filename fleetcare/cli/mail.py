"""mail."""

from __future__ import annotations

import datetime as dt

import click

from fleetcare.cli.app import Settings
from fleetcare.cli.words import on_option, settings


@click.group()
def mail() -> None:
    """Send reports by mail."""


@mail.command("due")
@click.option("--to", multiple=True, required=True, metavar="ADDRESS", help="Whom it goes to.")
@click.option(
    "--from",
    "sender",
    envvar="FLEETCARE_MAIL_FROM",
    metavar="ADDRESS",
    help="Who sends it; the first --to if not said.  [FLEETCARE_MAIL_FROM]",
)
@click.option(
    "--smtp",
    "server",
    required=True,
    envvar="FLEETCARE_SMTP",
    metavar="HOST:PORT",
    help="Where it is handed in; TLS where offered, always on 465.  [FLEETCARE_SMTP]",
)
@click.option("--user", envvar="FLEETCARE_SMTP_USER", help="Who logs in.  [FLEETCARE_SMTP_USER]")
@click.option(
    "--password-file", metavar="FILE", help="Holds the password; else FLEETCARE_SMTP_PASSWORD."
)
@on_option("The day it speaks of; today if not given.")
@settings
def mail_due(
    s: Settings,
    /,
    to: tuple[str, ...],
    sender: str | None,
    server: str,
    user: str | None,
    password_file: str | None,
    on: dt.date | None,
) -> None:
    """Send the due report as text and as a page, with the workbook for insurers.

    Example: fleetcare --db fleet.db mail due --to owner@example.org --smtp mail.example.org:587
    """
    from fleetcare.desk import mail as desk

    posting = desk.Posting(to, sender or to[0], server, user, password_file)
    for line in desk.due(s.db, posting, on):
        click.echo(line)


COMMANDS: dict[str, click.Command] = {"mail": mail}
