"""What the rules say of one van: the only thing that reports, planner and pictures read."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable, Iterator
from functools import partial
from typing import Any, NamedTuple

from fleetcare.records.kinds import Hire
from fleetcare.rules.party import NO_BIKES, Party
from fleetcare.rules.rule import Rule
from fleetcare.timeline import Step, Timeline, Verdict
from fleetcare.van.trips import laid_up
from fleetcare.van.van import View
from fleetcare.windows import FOREVER, Windows

STANDING = {
    "not applicable": "not applicable",
    "in date": "in date",
    "not yet due": "in date",
    "ageing": "in date",
    "noted": "in date",
    "to recheck": "in date",
    "late": "overdue",
    "overdue": "overdue",
    "over age": "overdue",
    "past its mark": "overdue",
    "recheck overdue": "overdue",
    "no record": "no record",
    "untested": "no record",
    "not read": "no record",
    "no rack": "no record",
    "failed": "failed",
    "out of limits": "failed",
    "overloaded": "failed",
    "rack overloaded": "failed",
    "too many bikes": "failed",
    "notice too low": "failed",
    "notice too high": "failed",
    "held": "failed",
    "done": "in date",
    "not done": "no record",
    "stood": "no record",
    "mended for this hire": "failed",
    "recalled": "failed",
    "recall open": "in date",
    "recall overdue": "overdue",
    "paper awaited": "in date",
    "paper overdue": "overdue",
    "licence enough": "in date",
    "licence too small": "failed",
    "licence not said": "cannot say",
    "winter tyre": "in date",
    "summer tyre": "failed",
    "unsaid": "cannot say",
    "not said": "cannot say",
    "illegible": "cannot say",
}
# An at-handover rule stops a hire only when it is known to be broken, not when it is unknown.
KNOWN_BROKEN = frozenset({"out of limits", "failed", "overloaded"})


class AsOf(NamedTuple):
    """What was known: the size of the ledger, and the digest of the rules judged by."""

    known_at: int
    digest: str


class Outcome(NamedTuple):
    """One rule at one place: its timeline, and the records seen that do not count, with why."""

    rule: Rule
    place: str | None
    timeline: Timeline
    uncounted: tuple[tuple[int, str], ...] = ()

    def blocks(self, step: Step, party: Party) -> bool:
        """Whether a step of this outcome stops a hire of this party."""
        blocks = self.rule.blocks
        if step.verdict < Verdict.DOUBT or blocks == "no":
            return False
        if blocks == "at handover":
            return step.code in KNOWN_BROKEN
        return blocks != "when bikes go" or party.any_bikes

    def bad_steps(self, start: dt.date, through: dt.date, party: Party) -> Iterator[Step]:
        """The steps that stop this party on the days `start` to `through`, worst first."""
        last = None
        for step in (self.timeline.at(start), *self.timeline.steps):
            if step.start > through or (step.start < start and last is not None):
                continue
            last = step
            if self.blocks(step, party):
                yield step


make_outcome: Callable[[tuple[Any, ...]], Outcome] = partial(tuple.__new__, Outcome)


class Judgement(NamedTuple):
    """An outcome for every rule and place, the days in service, the hires, and as of what."""

    view: View
    outcomes: tuple[Outcome, ...]
    service: Windows | None  # None: nobody said from when the van is on fleet
    as_of: AsOf

    @property
    def van(self) -> str:
        """The fleet number."""
        return self.view.facts.van

    @property
    def hires(self) -> list[Hire]:
        """The bookings known."""
        return self.view.hires

    def plate_on(self, day: dt.date) -> str | None:
        """The plate the van bore on a day."""
        plate = self.view.fit_outs[0][1].facts.plate
        for start, fit_out in self.view.fit_outs:
            if start <= day:
                plate = fit_out.facts.plate
        return plate

    def stopped(self, party: Party = NO_BIKES) -> list[tuple[dt.date, dt.date]]:
        """Every stretch, half open, on which some rule stops a hire of this party."""
        spans = []
        for outcome in self.outcomes:
            steps = outcome.timeline.steps
            for place, step in enumerate(steps):
                if step.verdict >= Verdict.DOUBT and outcome.blocks(step, party):
                    until = steps[place + 1].start if place + 1 < len(steps) else FOREVER
                    spans.append((step.start, until))
        return spans

    def hireable_days(self, party: Party = NO_BIKES) -> Windows:
        """The days on which every blocking rule holds and the van is in service.

        Bookings are not looked at here: they are what the days are wanted for.
        """
        if self.service is None:
            return Windows()
        return self.service - Windows(self.stopped(party))


def service_days(view: View) -> Windows | None:
    """The days a van is on fleet, by what was said from each day on; None when nobody said.

    A van that went off and was said to come back later is on fleet again from that day. While it
    is laid up, and from the day it is gone, it is not.
    """
    spans, said = Windows(), False
    ends = [start for start, _ in view.fit_outs[1:]] + [FOREVER]
    for (start, fit_out), end in zip(view.fit_outs, ends, strict=True):
        begins, leaves = fit_out.facts.in_service_from, fit_out.facts.out_of_service_from
        if begins is not None:
            said = True
            until = leaves if leaves and leaves > begins else FOREVER
            spans |= Windows([(max(begins, start), min(until, end))])
    if not said:
        return None
    facts = view.facts
    if facts.lay_ups:
        spans -= laid_up(facts)
    if facts.gone:
        spans -= Windows([(min(gone.on for gone in facts.gone), FOREVER)])
    return spans
