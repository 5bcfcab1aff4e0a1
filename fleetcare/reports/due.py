"""What falls due, in the order of the Monday meeting: out on hire with something lapsed, what
heads the list, overdue, this week, the coming weeks. One line for each thing nobody said."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Iterator
from functools import lru_cache
from typing import NamedTuple

from fleetcare.records.kinds import Hire
from fleetcare.rules.bookable import last_good_before, party_of, spoiled
from fleetcare.rules.explain import day_words, facts_words, reason, saying, standing
from fleetcare.rules.judge import with_party
from fleetcare.rules.outcome import KNOWN_BROKEN, Judgement, Outcome
from fleetcare.rules.remedy import remedy_for
from fleetcare.rules.rule import Rule
from fleetcare.rules.work import first_free, last_free
from fleetcare.timeline import Step, Verdict
from fleetcare.windows import FOREVER, add_months, early_from, next_day

GROUPS = ("out", "spoils", "overdue", "week", "coming")
_WORST = {"failed": 0, "no record": 1, "cannot say": 2, "overdue": 3}


class DueItem(NamedTuple):
    """One thing due: what, where, how it stands, when to do it, and what it would spoil."""

    van: str
    plate: str | None
    rule: str
    title: str
    place: str | None
    standing: str
    last_good_day: dt.date | None
    days_over: int
    do_from: dt.date | None
    do_by: dt.date | None
    blocks: str
    reason: str
    source: str
    group: str
    spoils: str | None  # the next hire it would spoil, in words
    if_out: str | None  # what to tell a hirer who has the van now


def due_items(judged: Judgement, on: dt.date, weeks: int | None) -> Iterator[DueItem]:
    """What is due on a van by `on`, or within `weeks` (the rule's own lead where None)."""
    if judged.service is not None and not _wanted(judged, on):
        yield from _off_fleet(judged, on)
        return
    unsaid: dict[tuple[str, tuple[str, ...]], list[Outcome]] = {}
    out = out_now(judged, on)
    back = out.through_on if out else on
    for outcome in judged.outcomes:
        line = outcome.timeline
        if len(line.steps) == 1 and line.steps[0].verdict is Verdict.GOOD:
            continue
        step = line.at(on)
        if step.code == "unsaid":
            unsaid.setdefault((outcome.rule.name, step.detail), []).append(outcome)
            continue
        last = line.last_good(on) if step.verdict is Verdict.GOOD else None
        if last is not None and last >= back and last > _horizon(on, weeks, outcome.rule):
            continue
        item = _item(judged, outcome, step, on, last)
        if item:
            yield item
    yield from _off_fleet(judged, on)
    if _bikes_go(judged, on):
        yield from _overladen(judged, on)
    for (_, detail), outcomes in unsaid.items():
        yield _unsaid(judged, outcomes[0], outcomes[0].timeline.at(on), detail, on)


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
                "spoils", _hire_words(hire), None,
            )  # fmt: skip


def _overladen(judged: Judgement, on: dt.date) -> Iterator[DueItem]:
    """The hires whose own bikes are more than the rack bears: judged only for that party."""
    for hire in judged.hires:
        party = party_of(hire)
        if hire.through_on < on or not party.any_bikes:
            continue
        for outcome in with_party(judged, party).outcomes[len(judged.outcomes) :]:
            bad = next(outcome.bad_steps(hire.from_on, hire.through_on, party), None)
            if bad:
                item = _made(judged, outcome, bad, on, standing(bad), None)
                yield item._replace(group="spoils", do_by=None, spoils=_hire_words(hire))


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
    rule = outcome.rule
    if step.code == "not read" or (rule.blocks == "when bikes go" and not _bikes_go(judged, on)):
        return None
    if last == FOREVER:
        return None
    out = _out_with_lapse(judged, outcome, on)
    if rule.blocks == "at handover" and rule.kind == "measured" and step.code not in KNOWN_BROKEN:
        return None
    named = standing(step)
    if named in ("in date", "not applicable") and last and last <= _horizon(on, None, rule):
        named = "due soon"
    return _made(judged, outcome, step, on, named, out)


def _bikes_go(judged: Judgement, on: dt.date) -> bool:
    """Whether a booking now or to come takes bikes."""
    return any(h.through_on >= on and h.bikes + h.electric_bikes for h in judged.hires)


def out_now(judged: Judgement, on: dt.date) -> Hire | None:
    """The booking whose days hold `on`: presumed out, for bookings are plans."""
    return next((h for h in judged.hires if h.from_on <= on <= h.through_on), None)


def _out_with_lapse(judged: Judgement, outcome: Outcome, on: dt.date) -> Hire | None:
    hire = out_now(judged, on)
    if hire is None:
        return None
    bad = any(True for _ in outcome.bad_steps(on, hire.through_on, party_of(hire)))
    return hire if bad and outcome.rule.blocks != "at handover" else None


def _made(
    judged: Judgement, outcome: Outcome, step: Step, on: dt.date, named: str, out: Hire | None
) -> DueItem:
    rule = outcome.rule
    last = (
        outcome.timeline.last_good(on)
        if step.verdict is Verdict.GOOD
        else last_good_before(outcome, step)
    )
    hire = spoiled(judged, outcome, on)
    do_from, do_by = _days(judged, outcome, step, on, last, hire)
    return DueItem(
        judged.van,
        judged.plate_on(on),
        rule.name,
        rule.title,
        outcome.place,
        named,
        last,
        max((on - last).days, 0) if last and named in ("overdue", "no record") else 0,
        do_from,
        do_by,
        rule.blocks,
        reason(judged, outcome, _telling(outcome, step, on)),
        str(rule.version_at(on).source),
        _group(step, on, last, hire, do_by, out),
        _hire_words(hire),
        _tell_hirer(out, outcome, last) if out else None,
    )


def _telling(outcome: Outcome, step: Step, on: dt.date) -> Step:
    """The step whose words are shown: what is coming, where nothing applies yet."""
    if step.code != "not applicable":
        return step
    later = (s for s in outcome.timeline.steps if s.start > on and s.verdict > Verdict.GOOD)
    return next(later, step)


def _hire_words(hire: Hire | None) -> str | None:
    if hire is None:
        return None
    return f"{hire.ref} from {day_words(hire.from_on)}"


def _tell_hirer(hire: Hire, outcome: Outcome, last: dt.date | None) -> str:
    until = f"presumed out as {hire.ref} until {day_words(hire.through_on)}"
    return f"{until}. {outcome.rule.if_out}"


def _group(
    step: Step,
    on: dt.date,
    last: dt.date | None,
    hire: Hire | None,
    do_by: dt.date | None,
    out: Hire | None,
) -> str:
    if out:
        return "out"
    if hire and do_by is None:
        return "spoils"
    if step.verdict > Verdict.GOOD or last is None:
        return "overdue"
    return "week" if last.isocalendar()[:2] == on.isocalendar()[:2] else "coming"


def _days(
    judged: Judgement,
    outcome: Outcome,
    step: Step,
    on: dt.date,
    last: dt.date | None,
    hire: Hire | None,
) -> tuple[dt.date | None, dt.date | None]:
    """The first day that loses no validity, and the last before the next hire it spoils."""
    needs_van = outcome.rule.needs_van
    good = step.verdict is Verdict.GOOD
    if remedy_for(outcome, step) is None and not good:
        return None, None
    before = hire.from_on if hire else next_day(last) if good and last else None
    do_by = last_free(judged, on, before, needs_van) if before else None
    first = _no_loss_from(outcome, on, last) if good and last else on
    until = before or add_months(first, 2)
    return (first_free(judged, first, until, needs_van) or do_by), do_by


def _no_loss_from(outcome: Outcome, on: dt.date, last: dt.date) -> dt.date:
    """The first day on which a recurring check keeps its anniversary; for the rest, now."""
    if outcome.rule.kind != "recurring":
        return on
    early = outcome.rule.version_at(on).terms.get("early_months")
    return max(on, early_from(last, early) if early else last)


def _unsaid(
    judged: Judgement, outcome: Outcome, step: Step, detail: tuple[str, ...], on: dt.date
) -> DueItem:
    item = _made(
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
