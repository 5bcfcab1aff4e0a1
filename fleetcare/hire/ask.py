"""A hire asked about: its days and party, and what stops others and not it."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator
from typing import NamedTuple

from fleetcare.records.kinds import Hire
from fleetcare.rules.outcome import Judgement, Outcome
from fleetcare.rules.party import NO_BIKES, Party
from fleetcare.timeline import Step
from fleetcare.van.van import View


class Ask(NamedTuple):
    """A hire asked about: its days, its bikes, the first day work can be done, its booking."""

    start: dt.date
    through: dt.date
    on: dt.date
    party: Party = NO_BIKES
    ref: str | None = None


class Spared:
    """What does not stop one hire although it stops every other: an item waived for it as it
    stands, a defect mended on the road until its return."""

    def __init__(self, view: View, ref: str | None) -> None:
        self.waivers = view.waivers(ref)
        trip = view.trip(ref) if ref and view.facts.repairs else None
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
        stood = (outcome.rule.name, outcome.place, step.code, step.record)
        return any(stood == (w.rule, w.place, w.code, w.record) for w in self.waivers)


def bad_steps_of(judged: Judgement, ask: Ask) -> Iterator[tuple[Outcome, Step]]:
    """Each outcome that stops the hire, with its worst step; what was waived for it, and what was
    mended for it alone, is left out."""
    spared = Spared(judged.view, ask.ref)
    for outcome in judged.outcomes:
        steps = spared.bad_steps(outcome, ask.start, ask.through, ask.party)
        if steps:
            yield outcome, max(steps, key=lambda step: step.verdict)


def party_of(hire: Hire) -> Party:
    """What a booking says of its hirer: bikes, class of licence, countries."""
    return Party(
        hire.bikes, hire.electric_bikes, hire.bike_kg or (), hire.licence, hire.abroad or ()
    )
