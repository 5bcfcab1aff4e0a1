"""completion: what a shell needs to finish commands, options and fleet numbers."""

from __future__ import annotations

import click
from click.shell_completion import get_completion_class

_VARIABLE = "_FLEETCARE_COMPLETE"


@click.command()
@click.argument("shell", type=click.Choice(["bash", "zsh", "fish"]))
@click.pass_context
def completion(ctx: click.Context, /, shell: str) -> None:
    """Print what makes a shell finish commands, options and fleet numbers.

    Example: fleetcare completion bash > ~/.fleetcare-completion
    """
    made = get_completion_class(shell)
    assert made is not None  # one of the three above
    source = made(ctx.find_root().command, {}, "fleetcare", _VARIABLE).source_template
    words = {"complete_func": "_fleetcare_completion", "complete_var": _VARIABLE}
    click.echo(source % (words | {"prog_name": "fleetcare"}))


COMMANDS: dict[str, click.Command] = {"completion": completion}
