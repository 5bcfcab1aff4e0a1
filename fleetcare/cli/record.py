"""record, inspector."""

from __future__ import annotations

import datetime as dt
import functools
from collections.abc import Callable
from typing import Any, TypeVar

import click

from fleetcare.cli.app import Settings
from fleetcare.cli.words import (
    DAY,
    NUMBER,
    at_option,
    even_so,
    on_option,
    settings,
    van_argument,
    writes,
)
from fleetcare.records.kinds import GRADES

F = TypeVar("F", bound=Callable[..., Any])


def _found(command: Any) -> Any:
    for grade in reversed(GRADES):
        command = click.option(
            f"--{grade}", multiple=True, metavar="WORDS", help=f"A defect it found, graded {grade}."
        )(command)
    return command


_ENDED = {
    "pass": "It passed.", "fail": "It failed.", "seen": "A stamp seen in the service book.",
}  # fmt: skip


def _ended(command: F) -> F:
    """How it ended, by one word of three: with two of them nobody knows which is meant."""

    @functools.wraps(command)
    def once(*args: Any, **said: Any) -> Any:
        typed = [word for word in _ENDED if said.pop(word)]
        if len(typed) > 1:
            raise click.UsageError(f"it ended in one way: --{typed[0]} or --{typed[1]}, not both")
        return command(*args, outcome=typed[0] if typed else None, **said)

    made: Any = once
    for word, words in reversed(_ENDED.items()):
        made = click.option(f"--{word}", is_flag=True, help=words)(made)
    return made  # type: ignore[no-any-return]


@click.command()
@van_argument
@click.argument("check")
@on_option("The day it was done, or a paper was seen; today if not given.")
@at_option
@_ended
@click.option("--by", "name", metavar="NAME", help="Who did it.")
@click.option("--place", help="Which one, for a check of a component.")
@click.option("--certificate", metavar="NUMBER", help="Number of the certificate or record.")
@click.option("--from", "from_on", type=DAY, help="First day of a paper, as printed.")
@click.option("--last-day", type=DAY, help="Last day, as printed.")
@click.option(
    "--reading",
    "readings",
    multiple=True,
    metavar="WHAT[:PLACE]=FIGURE",
    help="A reading with its unit, like tread:front-left=5.2mm.",
)
@click.option(
    "--result",
    "results",
    multiple=True,
    metavar="APPLIANCE=RESULT",
    help="pass, isolated, unsafe or not-tested.",
)
@click.option("--odometer", metavar="READING", help="With its unit, like 42310mi.")
@click.option("--plate", help="The plate as read off the paper, to be compared.")
@click.option("--words", metavar="TEXT", help="The tester's own words, kept as they are.")
@click.option(
    "--paper", "papers", multiple=True, metavar="FILE", help="Its scan or photo: PDF, PNG or JPEG."
)
@click.option("--paper-awaited", is_flag=True, help="Its paper is yet to come.")
@_found
@even_so
@writes
@settings
def record(
    s: Settings,
    /,
    van: str,
    check: str,
    name: str | None,
    dry_run: bool,
    dangerous: tuple[str, ...],
    major: tuple[str, ...],
    minor: tuple[str, ...],
    advisory: tuple[str, ...],
    **said: Any,
) -> list[str]:
    """Record a check, service, test or paper of a van; "fleet" for a paper of all vans.

    Example: fleetcare --db fleet.db record V01 gas-safety --on 2026-02-10 --pass --by "A. Fitter"
    --certificate C1
    """
    from fleetcare.desk import checks

    graded = {"dangerous": dangerous, "major": major, "minor": minor, "advisory": advisory}
    found = tuple((grade, text) for grade, texts in graded.items() for text in texts)
    done = checks.Done(what=check, by=name, found=found, **said)
    return checks.record(s.db, s.by, van, done, dry_run=dry_run)


@click.command()
@click.argument("number", type=NUMBER)
@click.argument("files", metavar="FILE...", nargs=-1, required=True)
@writes
@settings
def attach(s: Settings, /, number: int, files: tuple[str, ...], dry_run: bool) -> list[str]:
    """Keep the scan or photo of a record's paper: PDF, PNG or JPEG.

    Example: fleetcare --db fleet.db attach 57 certificate.pdf
    """
    from fleetcare.desk import scans

    return scans.attach(s.db, s.by, number, files, dry_run=dry_run)


@click.group()
def inspector() -> None:
    """People who check vans."""


@inspector.command("add")
@click.argument("name")
@click.option("--scope", help="What the card is for, like lpg-leisure-vehicle.")
@click.option("--register-no", metavar="NUMBER", help="Register number, where the law asks one.")
@click.option("--from", "from_on", type=DAY, help="First day the card is in force.")
@click.option("--through", "through_on", type=DAY, help="Last day the card is in force.")
@click.option("--another", is_flag=True, help="Another person of a name already in the book.")
@click.option("--theirs", is_flag=True, help="The records that bear the name alone are theirs.")
@writes
@settings
def inspector_add(
    s: Settings,
    /,
    name: str,
    scope: str | None,
    register_no: str | None,
    from_on: dt.date | None,
    through_on: dt.date | None,
    another: bool,
    theirs: bool,
    dry_run: bool,
) -> list[str]:
    """Add an inspector with a card, or a further card of one in the book.

    Example: fleetcare --db fleet.db inspector add "A. Fitter" --scope lpg-leisure-vehicle
    --register-no 12345 --from 2015-01-01 --through 2030-12-31
    """
    from fleetcare.desk import people

    card = people.Card(scope, register_no, from_on, through_on)
    whose = people.Whose(another, theirs)
    return people.inspector_add(s.db, s.by, name, card, whose, dry_run=dry_run)


@click.command()
@van_argument
@click.argument("check")
@click.option("--due", required=True, type=DAY, help="The day on which it is said to fall due.")
@click.option("--place", help="Which one, where the check is of one component.")
@writes
@settings
def expect(
    s: Settings, /, van: str, check: str, due: dt.date, place: str | None, dry_run: bool
) -> list[str]:
    """A day on which a check is said to fall due, its paper not seen: evidence of nothing, and
    `missing` asks for the paper.

    Example: fleetcare --db fleet.db expect V01 gas-safety --due 2027-02-22
    """
    from fleetcare.desk import checks
    from fleetcare.records.yard import Expectation

    expected = Expectation(0, van, check, due, place)
    return checks.expect(s.db, s.by, expected, dry_run=dry_run)


COMMANDS: dict[str, click.Command] = {
    "record": record, "attach": attach, "inspector": inspector, "expect": expect,
}  # fmt: skip
