"""A van as it was known when the book was smaller, and what was written down since."""

from __future__ import annotations

from starlette.responses import Response

from fleetcare import clock
from fleetcare.desk import fleet
from fleetcare.desk import history as desk
from fleetcare.desk.asking import KnownAt, through
from fleetcare.errors import Refused
from fleetcare.render.history import difference
from fleetcare.web.pressed import told
from fleetcare.web.visit import Visit

_DIGITS = 11


def known(visit: Visit) -> Response:
    """What was in force on a day with so many records, or at the end of a day."""
    van, size = visit.named["van"], fleet.size(visit.place)
    fleet.van(visit.place, van, None)  # refused where it is no van at all
    found, differs = None, []
    try:
        found = _asked(visit, van)
        differs = [difference(one) for one in found.history.differs]
    except Refused as fault:  # it was no van yet, or the book knew nothing
        visit.status = 422
        visit.faults = [told(problem) for problem in fault.problems]
    return visit.page(
        "known.html", f"{van} as it was known", van=van, most=size, found=found, differs=differs
    )


def _asked(visit: Visit, van: str) -> desk.Known:
    form = visit.form
    size, day = form.number("known_at", _DIGITS), form.day("known_on")
    on = form.day("on") or clock.today()
    form.done()
    known_at = KnownAt(size) if size is not None else through(day) if day else None
    return desk.as_known(visit.place, van, on, known_at)
