"""handover, return, event, recall: what the yard writes down."""

from __future__ import annotations

import datetime as dt
import re
from collections.abc import Callable
from functools import partial
from pathlib import Path
from typing import Any

import click

from fleetcare import clock
from fleetcare.cli.app import Settings
from fleetcare.cli.typed import as_typed
from fleetcare.cli.words import (
    DAY,
    NUMBER,
    VerbOrSet,
    at_option,
    done_on,
    even_so,
    on_option,
    put,
    settings,
    van_argument,
    writes,
)
from fleetcare.errors import Problem, Refused
from fleetcare.files import read_text

_MOST = 1_000_000  # octets of a sheet filled; one is a few thousand


def _sheet_options(command: Any) -> Any:
    for option in (
        click.argument("van"),
        click.argument("ref"),
        click.option("--by", "name", metavar="NAME", help="Who walked round and signs."),
        click.option("--sheet", metavar="FILE", help="Write the sheet for paper, and ask nothing."),
        click.option(
            "--from-file", metavar="FILE", help="Take in a sheet whose brackets are filled."
        ),
        on_option("The day it was filled; today if not given."),
        at_option,
        even_so,
    )[::-1]:
        command = option(command)
    return command


def _done(s: Settings, what: str, van: str, ref: str, said: dict[str, Any]) -> None:
    """Print a blank sheet, take in a filled one, or walk through it here."""
    from fleetcare.desk import sheets

    target, source = said.pop("sheet"), said.pop("from_file")
    if target and source:
        raise click.UsageError("--sheet writes a sheet and --from-file reads one: say one of them")
    if target and target.lower().endswith(".pdf"):
        raise click.UsageError("--sheet writes plain text, to be typed in or printed: name it .txt")
    form, book = sheets.form(s.db, van, ref, what)
    if target:
        put(sheets.printed(form, {}), target)
        return
    draft = None
    if source:
        answers = sheets.read(read_text(source, _MOST), form)
    else:
        draft = Path(f"{what}-{van}-{re.sub('[^A-Za-z0-9._-]', '_', ref)}.txt")
        answers = _walk(draft, form, book, said["name"])
    filled = sheets.Filled(
        what, van, ref, {n: a for n, a in answers.items() if not n.startswith("signed-")},
        said["name"] or answers.get("signed-by"), said["on"] or _signed_on(answers),
        said["at"] or answers.get("signed-at"), said["even_so"],
    )  # fmt: skip
    with as_typed():
        lines = sheets.take_in(s.db, s.by, filled, dry_run=said["dry_run"])
    for line in lines:
        click.echo(line)
    if draft is not None and not said["dry_run"]:
        draft.unlink(missing_ok=True)  # all of it is in the book now


def _signed_on(answers: dict[str, str]) -> dt.date | None:
    word = answers.get("signed-on")
    if word is None:
        return None
    try:
        return DAY.convert(word, None, None)
    except click.UsageError as fault:
        raise Refused([Problem("signed-on", fault.message)]) from None


def _walk(draft: Path, form: Any, book: Any, name: str | None) -> dict[str, str]:
    """Ask line by line what the draft does not answer yet; each answer is kept in it at once."""
    from fleetcare.desk import sheets

    if not name:
        raise click.UsageError("say who walks round and signs: add --by NAME")
    today = clock.today().isoformat()
    answers = sheets.read(read_text(str(draft), _MOST), form) if draft.exists() else {}
    if answers.setdefault("signed-on", today) != today:
        words = (
            f"was begun on {answers['signed-on']}: what was looked at then is not today's. Take it "
            f"in as it is with --from-file {draft}, or remove it and walk round again"
        )
        raise Refused([Problem(str(draft), words)])
    left = [line for line in form.lines if line.name not in answers]
    click.echo(
        f"{len(form.lines)} lines, {len(left)} to go. Answers are kept in {draft}: break off with "
        "Ctrl-C and go on with the same command.",
        err=True,
    )
    for caution in form.cautions:
        click.echo(f"! {caution}", err=True)
    for number, line in enumerate(left, 1):
        click.echo(f"\n{number}/{len(left)} {line.kind.title}\n    why: {line.kind.why}", err=True)
        answers[line.name] = _asked(line.name, line.how, partial(sheets.fault, book, line))
        _save(draft, sheets.printed(form, answers))
    return answers


def _asked(name: str, words: str, fault: Callable[[str], Problem | None]) -> str:
    """An answer that can be read; asked again until it can."""
    while True:
        try:
            text = str(click.prompt(f"{name} ({words})", err=True)).strip()
        except click.Abort:
            click.echo(err=True)  # off the line that was asked
            raise
        problem = fault(text)
        if problem is None:
            return text
        click.echo(f"    {problem}", err=True)


def _save(path: Path, text: str) -> None:
    """Put the draft in the place of the last one."""
    from fleetcare.files import put_over

    try:
        put_over(path, f"{text}\n")
    except OSError as fault:
        raise Refused([Problem(str(path), f"cannot be written: {fault.strerror}")]) from None


@click.command()
@_sheet_options
@click.option("--dry-run", is_flag=True, help="Say what would change and write nothing.")
@settings
def handover(s: Settings, /, van: str, ref: str, **said: Any) -> None:
    """Walk through the handover of a van; on paper with --sheet, from paper with --from-file.

    Example: fleetcare --db fleet.db handover V01 H1 --by "W. Yard"
    """
    _done(s, "handover", van, ref, said)


@click.command("return")
@_sheet_options
@click.option("--dry-run", is_flag=True, help="Say what would change and write nothing.")
@settings
def return_(s: Settings, /, van: str, ref: str, **said: Any) -> None:
    """Walk through the return of a van: what it shows, what broke, what was used.

    Example: fleetcare --db fleet.db return V01 H1 --by "W. Yard"
    """
    _done(s, "return", van, ref, said)


@click.command()
@van_argument
@click.argument("what")
@click.argument("words", required=False)
@done_on("The day it happened; today if not given.")
@at_option
@click.option("--by", "name", metavar="NAME", help="Who says so.")
@click.option("--ref", help="The hire it happened on; the one it is out on if not given.")
@click.option("--where", metavar="PLACE", help="Where the van is from then on.")
@click.option("--told", metavar="WORDS", help="What the hirer was told.")
@click.option("--came", metavar="WHO", help="Who came out to it.")
@writes
@settings
def event(
    s: Settings,
    /,
    van: str,
    what: str,
    words: str | None,
    on: dt.date,
    at: str | None,
    name: str | None,
    ref: str | None,
    where: str | None,
    told: str | None,
    came: str | None,
    dry_run: bool,
) -> list[str]:
    """Write down what happened to a van: a knock, gas work, a wheel off, an alarm that sounded.

    Example: fleetcare --db fleet.db event V01 knock --by "W. Yard" "gatepost, rear left"
    """
    from fleetcare.desk import events
    from fleetcare.records.kinds import Event

    happened = Event(0, van, what, on, at, name, None, words, where, told, came)
    return events.event(s.db, s.by, happened, ref, dry_run=dry_run)


@click.group(cls=VerbOrSet, invoke_without_command=False)
def recall() -> None:
    """Makers' recalls: written down, and closed by the dealer's paper.

    Example: fleetcare --db fleet.db recall V01 R-2026-17 --stop-use "seat belt anchor"
    """


@recall.command("set", hidden=True)
@van_argument
@click.argument("maker_number")
@click.argument("words")
@click.option("--stop-use", is_flag=True, help="Not to be used until it is done.")
@click.option("--do-by", type=DAY, help="Last day it may wait.")
@done_on("The day it came; today if not given.")
@writes
@settings
def recall_set(
    s: Settings,
    /,
    van: str,
    maker_number: str,
    words: str,
    stop_use: bool,
    do_by: dt.date | None,
    on: dt.date,
    dry_run: bool,
) -> list[str]:
    """Write down a recall under the maker's number.

    Example: fleetcare --db fleet.db recall V01 R-2026-17 --do-by 2027-01-31 "software"
    """
    from fleetcare.desk import events
    from fleetcare.records.kinds import Recall

    new = Recall(0, van, maker_number, on, words, stop_use or None, do_by)
    return events.recall(s.db, s.by, new, dry_run=dry_run)


@recall.command("done")
@click.argument("number", type=NUMBER)
@click.option("--by", "name", required=True, metavar="NAME", help="The dealer.")
@click.option("--certificate", required=True, metavar="NUMBER", help="Number of the paper.")
@done_on("The day it was done; today if not given.")
@writes
@settings
def recall_done(
    s: Settings,
    /,
    number: int,
    name: str,
    certificate: str,
    on: dt.date,
    dry_run: bool,
) -> list[str]:
    """Close a recall by the dealer's paper.

    Example: fleetcare --db fleet.db recall done 57 --by "Fell Motors" --certificate W-4411
    """
    from fleetcare.desk import events
    from fleetcare.records.kinds import RecallDone

    done = RecallDone(0, "", number, on, name, certificate)
    return events.recall_done(s.db, s.by, done, dry_run=dry_run)


COMMANDS: dict[str, Any] = {
    "handover": handover, "return": return_, "event": event, "recall": recall,
}  # fmt: skip
