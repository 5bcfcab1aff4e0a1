"""Said in the same breath as a change: which hires, out or booked, it stops or sets free."""

from __future__ import annotations

import datetime as dt
from collections.abc import Collection, Iterable

from fleetcare.hire.ask import party_of
from fleetcare.hire.stopped import Item, Stopped, newly_stopped, stopped_hires
from fleetcare.rules.judge import with_party
from fleetcare.rules.outcome import Judgement
from fleetcare.van.trips import Trip, away_with
from fleetcare.words.cautions import tell_hirer
from fleetcare.words.days import day_words

_MOST = 6  # hires named in one line; the rest are counted

Hires = dict[int, Stopped]


def told(before: Hires, judged: Judgement, today: dt.date) -> list[str]:
    """One sentence for each thing that newly stops hires of a van, and one for what no longer
    does; what to tell whoever has the van now."""
    after = stopped_hires(judged, today)
    sentences = []
    for items, trips in newly_stopped(before, after).items():
        sentences.append(f"Now stopped by {_items(judged, items)}: {_hires(trips)}.")
        for trip in trips:
            if trip is away_with(judged.known.trips, today):
                sentences += _tell_hirer(judged, trip, items, today)
    for items, trips in newly_stopped(after, before).items():
        still = [after[t.hire.number].trip for t in trips if t.hire.number in after]
        if still:
            sentences.append(f"No longer stopped by {_items(judged, items)}: {_hires(still)}.")
    return [f"{judged.van}: {sentence}" for sentence in sentences]


_OTHER = {"service": "not being on fleet", "hire": "hire"}


def _items(judged: Judgement, items: Iterable[Item]) -> str:
    named = []
    for rule, place in sorted(items, key=lambda item: (item[0], item[1] or "")):
        known = judged.rule(rule)
        title = known.title if known else _OTHER.get(rule, rule)
        named.append(f"{title} {place}" if place else title)
    return ", ".join(named)


def _hires(trips: list[Trip]) -> str:
    ordered = sorted(trips, key=lambda t: (t.hire.from_on, t.hire.number))
    words = [f"{t.hire.ref} from {day_words(t.hire.from_on)}" for t in ordered[:_MOST]]
    more = [f"{len(trips) - _MOST} more"] if len(trips) > _MOST else []
    return ", ".join([*words, *more])


def _tell_hirer(
    judged: Judgement, trip: Trip, items: Collection[Item], today: dt.date
) -> list[str]:
    last = max(trip.planned.through_on, today)
    party = party_of(judged.known, trip.hire)
    words = []
    for outcome in with_party(judged, party).outcomes:
        steps = outcome.bad_steps(today, last, party)
        if steps and (outcome.rule.name, outcome.place) in items:
            words.append(tell_hirer(outcome, max(steps, key=lambda step: step.verdict)))
    until = day_words(trip.planned.through_on)
    return [f"{trip.called} until {until}, tell the hirer: {tell}" for tell in dict.fromkeys(words)]
