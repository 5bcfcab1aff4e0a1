"""Pictures of the fleet and of one van along the months."""

from __future__ import annotations

import datetime as dt

from fleetcare import clock
from fleetcare.desk.asking import asking
from fleetcare.errors import needs
from fleetcare.render.svg import chart
from fleetcare.reports.fleet import is_gone
from fleetcare.reports.picture import of_fleet, of_van
from fleetcare.store import ledger


def drawn(place: str, what: str, on: dt.date | None, *, dots: bool) -> bytes:
    """The chart of the fleet ("fleet") or of one van: SVG, or PNG where `dots` are wanted."""
    if not dots:
        return draw(place, what, on).encode()
    with needs("typst", "pdf"):
        from fleetcare.render.typeset import png
    return png(draw(place, what, on))


def draw(place: str, what: str, on: dt.date | None) -> str:
    """The chart as SVG."""
    day = on or clock.today()
    with asking(place) as asked:
        head = ledger.head_of(asked.connection)
        note = f"Tally {head.size:,} records {head.short}, rules {asked.book.digest[:8]}"
        if what != "fleet":
            return chart(of_van(asked.judged(what), day, note))
        fleet = (judged for judged in asked.fleet() if not is_gone(judged, day))
        return chart(of_fleet(fleet, day, note, asked.book.firm))
