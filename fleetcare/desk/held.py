"""What a corrected record is held to: the same as one typed anew, with the old one left out."""

from __future__ import annotations

import datetime as dt
import itertools
from collections.abc import Callable
from typing import Any

from fleetcare.desk.checks import check_faults
from fleetcare.desk.fitted import fit_faults, occupant
from fleetcare.desk.hires import hire_faults
from fleetcare.desk.session import Writing
from fleetcare.desk.vans import fact_faults
from fleetcare.errors import Problem, near
from fleetcare.intake import words
from fleetcare.intake.slips import ANYWAY, check_slips, fit_slips, odometer_slips
from fleetcare.records.facts import FIELD_OF, Facts
from fleetcare.records.kinds import (
    Check,
    Defect,
    Fit,
    Hire,
    Lift,
    Odometer,
    Recheck,
    Repair,
    SignOff,
    TakeOff,
    VanFacts,
)
from fleetcare.records.yard import Back, Event, Gone, HireChange, LayUp, Out, Recall, RecallDone
from fleetcare.rules.kinds.defect import GRADES
from fleetcare.store import facts as stored
from fleetcare.van.trips import changed
from fleetcare.van.van import View
from fleetcare.words.days import day_words

OUTCOMES = ("pass", "fail", "seen")
Held = Callable[[Writing, Facts, Any], list[Problem]]


def faults(book: Writing, facts: Facts | None, new: Any, root: int) -> list[Problem]:
    """Every fault and likely slip of a record that is to stand in another's stead."""
    found = [*words.seen(new), *words.measures(new)]
    if getattr(new, "on", None) and not isinstance(new, Gone):  # a sale may be agreed before it
        found += words.day_after(new.on, book.today)
    if hasattr(new, "at"):
        found += words.time_of_day(new.at)
    for first, last in (("from_on", "through_on"), ("from_on", "last_day")):
        a, b = getattr(new, first, None), getattr(new, last, None)
        if a and b and b < a:
            found.append(
                Problem(f"--{last.removesuffix('_on').replace('_', '-')}", f"{b} is before {a}")
            )
    held = _HELD.get(type(new))
    if facts is not None and held is not None and not found:
        found += held(book, _without(facts, type(new), root), new)
    return found


def _without(facts: Facts, record: type, root: int) -> Facts:
    field = FIELD_OF[record]
    kept: dict[str, Any] = {field: [r for r in getattr(facts, field) if r.number != root]}
    return facts._replace(**kept)


def _slips(found: list[Problem], even_so: str | None) -> list[Problem]:
    return [*found, Problem("", ANYWAY)] if found and not even_so else []


def _van(book: Writing, facts: Facts, new: VanFacts) -> list[Problem]:
    return fact_faults(book.book, new)


def _fit(book: Writing, facts: Facts, new: Fit) -> list[Problem]:
    kind = book.book.components.get(new.what)
    if kind is None:
        return [
            Problem(
                "--what",
                f'there is no kind of component "{new.what}".'
                f"{near(new.what, book.book.components)}",
            )
        ]
    found = fit_faults(book, View(facts, book.book), kind, new)
    return found or _slips(fit_slips(facts, new, kind.week_code), new.even_so)


def _take_off(book: Writing, facts: Facts, new: TakeOff) -> list[Problem]:
    view = View(facts, book.book)
    if new.what in book.book.components and occupant(view, new.what, new.place, new.on):
        return []
    return [Problem("", f"nothing is recorded at {new.what} {new.place} on {new.on}")]


def _check(book: Writing, facts: Facts, new: Check) -> list[Problem]:
    kind = book.book.checks.get(new.what)
    if kind is None:
        return [
            Problem(
                "--what",
                f'there is no kind of check "{new.what}".{near(new.what, book.book.checks)}',
            )
        ]
    if new.outcome is not None and new.outcome not in OUTCOMES:
        return [Problem("--outcome", f'"{new.outcome}" is not one of {", ".join(OUTCOMES)}')]
    found = check_faults(book, facts, kind, new, typed=bool(new.readings))
    holders = []
    if new.certificate:
        holders = stored.certificate_holders(book.connection, kind.name, new.certificate)
    return found or _slips(check_slips(facts, new, book.book, holders, None), new.even_so)


def _defect(book: Writing, facts: Facts, new: Defect) -> list[Problem]:
    if new.grade not in GRADES:
        return [Problem("--grade", f'"{new.grade}" is not one of {", ".join(GRADES)}')]
    if new.recheck_by and new.recheck_by < new.on:
        return [Problem("--recheck-by", f"{new.recheck_by} is before it was found ({new.on})")]
    if new.about and new.about not in book.book.lines:
        hint = near(new.about, book.book.lines)
        return [Problem("--about", f'"{new.about}" is not a line of a sheet.{hint}')]
    return []


def _of_a_defect(book: Writing, facts: Facts, new: Repair | SignOff | Recheck) -> list[Problem]:
    defect = next((d for d in facts.defects if d.number == new.defect), None)
    if defect is not None and new.on < defect.on:
        return [Problem("--on", f"{new.on} is before the defect was found ({defect.on})")]
    if isinstance(new, Recheck) and defect is not None and defect.grade in ("dangerous", "major"):
        words_ = f"#{defect.number} is {defect.grade}: it stops hire until signed off"
        return [Problem("", f"{words_}, however often it is looked at")]
    if isinstance(new, Recheck) and new.next_on < new.on:
        return [Problem("--next", f"{new.next_on} is before the day it was looked at ({new.on})")]
    return []


def _lift(book: Writing, facts: Facts, new: Lift) -> list[Problem]:
    hold = next((h for h in facts.holds if h.number == new.hold), None)
    if hold is not None and new.on < hold.from_on <= book.today:
        return [Problem("--on", f"{new.on} is before the hold began ({hold.from_on})")]
    return []


def _hire(book: Writing, facts: Facts, new: Hire) -> list[Problem]:
    refs = stored.hire_refs(book.connection)
    root = stored.known_of(book.connection).stands_for.get(new.number, new.number)
    new = new._replace(number=root)
    known = {h.ref for h in facts.hires}
    mine = {ref: van for ref, van in refs.items() if van != new.van or ref in known}
    ours = [change for change in facts.hire_changes if change.hire == new.number]
    others = View(facts, book.book).hires
    found = hire_faults(book.book, changed(new, ours), others, mine)
    if new.licence_seen_on:
        found += words.day_after(new.licence_seen_on, book.today, "--licence-seen")
    return found


def _odometer(book: Writing, facts: Facts, new: Odometer) -> list[Problem]:
    return _slips(odometer_slips(facts, new.on, new.shown), new.even_so)


def _hire_change(book: Writing, facts: Facts, new: HireChange) -> list[Problem]:
    hire = next((h for h in facts.hires if h.number == new.hire), None)
    if hire is None:
        return []
    ours = [*(c for c in facts.hire_changes if c.hire == hire.number), new]
    others = [h for h in View(facts, book.book).hires if h.number != hire.number]
    return hire_faults(book.book, changed(hire, ours), others, {})


def _handed(book: Writing, facts: Facts, new: Out | Back) -> list[Problem]:
    found = []
    out = next((o for o in facts.outs if o.hire == new.hire), None)
    back = next((b for b in facts.backs if b.hire == new.hire), None)
    if isinstance(new, Back) and out and new.on < out.on:
        found.append(Problem("--on", f"{new.on} is before it went out ({out.on})"))
    if isinstance(new, Out) and back and back.on < new.on:
        found.append(Problem("--on", f"{new.on} is after it came back ({back.on})"))
    found += two_out(facts, new)
    slips = odometer_slips(facts, new.on, new.odometer) if new.odometer else []
    return found or _slips(slips, new.even_so)


def two_out(facts: Facts, new: Out | Back | None) -> list[Problem]:
    """A van is out on one hire at a time: two whose days out overlap cannot both be so."""
    outs = [o for o in facts.outs if not (isinstance(new, Out) and o.hire == new.hire)]
    backs = [b for b in facts.backs if not (isinstance(new, Back) and b.hire == new.hire)]
    outs += [new] if isinstance(new, Out) else []
    backs += [new] if isinstance(new, Back) else []
    back_on = {back.hire: back.on for back in backs}
    refs = {hire.number: hire.ref for hire in facts.hires}
    spans = sorted((out.on, back_on.get(out.hire, dt.date.max), out.hire) for out in outs)
    return [
        Problem(
            "",
            f"{refs.get(two[2], '?')} went out {day_words(two[0])}, before "
            f"{refs.get(one[2], '?')} was back: a van is out on one hire at a time",
        )
        for one, two in itertools.pairwise(spans)
        if two[0] < one[1]
    ]


def _lay_up(book: Writing, facts: Facts, new: LayUp) -> list[Problem]:
    if new.back_on and new.back_on <= new.from_on:
        return [Problem("--back", f"{new.back_on} is not after its first day ({new.from_on})")]
    return []


def _recall_done(book: Writing, facts: Facts, new: RecallDone) -> list[Problem]:
    recall = next((r for r in facts.recalls if r.number == new.recall), None)
    if recall and new.on < recall.on:
        return [Problem("--on", f"{new.on} is before the recall ({recall.on})")]
    return []


def _event(book: Writing, facts: Facts, new: Event) -> list[Problem]:
    if new.what in book.book.events:
        return []
    known = f"{', '.join(book.book.events)}.{near(new.what, book.book.events)}"
    return [Problem("--what", f'"{new.what}" is not one of {known}')]


def _recall(book: Writing, facts: Facts, new: Recall) -> list[Problem]:
    if bool(new.stop_use) == (new.do_by is not None):
        return [Problem("", "a recall either stops use or has a last day: say one of the two")]
    if new.do_by and new.do_by < new.on:
        return [Problem("--do-by", f"{new.do_by} is before the recall ({new.on})")]
    return []


def left_by(book: Writing, facts: Facts, record: Any) -> list[Problem]:
    """What stands in the way of taking a record back: it would leave a van away unknown, or a
    booking on two vans, or two on one."""
    stands_for = stored.known_of(book.connection).stands_for
    root = stands_for.get(record.number, record.number)
    if isinstance(record, Hire):
        out = next((o for o in facts.outs if o.hire == root), None)
        if out:
            return [Problem("", f"{record.ref} went out (#{out.number}): withdraw that first")]
        if len(stored.hires_of_ref(book.connection, record.ref)) > 1:
            words = f"{record.ref} was moved here: cancel it, or move it with fleetcare hire change"
            return [Problem("", words)]
    if isinstance(record, HireChange) and record.moved_to:
        return [
            Problem(
                "",
                f"#{record.number} moved a booking to {record.moved_to}: move it back with "
                f"fleetcare hire change REF --van {record.van}",
            )
        ]
    if isinstance(record, HireChange):
        kept = [c for c in facts.hire_changes if c.number != root]
        after = View(facts._replace(hire_changes=kept), book.book).hires
        hire = next((h for h in after if h.number == record.hire), None)
        others = [h for h in after if h.number != record.hire]
        return hire_faults(book.book, hire, others, {}) if hire else []
    if isinstance(record, Back):
        return two_out(facts._replace(backs=[b for b in facts.backs if b.number != root]), None)
    return []


_HELD: dict[type, Held] = {
    VanFacts: _van, Fit: _fit, TakeOff: _take_off, Check: _check, Defect: _defect,
    Repair: _of_a_defect, SignOff: _of_a_defect, Recheck: _of_a_defect, Lift: _lift,
    Hire: _hire, Odometer: _odometer, HireChange: _hire_change, Out: _handed, Back: _handed,
    Event: _event, Recall: _recall, RecallDone: _recall_done, LayUp: _lay_up,
}  # fmt: skip
