"""What commands share: the types of their words, and the two decorators for asking and writing."""

from __future__ import annotations

import datetime as dt
import functools
import re
import sys
import time
from collections.abc import Callable, Iterable, Iterator
from typing import Any, TypeVar

import click

from fleetcare import clock
from fleetcare.cli.app import Settings
from fleetcare.cli.typed import as_typed
from fleetcare.errors import stays

F = TypeVar("F", bound=Callable[..., Any])
_ISO = re.compile(r"\d{4}-\d{2}-\d{2}")


class DayType(click.ParamType[dt.date]):
    """A day typed as YYYY-MM-DD and in no other way."""

    name = "YYYY-MM-DD"

    def convert(self, value: Any, param: Any, ctx: Any) -> dt.date:
        """The day; a usage error names what was typed."""
        if isinstance(value, dt.date):
            return value
        from fleetcare.intake.typed import day

        try:
            return day(value)
        except ValueError as fault:
            self.fail(str(fault), param, ctx)


class KnownAtType(click.ParamType[Any]):
    """When it was known: @4812, a size as printed on any paper, or a day or moment, which means
    what was written down before it; a day means through its end."""

    name = "@SIZE|MOMENT"

    def convert(self, value: Any, param: Any, ctx: Any) -> Any:
        """What the desk takes; a usage error names what was typed."""
        from fleetcare.desk.asking import KnownAt, through

        if isinstance(value, KnownAt):
            return value
        try:
            if value.startswith("@"):
                return KnownAt(size=int(value[1:].replace(",", "")))
            moment = dt.datetime.fromisoformat(value)
            if _ISO.fullmatch(value):
                return through(moment.date())
            return KnownAt(moment=moment.astimezone(dt.UTC))
        except (ValueError, OverflowError):
            self.fail(
                f'"{value}" is neither a size like @4812 nor a moment like 2026-03-02 or '
                "2026-03-02T14:30",
                param,
                ctx,
            )


DAY = DayType()
NUMBER = click.IntRange(min=1, max=2**31 - 1)  # of a record
COUNT = click.IntRange(min=0, max=60)

settings = click.make_pass_decorator(Settings)


def vans_beginning(ctx: click.Context, param: click.Parameter, incomplete: str) -> list[str]:
    """Fleet numbers that begin so, for a shell's completion; a book that can't be read has none."""
    import os

    from fleetcare.desk import fleet
    from fleetcare.errors import FleetcareError

    place = ctx.find_root().params.get("db") or os.environ.get("FLEETCARE_DB")
    try:
        return fleet.names(place, incomplete) if place else []
    except FleetcareError:
        return []


van_argument = click.argument("van", shell_complete=vans_beginning)


class VerbOrSet(click.Group):
    """A group whose first word is one of its verbs, or else what its hidden `set` is of: a van, a
    file."""

    def resolve_command(
        self, ctx: click.Context, args: list[str]
    ) -> tuple[str | None, click.Command | None, list[str]]:
        """The verb named; any other word is what `set` is of."""
        if args and args[0] in self.commands:
            return super().resolve_command(ctx, args)
        return "set", self.commands["set"], args


as_known = click.option(
    "--known-at",
    type=KnownAtType(),
    help="As the book knew it then: a size like @4812, a day or a moment.",
)


def as_known_aside(callback: F) -> F:
    """--known-at for an answer that has no place for cautions: they are messages beside it."""

    @functools.wraps(callback)
    def telling(*args: Any, known_at: Any, **kwargs: Any) -> Any:
        if known_at is not None:
            from fleetcare.desk.asking import hidden_at

            place: str = click.get_current_context().find_root().obj.db
            for line in hidden_at(place, known_at):
                click.echo(f"Caution: {line}", err=True)
        return callback(*args, known_at=known_at, **kwargs)

    made: Any = as_known(telling)
    return made  # type: ignore[no-any-return]


def on_option(words: str) -> Callable[[F], F]:
    """--on with what the day means for the command."""
    return click.option("--on", type=DAY, help=words)


def done_on(words: str) -> Callable[[F], F]:
    """--on for what was done: today where none is typed."""
    return click.option("--on", type=DAY, default=clock.today, help=words)


def asks(words: str = "The day asked about; today if not given.") -> Callable[[F], F]:
    """For a command that asks: --on, --json, --csv, -o; the callback gives what to print, or the
    bytes of a file."""

    def decorate(callback: F) -> F:
        @functools.wraps(callback)
        def printing(*args: Any, output: str | None, **kwargs: Any) -> Any:
            text, code = callback(*args, **kwargs)
            put(text, output)
            if code:
                click.get_current_context().exit(code)

        made: Any = printing
        for option in (
            on_option(words),
            click.option("--json", "form", flag_value="json", help="Print JSON."),
            click.option("--csv", "form", flag_value="csv", help="Print CSV."),
            click.option("-o", "output", metavar="FILE", help="Write to a new file instead."),
        ):
            made = option(made)
        return made  # type: ignore[no-any-return]

    return decorate


dry_run_option = click.option(
    "--dry-run", is_flag=True, help="Say what would change and write nothing."
)


def writes(callback: F) -> F:
    """For a command that writes: --dry-run; the callback gives the lines to print."""

    @functools.wraps(callback)
    def printing(*args: Any, **kwargs: Any) -> Any:
        with as_typed():
            lines = callback(*args, **kwargs)
        for line in lines:
            click.echo(line)

    made: Any = dry_run_option(printing)
    return made  # type: ignore[no-any-return]


ca_option = click.option(
    "--ca", metavar="FILE", help="Certificates (PEM) to which a time-stamp's own must lead."
)
even_so = click.option(
    "--even-so", metavar="WHY", help="Record it although it looks like a slip, with why."
)
at_option = click.option("--at", metavar="HH:MM", help="Time of day; orders records of one day.")


def put(text: str | bytes, output: str | None) -> None:
    """Print, or write a new file whole; a file that is there is left alone."""
    if output is None or output == "-":
        click.echo(text)
        return
    put_bytes(text if isinstance(text, bytes) else text.encode("utf-8") + b"\n", output)
    click.echo(f'Wrote "{output}".', err=True)


def as_file(ending: str) -> bool:
    """Whether -o names a file that ends so, like .pdf."""
    return str(click.get_current_context().params.get("output") or "").lower().endswith(ending)


def put_bytes(data: bytes, output: str) -> None:
    """Write a new file under its name only when it is whole. Refused where one is there."""
    from fleetcare.files import new_file

    with new_file(output) as part:
        part.write_bytes(data)
    stays([f'Wrote "{output}".'])


def shown(lines: Iterable[Any], length: int) -> Iterator[Any]:
    """The lines, with a bar on a terminal when it takes over a second."""
    begun, bar = time.monotonic(), None
    for place, line in enumerate(lines):
        if bar is None and sys.stderr.isatty() and time.monotonic() - begun > 1:
            bar = click.progressbar(length=length, file=sys.stderr, label="Reading")
            bar.update(place)
        yield line
        if bar is not None:
            bar.update(1)
    if bar is not None:
        bar.render_finish()
