"""The yard: a van released to a hirer, and come back. Both are facts; the booking was the plan.

The release is the one record that answers "was it fit when it left": it is refused unless the
van is hireable now and everything to be recorded at handover is recorded, and it keeps the
judgement it went out on. What left all the same is written down as that: a book that refuses
what happened would be false.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator
from typing import NamedTuple

from fleetcare.desk.hires import find_trip
from fleetcare.desk.session import Writing, recording
from fleetcare.desk.write import hold, put
from fleetcare.errors import Declined, Problem, Refused, an
from fleetcare.hire.answer import handover_step
from fleetcare.hire.ask import Ask, party_of, waivers_of
from fleetcare.records.yard import Back, Out, Waiver
from fleetcare.render import text
from fleetcare.reports.answered import as_it_left, item_name
from fleetcare.reports.hire import HireReport, hire_report
from fleetcare.rules.judge import with_party
from fleetcare.rules.kinds import KINDS
from fleetcare.rules.outcome import Judgement, Outcome
from fleetcare.timeline import Step
from fleetcare.van.trips import Trip
from fleetcare.windows import after_days
from fleetcare.words.days import day_words
from fleetcare.words.reasons import titled


class Handing(NamedTuple):
    """A release or a return as typed."""

    ref: str
    by: str | None
    odometer: str | None
    on: dt.date | None = None
    at: str | None = None
    unreleased: str | None = None
    even_so: str | None = None
    where: str | None = None  # it was left there, and not in the yard


def hire_out(place: str, by: str, done: Handing, *, dry_run: bool = False) -> list[str]:
    """Release a van to its hirer. Declined with the answer unless it may go."""
    with recording(place, by, dry_run=dry_run) as book:
        trip = find_trip(book, done.ref)
        hire, day = trip.hire, done.on or book.today
        going = Out(
            0, hire.van, hire.number, day, done.by or by, "cannot say", 0, book.book.digest,
            done.at, done.odometer,
            even_so=done.even_so,
        )  # fmt: skip
        hold(book, going)
        judged = as_it_left(book.after(hire.van), day, done.at)
        party = party_of(judged.known, hire)
        ask = Ask(day, trip.planned.through_on, day, party, hire.ref)
        report: HireReport = book.asked.filled(hire_report(judged, ask))
        lacking = [item_name(line.rule, line.place) for line in report.at_handover]
        stopped = [item_name(line.rule, line.place) for line in report.blocking]
        may_go = report.hireable == "yes" and not lacking
        if not may_go and done.unreleased is None:
            how = _not_released(book, judged, done.ref, report)
            raise Declined(f"{text.hire(report)}\n{how}")
        made = book.add(
            going._replace(
                hireable=report.hireable,
                known_at=book.asked.as_of.known_at,
                rulebook=book.book.digest,
                blocking=tuple(dict.fromkeys([*stopped, *lacking])) or None,
                waived=tuple(item_name(w.rule, w.place) for w in waivers_of(judged, hire.ref))
                or None,
                unreleased=done.unreleased,
            )
        )
        _tell_out(book, made, trip, done)
        for caution in report.cautions:
            book.tell(f"Caution: {caution}.")
    return book.said


def _not_released(book: Writing, judged: Judgement, ref: str, report: HireReport) -> str:
    lacking = ", ".join(line.title for line in report.at_handover)
    if report.hireable == "yes":
        words = f"Not released: record these first, or waive those of practice: {lacking}."
        return "\n".join([words, *_by_themselves(book, judged, report)])
    return (
        f"Not released: {ref} may not go. If it left all the same, write that down with: "
        '--unreleased "why"'
    )


def _by_themselves(book: Writing, judged: Judgement, report: HireReport) -> Iterator[str]:
    """What to type for what no line of a sheet asks: the rest comes with the walk."""
    rules = (judged.rule(line.rule) for line in report.at_handover)
    fed = {name for line in book.book.lines.values() for name in line.rules}
    named = dict.fromkeys(
        rule.remedy.what
        for rule in rules
        if rule and rule.remedy.sort == "check" and rule.name not in fed
    )
    for what in named:
        if not book.book.checks[str(what)].walkaround:
            yield f"No sheet asks for it: fleetcare record {judged.van} {what} --pass --by NAME"


def _tell_out(book: Writing, made: Out, trip: Trip, done: Handing) -> None:
    hire = trip.hire
    when = day_words(made.on) + (f" {made.at}" if made.at else "")
    if done.unreleased is not None:
        book.tell(
            f"#{made.number} {hire.van} LEFT WITHOUT RELEASE as {hire.ref}, {when}: "
            f'"{done.unreleased}". Fetch it back or put right what stops it: '
            f"{', '.join(made.blocking or ()) or 'nothing was found against it'}."
        )
        return
    book.tell(
        f"#{made.number} {hire.van} released to {hire.ref} by {done.by}, {when}, until "
        f"{day_words(hire.through_on)}; judged on {made.known_at:,} records under rules "
        f"{made.rulebook[:8]}."
    )
    if not any(sheet.hire == hire.number for sheet in book.facts(hire.van).sheets):
        book.tell(
            f"No handover sheet is kept for {hire.ref}: what the hirer was shown is not on "
            f"record. Fill one with: fleetcare handover {hire.van} {hire.ref}"
        )


def hire_back(place: str, by: str, done: Handing, *, dry_run: bool = False) -> list[str]:
    """Write down that a van came back."""
    with recording(place, by, dry_run=dry_run) as book:
        come_back(book, find_trip(book, done.ref), done)
    return book.said


def come_back(book: Writing, trip: Trip, done: Handing) -> Back:
    """The return of a hire, with what is next for the van."""
    hire, day = trip.hire, done.on or book.today
    record = Back(
        0, hire.van, hire.number, day, done.at, done.by, done.odometer, done.even_so, done.where
    )
    made: Back = put(book, record)
    late = (day - trip.planned.through_on).days
    how = f", {late} {'day' if late == 1 else 'days'} late" if late > 0 else ""
    left = f', left at "{done.where}"' if done.where else ""
    book.tell(f"#{made.number} {hire.van} back from {hire.ref}, {day_words(day)}{how}{left}.")
    if not trip.out:
        book.tell(f"Nobody wrote down that {hire.ref} went out: it was presumed out.")
    later = [h for h in book.van(hire.van).hires if h.from_on >= day and h.ref != hire.ref]
    if later:
        following = min(later, key=lambda h: h.from_on)
        when = f"{day_words(following.from_on)} {following.collect_at or ''}".rstrip()
        presses = late > 0 and following.from_on <= after_days(day, book.book.turnaround_days)
        pressed = ". It was back late and presses that hire: ring them" if presses else ""
        book.tell(f"Next on {hire.van}: {following.ref}, {when}{pressed}.")
    return made


class Waived(NamedTuple):
    """A waiver as typed: the item by its rule and place, who answers for it, and why."""

    rule: str
    place: str | None
    by: str
    why: str


def waive(place: str, by: str, ref: str, said: Waived, *, dry_run: bool = False) -> list[str]:
    """A named person lets one hire go without one item of practice."""
    with recording(place, by, dry_run=dry_run) as book:
        trip = find_trip(book, ref)
        hire = trip.hire
        if trip.back:
            raise Refused([Problem("", f"{ref} is over: there is nothing to waive")])
        judged = book.after(hire.van)
        party = party_of(judged.known, hire)
        judged = with_party(judged, party)
        start = max(hire.from_on, book.today)
        ask = Ask(start, max(trip.planned.through_on, start), book.today, party, ref)
        outcome, step = _waivable(judged, said.rule, said.place, ask)
        made = put(
            book,
            Waiver(
                0, hire.van, hire.number, outcome.rule.name, step.code, book.today, said.by,
                said.why, outcome.place, step.record,
            ),
        )  # fmt: skip
        book.tell(
            f"#{made.number} {titled(outcome)} waived for {ref} of {hire.van} by {said.by}: "
            f'"{said.why}". It holds for this hire alone.'
        )
    return book.said


def _waivable(judged: Judgement, word: str, where: str | None, ask: Ask) -> tuple[Outcome, Step]:
    """The item a word and a place mean, as it stands; Refused where it may not be waived, is known
    to be broken, or lacks nothing."""
    rules = judged.book.find_rules(word)
    found = [o for o in judged.outcomes if o.rule in rules and where in (None, o.place)]
    lacking: list[tuple[Outcome, Step | None]] = [(o, _lacks(o, ask)) for o in found]
    if any(step for _, step in lacking):
        lacking = [(o, step) for o, step in lacking if step]
    if len(lacking) != 1:
        places = ", ".join(str(o.place) for o, _ in lacking if o.place)
        what = f"say which one with --place: {places}" if found else f'"{word}" is no item of it'
        raise Refused([Problem("rule", what)])
    outcome, step = lacking[0]
    may = step is not None and step.code in outcome.rule.waivable
    if outcome.kind.never_waived and not may:
        ways = ", ".join(kind.never_waived for kind in KINDS.values() if kind.never_waived)
        why = f"{an(outcome.rule.title)} is never waived: {ways}"
    elif not outcome.rule.waivable:
        source = outcome.rule.version_at(ask.start).source
        why = f"{titled(outcome)} is not waived by anybody: {source}"
    elif step is None:
        why = f"{titled(outcome)} lacks nothing for {ask.ref}: there is nothing to waive"
    elif outcome.broken(step) and not may:
        why = f"{titled(outcome)} is known to be broken: that is put right, not waived"
    elif not may:
        source = outcome.rule.version_at(ask.start).source
        why = f"{titled(outcome)} is not waived by anybody: {source}"
    else:
        return outcome, step
    raise Refused([Problem("rule", why)])


def _lacks(outcome: Outcome, ask: Ask) -> Step | None:
    """How an item stands that stops the hire or is not recorded for its handover."""
    bad = max(
        outcome.bad_steps(ask.start, ask.through, ask.party),
        key=lambda step: step.verdict,
        default=None,
    )
    return bad or handover_step(outcome, ask)
