"""The `fleetcare` command: a table of commands, loaded only when one is asked for, and the one
place where an error becomes words and an exit code."""

from __future__ import annotations

import importlib
import os
import sys
from typing import Any, NoReturn

import click

from fleetcare.cli.ends import joined, refuse_no_text, settled, told
from fleetcare.errors import Declined, ExitCode, FleetcareError, Noted, Refused, noting

VERSION = "0.16.0"  # a literal, so that --version reads no metadata; a test holds it to pyproject

# name: (module under fleetcare.cli, page of the handbook, one line of help)
COMMANDS: dict[str, tuple[str, str, str]] = {
    "init": ("keep", "first-week", "Make a book, or bring an older one up."),
    "handbook": ("handbook", "first-week", "Read a page by what you came to do."),
    "demo": ("demo", "first-week", "Show the main job on an invented fleet."),
    "van": ("van", "first-week", "Add a van, say more of it, lay it up, list the fleet, show one."),
    "fit": ("van", "workshop", "Fit a component to a place; what was there comes off."),
    "take-off": ("van", "workshop", "Empty a place."),
    "odometer": ("van", "workshop", "Write down what the odometer showed."),
    "inspector": ("record", "workshop", "Add a person who checks vans, and what for."),
    "record": ("record", "workshop", "Record a check, service, test or paper."),
    "expect": ("record", "first-week", "A day on which a check falls due, its paper not seen yet."),
    "weighed": ("weigh", "load", "Write down a weighbridge ticket."),
    "attach": ("record", "workshop", "Keep the scan or photo of a record's paper."),
    "defect": ("defect", "workshop", "Report a defect, repair it, sign it off, recheck it."),
    "hold": ("defect", "workshop", "Take a van off hire, or lift a hold."),
    "event": ("yard", "yard", "Write down what happened to a van: a knock, gas work, a wheel off."),
    "recall": ("yard", "workshop", "A maker's recall of a van, and the paper that closes it."),
    "hire": ("hire", "clerk", "Bookings: add, change, cancel; release a van, take it back."),
    "work": ("work", "visits", "Book a van in with a workshop; what one visit could do."),
    "prepare": ("walk", "yard", "Walk through what the yard looks at before a handover."),
    "handover": ("walk", "yard", "Walk through a van's handover, on screen or paper."),
    "return": ("walk", "yard", "Walk through a van's return."),
    "sheet": ("sheet", "first-week", "Spreadsheets in: a blank to fill, and what was filled."),
    "withdraw": ("correct", "workshop", "Take a record back; it stays to be seen."),
    "correct": ("correct", "workshop", "Put a record right; the old one stays."),
    "erase": ("erase", "keeper", "Empty a name or words for good; no judgement changes."),
    "due": ("questions", "monday", "What falls due, as the Monday meeting reads it."),
    "which": ("which", "phone", "Which vans can go from one day to another, best first."),
    "weigh": ("weigh", "load", "What a van carries with a party aboard, and what to leave."),
    "diary": ("diary", "phone", "Hires, workshop and last days of the fleet along the weeks."),
    "hireable": ("questions", "clerk", "May a van go out from one day to another?"),
    "missing": ("missing", "first-week", "What must be written down before a van may go."),
    "why": ("questions", "clerk", "Why a rule stands as it does for a van."),
    "history": ("history", "owner", "What was in force for a van on a day, and on which records."),
    "who-had": ("had", "owner", "Which hire had a van at a moment: for a charge notice."),
    "answers": ("history", "owner", "The answers kept of a van, and what changed them since."),
    "rules": ("rules", "rules", "List, show, check and adopt rules."),
    "calc": ("calc", "workshop", "Tyre week, load index, VIN: sums that need no book."),
    "export": ("keep", "owner", "Write the workbook for insurers, or a calendar feed."),
    "mail": ("mail", "monday", "Send the Monday report by mail."),
    "pack": ("paper", "owner", "The evidence for a van over some days, as one PDF."),
    "picture": ("paper", "monday", "Draw the fleet or a van along the months."),
    "completion": ("shell", "keeper", "Make a shell finish commands and fleet numbers."),
    "label": ("paper", "owner", "A label for windscreen or locker."),
    "serve": ("serve", "browser", "Serve the pages: counter, yard and workshop in a browser."),
    "person": ("serve", "browser", "Who may come in to the pages, and what for."),
    "status": ("trust", "keeper", "How much the book holds, and its tally."),
    "verify": ("trust", "keeper", "Has anyone touched the book? Every record, and older tallies."),
    "witness": ("witness", "keeper", "Tell a file kept elsewhere how the book stands."),
    "prove": ("trust", "owner", "What proves that a record is in the book."),
    "backup": ("trust", "keeper", "A verified copy of the book, and the check of one."),
    "restore": ("trust", "keeper", "Bring a copy back as a book at a new path."),
    "dump": ("trust", "keeper", "Write the whole book as JSON Lines."),
    "load": ("trust", "programs", "Take in a dump, or facts that other programs wrote."),
}
# Verbs that somebody else comes to do than the rest of their command.
VERB_PAGES = {
    ("hire", "list"): "phone",
    ("hire", "out"): "yard",
    ("hire", "swap"): "roadside",
    ("hire", "back"): "yard",
    ("hire", "waive"): "yard",
    ("van", "lay-up"): "owner",
    ("van", "gone"): "owner",
    ("export", "calendar"): "monday",
}


def _name_page(command: click.Command, page: str) -> None:
    """Let a command's help end with the page of the handbook that tells of it."""
    command.epilog = f"More: fleetcare handbook {page}"


def _say_words(command: click.Command) -> None:
    """Let the help of a command, and of its verbs, say what its words mean."""
    from fleetcare.desk.handbook import meanings

    for each in (command, *getattr(command, "commands", {}).values()):
        options = [str(getattr(one, "help", "")) for one in each.params]
        said = meanings("\n".join([each.help or "", *options]))
        each.epilog = "\n\n".join([*said, each.epilog or ""])


class LazyGroup(click.Group):
    """Commands by name from the table; a module is imported when its command is called."""

    def list_commands(self, ctx: click.Context) -> list[str]:
        """Every command, in the order of a working day."""
        return list(COMMANDS)

    def get_command(self, ctx: click.Context, cmd_name: str) -> click.Command | None:
        """The command of a name, its module imported now."""
        if cmd_name not in COMMANDS:
            return None
        module = importlib.import_module(f"fleetcare.cli.{COMMANDS[cmd_name][0]}")
        found: click.Command = module.COMMANDS[cmd_name]
        _name_page(found, COMMANDS[cmd_name][1])
        for verb, command in getattr(found, "commands", {}).items():
            _name_page(command, VERB_PAGES.get((cmd_name, verb), COMMANDS[cmd_name][1]))
        return found

    def resolve_command(
        self, ctx: click.Context, args: list[str]
    ) -> tuple[str | None, click.Command | None, list[str]]:
        """A command by its name; a misspelt one is answered with the nearest."""
        if args and args[0] not in COMMANDS:
            import difflib

            close = difflib.get_close_matches(args[0], COMMANDS, n=1)
            hint = f' Did you mean "{close[0]}"?' if close else ""
            raise click.UsageError(f'there is no command "{args[0]}".{hint}', ctx)
        name, command, rest = super().resolve_command(ctx, args)
        if command is not None and not {"-h", "--help"}.isdisjoint(rest):
            _say_words(command)
        return name, command, rest

    def format_commands(self, ctx: click.Context, formatter: click.HelpFormatter) -> None:
        """The list in --help, from the table alone."""
        with formatter.section("Commands"):
            formatter.write_dl([(name, line) for name, (_, _, line) in COMMANDS.items()])


class Settings:
    """What stands before the command: which database, and who is writing."""

    def __init__(self, db: str | None, by: str | None) -> None:
        self._db = db
        self._by = by

    @property
    def db(self) -> str:
        """The database's address; a usage error where none was named."""
        named = self.db_if_named
        if not named:
            raise click.UsageError(
                "no database is named: add --db FILE before the command, or set FLEETCARE_DB"
            )
        return named

    @property
    def db_if_named(self) -> str | None:
        """The database's address, or None."""
        from fleetcare.files import real

        return real(self._db) if self._db else None

    @property
    def by(self) -> str:
        """Who is writing: --as, FLEETCARE_AS, or the login."""
        if self._by:
            return self._by
        import getpass

        try:
            return getpass.getuser()
        except (KeyError, OSError):
            raise click.UsageError(
                'say who is writing: add --as "NAME" before the command, or set FLEETCARE_AS'
            ) from None


@click.group(
    cls=LazyGroup,
    context_settings={"help_option_names": ["-h", "--help"], "max_content_width": 100},
    epilog="More: fleetcare handbook",
)
@click.option(
    "--db",
    envvar="FLEETCARE_DB",
    metavar="URL",
    help="The book: a path, or postgresql+psycopg://…  [FLEETCARE_DB]",
)
@click.option(
    "--as",
    "by",
    envvar="FLEETCARE_AS",
    metavar="NAME",
    help="Who is writing.  [FLEETCARE_AS, else the login]",
)
@click.version_option(VERSION, prog_name="fleetcare", message="%(prog)s %(version)s, schema 0007")
@click.pass_context
def cli(ctx: click.Context, db: str | None, by: str | None) -> None:
    """May this motorhome go out on hire, and what falls due?

    fleetcare records and counts days. It never judges gas, electrical, tyre or fire work: that
    is for licensed and competent people.
    """
    _check_today(os.environ.get("FLEETCARE_TODAY"))
    ctx.obj = Settings(db, by)


def _check_today(named: str | None) -> None:
    """The day that stands in for today, where one is set, is a day."""
    if named is None:
        return
    import datetime as dt

    try:
        dt.date.fromisoformat(named)
    except ValueError:
        raise click.UsageError(
            f'FLEETCARE_TODAY is "{named}": set it like 2026-03-02, or not at all'
        ) from None


_MASKS = {None: 0o077, "0600": 0o077, "0640": 0o027}


def keep_from_others(mode: str | None) -> None:
    """Whatever is made from here on, the book, its papers and what is made of them, is read by
    nobody else; with 0640 by the group too. Names stand in it."""
    if mode not in _MASKS:
        raise click.UsageError(f'FLEETCARE_MODE is "{mode}": set it to 0600 or 0640, or not at all')
    os.umask(_MASKS[mode])


def _said(code: ExitCode, message: str) -> int:
    click.echo(message, err=True)
    return int(code)


def main(args: list[str] | None = None) -> NoReturn:
    """Run the command line; every way of ending is one of the exit codes."""
    with joined() as out, noting() as noted:
        code = settled(out, _run(sys.argv[1:] if args is None else args, noted), noted)
    sys.exit(code)


def _run(args: list[str], noted: Noted) -> int:
    """Run a command; an error becomes words and its code."""
    try:
        refuse_no_text(args)
        keep_from_others(os.environ.get("FLEETCARE_MODE"))
        code: Any = cli.main(args=args, prog_name="fleetcare", standalone_mode=False)
        return code if isinstance(code, int) else int(ExitCode.DONE)
    except click.exceptions.NoArgsIsHelpError as helping:
        click.echo(helping.ctx.get_help() if helping.ctx else "")
        return int(ExitCode.DONE)
    except click.UsageError as fault:
        fault.show()
        return int(ExitCode.USAGE)
    except SystemExit as ended:  # a shell asked how a line goes on, or asked it wrongly
        return int(ExitCode.USAGE if ended.code else ExitCode.DONE)
    except (click.Abort, KeyboardInterrupt):
        return _said(ExitCode.INTERRUPTED, _broken_off(noted))
    except Refused as fault:
        return _said(fault.code, "Error: " + "\n       ".join(fault.lines))
    except Declined as fault:
        click.echo(fault.answer)
        return int(fault.code)
    except FleetcareError as fault:
        return _said(fault.code, f"Error: {fault}")
    except OSError as fault:
        return _said(ExitCode.REFUSED, _so_far(f"Error: {told(fault)}", noted))
    except UnicodeError:
        words = "Error: what was typed is not UTF-8 text: type it again"
        return _said(ExitCode.USAGE, _so_far(words, noted))
    except Exception as bug:
        what = f"A bug of ours: {type(bug).__name__}: {bug}"
        if os.environ.get("FLEETCARE_DEBUG"):
            import traceback

            what = "".join(traceback.format_exception(bug))
        unwritten = "Run it again with FLEETCARE_DEBUG=1 and send what it prints."
        return _said(ExitCode.BUG, _so_far(what, noted, unwritten))


def _broken_off(noted: Noted) -> str:
    """What is true of a command that was interrupted."""
    if noted.lines or noted.unsure:
        return _so_far("Interrupted.", noted)
    return "Interrupted: nothing more was written."


def _so_far(what: str, noted: Noted, unwritten: str = "") -> str:
    """What went wrong, with what is true of the book and of files after it."""
    if noted.unsure:
        says = "Look whether this was written before you type it again:"
    elif noted.lines:
        says = "This was done before it, so do not type it again:"
    else:
        says = f"Nothing was written. {unwritten}".rstrip()
    return "\n".join([what, says, *noted.lines, *noted.unsure])
