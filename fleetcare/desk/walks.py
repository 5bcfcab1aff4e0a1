"""A walk round a van that is not signed yet: its answers are kept beside the book, each at once.

What is signed is exactly what the signer was shown, once, and it bears the hour of its oldest
answer: whatever was written down of the van since then counts as having come after it.
"""

from __future__ import annotations

import contextlib
import datetime as dt
import hashlib
import json
from collections.abc import Iterator
from typing import NamedTuple

from fleetcare import clock
from fleetcare.desk import sheets, walked
from fleetcare.desk.asking import asking
from fleetcare.desk.once import TAKEN, Sent, once, too_late
from fleetcare.desk.scans import read_papers
from fleetcare.desk.session import written_since
from fleetcare.errors import Problem, Refused, Stale, needs
from fleetcare.files import Given
from fleetcare.intake.paper import PaperFile
from fleetcare.reports.sheet import HANDOVER, RETURN, Form, SheetLine
from fleetcare.rules.book import Book
from fleetcare.store import doors, photos
from fleetcare.store import facts as stored
from fleetcare.store.doors import AnswerRow
from fleetcare.store.people import Connection, beside
from fleetcare.store.photos import PhotoRow
from fleetcare.words.days import day_words

_GONE = 'says "{}" and is no line of this van now: report it, or leave it out'
_OLD_PHOTO = "has a photo of {} that was never signed: report what it shows, and begin anew"
_OLD = 'says "{}", {}, and was never signed: report what still holds, and begin anew'
WITH_THE_HIRER = (HANDOVER, RETURN)  # who signs what they were shown
# The lines under which it is kept that a walk was signed, and that it was begun anew.
_SIGNED, _ANEW = "", " "


class Walk(NamedTuple):
    """Which sheet, of which van and hire, on which day: what was looked at then is that day's."""

    what: str
    van: str
    ref: str
    day: dt.date

    @property
    def sheet(self) -> str:
        """How it is kept."""
        return f"{self.named}{self.day}"

    @property
    def named(self) -> str:
        """How the same sheet is kept on whatever day."""
        return json.dumps([self.what, self.van, self.ref]) + " "

    def older(self, connection: Connection) -> list[str]:
        """The walks of the same sheet on other days that nobody signed."""
        return [one for one in _sheets_like(connection, self.named) if one != self.sheet]


def _sheets_like(connection: Connection, beginning: str) -> list[str]:
    """The walks whose names begin so, of which there is an answer or a photo."""
    answered = doors.sheets_like(connection, beginning)
    return sorted({*answered, *photos.sheets_like(connection, beginning)})


class Begun(NamedTuple):
    """A walk with the answers given so far, by line; `gone`: those to lines that are asked no more;
    `old`: those of earlier days that nobody signed; `signed`: by whom it was, where it was;
    `photos`: those taken so far, and `old_photos` on earlier days."""

    form: Form
    book: Book
    answers: dict[str, AnswerRow]
    gone: dict[str, AnswerRow]
    old: list[AnswerRow]
    signed: AnswerRow | None
    photos: list[PhotoRow]
    old_photos: list[PhotoRow]
    anew: str  # when it was begun anew, if it was: what was said before is of the one before

    @property
    def said(self) -> str:
        """All of its answers and who gave them, as a phone without signal says them too."""
        rows = [*self.answers.values(), *self.gone.values()]
        said = sorted([row.line, row.answer, row.by] for row in rows)
        return json.dumps(said, separators=(",", ":"), ensure_ascii=False)

    @property
    def state(self) -> str:
        """What stands for them and the photos: whoever signs is held to what they were shown."""
        taken = [one.number for one in self.photos]
        return hashlib.sha256(f"{self.said}{taken}".encode()).hexdigest()

    def photos_of(self, line: str) -> list[PhotoRow]:
        """The photos of one line."""
        return [one for one in self.photos if one.line == line]


def begun(place: str, walk: Walk) -> Begun:
    """A walk as far as it has come. Refused where there is no such sheet, van or hire."""
    with beside(place) as connection:
        return _begun(place, walk, connection)


def _begun(place: str, walk: Walk, connection: Connection, answered: str = "") -> Begun:
    """Where a line of the yard's was answered, or is now (`answered`), it is the whole one, whoever
    prepared the van."""
    rows = {row.line: row for row in doors.answers(connection, walk.sheet)}
    signed, anew = rows.pop(_SIGNED, None), rows.pop(_ANEW, None)
    older = walk.older(connection)
    old = [row for sheet in older for row in doors.answers(connection, sheet)]
    form, book = sheets.form(place, walk.van, walk.ref, walk.what)
    if {*rows, *([answered] if answered else [])} - {line.name for line in form.lines}:
        form, book = sheets.form(place, walk.van, walk.ref, walk.what, whole=True)
    names = {line.name for line in form.lines}
    return Begun(
        form, book,
        {name: row for name, row in rows.items() if name in names},
        {name: row for name, row in rows.items() if name not in names},
        [row for row in old if row.line not in (_SIGNED, _ANEW)], signed,
        photos.of_sheet(connection, walk.sheet),
        [one for sheet in older for one in photos.of_sheet(connection, sheet)],
        anew.at if anew else "",
    )  # fmt: skip


class HalfDone(NamedTuple):
    """A walk that nobody signed yet: how many of its lines are answered, of how many (None where
    it asks for none any more), and who answered last."""

    walk: Walk
    answered: int
    lines: int | None
    by: str


def half_done(place: str) -> list[HalfDone]:
    """Every walk that was begun and not signed, the newest first."""
    with beside(place) as connection:
        begun_so_far = {
            name: (doors.answers(connection, name), photos.of_sheet(connection, name))
            for name in _sheets_like(connection, "")
        }
    found = []
    for sheet, (kept, taken) in begun_so_far.items():
        rows = [row for row in kept if row.line != _ANEW]
        last: list[AnswerRow | PhotoRow] = [*taken[-1:], *rows[-1:]]
        if not last or any(row.line == _SIGNED for row in rows):
            continue
        told, _, day = sheet.rpartition(" ")
        what, van, ref = json.loads(told)
        walk = Walk(what, van, ref, dt.date.fromisoformat(day))
        found.append(HalfDone(walk, len(rows), _lines_of(place, walk), last[-1].by))
    return sorted(found, key=lambda one: (one.walk.day, one.walk.van), reverse=True)


def _lines_of(place: str, walk: Walk) -> int | None:
    try:
        return len(begun(place, walk).form.lines)
    except Refused:
        return None


def since(place: str, walk: Walk, found: Begun) -> tuple[int, list[str]]:
    """The size of the book, and what was written down of the van since the first answer: whoever
    signs reads it first."""
    with asking(place) as asked:
        size = asked.as_of.known_at
        if not found.answers:
            return size, []
        first = dt.datetime.fromisoformat(min(row.at for row in found.answers.values()))
        before = stored.size_before(asked.connection, first)
        return size, written_since(asked, asked.judged(walk.van), before, size)


class Said(NamedTuple):
    """What was answered to a line, and the answer that was shown there before; how long ago it was,
    where it waited for a signal, and the key by which it is taken in once."""

    line: str
    text: str
    was: str = ""
    sent: Sent = Sent()


@contextlib.contextmanager
def line_open(
    place: str, walk: Walk, line: str, sent: Sent
) -> Iterator[tuple[Connection, Begun] | None]:
    """A line of a walk, to write to; None where what was sent was taken in already. Refused where
    the walk is signed, it waited too long, or it was said on another day."""
    with once(place, sent) as connection:
        if connection is None:
            yield None
            return
        found = _begun(place, walk, connection, line)
        if found.signed:
            words = f"is signed already, by {found.signed.by}: report what you found as a defect"
            raise Refused([Problem("", f"this sheet {words}, or begin it anew")])
        fault = too_late(sent, line) or _other_day(walk, sent, line)
        if not fault and sent.moment < found.anew:
            fault = Problem(line, "was said before the sheet was begun anew: look again")
        if fault:
            raise Refused([fault])
        yield connection, found


def answer(place: str, by: str, walk: Walk, said: Said) -> None:
    """Keep the answer to a line. Refused, with what is wrong, where it can't be read, waited too
    long, or the walk is signed; Stale where somebody answered the line since it was shown."""
    with line_open(place, walk, said.line, said.sent) as opened:
        if opened is None:
            return
        connection, found = opened
        fault = _fault(found, said.line, said.text)
        if fault:
            raise Refused([fault])
        now = found.answers.get(said.line)
        if (now.answer if now else "") not in (said.was, said.text):
            how = f'was answered "{now.answer}" by {now.by}' if now else "was emptied"
            raise Stale([f"{said.line} {how} since you were shown it"])
        row = AnswerRow(said.line, said.text, by, said.sent.moment)
        doors.put_answer(connection, walk.sheet, row)


def _fault(found: Begun, name: str, text: str) -> Problem | None:
    asked: SheetLine | None = next((one for one in found.form.lines if one.name == name), None)
    if asked is None:
        return Problem(name, "is no line of this sheet")
    return sheets.fault(found.book, asked, text) if text else Problem(name, "is not filled in")


def _other_day(walk: Walk, sent: Sent, line: str) -> Problem | None:
    """The fault of what was not said on the day of its sheet, which it would be dated by."""
    if sent.hour[0] == walk.day:
        return None
    days = f"on {day_words(sent.hour[0])}, and the sheet is of {day_words(walk.day)}"
    return Problem(line, f"was answered {days}: look again, and answer anew")


def leave_out(place: str, walk: Walk, line: str) -> None:
    """Let go of an answer to a line that is asked no more, once it was read."""
    with beside(place, writes=True) as connection:
        if line not in _begun(place, walk, connection).gone:
            raise Refused([Problem(line, "is a line of this sheet, or was left out already")])
        doors.drop_answer(connection, walk.sheet, line)


def begin_anew(place: str, by: str, walk: Walk) -> None:
    """Let go of all answers and photos, of earlier days too, once they were read: by hand alone.
    What was said before and still waits for a signal is not of the new one."""
    with beside(place, writes=True) as connection:
        for sheet in (walk.sheet, *walk.older(connection)):
            doors.drop_answer(connection, sheet)
            photos.drop(connection, sheet)
        row = AnswerRow(_ANEW, "begun anew", by, Sent().moment)
        doors.put_answer(connection, walk.sheet, row)


class Signed(NamedTuple):
    """Who signs, the state of the answers they were shown, and why a likely slip is true; and what
    the hirer signed with, if they did."""

    by: str
    state: str
    even_so: str | None = None
    sent: Sent = Sent()
    signature: tuple[Given, ...] = ()


def sign(place: str, walk: Walk, signed: Signed) -> list[str]:
    """Take the walk in as its sheet. Stale where it is not what the signer was shown.
    Refused where an answer lacks, or one was given to a line that is asked no more or on an earlier
    day and nobody let go of it: no answer is dropped in silence.

    Nobody else answers meanwhile, and what is left by a crash is not taken in again: the sheet is
    known by its answers and the hour of the oldest.
    """
    signature = _signature(walk, signed.signature)
    with once(place, signed.sent) as connection:
        if connection is None:
            return [TAKEN]
        found = _begun(place, walk, connection)
        fault = _other_day(walk, signed.sent, "")
        if fault:
            raise Refused([fault])
        if signed.state not in (found.state, found.said):
            raise Stale(["An answer was given or changed since you were shown them"])
        left = [Problem(row.line, _GONE.format(row.answer)) for row in found.gone.values()]
        left += [
            Problem(row.line, _OLD.format(row.answer, day_words(clock.hour_of(row.at)[0])))
            for row in found.old
        ]
        left += [
            Problem(row.line, _OLD_PHOTO.format(day_words(clock.hour_of(row.at)[0])))
            for row in found.old_photos
        ]
        if left:
            raise Refused(left)
        first = min([row.at for row in found.answers.values()], default=Sent().moment)
        answers = {name: row.answer for name, row in found.answers.items()}
        filled = walked.Filled(
            walk.what, walk.van, walk.ref, answers, signed.by, walk.day,
            clock.hour_of(first)[1], signed.even_so, photos=_photos(connection, walk, found),
            signature=signature,
        )  # fmt: skip
        said = sheets.take_in(place, signed.by, filled)
        doors.drop_answer(connection, walk.sheet)
        photos.drop(connection, walk.sheet)
        row = AnswerRow(_SIGNED, "signed", signed.by, Sent().moment)
        doors.put_answer(connection, walk.sheet, row)
    return said


def _signature(walk: Walk, sent: tuple[Given, ...]) -> tuple[PaperFile, ...]:
    """What the hirer signed with; Refused where it is no picture, shows nothing, or nobody but the
    yard signs that sheet."""
    read = tuple(read_papers(sent))
    if read and walk.what not in WITH_THE_HIRER:
        raise Refused([Problem("", "the hirer does not sign this sheet", "signature")])
    with needs("PIL", "web"):
        from fleetcare.render import photo as pictures

    if any(pictures.shows_nothing(one.data, one.sort) for one in read):
        raise Refused([Problem("", "shows nothing: the hirer signs again", "signature")])
    return read


def _photos(connection: Connection, walk: Walk, found: Begun) -> dict[str, list[PaperFile]]:
    """The photos of a walk by line, as they are kept for good."""
    taken: dict[str, list[Given]] = {}
    for one in found.photos:
        data = photos.data_of(connection, walk.sheet, one.number)
        taken.setdefault(one.line, []).append(Given(f"photo {one.number}", data or b"", "photo"))
    return {line: read_papers(tuple(listed)) for line, listed in taken.items()}
