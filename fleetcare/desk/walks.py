"""A walk round a van that is not signed yet: its answers are kept beside the book, each at once."""

from __future__ import annotations

from typing import NamedTuple

from fleetcare import clock
from fleetcare.desk import sheets
from fleetcare.errors import Problem, Refused
from fleetcare.reports.sheet import HANDOVER, PREPARED, Form
from fleetcare.rules.book import Book
from fleetcare.store import doors
from fleetcare.store.people import beside

RETURN = "return"
SHEETS = (PREPARED, HANDOVER, RETURN)


class Walk(NamedTuple):
    """Which sheet, of which van and hire, on which day: what was looked at then is that day's."""

    what: str
    van: str
    ref: str

    @property
    def sheet(self) -> str:
        """How it is kept."""
        return "\n".join([self.what, self.van, self.ref, clock.today().isoformat()])


class Begun(NamedTuple):
    """A walk with the answers given so far; `gone`: those to lines that are asked no more."""

    form: Form
    book: Book
    answers: dict[str, str]
    gone: dict[str, str]


def begun(place: str, walk: Walk) -> Begun:
    """A walk as far as it has come. Where a line of the yard's was answered it is the whole one,
    whoever prepared the van since."""
    form, book = sheets.form(place, walk.van, walk.ref, walk.what)
    with beside(place) as connection:
        answers = doors.answers(connection, walk.sheet)
    if any(name not in {line.name for line in form.lines} for name in answers):
        form, book = sheets.form(place, walk.van, walk.ref, walk.what, whole=True)
    names = {line.name for line in form.lines}
    return Begun(
        form, book,
        {name: answer for name, answer in answers.items() if name in names},
        {name: answer for name, answer in answers.items() if name not in names},
    )  # fmt: skip


def answer(place: str, by: str, walk: Walk, line: str, text: str) -> None:
    """Keep the answer to a line; Refused, with what is wrong, where it can't be read."""
    found = begun(place, walk)
    asked = next((one for one in found.form.lines if one.name == line), None)
    if asked is None:
        raise Refused([Problem(line, "is no line of this sheet")])
    fault = sheets.fault(found.book, asked, text) if text else Problem(line, "is not filled in")
    if fault:
        raise Refused([fault])
    with beside(place, writes=True) as connection:
        said = (text, by, clock.now().isoformat(timespec="microseconds"))
        doors.put_answer(connection, walk.sheet, line, said)


def leave_out(place: str, walk: Walk, line: str) -> None:
    """Let go of an answer to a line that is asked no more, once it was read."""
    with beside(place, writes=True) as connection:
        doors.drop_answer(connection, walk.sheet, line)


def sign(place: str, by: str, walk: Walk) -> list[str]:
    """Take the walk in as its sheet, signed now. Refused where an answer lacks, or one was given to
    a line that is asked no more and nobody let go of it: no answer is dropped in silence."""
    found = begun(place, walk)
    left = [
        Problem(name, f'says "{text}" and is no line of this van now: report it, or leave it out')
        for name, text in found.gone.items()
    ]
    if left:
        raise Refused(left)
    day, at = clock.hour()
    filled = sheets.Filled(walk.what, walk.van, walk.ref, found.answers, by, day, at)
    said = sheets.take_in(place, by, filled)
    with beside(place, writes=True) as connection:
        doors.drop_answer(connection, walk.sheet)
    return said
