"""What the rules say of one van: the only thing that reports, planner and pictures read."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable
from functools import partial
from typing import Any, NamedTuple

from fleetcare.records.kinds import Hire
from fleetcare.rules.book import Book
from fleetcare.rules.kinds import kind_of
from fleetcare.rules.kinds.case import Kind
from fleetcare.rules.party import NO_BIKES, Party
from fleetcare.rules.rule import Rule
from fleetcare.timeline import Step, Timeline, Verdict, timeline
from fleetcare.van.trips import laid_up
from fleetcare.van.van import Van
from fleetcare.windows import EVER, FOREVER, Windows, eve

_DOUBT = Verdict.DOUBT
_NOBODY = Step(EVER, Verdict.GOOD, "not applicable")  # before a rule's first day


class AsOf(NamedTuple):
    """What was known: the size of the ledger, and the digest of the rules judged by."""

    known_at: int
    digest: str


class Outcome(NamedTuple):
    """One rule at one place: its days, and the records seen that do not count, with why.

    `line` holds from the rule's first day on; before it the rule obliges nobody.
    """

    rule: Rule
    place: str | None
    line: Timeline
    uncounted: tuple[tuple[int, str], ...] = ()

    @property
    def kind(self) -> Kind:
        """The kind of its rule, and all that is known of it."""
        return kind_of(self.rule)

    @property
    def timeline(self) -> Timeline:
        """Every day, those before the rule's first day too."""
        since = self.rule.since
        later = [step for step in self.line.steps if step.start > since]
        return timeline([_NOBODY, self.line.at(since)._replace(start=since), *later])

    def at(self, day: dt.date) -> Step:
        """How the rule stands on a day."""
        return self.line.at(day) if day >= self.rule.versions[0][0] else _NOBODY

    def last_good(self, day: dt.date, worst: Verdict = Verdict.GOOD) -> dt.date | None:
        """Last day of the stretch no worse than `worst` that holds `day`; None if it does not."""
        if day >= self.rule.versions[0][0]:
            return self.line.last_good(day, worst)
        return self.timeline.last_good(day, worst)

    def last_good_before(self, step: Step) -> dt.date | None:
        """The last good day before a bad step; None when there never was one."""
        line = self.timeline
        before = None
        for other in line.steps:
            if other.start >= step.start:
                break
            if other.verdict is Verdict.GOOD:
                before = None
            elif before is None:
                before = other
        first = before or step
        if first.start <= self.rule.since:
            return None
        previous = line.at(eve(first.start))
        if previous.code == "not applicable" or previous.verdict is not Verdict.GOOD:
            return None
        return eve(first.start)

    def standing(self, step: Step) -> str:
        """What a step of it is called on every screen."""
        return self.kind.standings[step.code]

    def broken(self, step: Step) -> bool:
        """Whether a step says that something is known to be broken, not just unknown."""
        return step.code in self.kind.broken

    def blocks(self, step: Step, party: Party) -> bool:
        """Whether a step of this outcome stops a hire of this party. An at-handover rule stops one
        only when it is known to be broken, not when it is unknown."""
        blocks = self.rule.blocks
        if step.verdict < _DOUBT or blocks == "no":
            return False
        if blocks == "at handover":
            return self.broken(step)
        return blocks != "when bikes go" or party.any_bikes

    def bad_steps(self, start: dt.date, through: dt.date, party: Party) -> list[Step]:
        """The steps that stop this party on the days `start` to `through`, in order."""
        start = max(start, self.rule.versions[0][0])
        found: list[Step] = []
        for step in reversed(self.line.steps):
            if step[0] <= through and step[1] >= _DOUBT and self.blocks(step, party):
                found.append(step)
            if step[0] <= start:
                break
        found.reverse()
        return found if start <= through else []


make_outcome: Callable[[tuple[Any, ...]], Outcome] = partial(tuple.__new__, Outcome)


class Judgement(NamedTuple):
    """An outcome for every rule and place, the days in service, the hires, and as of what."""

    known: Van
    book: Book
    outcomes: tuple[Outcome, ...]
    service: Windows | None  # None: nobody said from when the van is on fleet
    as_of: AsOf

    @property
    def van(self) -> str:
        """The fleet number."""
        return self.known.facts.van

    @property
    def hires(self) -> list[Hire]:
        """The bookings known."""
        return self.known.hires

    @property
    def home(self) -> str | None:
        """Whose rules the van is under by what was said last."""
        return self.known.fit_outs[-1][1].home

    @property
    def homeless(self) -> Windows:
        """The days on which no rules of a home bind the van: none was said, or the book has none
        of that name."""
        fit_outs, homes = self.known.fit_outs, self.book.homes
        ends = [start for start, _ in fit_outs[1:]] + [FOREVER]
        spans = zip(fit_outs, ends, strict=True)
        return Windows((start, end) for (start, said), end in spans if said.home not in homes)

    def rule(self, name: str) -> Rule | None:
        """The rule that a name means for this van."""
        return self.book.rule(name, self.home)

    def of_records(self, what: str) -> dict[str, Outcome]:
        """The outcomes of rules that look at records of one sort (van.OTHERS), by record."""
        return {
            o.place: o for o in self.outcomes if o.place and what in o.kind.reads(o.rule).others
        }

    def plate_on(self, day: dt.date) -> str | None:
        """The plate the van bore on a day."""
        plate = self.known.fit_outs[0][1].facts.plate
        for start, fit_out in self.known.fit_outs:
            if start <= day:
                plate = fit_out.facts.plate
        return plate

    def stopped(self, party: Party = NO_BIKES) -> list[tuple[dt.date, dt.date]]:
        """Every stretch, half open, on which some rule stops a hire of this party."""
        spans = []
        for outcome in self.outcomes:
            steps, since = outcome.line.steps, outcome.rule.versions[0][0]
            until = FOREVER
            for step in reversed(steps):
                if step[1] >= _DOUBT and outcome.blocks(step, party):
                    spans.append((max(step[0], since), until))
                until = step[0]
                if until <= since:
                    break
        return spans

    def hireable_days(self, party: Party = NO_BIKES) -> Windows:
        """The days on which every blocking rule holds, the van is in service, and somebody said
        whose rules it is under.

        Bookings are not looked at here: they are what the days are wanted for.
        """
        if self.service is None:
            return Windows()
        return self.service - Windows([*self.stopped(party), *self.homeless.spans])


def service_days(van: Van) -> Windows | None:
    """The days a van is on fleet, by what was said from each day on; None when nobody said.

    A van that went off and was said to come back later is on fleet again from that day. While it
    is laid up, and from the day it is gone, it is not.
    """
    spans, said = Windows(), False
    ends = [start for start, _ in van.fit_outs[1:]] + [FOREVER]
    for (start, fit_out), end in zip(van.fit_outs, ends, strict=True):
        begins, leaves = fit_out.facts.in_service_from, fit_out.facts.out_of_service_from
        if begins is not None:
            said = True
            until = leaves if leaves and leaves > begins else FOREVER
            spans |= Windows([(max(begins, start), min(until, end))])
    if not said:
        return None
    facts = van.facts
    if facts.lay_ups:
        spans -= laid_up(facts)
    if facts.gone:
        spans -= Windows([(min(gone.on for gone in facts.gone), FOREVER)])
    return spans
