"""Defects from found to signed off, and holds from set to lifted."""

from __future__ import annotations

from fleetcare.desk.events import hire_number
from fleetcare.desk.people import resolved
from fleetcare.desk.scans import Files, keep_papers, read_papers
from fleetcare.desk.session import Writing, recording
from fleetcare.desk.write import put
from fleetcare.records.kinds import Defect, Hold, Lift, Recheck, Repair, SignOff
from fleetcare.rules.kinds.defect import lacking, repeats
from fleetcare.van.trips import Trip, trips_of
from fleetcare.words.days import day_words


def report(
    place: str,
    by: str,
    found: Defect,
    ref: str | None,
    papers: Files = (),
    *,
    dry_run: bool = False,
) -> list[str]:
    """Write down a defect, on the hire named or the one the van was out on, with its photos."""
    read = read_papers(papers)
    with recording(place, by, dry_run=dry_run) as book:
        book.facts(found.van)
        record = found._replace(hire=hire_number(book, found.van, ref, found.on))
        made = add_defect(book, record, found.words)
        keep_papers(book, made.number, made.van, read)
    return book.said


def add_defect(book: Writing, found: Defect, text: str) -> Defect:
    """Hold a defect and add it, with those of the same sort found within the year before."""
    facts = book.asked.facts(found.van)
    made: Defect = put(book, found)
    trip = next((t for t in trips_of(facts) if t.hire.number == made.hire), None)
    on_hire = f", on {trip.hire.ref}" if trip else ""
    book.tell(
        f'#{made.number} {made.van}: {made.grade} defect "{text}", {day_words(made.on)}{on_hire}.'
    )
    again = repeats(facts.defects, made)
    if again:
        before = ", ".join(f"#{d.number} ({day_words(d.on)})" for d in again)
        book.tell(f"It comes again: {made.about} within a year before in {before}.")
    return made


def repair(
    place: str, by: str, done: Repair, papers: Files = (), *, dry_run: bool = False
) -> list[str]:
    """Write down that a defect was rectified, with photos of it. It is not released by that; a
    temporary repair lasts to the end of the hire the van is out on."""
    read = read_papers(papers)
    with recording(place, by, dry_run=dry_run) as book:
        defect = book.standing(done.defect, Defect)
        made = put(book, done._replace(van=defect.van, defect=defect.number))
        keep_papers(book, made.number, defect.van, read)
        trip = next((t for t in book.van(defect.van).trips if t.out and t.out_on(done.on)), None)
        if trip and done.temporary:
            book.tell(_until_back(made, defect, trip, done.by))
            return book.said
        book.tell(
            f"#{made.number} defect #{defect.number} rectified by {done.by}, "
            f"{day_words(done.on)}. It is released by a sign-off: "
            f"fleetcare defect sign-off {defect.number} --by NAME"
        )
    return book.said


def _until_back(made: Repair, defect: Defect, trip: Trip, name: str) -> str:
    until = f"to the end of {trip.hire.ref}, {day_words(trip.hire.through_on)}"
    if defect.grade == "dangerous":
        until = (
            f"{until}, once somebody signs it off with: fleetcare defect sign-off {made.defect} "
            "--by NAME. Until then the van stays where it is"
        )
    return f"#{made.number} defect #{made.defect} mended by {name}, for this hire only: {until}."


def sign_off(place: str, by: str, done: SignOff, *, dry_run: bool = False) -> list[str]:
    """A named person releases a defect."""
    with recording(place, by, dry_run=dry_run) as book:
        defect = book.standing(done.defect, Defect)
        inspector, typed = resolved(book, done.by)
        made = put(
            book,
            done._replace(van=defect.van, defect=defect.number, inspector=inspector, by=typed),
        )
        book.tell(
            f"#{made.number} defect #{defect.number} signed off by {done.by}, {day_words(done.on)}."
        )
        facts = book.facts(defect.van)
        why = lacking(book.book.topics, facts.shared, defect, made)
        topic = book.book.topic_of(defect)
        if why and topic:
            scope = topic.closed_by.scope
            book.tell(
                f"Kept, and does not release it: {why}. What is of {topic.title} is signed off by "
                f'somebody with a card for "{scope}": fleetcare inspector add NAME --scope {scope} '
                "--from DAY"
            )
        _tell_fail(book, defect)
    return book.said


def _tell_fail(book: Writing, defect: Defect) -> None:
    """An item of a fail that is closed only by a pass, or still has other items open."""
    facts = book.facts(defect.van)
    fail = next((c for c in facts.checks if c.number == defect.check and c.outcome == "fail"), None)
    if fail is None:
        return
    judged = book.after(defect.van)
    for outcome in judged.outcomes:
        step = outcome.at(book.today)
        if (
            fail.what in outcome.rule.checks
            and step.record == fail.number
            and step.code == "failed"
        ):
            how = (
                "only a full pass closes it"
                if not outcome.rule.items_close
                else "items are open, or this signature does not count for it"
            )
            book.tell(f"The {outcome.rule.title} failed in #{fail.number} is still open: {how}.")


def recheck(place: str, by: str, done: Recheck, *, dry_run: bool = False) -> list[str]:
    """A defect looked at again, and the last day it may wait until now."""
    with recording(place, by, dry_run=dry_run) as book:
        defect = book.standing(done.defect, Defect)
        made = put(book, done._replace(van=defect.van, defect=defect.number))
        book.tell(
            f"#{made.number} defect #{defect.number} looked at by {done.by}, "
            f"{day_words(done.on)}: recheck by {day_words(done.next_on)}."
        )
    return book.said


def hold(place: str, by: str, held: Hold, *, dry_run: bool = False) -> list[str]:
    """Take a van off hire from a day on. A hold may begin on a day to come."""
    with recording(place, by, dry_run=dry_run) as book:
        made = put(book, held)
        until = f" through {day_words(held.through_on)}" if held.through_on else " until lifted"
        where = " in the workshop" if held.workshop else ""
        days = f"from {day_words(held.from_on)}{until}"
        book.tell(f'#{made.number} {held.van} held{where} {days}: "{held.words}".')
    return book.said


def lift(place: str, by: str, done: Lift, *, dry_run: bool = False) -> list[str]:
    """Lift a hold: the van may go out again from that day, as far as the hold is concerned."""
    with recording(place, by, dry_run=dry_run) as book:
        held = book.standing(done.hold, Hold)
        made = put(book, done._replace(van=held.van, hold=held.number))
        book.tell(f"#{made.number} hold #{held.number} lifted by {done.by}, {day_words(done.on)}.")
    return book.said
