"""Which van, as rows: those that can go, those that could but for one thing, and the others."""

from __future__ import annotations

import datetime as dt
from typing import Any, NamedTuple

from fleetcare.hire.ask import Ask
from fleetcare.hire.which import Choice, fit_out_on
from fleetcare.reports.hire import Work, going, hire_report, stop_line, work_rows
from fleetcare.rules.outcome import Judgement
from fleetcare.van.whereabouts import where
from fleetcare.windows import eve
from fleetcare.words.days import day_words
from fleetcare.words.where import where_words


class Can(NamedTuple):
    """A van that can go, as it stands or once the work is done."""

    van: str
    plate: str | None
    start: dt.date
    through: dt.date
    bookable: str
    to_do: tuple[Work, ...]
    unusable: int  # days left beside the hire that are too few to let
    where: str  # on the day asked about; nothing where it is in the yard
    sleeps: int | None = None  # where it sleeps fewer than ride


class ButFor(NamedTuple):
    """A van that one thing stops, what would free it, and until when."""

    van: str
    plate: str | None
    rule: str
    place: str | None
    do: str
    do_by: dt.date | None


class Else(NamedTuple):
    """A van that cannot go, and the nearest days on which it could go as long."""

    van: str
    plate: str | None
    could: tuple[dt.date, dt.date] | None
    why: str


class Which(NamedTuple):
    """What the clerk says into the telephone."""

    start: dt.date | None
    through: dt.date | None
    asked: str  # what was asked for, in words
    can: tuple[Can, ...]
    more: int  # of those that can and are not shown
    but_for: tuple[ButFor, ...]
    others: tuple[Else, ...]
    unsuited: tuple[tuple[str, str], ...]  # vans that are not as wished, and in what
    known_at: int
    cautions: tuple[str, ...] = ()


def can_row(judged: Judgement, found: Choice) -> Can:
    """A van that can go, with its work dated."""
    ask = found.ask
    works = work_rows(judged, found.decision, ask)
    return Can(
        judged.van, judged.plate_on(ask.start), ask.start, ask.through, found.decision.bookable,
        works, found.unusable, _elsewhere(judged, ask.on), _sleeps(judged, ask),
    )  # fmt: skip


def _sleeps(judged: Judgement, ask: Ask) -> int | None:
    """How many a van sleeps, where that is fewer than ride in it."""
    berths = fit_out_on(judged, ask.start).facts.berths
    return berths if berths is not None and berths < (ask.party.people or 0) else None


def _elsewhere(judged: Judgement, on: dt.date) -> str:
    now = where(judged.known, on, judged.book.bringing_home)
    return "" if now.sort == "yard" else where_words(now)


def but_for_row(judged: Judgement, found: Choice) -> ButFor | None:
    """A van that one thing stops; None where it is not one thing."""
    stop, ask = found.but_for, found.ask
    if stop is None:
        return None
    line = stop_line(judged, ask, stop)
    bears = ", or ".join(going(judged, ask, found.decision))
    do = bears if bears.startswith("the same") else f"with {bears}"
    do = do if bears else f"{line.title}: {line.reason}"
    by = eve(ask.start) if ask.start > ask.on else None
    if stop.trip and not stop.late:
        hire = stop.trip.hire
        days = f"{day_words(hire.from_on)} to {day_words(hire.through_on)}"
        do = f"{hire.ref}, {days}, moved to another van or to other days"
        by = None if stop.trip.out else by
    return ButFor(judged.van, judged.plate_on(ask.start), line.rule, line.place, do, by)


def else_row(judged: Judgement, found: Choice) -> Else:
    """A van that cannot go, with what stands in its way first."""
    report = hire_report(judged, found.ask, dated=False)
    first = report.blocking[0]
    more = len({line.title for line in report.blocking}) - 1
    words = f"{first.title} and {more} more" if more else first.title
    return Else(judged.van, judged.plate_on(found.ask.start), found.nearest, words)


def as_json(report: Which) -> dict[str, Any]:
    """The keys programs rely on."""
    return {
        "from": report.start,
        "through": report.through,
        "can": [
            {
                "van": row.van, "from": row.start, "through": row.through,
                "bookable": row.bookable,
                "to_do": [
                    {
                        "rule": work.rule, "place": work.place, "do": work.do,
                        "do_from": work.do_from, "do_by": work.do_by,
                    }
                    for work in row.to_do
                ],
                "where": row.where or None,
            }
            for row in report.can
        ],
        "but_for": [
            {
                "van": row.van, "rule": row.rule, "place": row.place, "do": row.do,
                "do_by": row.do_by,
            }
            for row in report.but_for
        ],
        "else": [
            {"van": row.van, "could": list(row.could) if row.could else None}
            for row in report.others
        ],
        "unsuited": [{"van": van, "for": what} for van, what in report.unsuited],
        "more": report.more,
        "known_at": report.known_at,
    }  # fmt: skip
