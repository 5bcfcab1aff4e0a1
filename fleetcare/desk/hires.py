"""Bookings: a clash is refused, any other no is written down and said."""

from __future__ import annotations

from fleetcare.desk.session import recording
from fleetcare.errors import Problem, Refused
from fleetcare.records.kinds import Hire
from fleetcare.reports.hire import HireReport, hire_report
from fleetcare.rules.bookable import party_of
from fleetcare.rules.explain import day_words
from fleetcare.rules.outcome import clashing
from fleetcare.rules.work import Ask
from fleetcare.store import facts as stored


def hire_add(
    place: str, by: str, van: str, hire: Hire, *, dry_run: bool = False
) -> tuple[list[str], HireReport]:
    """Add a booking. Returns what to print, and the answer the clerk is to hear.

    A hire may be booked whatever the records say: what must be done first heads `due`.
    """
    with recording(place, by, dry_run=dry_run) as book:
        facts = book.facts(van)
        book.refuse(hire_faults(hire, facts.hires, stored.hire_refs(book.connection)))
        made = book.add(hire)
        bikes = _counted(hire.bikes, "bike") + _counted(hire.electric_bikes, "e-bike")
        book.tell(
            f"#{made.number} {van}: hire {hire.ref} from {day_words(hire.from_on)} through "
            f"{day_words(hire.through_on)}{bikes}."
        )
        ask = Ask(hire.from_on, hire.through_on, book.today, party_of(hire), hire.ref)
        report = book.asked.filled(hire_report(book.after(van), ask))
    return book.said, report


def _counted(number: int, what: str) -> str:
    return f", {number} {what}{'' if number == 1 else 's'}" if number else ""


def hire_faults(hire: Hire, others: list[Hire], refs: dict[str, str]) -> list[Problem]:
    """What a booking can't be written down with: days turned round, a known reference, a clash."""
    faults = []
    if hire.through_on < hire.from_on:
        faults.append(Problem("--through", f"{hire.through_on} is before {hire.from_on}"))
    if hire.ref in refs:
        faults.append(Problem("--ref", f'"{hire.ref}" is a hire of {refs[hire.ref]} already'))
    for other in others:
        if clashing(other, hire.from_on, hire.through_on):
            faults.append(
                Problem(
                    "",
                    f"{hire.van} is booked as {other.ref} from "
                    f"{day_words(other.from_on)} through "
                    f"{day_words(other.through_on)} (#{other.number}): two "
                    "hires share a changeover day at most",
                )
            )
    return faults


def booked(facts_hires: list[Hire], ref: str, van: str) -> Hire:
    """The booking of a van that a reference names; Refused when there is none."""
    found = next((h for h in facts_hires if h.ref == ref), None)
    if found is None:
        known = ", ".join(h.ref for h in facts_hires) or "none"
        raise Refused([Problem("--ref", f'{van} has no hire "{ref}"; it has: {known}')])
    return found
