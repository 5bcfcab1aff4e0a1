"""What was written is told, wherever it can be; what was not is never said to be."""

from __future__ import annotations

from pathlib import Path

import pytest

from fleetcare.desk import trust
from fleetcare.errors import ExitCode
from tests.cli.conftest import ADD, HIRE, READ, Typed, records

FULL = "Caution: standard output can't be written: No space left on device. This was done:"
CLOSED = "Caution: standard output can't be written: Bad file descriptor. This was done:"
ECHO = "#3 odometer 42310mi, Mon 23 Nov 2026."


@pytest.mark.parametrize(("to", "caution"), [(">/dev/full", FULL), (">&-", CLOSED)])
def test_a_write_that_cannot_be_echoed_is_told_on_stderr(
    small: Typed, tmp_path: Path, to: str, caution: str
) -> None:
    """Done, with 0 and its number: typing it again would write it twice."""
    ran = small.shell(READ, to)

    assert (ran.code, ran.out) == (ExitCode.DONE, "")
    assert ran.err.splitlines()[:2] == [caution, ECHO]
    assert records(tmp_path) == 3


def test_a_file_made_and_not_named_is_told_on_stderr(small: Typed, tmp_path: Path) -> None:
    """A copy of the book, and a paper, are there: not to be made again."""
    copied = small.shell("backup -o copy.db", ">/dev/full")
    exported = small.shell("export calendar -o due.ics", ">/dev/full")

    assert (copied.code, exported.code) == (ExitCode.DONE, ExitCode.DONE)
    assert copied.err.startswith(f'{FULL}\nCopied to "copy.db": 2 records, tally ')
    assert exported.err == f'{FULL}\nWrote "due.ics".\n'


def test_an_answer_that_cannot_be_put_where_it_was_to_go_fails(small: Typed) -> None:
    """A file cut short by a full disk is no answer; a no stays a no; nobody listening is no fault."""
    full = "Error: standard output can't be written: No space left on device\n"
    ask = "hireable V01 --from 2027-01-02 --through 2027-01-03"

    assert small.shell("due", ">/dev/full") == (ExitCode.REFUSED, "", full)
    assert small.shell(ask, ">/dev/full") == (ExitCode.NO, "", full)
    assert small.shell("due", ">&-") == (ExitCode.DONE, "", "")
    assert small.shell(ask, ">&-") == (ExitCode.NO, "", "")


def test_a_dry_run_that_cannot_be_shown_says_no_record(small: Typed, tmp_path: Path) -> None:
    """Nothing was written, and nothing is said to be."""
    ran = small.shell(f"{READ} --dry-run", ">/dev/full")

    assert ran == (
        ExitCode.REFUSED, "", "Error: standard output can't be written: No space left on device\n",
    )  # fmt: skip
    assert records(tmp_path) == 2


def test_with_every_stream_closed_the_book_is_whole(typed: Typed, tmp_path: Path) -> None:
    """A file opened in the place of a stream would be printed into: the book is made and sound."""
    made = typed.shell("init", "<&- >&- 2>&-")
    added = typed.shell(ADD, "<&- >&- 2>&-")

    assert (made, added) == ((0, "", ""), (0, "", ""))
    assert trust.verify(str(tmp_path / "fleet.db")).faults == []
    assert records(tmp_path) == 2


AT_COMMIT = """
import sqlalchemy as sa
whole = sa.engine.RootTransaction.commit
def commit(self):
    {}
sa.engine.RootTransaction.commit = commit
"""
BUG = "A bug of ours: ZeroDivisionError: division by zero"


def test_a_bug_before_the_commit_wrote_nothing(small: Typed, tmp_path: Path) -> None:
    """Said so, with 70."""
    ran = small.python(
        "import fleetcare.store.append as a\na.Writer.append = lambda *x, **y: 1 / 0", READ
    )

    assert ran == (
        ExitCode.BUG, "",
        f"{BUG}\nNothing was written. Run it again with FLEETCARE_DEBUG=1 and send what it prints.\n",
    )  # fmt: skip
    assert records(tmp_path) == 2


def test_a_bug_after_the_commit_gives_the_number(small: Typed, tmp_path: Path) -> None:
    """The booking is in the book though its answer could not be printed: 70, and never "nothing"."""
    ran = small.python("import fleetcare.render.text as t\nt.hire = lambda *x: 1 / 0", HIRE)

    assert (ran.code, ran.out) == (ExitCode.BUG, "")
    assert ran.err.splitlines()[:3] == [
        BUG,
        "This was done before it, so do not type it again:",
        "#3 V01: hire H1 from Mon 2 Aug 2027 through Mon 9 Aug 2027.",
    ]
    assert records(tmp_path) == 4


@pytest.mark.parametrize(
    ("then", "held"),
    [("whole(self); raise KeyboardInterrupt", 3), ("raise KeyboardInterrupt", 2)],
)
def test_interrupted_in_the_commit_nothing_is_claimed(
    small: Typed, tmp_path: Path, then: str, held: int
) -> None:
    """Written or not, it can't be known: the line is given to look for."""
    ran = small.python(AT_COMMIT.format(then), READ)

    assert (ran.code, ran.out) == (ExitCode.INTERRUPTED, "")
    assert ran.err.splitlines()[:4] == [
        "", "Interrupted.", "Look whether this was written before you type it again:", ECHO,
    ]  # fmt: skip
    assert records(tmp_path) == held


def test_interrupted_after_the_commit_it_is_told(small: Typed, tmp_path: Path) -> None:
    """The record is there, and its number is given."""
    planted = (
        "import click\ndef broken(*x, err=False, **y):\n    if not err: raise KeyboardInterrupt\n"
    )
    ran = small.python(
        f"{planted}    return said(*x, err=err, **y)\nsaid, click.echo = click.echo, broken", READ
    )

    assert ran.code == ExitCode.INTERRUPTED
    assert ran.err.splitlines()[:4] == [
        "", "Interrupted.", "This was done before it, so do not type it again:", ECHO,
    ]  # fmt: skip
    assert records(tmp_path) == 3


def test_a_crash_in_debugging_is_whole_and_70(small: Typed) -> None:
    """The trace is printed for whoever mends it; 1 would be Python's own."""
    planted = "import fleetcare.desk.questions as a\na.due = lambda *x: 1 / 0"
    ran = small.python(f"import os\nos.environ['FLEETCARE_DEBUG'] = '1'\n{planted}", "due")

    assert ran.code == ExitCode.BUG
    assert ran.err.startswith("Traceback (most recent call last):\n")
    assert "\nZeroDivisionError: division by zero\n" in ran.err
