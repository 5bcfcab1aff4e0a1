"""The yard's sheets: made for a van and a hire, and taken in when they are filled."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping

from fleetcare import clock
from fleetcare.desk.asking import asking
from fleetcare.desk.calls import booked
from fleetcare.desk.session import recording
from fleetcare.desk.walked import Filled, Lines, write
from fleetcare.errors import Problem, Refused
from fleetcare.faults.common import day_after, time_of_day
from fleetcare.intake.sheet import (
    heads_of,
    how_signed,
    named_in,
    read_answer,
    read_form,
    strangers,
)
from fleetcare.records.yard import NOT_SIGNED, ON_SCREEN
from fleetcare.render.sheet import headed, sheet
from fleetcare.reports.sheet import (
    HANDOVER,
    PREPARED,
    RETURN,
    Form,
    SheetLine,
    form_of,
)
from fleetcare.rules.book import Book
from fleetcare.rules.outcome import Judgement
from fleetcare.van.trips import Trip, answers_of

Answers = Mapping[str, str]
SHEETS = (PREPARED, HANDOVER, RETURN)


def form(
    place: str, van: str, ref: str, what: str, *, on: dt.date | None = None, whole: bool = False
) -> tuple[Form, Book]:
    """The sheet to fill for a hire of a van, and the rules its answers are held to; as of the day
    it is filled, with the yard's lines in a handover where they are answered (`whole`)."""
    _hold_to_sheets(what)
    with asking(place) as asked:
        judged = asked.judged(van)
        trip, today = booked(judged, ref, "hire"), clock.today()
        found: Form = asked.filled(
            form_of(judged, trip.planned, what, today, filled_on=on, whole=whole)
        )
        return found, asked.book


def _hold_to_sheets(what: str) -> None:
    """Refused for a sheet that there is none of: it would have no line to answer."""
    if what not in SHEETS:
        raise Refused([Problem("", f"the sheets are {', '.join(SHEETS)}")])


def printed(found: Form, answers: Answers) -> str:
    """The sheet as text, with the answers given so far."""
    return sheet(found, answers)


def read(text: str, form: Form) -> dict[str, str]:
    """The answers of a sheet's text; Refused with every fault, and where its head names another
    sheet, van or hire."""
    answers, faults = read_form(text)
    asked, heads = headed(form), heads_of(text)
    if not heads:
        faults.append(
            Problem("", f'has no head that says which sheet it is: asked for is "{asked}"')
        )
    faults += [
        Problem("", f'the sheet is headed "{head}", and asked for is "{asked}"')
        for head in dict.fromkeys(heads)
        if named_in(head) != named_in(asked)
    ]
    if faults:
        raise Refused(faults)
    return answers


def fault(book: Book, line: SheetLine, text: str) -> Problem | None:
    """What is wrong with an answer; None when nothing is."""
    answer = read_answer(line.kind, line.place, text, book)
    return answer if isinstance(answer, Problem) else None


def take_in(place: str, by: str, filled: Filled, *, dry_run: bool = False) -> list[str]:
    """Keep a filled sheet: every answer at once or none. Returns what to print."""
    _hold_to_sheets(filled.what)
    with recording(place, by, dry_run=dry_run) as book:
        book.facts(filled.van)
        judged = book.asked.judged(filled.van)
        trip = booked(judged, filled.ref, "hire")  # never taken in for another van's hire
        asked = _asked(judged, trip, filled, filled.on or book.today)
        answered, faults = _answered(book.book, asked, filled.answers)
        day = filled.on or book.today
        faults += [*day_after(day, book.today), *time_of_day(filled.at)]
        if not filled.by:
            faults.append(Problem("signed-by", "nobody signed: add --by NAME, or fill it in"))
        faults += _signed_otherwise(filled, answered)
        faults += _twice(judged, trip, filled._replace(on=day), answered)
        book.refuse(faults)
        filled = filled._replace(on=day)
        write(book, trip, filled, answered, asked.prepared)
    return book.said


def _asked(judged: Judgement, trip: Trip, filled: Filled, day: dt.date) -> Form:
    """The sheet that was filled: where it answers lines of the yard's it is the whole one, whatever
    was prepared meanwhile, and no answer of it is dropped."""
    today = clock.today()
    found = form_of(judged, trip.planned, filled.what, today, filled_on=day)
    whole = form_of(judged, trip.planned, filled.what, today, whole=True)
    more = {line.name for line in whole.lines} - {line.name for line in found.lines}
    return found if more.isdisjoint(filled.answers) else whole


def _answered(book: Book, asked: Form, answers: Answers) -> tuple[Lines, list[Problem]]:
    """Every line with its answer; a line not filled, or filled wrongly, is a fault."""
    faults = strangers(answers, [line.name for line in asked.lines])
    found = []
    for line in asked.lines:
        text = answers.get(line.name)
        if text is None:
            faults.append(Problem(line.name, "is not filled in"))
            continue
        answer = read_answer(line.kind, line.place, text, book)
        if isinstance(answer, Problem):
            faults.append(answer)
        else:
            found.append((line, answer))
    return found, faults


def _signed_otherwise(filled: Filled, answered: Lines) -> list[Problem]:
    """What a line says of the hirer's signature, where the screen shows another thing."""
    faults = []
    for line, _ in answered:
        if line.kind.asks != "signature":
            continue
        text = filled.answers[line.name]
        how = how_signed(text)
        if how == ON_SCREEN and not filled.signature:
            words = "nobody signed there: the hirer signs where the walk ends, or say how they did"
            faults.append(Problem(line.name, f'says "{text}", and {words}'))
        if how == NOT_SIGNED and filled.signature:
            words = "there is one on the screen: say which holds"
            faults.append(Problem(line.name, f'says "{text}", and {words}'))
    return faults


def _twice(judged: Judgement, trip: Trip, filled: Filled, answered: Lines) -> list[Problem]:
    """A sheet that is in the book already, line by line: it is not taken in again."""
    lines = tuple(answer.kept for _, answer in answered)
    asked = (trip.hire.number, filled.what, filled.on, filled.at, lines)
    return [
        Problem(
            "", f"this {filled.what} sheet of {filled.ref} is in the book already (#{s.number})"
        )
        for s in judged.known.facts.sheets
        if (s.hire, s.what, s.on, s.at, answers_of(s)) == asked
    ]
