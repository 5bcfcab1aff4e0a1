"""Looking at the book: the fleet at a glance, one van whole."""

from __future__ import annotations

import datetime as dt
from typing import NamedTuple

from fleetcare import clock
from fleetcare.desk.asking import KnownAt, asking
from fleetcare.desk.scans import kept_of
from fleetcare.reports.fleet import (
    FleetRow,
    VanShown,
    defect_rows,
    fitted_on,
    fleet_row,
    is_gone,
    van_shown,
)
from fleetcare.reports.placed import Part, parts_on
from fleetcare.store import facts as stored
from fleetcare.store import lookup
from fleetcare.store.engine import reading
from fleetcare.store.papers import Kept


def fleet(place: str, on: dt.date | None, known_at: KnownAt | None = None) -> list[FleetRow]:
    """Every van at a glance."""
    day = on or clock.today()
    with asking(place, known_at) as asked:
        rows: list[FleetRow] = asked.filled(
            [fleet_row(judged, day) for judged in asked.fleet() if not is_gone(judged, day)]
        )
        return rows


def van(place: str, name: str, on: dt.date | None, known_at: KnownAt | None = None) -> VanShown:
    """One van whole."""
    with asking(place, known_at) as asked:
        shown: VanShown = asked.filled(van_shown(asked.judged(name), on or clock.today()))
        return shown


class VanPage(NamedTuple):
    """One van whole, with the answer for it at a glance, what is and must be fitted where, and of
    each of its records who wrote it down (None where the name was erased) and the papers kept."""

    shown: VanShown
    glance: FleetRow
    parts: list[Part]
    writers: dict[int, str | None]
    kept: dict[int, list[Kept]]


def van_page(place: str, name: str) -> VanPage:
    """One van as a page shows it."""
    with asking(place) as asked:
        judged, day = asked.judged(name), clock.today()
        writers, kept = lookup.writers(asked.connection, name), kept_of(asked.connection, name)
        shown, glance, parts = asked.filled(
            [van_shown(judged, day), fleet_row(judged, day), parts_on(judged, day)]
        )
        return VanPage(shown, glance, parts, writers, kept)


def open_defects(place: str, name: str) -> list[tuple[int, str]]:
    """The defects of a van that stand open today, each with its number and how it stands."""
    with asking(place) as asked:
        rows: list[tuple[int, str]] = asked.filled(defect_rows(asked.judged(name), clock.today()))
        return rows


def given_results(place: str, name: str) -> list[str]:
    """The places of a van of which a check gives a result each: its gas appliances."""
    with asking(place) as asked:
        kinds = {kind.results for kind in asked.book.checks.values() if kind.results}
        fitted = fitted_on(asked.judged(name), clock.today())
        return [where for what, where, _ in fitted if what in kinds]


def names(place: str, beginning: str) -> list[str]:
    """The fleet numbers that begin so; nothing is judged or written."""
    with reading(place) as connection:
        return [van for van in stored.vans_of(connection) if van.startswith(beginning)]


def size(place: str) -> int:
    """How many records the book holds: what a person is shown rests on so many."""
    with reading(place) as connection:
        return stored.size_of(connection)
