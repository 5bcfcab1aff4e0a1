"""One booking: how it stands, other days, another van, firm, cancelled, and a swap on the road."""

from __future__ import annotations

from typing import Any

from starlette.responses import Response

from fleetcare import clock
from fleetcare.desk import booked, fleet, questions, swap
from fleetcare.desk import diary as diaries
from fleetcare.desk import hires as bookings
from fleetcare.desk.calls import Question
from fleetcare.intake.typed import LICENCES
from fleetcare.records.kinds import Hire
from fleetcare.render import text
from fleetcare.rules.party import NO_BIKES
from fleetcare.web.forms import SIZE
from fleetcare.web.visit import Visit, part

_DAYS = ("from_on", "through_on")
_COUNTS = ("people", "children", "bikes", "electric_bikes")
CHANGED = (
    *_DAYS, *_COUNTS, "licence", "abroad", "collect_at", "return_at", "to_van", "swap", "even_so",
)  # fmt: skip
SWAPPED = (
    "to_van", "where", "odometer", "words", "told", "came", "through_on", "even_so",
)  # fmt: skip


def hire(visit: Visit) -> Response:
    """One booking: how it stands, whether it may go, and what can be done with it."""
    (one, size), answer = diaries.booking(visit.place, visit.named["ref"]), ""
    since = "" if visit.sent else visit.values.get("since", "")
    wrote = booked.told_since(visit.place, one.ref, int(since)) if SIZE.fullmatch(since) else []
    again = not visit.sent and visit.values.get("again") is not None
    if one.answer is not None:
        question = Question(None, None, NO_BIKES, None, one.ref)
        answer = text.hire(questions.hireable(visit.place, one.van, question))
    if visit.sent:  # each form of the page has its own fields
        form = visit.path.rpartition("/")[2]
        named = [one["field"] and f"{form}-{one['field']}" for one in visit.faults]
        visit.faults = [
            one | {"field": name} for one, name in zip(visit.faults, named, strict=True)
        ]
    as_booked = booked.as_booked(visit.place, one.ref)
    return visit.page(
        "hire.html", f"{one.ref}, {one.van}", one=one, says=answer, size=size, wrote=wrote,
        again=again, booked=_fields(as_booked.hire) if as_booked else {}, licences=LICENCES,
        tell=as_booked.tell if as_booked else (), read=as_booked.odometer if as_booked else "",
        vans=fleet.names(visit.place, ""),
    )  # fmt: skip


def _fields(hire: Hire) -> dict[str, str]:
    """A booking as its form shows it."""
    said = {name: getattr(hire, name) for name in CHANGED if name in Hire._fields}
    said["abroad"] = ",".join(hire.abroad or ())
    return {name: str(value) for name, value in said.items() if value not in (None, "")}


def change(visit: Visit) -> Response:
    """Other days, another party or van for a booking, or its van and another booking's changed;
    what is left empty stays as it is. One that is out stays out longer only where it may."""
    form, ref = visit.form, visit.named["ref"]
    typed: dict[str, Any] = {name: form.day(name) for name in _DAYS}
    typed |= {name: form.count(name) for name in _COUNTS}
    typed |= {name: form.word(name) for name in ("collect_at", "return_at")}
    typed["licence"] = form.chosen("licence", LICENCES)
    typed["abroad"] = form.countries("abroad") or None
    to_van, swap = form.word("to_van"), form.word("swap")
    form.done()
    said = {name: value for name, value in typed.items() if value is not None}
    asked = bookings.Change(ref, said, to_van, swap, even_so=form.word("even_so") is not None)
    return _changed(visit, f"{ref} is changed", asked)


def firm(visit: Visit) -> Response:
    """A pencilled booking is pencilled no more."""
    ref = visit.named["ref"]
    return _changed(visit, f"{ref} is firm", bookings.Change(ref, {}, firm=True))


def _changed(visit: Visit, title: str, asked: bookings.Change) -> Response:
    lines, reports = bookings.hire_change(visit.place, visit.by, asked)
    answers = "\n\n".join(text.hire(report) for report in reports)
    return visit.wrote(title, lines, answers, f"/hire/{part(asked.ref)}")


def swapped(visit: Visit) -> Response:
    """A hirer on the road goes on with another van, which is to be released like any."""
    form, ref = visit.form, visit.named["ref"]
    to_van, where, words = form.needed("to_van"), form.needed("where"), form.needed("words")
    left = swap.Left(
        where, words, visit.by, form.needed("odometer"), at=clock.hour()[1], told=form.word("told"),
        came=form.word("came"), even_so=form.word("even_so"), through=form.day("through_on"),
    )  # fmt: skip
    form.done()
    lines = swap.on_the_road(visit.place, visit.by, ref, to_van, left)
    return visit.wrote(f"{ref} goes on with {to_van}", lines, "", f"/hire/{part(ref)}")


def cancel(visit: Visit) -> Response:
    """A booking that nobody wants any more; it stays to be seen."""
    ref, why = visit.named["ref"], visit.form.needed("why")
    visit.form.done()
    lines = bookings.hire_cancel(visit.place, visit.by, ref, why)
    return visit.wrote(f"{ref} is cancelled", lines, "", "/hires")
