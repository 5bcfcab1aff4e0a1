"""Papers to take out: each is made of the book as it stands, and nothing of it is kept."""

from __future__ import annotations

from collections.abc import Callable
from urllib.parse import quote

from starlette.responses import Response

from fleetcare import clock
from fleetcare.desk import diary as diaries
from fleetcare.desk import feeds, fleet, following, pack, questions
from fleetcare.desk import papers as desk
from fleetcare.errors import NotInstalled, Problem, Refused
from fleetcare.web.counter import WEEKS
from fleetcare.web.pressed import told
from fleetcare.web.visit import Visit, log, part, plain

GROUPED = ("week", "van", "trade")
_TYPES = {
    "xlsx": "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet",
    "pdf": "application/pdf",
    "ics": "text/calendar; charset=utf-8",
}
Made = tuple[str, bytes]  # the name of a file, and what it holds


def papers(visit: Visit) -> Response:
    """What can be taken out."""
    return visit.page(
        "papers.html", "Papers", vans=fleet.names(visit.place, ""), grouped=GROUPED,
        given=following.given(visit.place),
    )  # fmt: skip


def calendar(visit: Visit) -> Response:
    """What falls due, for a calendar that has the address; nobody is signed in by it."""
    found = following.calendar(visit.place, visit.named["token"])
    if found is None:
        log("no such calendar", address=visit.address)
        return plain(visit.served, 404, "There is no such page")
    return Response(found, media_type=_TYPES["ics"])


def give_out(visit: Visit) -> Response:
    """Make the calendar's address, or another one in its stead; it is shown once."""
    visit.form.needed("give")
    visit.form.done()
    made = following.renew(visit.place, visit.by)
    log("calendar address made", who=visit.by)
    return visit.page("followed.html", "The calendar's address", token_of=made)


def take_in(visit: Visit) -> Response:
    """No address leads to the calendar any more."""
    following.end(visit.place)
    log("calendar address ended", who=visit.by)
    return visit.go("/papers")


def paper(visit: Visit) -> Response:
    """One of them as a file. What it cannot be made for is told on the page that asked for it."""
    make = _PAPERS.get(visit.named["paper"])
    if make is None:
        raise Refused([Problem("", f"there is no such paper: {', '.join(_PAPERS)}")])
    try:
        return as_file(*make(visit))
    except Refused as fault:
        visit.status = 422
        visit.faults = [told(problem) for problem in fault.problems]
    except NotInstalled as fault:
        visit.status = 503
        visit.faults = [told(Problem("", str(fault)))]
    return papers(visit)


def as_file(name: str, data: bytes) -> Response:
    """A file to be kept under a name (RFC 6266)."""
    simple = name if part(name) == name else f"paper.{name.rpartition('.')[2]}"
    says = f"attachment; filename=\"{simple}\"; filename*=UTF-8''{quote(name, safe='')}"
    kind = _TYPES[name.rpartition(".")[2]]
    return Response(data, media_type=kind, headers={"Content-Disposition": says})


def _insurers(visit: Visit) -> Made:
    on, van = visit.form.day("on"), visit.form.word("evidence")
    visit.form.done()
    return desk.insurers(visit.place, on, None, (van,) if van else ())


def _pack(visit: Visit) -> Made:
    van = visit.form.needed("van")
    start, through = visit.form.day("from_on"), visit.form.day("through_on")
    for name in ("from_on", "through_on"):
        visit.form.needed(name)
    visit.form.done()
    assert start is not None
    assert through is not None
    return f"pack-{van}-{start}-{through}.pdf", pack.evidence(visit.place, van, start, through)


def _label(visit: Visit) -> Made:
    van = _van(visit)
    return f"label-{van}.pdf", pack.label(visit.place, van, None)


def _aboard(visit: Visit) -> Made:
    van = _van(visit)
    return f"aboard-{van}.pdf", pack.aboard(visit.place, van, None)


def _van(visit: Visit) -> str:
    van = visit.form.needed("van")
    visit.form.done()
    return van


def _monday(visit: Visit) -> Made:
    by = visit.form.chosen("grouped", GROUPED) or "week"
    visit.form.done()
    report = questions.due(visit.place, None, None)
    return f"monday-{report.on}.pdf", desk.monday(report, by)


def _diary(visit: Visit) -> Made:
    found = diaries.diary(visit.place, None, WEEKS)
    return f"diary-{found.on}.pdf", diaries.paper(found)


def _calendar(visit: Visit) -> Made:
    return f"due-{clock.today()}.ics", feeds.calendar(visit.place, None)


_PAPERS: dict[str, Callable[[Visit], Made]] = {
    "insurers.xlsx": _insurers,
    "pack.pdf": _pack,
    "label.pdf": _label,
    "aboard.pdf": _aboard,
    "monday.pdf": _monday,
    "diary.pdf": _diary,
    "calendar.ics": _calendar,
}
