"""handbook: a page by what a person came to do."""

from __future__ import annotations

import contextlib
import sys

import click


@click.command()
@click.argument("page", required=False)
def handbook(page: str | None) -> None:
    """Read a page by what you came to do; without a name, list them.

    Example: fleetcare handbook yard
    """
    from fleetcare.desk import handbook as desk
    from fleetcare.render.text import table

    if page is None:
        rows = [(one.name, one.question) for one in desk.pages().values()]
        click.echo("\n".join(table(("page", "what it answers"), rows)))
        click.echo("\nRead one with: fleetcare handbook PAGE")
        return
    text = desk.page(page).text
    if sys.stdout.isatty():
        # A PAGER that is no command line is the terminal's matter: the page is read all the same.
        with contextlib.suppress(ValueError):
            click.echo_via_pager(text)
            return
    click.echo(text.rstrip("\n"))


COMMANDS = {"handbook": handbook}
