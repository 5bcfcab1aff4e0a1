"""The counter: which van can go, the booking, the list of bookings and one of them."""

from __future__ import annotations

import datetime as dt

from starlette.responses import Response

from fleetcare import clock
from fleetcare.desk import booked, fleet
from fleetcare.desk import diary as diaries
from fleetcare.desk import hires as bookings
from fleetcare.desk import which as desk
from fleetcare.desk.calls import Question
from fleetcare.errors import Refused, Stale
from fleetcare.intake.typed import LICENCES
from fleetcare.records.kinds import Hire
from fleetcare.records.workshop import PENCILLED_HOURS
from fleetcare.render import diary as diary_words
from fleetcare.render import text
from fleetcare.render import which as words
from fleetcare.render.chart import chart
from fleetcare.web.pressed import told
from fleetcare.web.visit import Visit, part
from fleetcare.windows import nights_after

# What a caller is asked; each is a field of a booking.
ASKED = (
    "from_on", "through_on", "people", "children", "bikes", "electric_bikes", "licence", "abroad",
    "berths",
)  # fmt: skip
_LICENCES = {"B-pre-1997": "B from before 1997", "visitor": "a visitor's"}  # where words help
WEEKS, _STEP = 6, 28  # along the diary, and days to the next page of it


def counter(visit: Visit) -> Response:
    """The question, and the vans that can go once it is asked, each to be booked from here."""
    found, size = None, 0
    if visit.values.get("from_on"):
        try:
            report = desk.which(visit.place, _call(visit))
            found, size = words.told(report), report.known_at
        except Refused as fault:
            if not visit.faults:
                visit.status = 422
                visit.faults = [told(problem) for problem in fault.problems]
    return visit.page(
        "counter.html", "Which van?", found=found, size=size, asked=ASKED,
        licences=[(one, _LICENCES.get(one, one)) for one in LICENCES],
    )  # fmt: skip


def _call(visit: Visit) -> desk.Call:
    form = visit.form
    form.faults.clear()
    question = Question(form.day("from_on"), form.day("through_on"), form.party())
    berths = form.count("berths")
    form.done()
    return desk.Call(question, None, desk.wished(berths, (), ()))


def book(visit: Visit) -> Response:
    """Write a booking down, and say what it needs first."""
    form = visit.form
    party, start, through = form.party(), form.day("from_on"), form.day("through_on")
    van, ref = form.needed("van"), form.needed("ref")
    for name in ("from_on", "through_on"):
        form.needed(name)
    form.done()
    assert start is not None
    assert through is not None
    booking = Hire(
        0, van, ref, start, through, party.bikes, party.electric_bikes, None, party.licence,
        abroad=party.abroad or None, people=party.people, children=party.children,
        even_so=form.word("even_so"), collect_at=form.word("collect_at"),
        return_at=form.word("return_at"),
    )  # fmt: skip
    hours = PENCILLED_HOURS if form.word("pencilled") else None
    before = fleet.size(visit.place)
    try:
        bookings.hire_add(visit.place, visit.by, bookings.New(booking, pencilled=hours))
    except (Refused, Stale):
        kept = booking._replace(pencilled_on=start) if hours else booking
        if not booked.written_already(visit.place, visit.by, kept):
            raise
        return visit.go(f"/hire/{part(ref)}?again=yes")
    return visit.go(f"/hire/{part(ref)}?since={before}")


def hires(visit: Visit) -> Response:
    """The bookings from a day on: those that are out or to come, where none is said."""
    first = _first(visit) or clock.today()
    found = diaries.listed(visit.place, None, first, None)
    title = f"Bookings from {text.day(first)}"
    return visit.page("hires.html", title, found=found, by=_weeks(visit, first))


def diary(visit: Visit) -> Response:
    """The fleet along the weeks: a chart, and beside it a table, a column a day."""
    first = _first(visit)
    found = diaries.diary(visit.place, None, WEEKS, first)
    paper = diary_words.paper(found.on, found.rows, found.known_at)
    drawn = chart(
        str(paper["title"]), found.on, clock.today(), found.rows,
        lambda one: f"/hire/{part(one.ref)}",
    )  # fmt: skip
    return visit.page(
        "diary.html", str(paper["title"]), paper=paper, chart=drawn, by=_weeks(visit, found.on)
    )


def _first(visit: Visit) -> dt.date | None:
    """The first day that an address says; a fault of it is shown, and today's page below."""
    first = visit.form.day("from")
    if visit.form.faults:
        visit.status, visit.faults = 422, [told(problem) for problem in visit.form.faults]
    return first


def _weeks(visit: Visit, first: dt.date) -> list[tuple[str, str]]:
    """Where the weeks before and after lead, and back to today."""
    return [
        ("Four weeks earlier", f"{visit.path}?from={nights_after(first, -_STEP)}"),
        ("From today", visit.path),
        ("Four weeks later", f"{visit.path}?from={nights_after(first, _STEP)}"),
    ]
