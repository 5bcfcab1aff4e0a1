"""demo: the main job on the sample fleet, in a temporary place."""

from __future__ import annotations

import datetime as dt
import tempfile
from pathlib import Path

import click

from fleetcare.cli.app import cli
from fleetcare.errors import noting

_SHOWN = (
    ("What falls due, as Monday's meeting reads it", "due"),
    ("A yes", "hireable V01 --from {soon} --through {later}"),
    ("A no, with its reasons", "hireable V07 --from {soon} --through {later}"),
    ("If done first", "hireable V02 --from {summer} --through {after}"),
)


def run(args: list[str]) -> None:
    """A command as typed, its errors left to the caller. What it writes is of the sample alone."""
    with noting():
        cli.main(args=args, prog_name="fleetcare", standalone_mode=False)


@click.command()
def demo() -> None:
    """Build the sample fleet in a temporary place and show the main job on it.

    Example: fleetcare demo
    """
    from fleetcare import clock
    from fleetcare.desk import sample

    folder = Path(tempfile.mkdtemp(prefix="fleetcare-demo-"))
    place = folder / "sample.db"
    sample.build(place, run)
    today = sample.today()
    days = {
        "soon": today,
        "later": today + dt.timedelta(days=6),
        "summer": today + dt.timedelta(weeks=30),
        "after": today + dt.timedelta(weeks=32),
    }
    with clock.standing_at(dt.datetime.combine(today, dt.time(12), dt.UTC)):
        for heading, command in _SHOWN:
            words = command.format(**days).split()
            click.echo(f"\n== {heading}: fleetcare {' '.join(words)}\n")
            run(["--db", str(place), *words])
        workbook = folder / "insurers.xlsx"
        click.echo("\n== The workbook for insurers\n")
        run(["--db", str(place), "export", "insurers", "-o", str(workbook)])
    click.echo(
        f'The sample is an invented firm. Look further with: fleetcare --db "{place}" '
        f"due --on {today}"
    )


COMMANDS = {"demo": demo}
