"""The yard: what goes out and comes back, the release and the return."""

from __future__ import annotations

from starlette.responses import Response

from fleetcare import clock
from fleetcare.desk import diary as diaries
from fleetcare.desk import later, walks
from fleetcare.desk import yard as desk
from fleetcare.web.visit import Visit
from fleetcare.windows import nights_after

_AHEAD = 7  # days
_DIGITS = 11  # of a size of the book


def yard(visit: Visit) -> Response:
    """What goes out today and in the coming days, and what is out."""
    today = clock.today()
    listed = diaries.listed(visit.place, None, None, None)
    soon = nights_after(today, _AHEAD)
    going = [one for one in listed if one.start <= soon and one.answer and one.away != "out"]
    away = [one for one in listed if one.away == "out"]
    parts = (
        ("To go out today", [one for one in going if one.start <= today]),
        ("To come back today, or late", [one for one in away if one.through <= today]),
        ("To go out in the coming week", [one for one in going if one.start > today]),
        ("Out", [one for one in away if one.through > today]),
    )
    return visit.page("yard.html", "The yard today", parts=parts, half=walks.half_done(visit.place))


def out(visit: Visit) -> Response:
    """Release a van: refused as on the terminal unless it may go and all of it is recorded."""
    lines = desk.hire_out(visit.place, visit.by, _handing(visit))
    return visit.wrote(f"{visit.named['ref']} is out", lines, "", "/yard")


def left(visit: Visit) -> Response:
    """A van left while there was no signal, on the answer that the phone had."""
    sent, rests_on = visit.form.waited(), visit.form.number("rests_on", _DIGITS)
    done = _handing(visit)
    lines = later.left(visit.place, visit.by, done, sent, rests_on)
    return visit.wrote(f"{visit.named['ref']} is out", lines, "", "/yard")


def back(visit: Visit) -> Response:
    """A van came back; where there was no signal, at the hour it did."""
    sent = visit.form.waited()
    lines = later.back(visit.place, visit.by, _handing(visit), sent)
    return visit.wrote(f"{visit.named['ref']} is back", lines, "", "/yard")


def _handing(visit: Visit) -> desk.Handing:
    form = visit.form
    odometer = form.needed("odometer")
    form.done()
    return desk.Handing(
        visit.named["ref"], visit.by, odometer, None, clock.hour()[1],
        form.word("unreleased"), form.word("even_so"), form.word("where"),
    )  # fmt: skip
