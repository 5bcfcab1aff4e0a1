"""What a party would leave behind to get inside, where it brings too much: tried, never reckoned.

Each thing alone where one is enough; otherwise water, then luggage, then bikes together. What is
left is judged like any party, so that what frees one axle and overloads the other is no advice.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator
from decimal import Decimal
from typing import NamedTuple

from fleetcare.rules.judge import of_party, weighed
from fleetcare.rules.outcome import Judgement
from fleetcare.rules.party import Party
from fleetcare.timeline import Step, Verdict


class Left(NamedTuple):
    """One thing left behind: how many, kg or litres of it, and what that weighs."""

    what: str  # bikes, e-bikes, luggage, water
    number: int
    kg: Decimal


class Days(NamedTuple):
    """From when to when it must fit."""

    start: dt.date
    through: dt.date


def steps_over(judged: Judgement, party: Party, days: Days) -> list[Step]:
    """What weighs too much for these days, or of which nobody can say."""
    return [
        step
        for outcome in of_party(judged.known, judged.book, party)
        if outcome.kind.carries
        for step in outcome.bad_steps(days.start, days.through, party)
    ]


def leave_behind(judged: Judgement, party: Party, days: Days) -> list[tuple[Left, ...]]:
    """Ways to get inside, each what to leave behind together; none where nothing is too much, or
    nothing of it helps."""
    if _fits(judged, party, days):
        return []
    tried = [(one.what, _least(judged, party, days, one)) for one in _kinds(party)]
    enough: list[tuple[Left, ...]] = [
        (_left(judged, party, what, least),) for what, least in tried if least
    ]
    if enough:
        return enough
    together = _together(judged, party, days)
    return [together] if together else []


class _Kind(NamedTuple):
    what: str
    most: int


def _kinds(party: Party) -> Iterator[_Kind]:
    """What a party brings that it could leave, in the order it is told."""
    for what, most in (
        ("e-bikes", party.electric_bikes),
        ("bikes", party.bikes),
        ("luggage", int(party.luggage_kg or 0)),
        ("water", int(party.water_l or 0)),
    ):
        if most:
            yield _Kind(what, most)


def _without(party: Party, what: str, number: int) -> Party:
    """The party with so much less of one thing; the heaviest bikes are taken to stay."""
    if what == "luggage":
        return party._replace(luggage_kg=(party.luggage_kg or Decimal(0)) - number)
    if what == "water":
        return party._replace(water_l=(party.water_l or Decimal(0)) - number)
    name = "bikes" if what == "bikes" else "electric_bikes"
    fewer = party._replace(**{name: getattr(party, name) - number})
    kept = sorted(party.weighed_kg, key=Decimal, reverse=True)
    return fewer._replace(weighed_kg=tuple(kept[: fewer.bikes + fewer.electric_bikes]))


def _fits(judged: Judgement, party: Party, days: Days) -> bool:
    """Whether nothing is too much; what nobody can say is not settled by leaving something."""
    return all(step.verdict is not Verdict.LACKS for step in steps_over(judged, party, days))


def _least(judged: Judgement, party: Party, days: Days, kind: _Kind) -> int:
    """The least of one thing whose leaving is enough; 0 where all of it is not."""
    few, many = 0, kind.most
    if not _fits(judged, _without(party, kind.what, many), days):
        return 0
    while many - few > 1:
        half = (few + many) // 2
        if _fits(judged, _without(party, kind.what, half), days):
            many = half
        else:
            few = half
    return many


def _together(judged: Judgement, party: Party, days: Days) -> tuple[Left, ...]:
    """Several things, all of the first before any of the next; none where not even that helps."""
    found: list[Left] = []
    for kind in reversed(list(_kinds(party))):
        least = _least(judged, party, days, kind)
        found.append(_left(judged, party, kind.what, least or kind.most))
        if least:
            return tuple(found)
        party = _without(party, kind.what, kind.most)
    return ()


def _left(judged: Judgement, party: Party, what: str, number: int) -> Left:
    """What a number of bikes weighs by the rules of the van's home; a litre of water weighs one."""
    if what in ("luggage", "water"):
        return Left(what, number, Decimal(number))
    before, after = (
        weighed(judged.known, judged.book, one).bikes_kg
        for one in (party, _without(party, what, number))
    )
    return Left(what, number, before - after)
