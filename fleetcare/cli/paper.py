"""pack, picture, label: papers to send, to pin up, to stick on."""

from __future__ import annotations

import datetime as dt

import click

from fleetcare.cli.app import Settings
from fleetcare.cli.words import DAY, on_option, put_bytes, settings, van_argument

_OUT = "A new file; otherwise one named after what it shows, here."


@click.command()
@van_argument
@click.option("--from", "start", type=DAY, required=True, help="First day of the evidence.")
@click.option("--through", type=DAY, required=True, help="Last day of the evidence.")
@click.option("-o", "output", metavar="FILE", help=_OUT)
@settings
def pack(s: Settings, /, van: str, start: dt.date, through: dt.date, output: str | None) -> None:
    """One PDF of the evidence for a van over some days: what was asked, and what met it.

    Example: fleetcare --db fleet.db pack V01 --from 2026-08-01 --through 2026-08-14 -o V01.pdf
    """
    from fleetcare.desk import pack as desk

    name = output or f"pack-{van}-{start}-{through}.pdf"
    put_bytes(desk.evidence(s.db, van, start, through), name)
    click.echo(name)


@click.command()
@click.argument("what", metavar="fleet|VAN")
@on_option("The day it is drawn for; today if not given.")
@click.option("-o", "output", metavar="FILE", help=f"{_OUT} SVG, or PNG by its name.")
@settings
def picture(s: Settings, /, what: str, on: dt.date | None, output: str | None) -> None:
    """Draw the fleet, or each rule of a van, along the months with its hires over them.

    Example: fleetcare --db fleet.db picture fleet -o fleet.svg
    """
    from fleetcare.desk import pictures

    name = output or f"picture-{what}.svg"
    dots = name.lower().endswith(".png")
    if not dots and not name.lower().endswith(".svg"):
        raise click.BadParameter(f'"{name}" is drawn as .svg or .png: say which', param_hint="-o")
    put_bytes(pictures.drawn(s.db, what, on, dots=dots), name)
    click.echo(name)


@click.command()
@van_argument
@on_option("The day it speaks of; today if not given.")
@click.option("--sheet", is_flag=True, help="The sheet that stays in the van, A5, instead.")
@click.option("-o", "output", metavar="FILE", help=_OUT)
@settings
def label(s: Settings, /, van: str, on: dt.date | None, sheet: bool, output: str | None) -> None:
    """A label for windscreen or locker: last good days and a QR code (PDF); with --sheet what the
    hirer is to know: whom to ring, the morning's look, speeds, height, gas and CO.

    Example: fleetcare --db fleet.db label V01 -o V01-label.pdf
    """
    from fleetcare.desk import pack as desk

    name = output or (f"aboard-{van}.pdf" if sheet else f"label-{van}.pdf")
    put_bytes(desk.aboard(s.db, van, on) if sheet else desk.label(s.db, van, on), name)
    click.echo(name)


COMMANDS: dict[str, click.Command] = {"pack": pack, "picture": picture, "label": label}
