"""serve: the pages; person: who may come in."""

from __future__ import annotations

import tempfile
from pathlib import Path
from typing import Any

import click

from fleetcare.cli.app import Settings
from fleetcare.cli.words import settings
from fleetcare.errors import needs
from fleetcare.web.settings import PORT

_HEALTH = "Whether it runs is told by: {address}health"


@click.command()
@click.option("--host", default="127.0.0.1", show_default=True, help="Where it listens.")
@click.option("--port", type=click.IntRange(1, 65535), default=PORT, show_default=True)
@click.option("--processes", type=click.IntRange(1, 64), default=1, show_default=True)
@click.option("--tls-cert", metavar="FILE", help="Certificate, where it has TLS of its own.")
@click.option("--tls-key", metavar="FILE", help="The key that goes with it.")
@click.option("--behind-proxy", metavar="NAME", help="A proxy has TLS; people type this name.")
@click.option("--proxy-address", default="127.0.0.1", show_default=True, help="Where it asks from.")
@click.option("--name", "names", multiple=True, metavar="NAME", help="A name it is reached by.")
@click.option("--check", is_flag=True, help="Say whether it could serve, and end.")
@click.option("--demo", is_flag=True, help="The sample fleet, with a link for each of four people.")
@settings
def serve(s: Settings, /, check: bool, demo: bool, **said: Any) -> None:
    """Serve the pages: counter, yard, workshop, people. Ctrl-C ends it.

    Example: fleetcare --db fleet.db serve
    """
    with needs("starlette", "web"), needs("jinja2", "web"), needs("argon2", "web"):
        from fleetcare.web import app as _  # noqa: F401  # all it needs is there, or said now
    from fleetcare.web import serving

    listening = serving.Listening(**said)
    if demo:
        _demo(listening)
        return
    from fleetcare.desk import fleet, gate

    what = serving.served(s.db, listening)
    fleet.size(s.db)
    address = serving.address(what, listening)
    if not gate.people(s.db):
        click.echo(
            "Nobody may come in yet. Let the first one in with: fleetcare person add NAME "
            "--role owner",
            err=True,
        )
    if check:
        click.echo(f"Ready to serve at {address}")
        return
    serving.free_port(listening)
    click.echo(f"Serving at {address} Ctrl-C ends it. {_HEALTH.format(address=address)}")
    serving.run(what, listening)


_PEOPLE = (
    ("Carla Counter", "clerk"), ("Yannick Yard", "yard"), ("Wanda Workshop", "workshop"),
    ("Odette Owner", "owner"),
)  # fmt: skip


def _demo(listening: Any) -> None:
    """The sample fleet on its own day, gone when it ends."""
    import datetime as dt

    from fleetcare import clock
    from fleetcare.cli.demo import run
    from fleetcare.desk import gate, sample
    from fleetcare.web import serving

    listening = listening._replace(processes=1)  # the clock stands in this process alone
    with tempfile.TemporaryDirectory(prefix="fleetcare-demo-") as folder:
        place = str(Path(folder) / "sample.db")
        what = serving.served(place, listening, demo=True)
        serving.free_port(listening)
        click.echo("Building the sample fleet, an invented firm …")
        sample.build(Path(place), run)
        address = serving.address(what, listening)
        morning = dt.datetime.combine(sample.today(), dt.time(9, 30), dt.UTC)
        with clock.standing_at(morning):
            click.echo(f"Serving at {address} Ctrl-C ends it. Come in as:")
            for name, role in _PEOPLE:
                gate.person_add(place, name, [role])
                made = gate.person_link(place, name, enters=True)
                click.echo(f"  {role:<8}  {address}link/{made}")
            serving.run(what, listening)


@click.group()
def person() -> None:
    """Who may come in to the pages, and what for."""


_ROLE = click.option(
    "--role", "roles", multiple=True, metavar="ROLE", help="clerk, yard, workshop or owner."
)
_AT = click.option(
    "--at", "address", metavar="ADDRESS",
    help=f"Where the pages are reached; port {PORT} of this machine if not given.",
)  # fmt: skip


def _linked(address: str | None, name: str, made: str) -> None:
    click.echo(f"Give {name} this address, and nobody else; it holds for a day and works once:")
    here = f"http://127.0.0.1:{PORT}"
    click.echo(f"{(address or here).rstrip('/')}/link/{made}")
    if address is None:
        click.echo(
            f"It opens on this machine, where serve listens on port {PORT}. Are the pages reached "
            f"otherwise, put what serve prints in the place of {here}."
        )


@person.command("add")
@click.argument("name")
@_ROLE
@_AT
@settings
def person_add(s: Settings, /, name: str, roles: tuple[str, ...], address: str | None) -> None:
    """Let somebody in: prints a link by which they choose a password.

    Example: fleetcare --db fleet.db person add "W. Yard" --role yard
    """
    from fleetcare.desk import gate

    _linked(address, name, gate.person_add(s.db, name, roles))


@person.command("link")
@click.argument("name")
@_AT
@settings
def person_link(s: Settings, /, name: str, address: str | None) -> None:
    """A new link for somebody whose password is lost; what they are signed in with ends.

    Example: fleetcare --db fleet.db person link "W. Yard"
    """
    from fleetcare.desk import gate

    _linked(address, name, gate.person_link(s.db, name))


@person.command("roles")
@click.argument("name")
@_ROLE
@settings
def person_roles(s: Settings, /, name: str, roles: tuple[str, ...]) -> None:
    """Other roles for somebody; what they are signed in with ends.

    Example: fleetcare --db fleet.db person roles "W. Yard" --role yard --role workshop
    """
    from fleetcare.desk import gate

    given = gate.person_roles(s.db, name, roles)
    click.echo(f"{name}: {', '.join(given)}, from now on; they sign in anew.")


@person.command("remove")
@click.argument("name")
@settings
def person_remove(s: Settings, /, name: str) -> None:
    """Somebody may come in no more; what they wrote stays in the book.

    Example: fleetcare --db fleet.db person remove "W. Yard"
    """
    from fleetcare.desk import gate

    gate.person_remove(s.db, name)
    click.echo(f"{name} may come in no more, from this moment on.")


@person.command("list")
@settings
def person_list(s: Settings, /) -> None:
    """Who may come in, and what for.

    Example: fleetcare --db fleet.db person list
    """
    from fleetcare.desk import gate, passkeys, tablet

    pins, keys = tablet.pins(s.db), passkeys.counted(s.db)
    for one in gate.people(s.db):
        ways = ["" if one.may_sign_in else "link not used yet"]
        ways += [pins.get(one.name, ""), keys.get(one.name, "")]
        click.echo("; ".join([f"{one.name}: {', '.join(one.roles)}", *filter(None, ways)]))


@person.command("end-pin")
@click.argument("name")
@settings
def person_end_pin(s: Settings, /, name: str) -> None:
    """End somebody's PIN; what they are signed in with by it ends.

    Example: fleetcare --db fleet.db person end-pin "W. Yard"
    """
    from fleetcare.desk import tablet

    tablet.end_pin(s.db, name)
    click.echo(f"{name} has no PIN from here on, on any tablet; their password stays.")


@person.command("end-passkeys")
@click.argument("name")
@settings
def person_end_passkeys(s: Settings, /, name: str) -> None:
    """End all of somebody's passkeys; what they are signed in with ends.

    Example: fleetcare --db fleet.db person end-passkeys "W. Yard"
    """
    from fleetcare.desk import passkeys

    passkeys.end_all(s.db, name)
    click.echo(f"{name} has no passkey from here on, and is signed out; their password stays.")


COMMANDS = {"serve": serve, "person": person}
