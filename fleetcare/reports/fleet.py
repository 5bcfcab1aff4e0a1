"""What the book holds, as rows: the fleet at a glance, and one van whole."""

from __future__ import annotations

import datetime as dt
from typing import Any, NamedTuple

from fleetcare.hire.answer import hireable_through
from fleetcare.records.kinds import Fit
from fleetcare.reports.due_yard import wanted_back
from fleetcare.rules.outcome import Judgement, Outcome
from fleetcare.rules.party import NO_BIKES
from fleetcare.timeline import Verdict
from fleetcare.trade.marks import read_mark
from fleetcare.van.places import stay_on
from fleetcare.van.said import FitOut
from fleetcare.van.trips import Trip, away_with
from fleetcare.van.whereabouts import where
from fleetcare.windows import FOREVER
from fleetcare.words.days import day_words
from fleetcare.words.reasons import facts_words, reason, stands_words, titled
from fleetcare.words.records import lines_of
from fleetcare.words.where import where_words


class FleetRow(NamedTuple):
    """A van at a glance."""

    van: str
    reg: str | None
    hireable: str
    hireable_through: dt.date | None
    first_to_lapse: str
    open_defects: int
    out_as: str | None
    where: str


class VanShown(NamedTuple):
    """One van whole."""

    van: str
    plate: str | None
    on: dt.date
    facts: list[dict[str, Any]]
    fitted: list[dict[str, Any]]
    standings: list[dict[str, Any]]
    records: list[dict[str, Any]]
    known_at: int


def fleet_row(judged: Judgement, on: dt.date) -> FleetRow:
    """A van's line in the fleet list."""
    last = hireable_through(judged, on)
    worst = max(
        (o.at(on).verdict for o in judged.outcomes if o.blocks(o.at(on), NO_BIKES)),
        default=Verdict.GOOD,
    )
    in_service = judged.service is not None and on in judged.service
    answer = "yes" if last else ("cannot say" if worst is Verdict.DOUBT and in_service else "no")
    trip = away_with(judged.known.trips, on)
    return FleetRow(
        judged.van,
        judged.plate_on(on),
        answer,
        None if last == FOREVER else last,
        "laid up" if wanted_back(judged, on)[0] else _first_to_lapse(judged, on),
        len(open_defects(judged, on)),
        _out_as(trip) if trip else None,
        where_words(where(judged.known, on, judged.book.bringing_home)),
    )


def _out_as(trip: Trip) -> str:
    """The hire a van is out on: released, left all the same, or only presumed out."""
    if trip.out is None:
        return f"{trip.hire.ref} (presumed)"
    return f"{trip.hire.ref} (without release)" if trip.out.unreleased else trip.hire.ref


def is_gone(judged: Judgement, on: dt.date) -> bool:
    """Whether a van has left the fleet for good by a day."""
    return any(gone.on <= on for gone in judged.known.facts.gone)


def _first_to_lapse(judged: Judgement, on: dt.date) -> str:
    """What stands in the way, or what will be the first to."""
    best: tuple[dt.date, str] | None = None
    for outcome in judged.outcomes:
        today = outcome.at(on)
        for step in outcome.line.steps:
            if not outcome.blocks(step, NO_BIKES):
                continue
            if step is today:
                return stands_words(outcome, step)
            if step.start > on and (best is None or step.start < best[0]):
                best = (step.start, titled(outcome))
    return best[1] if best else ""


def open_defects(judged: Judgement, on: dt.date) -> list[Outcome]:
    """The defects that stand open on a day."""
    found = judged.of_records("defects").values()
    return [outcome for outcome in found if outcome.at(on).code != "not applicable"]


def defect_rows(judged: Judgement, on: dt.date) -> list[tuple[int, str]]:
    """The defects that stand open on a day: the number of each, and how it stands."""
    found = [(o.at(on).record, reason(judged, o, o.at(on))) for o in open_defects(judged, on)]
    return [(number, words) for number, words in found if number is not None]


def van_shown(judged: Judgement, on: dt.date) -> VanShown:
    """A van with its facts, what is fitted, how every rule stands, and its records."""
    fit_out = said_on(judged, on)
    facts = [
        {"fact": facts_words(judged, (name,)).replace("_", " "), "value": value}
        for name in type(fit_out.facts)._fields[3:-1]
        if (value := getattr(fit_out.facts, name)) is not None
    ]
    return VanShown(
        judged.van,
        judged.plate_on(on),
        on,
        facts,
        [_fitted(judged, what, place, fit) for what, place, fit in fitted_on(judged, on)],
        [
            {
                "rule": titled(o),
                "standing": o.standing(o.at(on)),
                "last_good_day": _shown_last(o, on),
            }
            for o in judged.outcomes
            if o.standing(o.at(on)) != "not applicable"
        ],
        record_rows(judged),
        judged.as_of.known_at,
    )


def said_on(judged: Judgement, on: dt.date) -> FitOut:
    """What was said of a van by a day; of a day before anything was, what was said first."""
    fit_out = judged.known.fit_outs[0][1]
    for start, one in judged.known.fit_outs:
        if start <= on:
            fit_out = one
    return fit_out


def _shown_last(outcome: Outcome, on: dt.date) -> dt.date | None:
    last = outcome.last_good(on)
    return None if last == FOREVER else last


def fitted_on(judged: Judgement, on: dt.date) -> list[tuple[str, str, Fit]]:
    """What is in every place at the end of a day: kind, place, component."""
    found = []
    for what in judged.book.components:
        for place, stays in judged.known.stays(what).items():
            stay = stay_on(stays, on)
            if stay and stay.fit:
                found.append((what, place, stay.fit))
    return found


def _fitted(judged: Judgement, what: str, place: str, fit: Fit) -> dict[str, Any]:
    return {
        "component": judged.book.components[what].title,
        "place": place,
        "record": fit.part or fit.number,
        "fitted": fit.on,
        "made": fit.made,
        "marked": fit.replace_by,
    }


def record_rows(judged: Judgement) -> list[dict[str, Any]]:
    """A van's records in the order of their days, with numbers to correct them by."""
    corrected = judged.known.facts.corrected
    rows: list[dict[str, Any]] = [
        {
            "record": number,
            "on": line.on,
            "what": line.what,
            "words": line.words,
            "corrected_by": corrected.get(number),
        }
        for number, line in lines_of(judged)
    ]
    return sorted(rows, key=lambda row: (row["on"] or dt.date.min, row["record"]))


def in_a_line(row: dict[str, Any]) -> str:
    """A record's row in a line of words."""
    words = (row["what"], day_words(row["on"]) if row["on"] else "", row["words"])
    return ", ".join(word for word in words if word)


def earliest_made(judged: Judgement, fit: Fit) -> dt.date | None:
    """The earliest day a component can have been made, where its mark says."""
    if not fit.made:
        return None
    return read_mark(fit.made, judged.book.components[fit.what].week_code, fit.on)
