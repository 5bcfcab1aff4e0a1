"""One line for every kind of record of a van: its day, what it is, and what it says."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable, Iterator
from typing import Any, NamedTuple

from fleetcare.records.kept import Scan
from fleetcare.records.kinds import (
    FIELD_OF,
    Check,
    Defect,
    Fit,
    Hire,
    HireChange,
    Hold,
    LayUp,
    Lift,
    Odometer,
    Recheck,
    Repair,
    SignOff,
    TakeOff,
    VanFacts,
    Waiver,
)
from fleetcare.records.yard import (
    Back,
    Driver,
    Event,
    Expectation,
    Gone,
    Out,
    Recall,
    RecallDone,
    Sheet,
    Visit,
)
from fleetcare.rules.book import Book
from fleetcare.rules.outcome import Judgement
from fleetcare.van.trips import answers_of, signed_by_hirer
from fleetcare.words.marks import said
from fleetcare.words.reasons import who


class Line(NamedTuple):
    """A record in a few words."""

    on: dt.date | None
    what: str
    words: str


class _About:
    """Whose records they are: names of what they point to."""

    def __init__(self, judged: Judgement) -> None:
        self.judged, self.book = judged, judged.book
        self.refs = {hire.number: hire.ref for hire in judged.known.facts.hires}

    def ref(self, hire: int) -> str:
        """A booking's reference."""
        return self.refs.get(hire, "?")


def _check(about: _About, one: Check) -> Line:
    kind = about.book.checks.get(one.what)
    title = kind.title if kind else f"{one.what} (no rule reads it)"
    return Line(one.on, title, check_words(about.judged, one))


def check_words(judged: Judgement, check: Check) -> str:
    """A check in a few words: how it ended, by whom, certificate, readings."""
    words = [check.outcome or "read"]
    name = who(judged, check.inspector, check.by)
    words += [f"by {name}"] if name else []
    words += [f"certificate {check.certificate}"] if check.certificate else []
    words += [f"last day {check.last_day}"] if check.last_day else []
    words += [f"{r.what}{':' + r.place if r.place else ''}={r.figure}" for r in check.readings]
    return ", ".join(words)


def _hire(about: _About, one: Hire) -> Line:
    words = [f"through {one.through_on}"]
    words += [f"collected {one.collect_at}"] if one.collect_at else []
    words += [f"back {one.return_at}"] if one.return_at else []
    until = f"{one.pencilled_on} {one.pencilled_at or ''}".rstrip()
    words += [f"pencilled until {until}"] if one.pencilled_on else []
    return Line(one.from_on, f"hire {one.ref}", ", ".join(words))


def _change(about: _About, one: HireChange) -> Line:
    what = "cancelled" if one.cancelled else "moved" if one.moved_to else "changed"
    what = "made firm" if one.firm else what
    return Line(one.on, f"hire {about.ref(one.hire)} {what}", one.moved_to or said(one.words))


def _driver(about: _About, one: Driver) -> Line:
    what = f"licence of driver {one.driver} of {about.ref(one.hire)}"
    return Line(one.on, what, f"{one.licence} to {one.last_day}, {one.shown}")


def _waiver(about: _About, one: Waiver) -> Line:
    named = f"{one.rule} {one.place or ''}".strip()
    words = f"{named}, by {said(one.by)}: {said(one.words)}"
    return Line(one.on, f"waived for {about.ref(one.hire)}", words)


def _out(about: _About, one: Out) -> Line:
    words = f"odometer {one.odometer}, by {said(one.by)}"
    if one.unreleased:
        words = f"WITHOUT RELEASE: {said(one.unreleased)}"
    return Line(one.on, f"out as {about.ref(one.hire)}", words)


def _sheet(about: _About, one: Sheet) -> Line:
    words = f"{len(answers_of(one))} lines, signed by {said(one.by)}"
    words += " and by the hirer" if signed_by_hirer(one) else ""
    return Line(one.on, f"{one.what} sheet of {about.ref(one.hire)}", words)


def _event(about: _About, one: Event) -> Line:
    told = [
        f"{name}{said(words)}"
        for name, words in (
            ("", one.words), ("at ", one.where), ("told: ", one.told), ("came: ", one.came)
        )
        if words
    ]  # fmt: skip
    return Line(one.on, event_title(about.book, one.what), "; ".join(told))


def _back(about: _About, one: Back) -> Line:
    words = [one.odometer] if one.odometer else []
    words += [f"left at {said(one.where)}"] if one.where else []
    return Line(one.on, f"back from {about.ref(one.hire)}", ", ".join(words))


def _visit(about: _About, one: Visit) -> Line:
    words = [f"through {one.through_on}, {said(one.where)}", *(one.jobs or ())]
    return Line(one.from_on, "booked in with a workshop", ", ".join(words))


def _expectation(about: _About, one: Expectation) -> Line:
    kind = about.book.checks.get(one.what)
    title = kind.title if kind else one.what
    return Line(one.due_on, f"{title} said to fall due", "its paper not seen")


def event_title(book: Book, what: str) -> str:
    """What happened, by its title as far as the rules know it."""
    known = book.events.get(what)
    return known.title if known else what


def _lay_up(about: _About, one: LayUp) -> Line:
    back_on = f", back {one.back_on}" if one.back_on else ""
    return Line(one.from_on, "laid up", f"{said(one.words)}{back_on}")


def _scan(about: _About, one: Scan) -> Line:
    words = f"{one.sort}, {one.octets:,} bytes" if one.digest else "awaited"
    return Line(one.on, f"paper of #{one.record}", words)


def _sign_off(about: _About, one: SignOff) -> Line:
    name = who(about.judged, one.inspector, one.by)
    return Line(one.on, f"sign-off of #{one.defect}", name)


Told = Callable[[_About, Any], Line]
_LINES: dict[type, Told] = {
    VanFacts: lambda a, r: Line(r.on, "facts", "what is said of the van"),
    Fit: lambda a, r: Line(r.on, f"fitted {r.what}", r.place),
    TakeOff: lambda a, r: Line(r.on, f"took off {r.what}", r.place),
    Check: _check,
    Defect: lambda a, r: Line(r.on, f"{r.grade} defect", said(r.words)),
    Repair: lambda a, r: Line(r.on, f"repair of #{r.defect}", said(r.by)),
    SignOff: _sign_off,
    Recheck: lambda a, r: Line(r.on, f"recheck of #{r.defect}", said(r.by)),
    Hold: lambda a, r: Line(r.from_on, "hold", said(r.words)),
    Lift: lambda a, r: Line(r.on, f"lift of #{r.hold}", said(r.by)),
    Hire: _hire,
    Out: _out,
    Back: _back,
    HireChange: _change,
    Driver: _driver,
    Waiver: _waiver,
    Sheet: _sheet,
    Event: _event,
    Recall: lambda a, r: Line(r.on, f"recall {r.maker_number}", said(r.words)),
    RecallDone: lambda a, r: Line(r.on, f"recall #{r.recall} done", f"paper {r.certificate}"),
    LayUp: _lay_up,
    Visit: _visit,
    Expectation: _expectation,
    Gone: lambda a, r: Line(r.on, "gone", said(r.words)),
    Odometer: lambda a, r: Line(r.on, "odometer", r.shown),
    Scan: _scan,
}


def lines_of(judged: Judgement) -> Iterator[tuple[int, Line]]:
    """Every record of a van by its number, kind by kind."""
    about = _About(judged)
    for kind, field in FIELD_OF.items():
        tell = _LINES[kind]
        for record in getattr(judged.known.facts, field):
            yield record.number, tell(about, record)
