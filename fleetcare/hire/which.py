"""Which van: the same question put to every van, and the order in which they are told.

Can go as it stands before what can go if work is done first, fewest jobs first; then the van that
is left with the fewest days too few to let; then by fleet number.
"""

from __future__ import annotations

import datetime as dt
from typing import NamedTuple

from fleetcare.hire.answer import Decision, decision
from fleetcare.hire.ask import Ask, bad_steps_of
from fleetcare.hire.stops import Blocking, by_rule, clashes
from fleetcare.hire.supposing import remedy_for
from fleetcare.hire.todo import plan
from fleetcare.rules.judge import with_party
from fleetcare.rules.outcome import Judgement, Outcome
from fleetcare.timeline import Step
from fleetcare.van.said import FitOut
from fleetcare.windows import each_day, nights_after


class Wish(NamedTuple):
    """What a caller asks of the van itself: berths, and facts of the firm's own."""

    berths: int | None = None
    has: tuple[str, ...] = ()
    has_not: tuple[str, ...] = ()

    def unmet(self, fit_out: FitOut) -> list[str]:
        """The names of what a van does not have as wished, or of which nobody said."""
        berths = fit_out.facts.berths
        short = self.berths is not None and (berths is None or int(berths) < self.berths)
        wrong = ["berths"] if short else []
        wrong += [name for name in self.has if fit_out.own.get(name) is not True]
        return wrong + [name for name in self.has_not if fit_out.own.get(name) is not False]


class Choice(NamedTuple):
    """One van's answer to the caller, as far as it takes to put it in its place."""

    van: str
    ask: Ask
    decision: Decision
    unusable: int
    but_for: Blocking | None = None  # the one thing that stops it
    nearest: tuple[dt.date, dt.date] | None = None

    @property
    def jobs(self) -> int:
        """What must be done first."""
        late_or_unseen = len(self.decision.late) + (self.decision.licence is not None)
        # Each fact that nobody said is a question of its own: a van nobody described comes last.
        work = sum(max(len(one.remedy.detail), 1) if one.remedy.sort == "say" else 1
                   for one in self.decision.to_do)  # fmt: skip
        return work + late_or_unseen

    @property
    def can(self) -> bool:
        """Whether it can be booked."""
        return self.decision.bookable != "no"

    @property
    def place(self) -> tuple[bool, int, int, str]:
        """Where it stands in the order."""
        return (self.decision.bookable != "yes", self.jobs, self.unusable, self.van)


def fit_out_on(judged: Judgement, day: dt.date) -> FitOut:
    """What is said of the van from a day on."""
    return [fit_out for start, fit_out in judged.known.fit_outs if start <= day][-1]


def choice(judged: Judgement, ask: Ask, *, dated: bool = False) -> Choice:
    """One van's answer; `dated` as `todo.plan` says."""
    found = decision(judged, ask, dated=dated)
    no = found.bookable == "no"
    nights = (ask.through - ask.start).days
    return Choice(
        judged.van, ask, found, _unusable(judged, ask),
        _but_for(judged, ask, found) if no else None, _nearest(found, ask, nights) if no else None,
    )  # fmt: skip


def first_choice(judged: Judgement, ask: Ask, nights: int) -> Choice:
    """The first collection day on which a van can go for so many nights within the days of `ask`;
    where there is none, the answer for the first day."""
    first = None
    for day in each_day(ask.start, nights_after(ask.through, -nights)):
        tried = ask._replace(start=day, through=nights_after(day, nights))
        if any(clashes(judged, hire, tried) for hire in judged.hires if hire.ref != ask.ref):
            continue
        found = choice(judged, tried)
        if found.can:
            return found
        first = first or found
    return first or choice(judged, ask._replace(through=nights_after(ask.start, nights)))


def _but_for(judged: Judgement, ask: Ask, found: Decision) -> Blocking | None:
    """The one thing that stops a van, where all else holds or can be done in time: another hire,
    days off the fleet, one thing that the caller brings, one rule that no work in time meets."""
    others = [b for b in found.blocking if b.outcome is None]
    ruled = with_party(judged, ask.party)
    bad = list(bad_steps_of(ruled, ask))
    if others:
        alone = len({(b.rule, b.place) for b in others}) == 1
        return others[0] if alone and _workable(ruled, ask, bad) else None
    brought = _brought(judged, ask, found)
    if brought:
        return brought
    past = [(o, step) for o, step in bad if remedy_for(o, step) is None]
    rest = [pair for pair in bad if pair not in past]
    if len({o.rule.key for o, _ in past or bad}) == 1 and (not past or _workable(ruled, ask, rest)):
        return by_rule(*(past or bad)[0])
    return None


def _workable(ruled: Judgement, ask: Ask, bad: list[tuple[Outcome, Step]]) -> bool:
    """Whether all that is bad can be put right in time."""
    return not bad or plan(ruled, ask, bad, dated=False) is not None


def _brought(judged: Judgement, ask: Ask, found: Decision) -> Blocking | None:
    """What stops the van and would not, brought the caller one thing less."""
    party = ask.party
    for lesser in (
        party._replace(bikes=0, electric_bikes=0, weighed_kg=()),
        party._replace(luggage_kg=None, water_l=None, fuel_l=None),
        party._replace(people=None, children=None),
        party._replace(licence=None, drivers=()),
        party._replace(abroad=()),
    ):
        if lesser != party:
            tried = decision(judged, ask._replace(party=lesser), dated=False)
            if tried.bookable != "no":
                still = {(b.rule, b.place) for b in tried.blocking}
                gone = [b for b in found.blocking if (b.rule, b.place) not in still]
                return next((b for b in gone if not _can_be_done(b)), next(iter(gone), None))
    return None


def _can_be_done(stop: Blocking) -> bool:
    """Whether work would meet it: then it is not what stands in the way."""
    if stop.outcome is None or stop.step is None:
        return False
    return remedy_for(stop.outcome, stop.step) is not None


def _nearest(found: Decision, ask: Ask, nights: int) -> tuple[dt.date, dt.date] | None:
    """The days nearest to those asked about on which the van could go as long."""
    starts = []
    for first, last in found.could:
        latest = nights_after(last, -nights)
        if first <= latest:
            starts.append(min(max(ask.start, first), latest))
    if not starts:
        return None
    start = min(starts, key=lambda day: (abs((day - ask.start).days), day))
    return start, nights_after(start, nights)


def _unusable(judged: Judgement, ask: Ask) -> int:
    """The days beside the hire, up to the next one on either side, that are too few to let."""
    shortest = judged.book.shortest_hire_nights
    hires = [hire for hire in judged.hires if hire.ref != ask.ref]
    before = [(ask.start - h.through_on).days for h in hires if h.through_on <= ask.start]
    after = [(h.from_on - ask.through).days for h in hires if h.from_on >= ask.through]
    gaps = [min(listed) for listed in (before, after) if listed]
    return sum(gap for gap in gaps if 0 < gap < shortest)
