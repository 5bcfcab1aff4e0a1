"""What falls due, in the order of the Monday meeting: vans that left without release or are still
out, out on hire with something lapsed, hires stopped since last week, what spoils a hire, overdue,
this week, the coming weeks, laid up. One line for each thing nobody said."""

from __future__ import annotations

import datetime as dt
from collections.abc import Container, Iterable, Iterator
from functools import lru_cache

from fleetcare.hire.ask import Spared, party_of
from fleetcare.hire.days import first_free, last_free
from fleetcare.hire.stops import spoiled
from fleetcare.hire.supposing import remedy_for
from fleetcare.records.kinds import Hire
from fleetcare.reports.due_item import DueItem, hire_words, made
from fleetcare.reports.due_yard import Changed, Head, clashes, heads, wanted_back
from fleetcare.rules.judge import with_party
from fleetcare.rules.outcome import Judgement, Outcome
from fleetcare.rules.rule import Rule
from fleetcare.timeline import Step, Verdict
from fleetcare.van.trips import Trip, away_with
from fleetcare.windows import FOREVER
from fleetcare.words.days import day_words
from fleetcare.words.entering import saying
from fleetcare.words.reasons import facts_words

GROUPS = (
    "unreleased", "late", "out", "changed", "spoils", "overdue", "week", "coming", "laid up",
)  # fmt: skip
_WORST = {"failed": 0, "no record": 1, "cannot say": 2, "overdue": 3}


def due_items(
    judged: Judgement, on: dt.date, weeks: int | None, changed: Changed | None = None
) -> Iterator[DueItem]:
    """What is due on a van by `on`, or within `weeks` (the rule's own lead where None); `changed`:
    the hires that something stops since last week, and what does."""
    for head in heads(judged, on):
        yield _headed(judged, head)
    laid, back = wanted_back(judged, on)
    if laid and trip_now(judged, on) is None:
        yield from _laid_up(judged, on, back)
        yield from _off_fleet(judged, on)
        return
    stopped = dict.fromkeys(item for items in changed or () for item in items)
    for head in clashes(judged, on, stopped):
        yield _headed(judged, head)
    for item in _due(judged, on, weeks, stopped):
        if (item.rule, item.place) in stopped and item.group != "out":
            item = item._replace(group="changed", spoils=_now_stopped(changed or {}, item))
        yield item


def _now_stopped(changed: Changed, item: DueItem) -> str:
    """The hires that an item has stopped since last week."""
    trips = [t for items, ts in changed.items() if (item.rule, item.place) in items for t in ts]
    return ", ".join(hire_words(trip.hire) or "" for trip in trips)


def _headed(judged: Judgement, head: Head) -> DueItem:
    return DueItem(
        judged.van, judged.plate_on(dt.date.max), head.rule, head.title, None, head.standing,
        head.last, 0, None, None, "yes", head.reason, "the firm's own book", head.group,
        head.spoils, head.if_out,
    )  # fmt: skip


def _laid_up(judged: Judgement, on: dt.date, back: dt.date | None) -> Iterator[DueItem]:
    """What a van off the road lacks by the day it is wanted back; nothing of it alarms."""
    for outcome in judged.outcomes:
        step = outcome.at(on)
        good = step.verdict is Verdict.GOOD
        last = outcome.last_good(on) if good else None
        holds = good and (back is None or last is None or last >= back)
        if outcome.rule.blocks == "at handover" or holds:
            continue
        item = made(judged, outcome, step, on, outcome.standing(step), None)
        yield item._replace(
            group="laid up",
            days_over=0,
            do_from=_fresh_from(outcome, on, back) if back else None,
            do_by=last_free(judged, on, back, outcome.rule.needs_van) if back else None,
            spoils=f"wanted back {day_words(back)}" if back else "no day to be back",
        )


def _fresh_from(outcome: Outcome, on: dt.date, back: dt.date) -> dt.date:
    """The first day on which the work still counts when the van is back."""
    idle = outcome.rule.version_at(on).terms.get("idle_days")
    return max(on, back - dt.timedelta(days=idle)) if idle else on


def _due(
    judged: Judgement, on: dt.date, weeks: int | None, stopped: Container[tuple[str, str | None]]
) -> Iterator[DueItem]:
    out = trip_now(judged, on)
    if judged.service is not None and not _wanted(judged, on) and out is None:
        yield from _off_fleet(judged, on)
        return
    unsaid: dict[tuple[str, tuple[str, ...]], list[Outcome]] = {}
    back = max(out.hire.through_on, on) if out else on
    for outcome in judged.outcomes:
        line = outcome.line
        if len(line.steps) == 1 and line.steps[0].verdict is Verdict.GOOD:
            continue
        step = line.at(on)
        if step.code == "unsaid":
            unsaid.setdefault((outcome.rule.name, step.detail), []).append(outcome)
            continue
        last = line.last_good(on) if step.verdict is Verdict.GOOD else None
        ahead = last is not None and last >= back and last > _horizon(on, weeks, outcome.rule)
        if ahead and (outcome.rule.name, outcome.place) not in stopped:
            continue
        item = _item(judged, outcome, step, on, last)
        if item:
            yield item
    yield from _off_fleet(judged, on)
    yield from _of_parties(judged, on)
    for (_, detail), outcomes in unsaid.items():
        yield _unsaid(judged, outcomes[0], outcomes[0].at(on), detail, on)


def _off_fleet(judged: Judgement, on: dt.date) -> Iterator[DueItem]:
    """The hires booked on days on which the van is not on fleet."""
    for hire in judged.hires:
        if judged.service is None or hire.through_on < on:
            continue
        if not judged.service.covers(hire.from_on, hire.through_on):
            yield DueItem(
                judged.van, judged.plate_on(on), "service", "on fleet", None, "failed",
                judged.service.last_good(on), 0, None, None, "yes",
                "booked on days on which the van is not on fleet", "the firm's own book",
                "spoils", hire_words(hire), None,
            )  # fmt: skip


def _of_parties(judged: Judgement, on: dt.date) -> Iterator[DueItem]:
    """The hires that their own bikes, licence or countries stop: judged only for that party."""
    for hire in judged.hires:
        if hire.through_on < on:
            continue
        party = party_of(judged.known, hire)
        for outcome in with_party(judged, party).outcomes[len(judged.outcomes) :]:
            bad = next(iter(outcome.bad_steps(hire.from_on, hire.through_on, party)), None)
            if bad:
                yield _of_party(judged, outcome, bad, hire, on)


def _of_party(judged: Judgement, outcome: Outcome, bad: Step, hire: Hire, on: dt.date) -> DueItem:
    """A line of one hire's own: work before it, a licence to be seen at its counter, or a no."""
    trip = trip_now(judged, on)
    out = trip if trip and trip.hire.number == hire.number else None
    item = made(judged, outcome, bad, on, outcome.standing(bad), out)
    do_from, do_by = None, None
    if bad.code in outcome.kind.to_show:
        do_from, do_by = on, max(hire.from_on, on)
    elif remedy_for(outcome, bad):
        needs_van = outcome.rule.needs_van
        do_from = first_free(judged, on, hire.from_on, needs_van)
        do_by = last_free(judged, on, hire.from_on, needs_van)
    group = "spoils"
    if out:
        group = "out"
    elif do_by:
        group = "week" if do_by.isocalendar()[:2] == on.isocalendar()[:2] else "coming"
    return item._replace(group=group, do_from=do_from, do_by=do_by, spoils=hire_words(hire))


def _wanted(judged: Judgement, on: dt.date) -> bool:
    """Whether the van is on fleet now or still to come."""
    assert judged.service is not None
    return any(on <= last for _, last in judged.service.runs())


@lru_cache(maxsize=256)
def _ahead(on: dt.date, weeks: int) -> dt.date:
    return on + dt.timedelta(weeks=weeks)


def _horizon(on: dt.date, weeks: int | None, rule: Rule) -> dt.date:
    """The last day looked ahead to: as asked, or the rule's own lead."""
    return _ahead(on, rule.due_soon_weeks if weeks is None else weeks)


def _item(
    judged: Judgement, outcome: Outcome, step: Step, on: dt.date, last: dt.date | None
) -> DueItem | None:
    rule, named = outcome.rule, outcome.standing(step)
    if step.code == "not read" or (rule.blocks == "when bikes go" and not _bikes_go(judged, on)):
        return None
    if last == FOREVER:
        return None
    if any(one.code == "in the workshop" for one in outcome.timeline.steps):
        # Booked in there it is no job; that it spoils a hire booked all the same is told.
        return (
            made(judged, outcome, step, on, named, None) if spoiled(judged, outcome, on) else None
        )
    out = _out_with_lapse(judged, outcome, on)
    asked_then = rule.blocks == "at handover" and outcome.kind.each_handover
    if asked_then and not outcome.broken(step):
        return None
    if named in ("in date", "not applicable") and last and last <= _horizon(on, None, rule):
        named = "due soon"
    return made(judged, outcome, step, on, named, out)


def _bikes_go(judged: Judgement, on: dt.date) -> bool:
    """Whether a booking now or to come takes bikes."""
    return any(h.through_on >= on and h.bikes + h.electric_bikes for h in judged.hires)


def trip_now(judged: Judgement, on: dt.date) -> Trip | None:
    """The booking a van is away with on a day: out, or presumed out, for bookings are plans."""
    return away_with(judged.known.trips, on) if judged.hires else None


def _out_with_lapse(judged: Judgement, outcome: Outcome, on: dt.date) -> Trip | None:
    trip = trip_now(judged, on)
    if trip is None:
        return None
    through = max(trip.hire.through_on, on)
    spared = Spared(judged, trip.hire.ref)
    bad = spared.bad_steps(outcome, on, through, party_of(judged.known, trip.hire))
    return trip if bad and outcome.rule.blocks != "at handover" else None


def _unsaid(
    judged: Judgement, outcome: Outcome, step: Step, detail: tuple[str, ...], on: dt.date
) -> DueItem:
    item = made(
        judged,
        outcome._replace(place=None),
        step,
        on,
        "cannot say",
        _out_with_lapse(judged, outcome, on),
    )
    words = (
        f"{facts_words(judged, detail)} not said: {outcome.rule.title} cannot be judged. "
        f"Say it with: {saying(judged, detail)}"
    )
    return item._replace(reason=words)


def ordered(items: Iterable[DueItem]) -> list[DueItem]:
    """The items in the order they are read out."""
    return sorted(
        items,
        key=lambda i: (
            GROUPS.index(i.group),
            i.last_good_day or dt.date.min,
            i.van,
            _WORST.get(i.standing, 4),
            i.rule,
            i.place or "",
        ),
    )


def merged_unsaid(items: list[DueItem]) -> list[DueItem]:
    """For the screen: one line a van for each set of facts nobody said, naming every rule."""
    found: dict[tuple[str, str], list[DueItem]] = {}
    kept: list[DueItem] = []
    for item in items:
        facts, split, _ = item.reason.partition(" not said: ")
        if item.standing == "cannot say" and split:
            group = found.setdefault((item.van, facts), [])
            if not group:
                kept.append(item)
            group.append(item)
        else:
            kept.append(item)
    return [_merged(item, found) for item in kept]


def _merged(item: DueItem, found: dict[tuple[str, str], list[DueItem]]) -> DueItem:
    facts, split, rest = item.reason.partition(" not said: ")
    group = found.get((item.van, facts), [])
    if not split or len(group) < 2:
        return item
    titles = ", ".join(dict.fromkeys(one.title for one in group))
    _, _, how = rest.partition(". Say it with: ")
    words = f"{facts} not said: {titles} cannot be judged. Say it with: {how}"
    return item._replace(title=facts, reason=words)


def sheet_rows(items: Iterable[DueItem]) -> dict[str, list[dict[str, str]]]:
    """The checks that fall due as rows of a workbook to fill, each van's once."""
    asked = dict.fromkeys((i.van, i.check, i.place or "") for i in items if i.check)
    rows = [{"Van": van, "Check": str(check), "Place": place} for van, check, place in asked]
    return {"checks": rows}
