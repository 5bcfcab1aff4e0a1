"""What can go wrong, in the user's words, and the exit code each way of going wrong has.

A fault in somebody's data is a value (`Problem`): all are gathered and reported at once.
An exception stops the program: `FleetcareError` and its kinds are the only ones that may
reach the command line on purpose; anything else is a bug of ours and exits 70.

What was written down before something went wrong is noted here too (`stays`): what is said of a
command that broke is then true, whether its transaction was committed or not.
"""

from __future__ import annotations

import contextlib
import difflib
import enum
from collections.abc import Iterable, Iterator
from contextvars import ContextVar
from typing import NamedTuple


@enum.unique
class ExitCode(enum.IntEnum):
    """The one table of exit codes. 1 is never ours: it is what a crash of Python gives."""

    DONE = 0
    USAGE = 2
    NO = 3  # answered, and the answer is no or cannot say
    REFUSED = 4  # a bad record, file or rulebook
    DATABASE = 5
    BUG = 70
    INTERRUPTED = 130


class Problem(NamedTuple):
    """One fault in what was given: where it is, what is wrong and what to do next."""

    where: str
    message: str
    field: str = ""  # of the record; each rim has its own word for it

    def __str__(self) -> str:
        where = " ".join(word for word in (self.field, self.where) if word)
        return f"{where}: {self.message}" if where else self.message


class FleetcareError(Exception):
    """Something stops the program that the user can read about and act on."""

    code = ExitCode.BUG


class UsageFault(FleetcareError):
    """The words of the command cannot be read."""

    code = ExitCode.USAGE


MOST_TOLD = 50  # faults of one refusal


class Refused(FleetcareError):
    """What was given is not written down; every problem is named at once."""

    code = ExitCode.REFUSED

    def __init__(self, problems: Iterable[Problem | str]) -> None:
        self.problems = tuple(p if isinstance(p, Problem) else Problem("", p) for p in problems)
        super().__init__("\n".join(self.lines))

    @property
    def lines(self) -> list[str]:
        """The problems in words; of many only the first, for nobody reads a thousand."""
        told = [str(problem) for problem in self.problems[:MOST_TOLD]]
        left = len(self.problems) - MOST_TOLD
        return [*told, f"and {left:,} more: put these right first"] if left > 0 else told


class Declined(FleetcareError):
    """A van was to leave or stay out, and the answer is no or cannot say: nothing is written.

    `answer` is what the person who asked is to read.
    """

    code = ExitCode.NO

    def __init__(self, answer: str) -> None:
        self.answer = answer
        super().__init__(answer)


class Stale(FleetcareError):
    """Something was written down of a van since a person was shown it, which they are to read
    before they go on: nothing is written. `lines` says what."""

    code = ExitCode.REFUSED

    def __init__(self, lines: list[str]) -> None:
        self.lines = lines
        super().__init__("\n".join(lines))


class DatabaseFault(FleetcareError):
    """The database is missing, foreign, newer, locked or cannot be read: no answer at all."""

    code = ExitCode.DATABASE


class NotInstalled(FleetcareError):
    """A library that only some commands need is not there."""

    code = ExitCode.USAGE


@contextlib.contextmanager
def needs(library: str, extra: str) -> Iterator[None]:
    """Around the import of a library of an extra: its absence is told as what to install."""
    try:
        yield
    except ModuleNotFoundError as fault:
        if fault.name is None or not fault.name.startswith(library):
            raise
        raise NotInstalled(
            f'this needs the library "{library}": install it with pip install "fleetcare[{extra}]"'
        ) from None


class Noted:
    """What one command has done so far that nothing undoes, in the words of its echo."""

    def __init__(self) -> None:
        self.lines: list[str] = []
        self.unsure: list[str] = []  # of a commit that has begun and not come back


_noted: ContextVar[Noted | None] = ContextVar("noted", default=None)


@contextlib.contextmanager
def noting() -> Iterator[Noted]:
    """Note what is done for good meanwhile. Nothing is noted where nobody asks for it."""
    noted = Noted()
    before = _noted.set(noted)
    try:
        yield noted
    finally:
        _noted.reset(before)


def committing(lines: list[str]) -> None:
    """Note that what these lines say is about to be committed; `stays` says that it was."""
    noted = _noted.get()
    if noted is not None:
        noted.unsure = list(lines)


def stays(lines: list[str]) -> list[str]:
    """Note that what these lines say is done, whatever goes wrong later. Gives them back."""
    noted = _noted.get()
    if noted is not None:
        noted.lines += lines
        noted.unsure = []
    return lines


def near(word: str, known: Iterable[str]) -> str:
    """A hint at the nearest known word: ' Did you mean "x"?', or nothing."""
    spelled = {name.lower(): name for name in known}
    close = difflib.get_close_matches(word.lower(), spelled, n=1, cutoff=0.6)
    return f' Did you mean "{spelled[close[0]]}"?' if close else ""


def an(what: str) -> str:
    """What it is, with its article: a tyre, an inspection."""
    return f"{'an' if what[:1].lower() in 'aeio' else 'a'} {what}"


def not_one_of(word: str, known: Iterable[str]) -> str:
    """That a word is none of those there are, with the nearest."""
    listed = list(known)
    hint = near(word, listed)
    return f'"{word}" is not one of {", ".join(listed)}{"." if hint else ""}{hint}'
