"""What is fitted where in a van, and what must be and is not: a row a component, by place."""

from __future__ import annotations

import datetime as dt
from typing import NamedTuple

from fleetcare.records.kinds import Fit
from fleetcare.reports.fleet import fitted_on, said_on
from fleetcare.rules.outcome import Judgement
from fleetcare.rules.party import NO_BIKES
from fleetcare.things import required_places
from fleetcare.words.reasons import EMPTY, stands_words, unsaid_words


class Part(NamedTuple):
    """A component in its place, a place that lacks one, or what nobody said of such places."""

    number: int | None  # of the place on the drawing; None where nobody said which
    component: str
    place: str | None
    empty: bool  # the place must be filled, and is not
    stops: bool  # the van, today and whoever hires it
    stands: str  # what is wrong with it, in words
    fitted: dt.date | None = None
    made: str | None = None
    marked: str | None = None
    record: int | None = None


Where = tuple[str, str | None]  # a kind of component, and a place


def parts_on(judged: Judgement, on: dt.date) -> list[Part]:
    """Every component fitted at the end of a day, every place that lacks one, and every other
    place of a kind that stops the van; a number a place, in the order they are read out."""
    fitted: dict[Where, Fit] = {(what, at): fit for what, at, fit in fitted_on(judged, on)}
    rows, stops = _listed(judged, on, fitted), set()
    for outcome in judged.outcomes:
        step, what = outcome.at(on), outcome.rule.over
        if what and outcome.blocks(step, NO_BIKES):
            stops.add((what, outcome.place))
            rows.setdefault((what, outcome.place), []).append(stands_words(outcome, step))
    order = list(judged.book.components)
    numbers: dict[str, int] = {}
    found = []
    for what, place in sorted(rows, key=lambda where: order.index(where[0])):
        words, fit = rows[what, place], fitted.get((what, place))
        part = Part(
            numbers.setdefault(place, len(numbers) + 1) if place else None,
            judged.book.components[what].title,
            place,
            EMPTY in words,
            (what, place) in stops,
            "; ".join(words),
        )
        if fit:
            number = fit.part or fit.number
            part = part._replace(fitted=fit.on, made=fit.made, marked=fit.replace_by, record=number)
        found.append(part)
    return found


def _listed(judged: Judgement, on: dt.date, fitted: dict[Where, Fit]) -> dict[Where, list[str]]:
    """The places of each kind that are filled or must be, and what nobody said of them."""
    said = said_on(judged, on)
    rows: dict[Where, list[str]] = {}
    for what, kind in judged.book.components.items():
        places, unsaid = required_places(kind, said.get, said.places)
        there = [str(place) for kept, place in fitted if kept == what]
        for place in dict.fromkeys((*places, *there)):
            rows[what, place] = [] if (what, place) in fitted else [EMPTY]
        if unsaid:
            rows[what, None] = [unsaid_words(judged, tuple(unsaid))]
    return rows
