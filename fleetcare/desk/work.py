"""A van booked in with a workshop, and the visits to come with what each one does."""

from __future__ import annotations

import datetime as dt

from fleetcare import clock
from fleetcare.desk.asking import asking
from fleetcare.desk.session import Writing, recording
from fleetcare.desk.write import put
from fleetcare.errors import Problem, Refused, near
from fleetcare.records.yard import Visit
from fleetcare.reports.work import Workshop, workshop
from fleetcare.words.days import day_words


def book(place: str, by: str, visit: Visit, *, dry_run: bool = False) -> list[str]:
    """Book a van in with a workshop: on these days it goes on no hire.

    Refused for a job that is no rule; for days on which the van is booked, days that are over and
    parts that come too late, unless somebody says that it is so (`even_so`).
    """
    with recording(place, by, dry_run=dry_run) as writing:
        writing.facts(visit.van)
        jobs = _named(writing, visit)
        made: Visit = put(writing, visit._replace(jobs=jobs or None))
        until = f" through {day_words(made.through_on)}" if made.through_on != made.from_on else ""
        writing.tell(
            f"#{made.number} {made.van} booked in {day_words(made.from_on)}{until}: "
            f'"{visit.where}". Call it off with: fleetcare withdraw {made.number} WHY'
        )
        if visit.parts:
            when = f", {day_words(made.parts_due_on)}" if made.parts_due_on else ", no day said"
            writing.tell(f'Parts on order: "{visit.parts}"{when}.')
        for title, by_day in _too_late(writing, made).items():
            writing.tell(f"Caution: {title} is to be done by {day_words(by_day)}, before this.")
    return writing.said


def _named(writing: Writing, visit: Visit) -> tuple[str, ...]:
    """The rules that the words of a visit's jobs mean; Refused with every word that means none."""
    found: list[str] = []
    faults = []
    for word in visit.jobs or ():
        rules = writing.book.find_rules(word) or writing.book.titled(word)
        kind = writing.book.find_check(word)
        # A check serves several rules; the job is that of those it is the remedy of.
        done = [rule for rule in rules if kind and rule.remedy.what == kind.name]
        found += [rule.name for rule in done or rules]
        if not rules:
            hint = near(word, writing.book.words())
            words = f'"{word}" is no rule and no check.{hint} They are in: fleetcare rules list'
            faults.append(Problem("", words, "jobs"))
    if faults:
        raise Refused(faults)
    return tuple(dict.fromkeys(found))


def _too_late(writing: Writing, visit: Visit) -> dict[str, dt.date]:
    """The jobs of a visit that are to be done before it, and by when."""
    due = workshop(writing.after(visit.van), writing.today).due
    ours = [item for item in due if item.rule in (visit.jobs or ())]
    return {i.title: i.do_by for i in ours if i.do_by and i.do_by < visit.from_on}


def listed(place: str, on: dt.date | None) -> list[Workshop]:
    """Of each van its visits to come, and what falls due that one visit could do."""
    day = on or clock.today()
    with asking(place) as asked:
        found = [workshop(judged, day) for judged in asked.fleet()]
        filled: list[Workshop] = asked.filled([one for one in found if one.visits or one.due])
        return filled
