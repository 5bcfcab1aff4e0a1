"""prepare, handover, return: a walk round a van, on screen, or on paper and back."""

from __future__ import annotations

import datetime as dt
import re
import shutil
import sys
import textwrap
import time
from collections.abc import Callable
from functools import partial
from pathlib import Path
from typing import Any

import click

from fleetcare import clock
from fleetcare.cli.app import Settings
from fleetcare.cli.typed import as_typed
from fleetcare.cli.words import DAY, at_option, dry_run_option, even_so, on_option, put, settings
from fleetcare.errors import Problem, Refused
from fleetcare.files import read_text

_MOST = 1_000_000  # octets of a sheet filled; one is a few thousand
_KEYS = "Enter: sound, where nobody can be hurt by it; s sound, w wrong, b back, ? why."


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
    from fleetcare.desk import sheets, walked

    target, source = said.pop("sheet"), said.pop("from_file")
    if target and source:
        raise click.UsageError("--sheet writes a sheet and --from-file reads one: say one of them")
    if target and target.lower().endswith(".pdf"):
        raise click.UsageError("--sheet writes plain text, to be typed in or printed: name it .txt")
    form, book = sheets.form(s.db, van, ref, what, on=said["on"])
    if target:
        put(sheets.printed(form, {}), target)
        return
    draft = Path(f"{what}-{van}-{re.sub('[^A-Za-z0-9._-]', '_', ref)}.txt")
    minutes = None
    if source:
        answers = sheets.read(read_text(source, _MOST), form)
        if _more(answers, form):  # the yard's lines are answered too, whoever prepared it since
            form, book = sheets.form(s.db, van, ref, what, on=said["on"], whole=True)
        if sys.stdin.isatty():
            answers = _changed_since(answers, form)
            if any(line.name not in answers for line in form.lines):
                answers = _asked_all(draft, form, book, answers)
    else:
        begun = time.monotonic()
        if draft.exists() and _more(sheets.read(read_text(str(draft), _MOST), form), form):
            form, book = sheets.form(s.db, van, ref, what, on=said["on"], whole=True)
        answers = _walk(draft, form, book, said["name"])
        minutes = round((time.monotonic() - begun) / 60)
        answers.setdefault("signed-at", clock.hour()[1])  # what is done after it comes after it
    filled = walked.Filled(
        what, van, ref, {n: a for n, a in answers.items() if not n.startswith("signed-")},
        said["name"] or answers.get("signed-by"), said["on"] or _signed_on(answers),
        said["at"] or answers.get("signed-at"), said["even_so"], minutes,
    )  # fmt: skip
    with as_typed():
        lines = sheets.take_in(s.db, s.by, filled, dry_run=said["dry_run"])
    for line in lines:
        click.echo(line)
    if not said["dry_run"]:
        draft.unlink(missing_ok=True)  # all of it is in the book now


def _signed_on(answers: dict[str, str]) -> dt.date | None:
    word = answers.get("signed-on")
    if word is None:
        return None
    try:
        return DAY.convert(word, None, None)
    except click.UsageError as fault:
        raise Refused([Problem("signed-on", fault.message)]) from None


def _more(answers: dict[str, str], form: Any) -> bool:
    """Whether something is answered that a sheet does not ask."""
    names = {line.name for line in form.lines}
    return any(name not in names and not name.startswith("signed-") for name in answers)


# What says of a line that nothing is wrong there.
_SOUND = frozenset({"ok", "nil", "no", "yes", "done"})


def _changed_since(answers: dict[str, str], form: Any) -> dict[str, str]:
    """The answers to lines that still stand, where the van's facts changed since the sheet was
    printed; those that fell away are told. Refused for one that says that something is wrong: no
    answer is dropped that somebody may be hurt for."""
    names = {line.name for line in form.lines}
    gone = [n for n in answers if n not in names and not n.startswith("signed-")]
    wrong = [
        Problem(n, f'says "{answers[n]}" and is no line of this van now: report it by itself')
        for n in gone
        if answers[n] not in _SOUND
    ]
    if wrong:
        raise Refused(wrong)
    for name in gone:
        click.echo(f"{name}: is asked no more, and left out", err=True)
    return {name: answer for name, answer in answers.items() if name not in gone}


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
    return _asked_all(draft, form, book, _changed_since(answers, form))


def _asked_all(draft: Path, form: Any, book: Any, answers: dict[str, str]) -> dict[str, str]:
    """Every line that has no answer yet, in order; `b` goes back to the one before."""
    from fleetcare.desk import sheets

    left = [line for line in form.lines if line.name not in answers]
    _tell(
        f"{len(form.lines)} lines, {len(left)} to go. Answers are kept in {draft}: break off with "
        f"Ctrl-C and go on with the same command. {_KEYS}"
    )
    for words in (*(f"Known already: {one}" for one in form.known), *form.cautions):
        _tell(f"! {words}")
    place = 0
    while place < len(left):
        line = left[place]
        _tell(f"\n{place + 1}/{len(left)} {line.kind.title}")
        answer = _asked(line, partial(sheets.fault, book, line))
        if answer is None:
            place = max(place - 1, 0)
            answers.pop(left[place].name, None)
            continue
        answers[line.name] = answer
        _save(draft, sheets.printed(form, answers))
        place += 1
    return answers


def _asked(line: Any, fault: Callable[[str], Problem | None]) -> str | None:
    """An answer that can be read, asked for until there is one; None to go back a line."""
    looked = {"look": "ok", "nil": "nil"}.get(line.kind.asks)
    while True:
        try:
            prompt = f"{line.name} ({line.how})"
            text = str(click.prompt(prompt, default="", show_default=False, err=True)).strip()
            if text == "w" and looked:
                text = str(click.prompt("  what is wrong (like minor: blind torn)", err=True))
        except click.Abort:
            click.echo(err=True)  # off the line that was asked
            raise
        if text == "b":
            return None
        if text == "?":
            _tell(f"    why: {line.kind.why}. Source: {line.kind.source}")
            continue
        if text == "" and line.kind.danger:
            _tell("    somebody may be hurt by it: look, then type s or w")
            continue
        if looked and text in ("", "s"):
            return looked
        problem = fault(text) if text else Problem(line.name, "is not filled in")
        if problem is None:
            return text
        _tell(f"    {problem}")


def _tell(words: str) -> None:
    """Words on the screen, no wider than it is."""
    width = max(shutil.get_terminal_size().columns, 20)
    indent = " " * (len(words) - len(words.lstrip(" ")))
    for line in words.split("\n"):
        click.echo(textwrap.fill(line, width, subsequent_indent=indent), err=True)


def _save(path: Path, text: str) -> None:
    """Put the draft in the place of the last one."""
    from fleetcare.files import put_over

    try:
        put_over(path, f"{text}\n")
    except OSError as fault:
        raise Refused([Problem(str(path), f"cannot be written: {fault.strerror}")]) from None


@click.command()
@_sheet_options
@dry_run_option
@settings
def prepare(s: Settings, /, van: str, ref: str, **said: Any) -> None:
    """Walk through what the yard looks at before the hirer comes: tyres, gas, lights, alarms.

    Example: fleetcare --db fleet.db prepare V01 H1 --by "W. Yard"
    """
    _done(s, "prepared", van, ref, said)


@click.command()
@_sheet_options
@dry_run_option
@settings
def handover(s: Settings, /, van: str, ref: str, **said: Any) -> None:
    """Walk through the handover with the hirer; of a van nobody prepared, the yard's lines too.

    Example: fleetcare --db fleet.db handover V01 H1 --by "W. Yard"
    """
    _done(s, "handover", van, ref, said)


@click.command("return")
@_sheet_options
@dry_run_option
@settings
def return_(s: Settings, /, van: str, ref: str, **said: Any) -> None:
    """Walk through the return of a van: what it shows, what broke, what was used.

    Example: fleetcare --db fleet.db return V01 H1 --by "W. Yard"
    """
    _done(s, "return", van, ref, said)


COMMANDS: dict[str, Any] = {"prepare": prepare, "handover": handover, "return": return_}
