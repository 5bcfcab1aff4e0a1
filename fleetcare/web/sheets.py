"""Sheets in: a blank to fill, and what was filled looked at, or read in with all its rows."""

from __future__ import annotations

from starlette.responses import Response

from fleetcare.desk import filling as desk
from fleetcare.desk import fleet
from fleetcare.errors import Refused
from fleetcare.web.visit import Visit

_WORKBOOK = "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet"


def sheets(visit: Visit) -> Response:
    """The blanks, and the form that takes one back."""
    return _page(visit, [])


def _page(visit: Visit, looked: list[str]) -> Response:
    size = fleet.size(visit.place)
    return visit.page("sheets.html", "Sheets in", kinds=desk.KINDS, looked=looked, size=size)


def blank(visit: Visit) -> Response:
    """A workbook to fill."""
    name, data = desk.blank(visit.place, visit.named["kind"])
    headers = {"Content-Disposition": f'attachment; filename="{name}"'}
    return Response(data, media_type=_WORKBOOK, headers=headers)


def read(visit: Visit) -> Response:
    """Read a sheet in, all of it or nothing; or look at it alone."""
    form = visit.form
    file, looks = form.file("sheet"), form.word("only_look") is not None
    form.done()
    assert file is not None
    found = desk.read(visit.place, visit.by, file, dry_run=looks)
    if found.faults:
        raise Refused(found.faults)
    if looks:
        return _page(visit, found.said)
    return visit.wrote(f"Read in: {file.name}", found.said, "", "/sheets")
