"""A hire asked about: its days and party, and what stops others and not it."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator
from decimal import Decimal
from typing import NamedTuple

from fleetcare.records.kept import Answer
from fleetcare.records.kinds import Hire
from fleetcare.records.yard import Waiver
from fleetcare.rules.outcome import Judgement, Outcome
from fleetcare.rules.party import NO_BIKES, Party, Shown
from fleetcare.timeline import Step
from fleetcare.trade.measures import read_measure
from fleetcare.van.trips import NOTHING, Handed
from fleetcare.van.van import Van


class Ask(NamedTuple):
    """A hire asked about: its days, its bikes, the first day work can be done, its booking."""

    start: dt.date
    through: dt.date
    on: dt.date
    party: Party = NO_BIKES
    ref: str | None = None


def waivers_of(judged: Judgement, ref: str | None) -> list[Waiver]:
    """What was waived for a hire, as far as its rule may be waived as it stood."""
    facts = judged.known.facts
    trip = judged.known.trip(ref) if facts.waivers else None
    if trip is None:
        return []
    ours = [(w, judged.rule(w.rule)) for w in facts.waivers if w.hire == trip.hire.number]
    return [
        waiver
        for waiver, rule in ours
        if rule
        and waiver.code in rule.waivable
        # What was put right since is not what was waived.
        and facts.corrected.get(waiver.record or 0, 0) <= waiver.number
    ]


class Spared:
    """What does not stop one hire although it stops every other: an item waived for it as it
    stands, a defect mended on the road until its return."""

    def __init__(self, judged: Judgement, ref: str | None) -> None:
        van = judged.known
        self.waivers = waivers_of(judged, ref)
        trip = van.trip(ref) if ref and van.facts.repairs else None
        self._hire = trip.hire.number if trip else None

    def bad_steps(
        self, outcome: Outcome, start: dt.date, through: dt.date, party: Party
    ) -> list[Step]:
        """The steps of an outcome that stop the hire on its days."""
        found = outcome.bad_steps(start, through, party)
        return [step for step in found if not self.holds(outcome, step)]

    def holds(self, outcome: Outcome, step: Step) -> bool:
        """Whether a step of an outcome is spared."""
        if step.code == "mended for this hire":
            return self._hire is not None and step.detail[2] == self._hire
        if not self.waivers:
            return False
        names = (outcome.rule.name, *outcome.rule.was)
        stood = (outcome.place, step.code, step.record)
        return any(w.rule in names and (w.place, w.code, w.record) == stood for w in self.waivers)


def bad_steps_of(judged: Judgement, ask: Ask) -> Iterator[tuple[Outcome, Step]]:
    """Each outcome that stops the hire, with its worst step; what was waived for it, and what was
    mended for it alone, is left out."""
    return worst_of(Spared(judged, ask.ref), judged.outcomes, ask)


def worst_of(
    spared: Spared, outcomes: tuple[Outcome, ...] | list[Outcome], ask: Ask
) -> Iterator[tuple[Outcome, Step]]:
    """The same for some outcomes."""
    for outcome in outcomes:
        steps = spared.bad_steps(outcome, ask.start, ask.through, ask.party)
        if steps:
            yield outcome, max(steps, key=lambda step: step.verdict)


def party_of(van: Van, hire: Hire) -> Party:
    """What a booking of a van says of its hirer, and what its handover left."""
    return party_said(hire, van.handed.get(hire.number, NOTHING))


def _figure(typed: str | None, dimension: str) -> Decimal | None:
    return None if typed is None else read_measure(typed, dimension).value


def party_said(asked: Hire | Answer, handed: Handed) -> Party:
    """The party of a booking or of a question that was kept, with what was recorded at the
    handover of its hire."""
    several = len(handed.drivers) > 1
    return Party(
        asked.bikes, asked.electric_bikes, asked.bike_kg or (), asked.licence, asked.abroad or (),
        asked.people, asked.children,
        tuple(
            Shown(one.licence, one.on, one.last_day, one.driver if several else None)
            for one in handed.drivers
        ),
        tuple(dict.fromkeys((one.what, one.on) for one in handed.sheets)),
        handed.out.on if handed.out else None,
        luggage_kg=_figure(asked.luggage, "mass"),
        water_l=_figure(asked.water, "volume"),
        fuel_l=_figure(asked.fuel, "volume"),
    )  # fmt: skip
