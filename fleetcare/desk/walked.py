"""What a walk round a van writes down once its sheet is taken in: the check with its readings, each
defect found, what happened on the hire, the return, and the sheet itself with its papers."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping
from typing import NamedTuple

from fleetcare.desk import yard
from fleetcare.desk.defects import add_defect
from fleetcare.desk.events import happen
from fleetcare.desk.hires import Seen, add_driver
from fleetcare.desk.people import resolved
from fleetcare.desk.scans import keep_papers
from fleetcare.desk.session import Writing
from fleetcare.desk.write import put
from fleetcare.faults.slips import ANYWAY, odometer_at
from fleetcare.intake.paper import PaperFile
from fleetcare.intake.sheet import Answered
from fleetcare.records.kinds import SERIOUS, Check, Defect
from fleetcare.records.yard import Event, Sheet
from fleetcare.reports.sheet import HANDOVER, PREPARED, RETURN, SheetLine
from fleetcare.rules.book import Book
from fleetcare.store.papers import digest_of
from fleetcare.van.trips import RESTS_ON, SIGNED_WITH, TOOK, Trip
from fleetcare.words.days import day_words
from fleetcare.words.reasons import reason, titled

Lines = list[tuple[SheetLine, Answered]]
_KEPT = frozenset({"by", "even_so"})  # commitments already, taken over from the walkaround check


class Filled(NamedTuple):
    """A sheet as filled: its answers by line, and who signed it when."""

    what: str
    van: str
    ref: str
    answers: Mapping[str, str]
    by: str | None = None
    on: dt.date | None = None
    at: str | None = None
    even_so: str | None = None
    minutes: int | None = None  # it took, walked through on the screen in one go
    photos: Mapping[str, list[PaperFile]] = {}  # by line
    signature: tuple[PaperFile, ...] = ()  # the hirer's own, where they signed on the glass


class Made(NamedTuple):
    """The numbers of what a sheet wrote: its own, and of the defect that each line found."""

    sheet: int
    defects: dict[str, int]


def write(book: Writing, trip: Trip, filled: Filled, answered: Lines, prepared: int | None) -> None:
    """All that a sheet of a hire says, its answers read; `prepared`: the check of the yard's that a
    handover rests on."""
    if filled.what == RETURN:
        made = _take_back(book, trip, filled, answered)
    else:
        made = _hand_over(book, trip, filled, answered, prepared)
    _put_by(book, filled, made)


def _put_by(book: Writing, filled: Filled, made: Made) -> None:
    """Keep the photos of a walk: of the defect that their line found, or else of the sheet; and
    what the hirer signed with, of the sheet."""
    for line, listed in filled.photos.items():
        keep_papers(book, made.defects.get(line, made.sheet), filled.van, listed)
    keep_papers(book, made.sheet, filled.van, list(filled.signature))


def _walkaround(book: Book) -> str:
    """The kind of check that a filled handover sheet is recorded as."""
    return next(kind.name for kind in book.checks.values() if kind.walkaround)


def _hand_over(
    book: Writing,
    trip: Trip,
    filled: Filled,
    answered: Lines,
    prepared: int | None,
) -> Made:
    """A walkaround check with its readings, the defects found, and the sheet itself. Of a van that
    was prepared the check is written already: what is found with the hirer is a defect."""
    check = None
    if any(
        PREPARED in line.kind.sheets and HANDOVER not in line.kind.sheets for line, _ in answered
    ):
        check = _walked_round(book, filled, answered)
    for _, answer in answered:
        for number, (licence, until, shown) in enumerate(answer.drivers, 1):
            add_driver(book, trip.planned, Seen(licence, shown, until, number, filled.on))
    found = _defects(book, trip, filled, answered, check)
    made = Made(_keep(book, trip, filled, answered, check or prepared), found)
    _tell_again(book, filled)
    unshown = [
        line.kind.title
        for line, answer in answered
        if line.kind.asks == "shown" and answer.kept.endswith("=no")
    ]
    if unshown:
        book.tell(f"Caution: the hirer was not shown: {'; '.join(unshown)}.")
    if any(one.grade in SERIOUS for _, answer in answered for one in answer.found):
        book.tell("What it found stops the van: put it right, sign it off, and walk round again.")
        return made
    if filled.what == PREPARED:
        book.tell(
            "It stands until something is written down of the van, to the end of the day after. "
            f"With the hirer: fleetcare handover {filled.van} {filled.ref} --by NAME"
        )
        return made
    book.tell(f"Release it with: fleetcare hire out {filled.ref} --by NAME --odometer READING")
    return made


def _walked_round(book: Writing, filled: Filled, answered: Lines) -> int:
    """The walkaround check that a sheet's lines are, with its readings; gives its number."""
    inspector, name = resolved(book, filled.by)
    found = [one for _, answer in answered for one in answer.found]
    serious = any(one.grade in SERIOUS for one in found)
    readings = tuple(answer.reading for _, answer in answered if answer.reading)
    check: Check = put(
        book,
        Check(
            0, filled.van, _walkaround(book.book), filled.on or book.today, filled.at,
            "fail" if serious else "pass", inspector, name, even_so=filled.even_so,
            readings=readings, odometer=next((a.odometer for _, a in answered if a.odometer), None),
        ),
    )  # fmt: skip
    ended = "failed" if serious else "passed"
    book.tell(
        f"#{check.number} {filled.van}: walkaround check {ended} {day_words(check.on)}, "
        f"{len(answered)} lines, {len(readings)} readings."
    )
    for what in [answer.check for _, answer in answered if answer.check]:
        done: Check = book.add(check._replace(what=what, outcome="pass", readings=()), _KEPT)
        book.tell(f"#{done.number} {filled.van}: {book.book.checks[what].title}.")
    return check.number


def _tell_again(book: Writing, filled: Filled) -> None:
    """What was read on the sheet and is to be put right and read again before the key goes."""
    judged = book.after(filled.van)
    for outcome in judged.outcomes:
        step = outcome.at(filled.on or book.today)
        if step.code == "read again":
            how = f"--reading {step.detail[0]}:{outcome.place}=…"
            book.tell(
                f"{titled(outcome)}: {reason(judged, outcome, step)}. Record it with: fleetcare "
                f"record {filled.van} {_walkaround(book.book)} --pass --by NAME --at HH:MM {how}"
            )


def _take_back(book: Writing, trip: Trip, filled: Filled, answered: Lines) -> Made:
    """The return itself where nobody wrote it down, what happened, defects, and the sheet."""
    odometer = next((a.odometer for _, a in answered if a.odometer), None)
    if trip.back is None:
        handing = yard.Handing(
            filled.ref, filled.by, odometer, filled.on, filled.at, None, filled.even_so
        )
        yard.come_back(book, trip, handing)
    elif odometer and not filled.even_so:
        found = odometer_at(book.facts(filled.van), filled.on or book.today, odometer)
        book.refuse([*found, ANYWAY] if found else [])
    for _, answer in answered:
        if answer.event:
            what, text = answer.event
            record = Event(
                0, filled.van, what, filled.on or book.today, filled.at, filled.by,
                trip.hire.number, text,
            )  # fmt: skip
            happen(book, record)
    wrong = _defects(book, trip, filled, answered, None, odometer)
    if not any(answer.found for _, answer in answered):
        book.tell("Nil report: nothing was found wrong.")
    return Made(_keep(book, trip, filled, answered), wrong)


def _defects(
    book: Writing,
    trip: Trip,
    filled: Filled,
    answered: Lines,
    check: int | None,
    odometer: str | None = None,
) -> dict[str, int]:
    """Each thing found wrong, as a defect; gives the first of each line."""
    made: dict[str, int] = {}
    for line, answer in answered:
        for one in answer.found:
            on = filled.on or book.today
            named = book.book.topic_in(one.words, on)  # a line says where, its words what
            record = Defect(
                0, filled.van, on, one.grade, one.words, filled.at, filled.by,
                check, None, named[1].name if named else one.about, trip.hire.number, odometer,
            )  # fmt: skip
            made.setdefault(line.name, add_defect(book, record, one.words).number)
    return made


def _keep(
    book: Writing,
    trip: Trip,
    filled: Filled,
    answered: Lines,
    rests_on: int | None = None,
) -> int:
    """Keep the sheet itself; gives its number."""
    took = [] if filled.minutes is None else [f"{TOOK}{filled.minutes}min"]
    took += [] if rests_on is None else [f"{RESTS_ON}{rests_on}"]
    took += [f"{SIGNED_WITH}{digest_of(one.data)[:16]}" for one in filled.signature]
    made: Sheet = book.add(
        Sheet(
            0, filled.van, trip.hire.number, filled.what, filled.on or book.today,
            filled.by or book.by, (*(answer.kept for _, answer in answered), *took), filled.at,
        )
    )  # fmt: skip
    book.tell(f"#{made.number} {filled.what} sheet of {filled.ref} kept, signed by {filled.by}.")
    earlier = [
        one.number
        for one in book.facts(filled.van).sheets
        if (one.hire, one.what) == (made.hire, made.what) and one.number != made.number
    ]
    if earlier:
        book.tell(
            f"Caution: #{earlier[-1]} is a {filled.what} sheet of {filled.ref} too, and both "
            "stand. If this one puts it right, take back that one, and each check and defect it "
            f"wrote that is wrong, with: fleetcare withdraw {earlier[-1]} WHY"
        )
    return made.number
