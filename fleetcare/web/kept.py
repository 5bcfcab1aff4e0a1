"""Papers and photos as they were kept: those behind a record, a small copy, the original."""

from __future__ import annotations

from starlette.responses import Response

from fleetcare.desk import scans as desk
from fleetcare.errors import Problem
from fleetcare.web.forms import record_number
from fleetcare.web.visit import Visit

FILES = ("photo", "paper")  # that a form sends along, and that are kept
_TYPES = {"pdf": "application/pdf", "png": "image/png", "jpeg": "image/jpeg"}


def _number(visit: Visit) -> int:
    text = visit.named["number"]
    return record_number(text, f'"{text}"')


def papers(visit: Visit) -> Response:
    """A record and the papers behind it."""
    found = desk.behind(visit.place, _number(visit))
    title = f"Papers of #{found.number}"
    return visit.page("record_papers.html", title, found=found, size=found.size)


def attach(visit: Visit) -> Response:
    """Keep another paper of a record."""
    number, form = _number(visit), visit.form
    files = form.files(*FILES)
    if not files:
        form.faults.append(Problem("", "no file was chosen", FILES[0]))
    form.done()
    lines = desk.attach(visit.place, visit.by, number, files)
    return visit.wrote(f"Kept of #{number}", lines, "", f"/record/{number}/papers")


def original(visit: Visit) -> Response:
    """A paper as it came, to be put by and never shown in the page's own right."""
    name, sort, data = desk.original(visit.place, _number(visit))
    headers = {"Content-Disposition": f'attachment; filename="{name}"'}
    return Response(data, media_type=_TYPES[sort], headers=headers)


def small(visit: Visit) -> Response:
    """A copy of a photo made small, with nothing but what is seen."""
    return as_photo(desk.small(visit.place, _number(visit)))


def as_photo(found: bytes | None) -> Response:
    """A small copy as an answer of its own; "not there" where there is none."""
    if found is None:
        return Response("", 404, media_type="text/plain; charset=utf-8")
    return Response(found, media_type="image/jpeg")
