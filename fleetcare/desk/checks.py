"""Checks, services, tests and papers: written down as they were, counted as the rules say."""

from __future__ import annotations

import datetime as dt
from typing import Any, NamedTuple

from fleetcare.desk.people import resolved
from fleetcare.desk.scans import Files, await_paper, keep_papers, read_papers
from fleetcare.desk.session import Writing, recording
from fleetcare.desk.write import hold, put
from fleetcare.errors import Problem, Refused, an, near
from fleetcare.faults.slips import anyway, plate
from fleetcare.intake import words
from fleetcare.records.kinds import SERIOUS, Check, Defect, FleetPaper, Reading
from fleetcare.records.yard import Expectation
from fleetcare.rules.book import Book
from fleetcare.rules.outcome import Judgement
from fleetcare.rules.reads import checks_for
from fleetcare.rules.rule import By, Rule
from fleetcare.things import CheckKind
from fleetcare.timeline import Verdict
from fleetcare.van.checks import failed, looked_at
from fleetcare.van.places import filled_at, key_of
from fleetcare.words.days import day_words


class Done(NamedTuple):
    """A check as typed."""

    what: str
    on: dt.date | None = None
    at: str | None = None
    outcome: str | None = None
    by: str | None = None
    place: str | None = None
    certificate: str | None = None
    from_on: dt.date | None = None
    last_day: dt.date | None = None
    odometer: str | None = None
    words: str | None = None
    readings: tuple[str, ...] = ()
    results: tuple[str, ...] = ()
    found: tuple[tuple[str, str], ...] = ()  # grade and words of each defect it found
    plate: str | None = None
    even_so: str | None = None
    papers: Files = ()  # to keep as the paper behind it
    paper_awaited: bool = False


def kind_of(book: Writing, word: str) -> CheckKind:
    """The kind of check a word means; Refused with the nearest, or the kinds to choose from."""
    kind = book.book.find_check(word)
    if kind:
        return kind
    rules = book.book.find_rules(word)
    fed = sorted({kind for rule in rules for kind in rule.checks})
    if fed:
        raise Refused(
            [
                Problem(
                    "check",
                    f'"{word}" is fed by several kinds of check: record one of {", ".join(fed)}',
                )
            ]
        )
    if rules:
        raise Refused(
            [
                Problem(
                    "check",
                    f'"{word}" reads no kind of check: it is judged from what is fitted or stated',
                )
            ]
        )
    known = [
        *book.book.checks,
        *(a for c in book.book.checks.values() for a in c.aliases),
        *(r.name for r in book.book.rules.values() if len(r.checks) == 1),
        *(a for r in book.book.rules.values() if len(r.checks) == 1 for a in r.aliases),
    ]
    raise Refused([Problem("check", f'there is no kind of check "{word}".{near(word, known)}')])


def record(place: str, by: str, van: str, done: Done, *, dry_run: bool = False) -> list[str]:
    """Record a check of a van, or a paper of the whole fleet. Returns what to print."""
    read = read_papers(done.papers)
    if done.paper_awaited and (read or van == "fleet"):
        words = "is said of one van's record whose paper is not here yet"
        raise Refused([Problem("--paper-awaited", words)])
    with recording(place, by, dry_run=dry_run) as book:
        kind = kind_of(book, done.what)
        if van == "fleet":
            number = _fleet_paper(book, kind, done)
            keep_papers(book, number, None, read)
        else:
            made = _check(book, kind, van, done)
            keep_papers(book, made.number, van, read)
            if done.paper_awaited:
                await_paper(book, made.number, van, made.on)
    return book.said


def _check(book: Writing, kind: CheckKind, van: str, done: Done) -> Check:
    facts = book.facts(van)
    check, faults = _read(book, kind, van, done)
    if done.plate and not faults:
        slip = plate(facts, check.on, done.plate)
        faults += anyway(slip, check)
    hold(book, check, more=faults)
    made: Check = book.add(check)
    _tell(book, kind, made, done)
    after = book.after(van)
    grades = {grade for grade, _ in done.found}
    found = [*done.found, *further_defects(book.book, made, grades, kind)]
    open_defects(book, after, made, found)
    if made.readings and not (made.inspector or made.by) and _named_readings(book, made):
        book.tell(
            "Nobody is named: a bad reading counts, a good one does not. Name who read it "
            f"with: fleetcare correct {made.number} --by NAME WHY"
        )
    _tell_standing(book, after, made)
    _tell_not_cleared(book, after, made)
    _tell_left_out(book, after, made)
    _tell_unordered(book, after, made)
    return made


def _read(book: Writing, kind: CheckKind, van: str, done: Done) -> tuple[Check, list[Problem]]:
    """The check as typed, its names resolved and its readings read."""
    inspector, name = resolved(book, done.by)
    readings, faults = _readings(done)
    if done.outcome is None and readings and done.by is None:
        inspector, name = None, book.by  # whoever writes a reading down read it, if nobody else did
    outcome = "pass" if kind.paper and done.outcome is None else done.outcome
    where = done.place.casefold() if done.place else done.place
    check = Check(
        0, van, kind.name, done.on or book.today, done.at, outcome, inspector, name, where,
        done.certificate, done.from_on, done.last_day, done.odometer, done.words, done.even_so,
        readings,
    )  # fmt: skip
    return check, faults


def _named_readings(book: Writing, check: Check) -> bool:
    """Whether some rule takes a reading of this check only from somebody named."""
    read = {r.what for r in check.readings}
    return any(
        limit.reading in read
        for rule in book.book.rules.values()
        if rule.by.who not in ("nobody", "paper")
        for limit in rule.versions[-1].terms.get("limits", ())
    )


def _readings(done: Done) -> tuple[tuple[Reading, ...], list[Problem]]:
    read = [words.reading(word) for word in done.readings]
    read += [words.result(word) for word in done.results]
    faults = [one for one in read if isinstance(one, Problem)]
    return tuple(one for one in read if isinstance(one, Reading)), faults


def _fleet_paper(book: Writing, kind: CheckKind, done: Done) -> int:
    """A paper that names every van in service the day it is recorded; gives its number."""
    if not kind.paper:
        raise Refused([Problem("", f"{an(kind.title)} is done to one van: name it")])
    if done.outcome not in (None, "pass"):
        raise Refused([Problem("", f"{an(kind.title)} is in force or not: it has no pass or fail")])
    day = done.on or book.today
    vans = book.watch_fleet(state=True)
    if not vans:
        raise Refused([Problem("", "no van is on fleet today: add vans first")])
    first: Any = done.from_on  # either may not be said: it is then a fault
    last: Any = done.last_day
    made = put(book, FleetPaper(0, kind.name, day, first, last, tuple(vans), done.certificate))
    book.tell(
        f"#{made.number} {kind.title} from {day_words(made.from_on)} through "
        f"{day_words(made.last_day)} for every van on fleet today: {', '.join(vans)}. "
        "A van added later needs a paper of its own."
    )
    return int(made.number)


def _tell(book: Writing, kind: CheckKind, made: Check, done: Done) -> None:
    ended = {"pass": "passed", "fail": "failed", "seen": "seen by its stamp", None: "recorded"}
    certificate = f", certificate {made.certificate}" if made.certificate else ""
    verb = "in force" if kind.paper else ended[made.outcome]
    days = (
        f" from {day_words(made.from_on)} through {day_words(made.last_day)}"
        if made.from_on and made.last_day
        else f" {day_words(made.on)}"
    )
    book.tell(f"#{made.number} {made.van}: {kind.title} {verb}{days}{certificate}.")
    if made.even_so:
        book.tell(f'Recorded even so: "{done.even_so}".')


def counted_last(judged: Judgement, check: Check, rule: Rule | None = None) -> dt.date | None:
    """The last day a check counts to for a rule, or for the first that reads it; as printed where
    it lengthens nothing."""
    for outcome in judged.outcomes:
        if check.what in outcome.rule.checks and rule in (None, outcome.rule):
            for step in outcome.timeline.steps:
                if step.record == check.number and step.code == "in date" and step.detail:
                    last: dt.date = step.detail[0]
                    return last
    return check.last_day


def _read_by_any(book: Book, what: str) -> bool:
    return any(what in rule.checks for rule in book.rules.values())


def further_defects(
    rules: Book, made: Check, grades: set[str], kind: CheckKind
) -> list[tuple[str, str]]:
    """What a check found besides what was told of it: an isolated appliance is out of use, and a
    fail that no rule reads stops the van by a defect of its own."""
    found = []
    serious = not grades.isdisjoint(SERIOUS)
    if made.outcome == "fail" and not _read_by_any(rules, made.what) and not serious:
        found.append(("major", f"{kind.title} failed"))
    found += [
        ("advisory", f"{r.place} isolated: out of use")
        for r in made.readings
        if r.what == "result" and r.figure == "isolated"
    ]
    return found


def open_defects(
    book: Writing, judged: Judgement, made: Check, found: list[tuple[str, str]]
) -> None:
    """What a check found becomes defects tied to it."""
    last = counted_last(judged, made)
    for grade, text in found:
        recheck = last if grade == "advisory" else None
        named = book.book.topic_in(text, made.on)
        about = named[1].name if named else None
        defect = book.add(
            Defect(
                0, made.van, made.on, grade, text, check=made.number, recheck_by=recheck,
                about=about,
            )
        )  # fmt: skip
        until = f", to be looked at again by {day_words(recheck)}" if recheck else ""
        of = f" (taken to be of {named[1].title})" if named else ""
        book.tell(f'#{defect.number} {grade}: "{text}"{of}{until}.')


def _tell_left_out(book: Writing, judged: Judgement, made: Check) -> None:
    """What a check that names what it looked at left out: that stays as unchecked as it was."""
    named = {r.place for r in made.readings if r.what == "result"}
    rules = [o.rule for o in judged.outcomes if made.what in o.rule.checks]
    for each in dict.fromkeys(rule.version_at(made.on).terms.get("each") for rule in rules):
        if each is None or not named:
            continue
        here = filled_at(judged.known.stays(each), key_of(made))
        left = [place for place in here if place not in named]
        if left:
            listed = ", ".join(f"{place} ({_last_checked(judged, made, place)})" for place in left)
            book.tell(
                f"It names no result for {listed}: what it leaves out it does not check. "
                f"Add it with: fleetcare correct {made.number} --reading result:{left[0]}=pass WHY"
            )


def _last_checked(judged: Judgement, made: Check, place: str) -> str:
    """When something that a check leaves out was looked at last."""
    before = [
        check
        for check in judged.known.checks[made.what]
        if key_of(check) < key_of(made) and check.outcome == "pass" and looked_at(check, place)
    ]
    return f"last {day_words(before[-1].on)}, #{before[-1].number}" if before else "never"


def _cleared_by(by: By) -> str:
    return f'whoever clears that shows a card for "{by.scope}".'


def _tell_not_cleared(book: Writing, judged: Judgement, made: Check) -> None:
    """What it read as good and does not clear, for it was read out of its limits before."""
    read = {(r.what, r.place or made.place) for r in made.readings}
    for outcome in judged.outcomes:
        step = outcome.at(made.on)
        by = outcome.rule.closed_by
        if not (by and step.code == "out of limits" and step.record != made.number):
            continue
        if (step.detail[0], outcome.place) in read:
            book.tell(
                f"Kept, and does not clear what was read before (#{step.record}): {_cleared_by(by)}"
            )


def _tell_uncounted(book: Writing, rule: Rule, made: Check, why: str) -> None:
    """Why a record does not count, and where a card is all that it lacks, how to add it."""
    book.tell(f"Kept, and does not count for {rule.title}: {why}.")
    if made.by and not made.inspector and rule.by.scope:
        number = " --register-no NUMBER" if rule.by.who == "registered" else ""
        book.tell(
            "With a card in force it does: fleetcare inspector add NAME --scope "
            f"{rule.by.scope}{number} --from DAY --theirs"
        )


def _tell_standing(book: Writing, judged: Judgement, made: Check) -> None:
    """Whether the record counts, and for how long."""
    if failed(made) and made.outcome == "pass":
        book.tell("An appliance was unsafe or not tested: this counts as a fail.")
    for outcome in judged.outcomes:
        rule = outcome.rule
        if made.what not in rule.checks:
            continue
        why = dict(outcome.uncounted).get(made.number)
        asked = not outcome.kind.by_event or outcome.at(made.on).verdict is not Verdict.GOOD
        if why and not asked:
            continue  # nothing happened that asks for it
        if why:
            _tell_uncounted(book, rule, made, why)
        elif failed(made):
            others = [c for c in checks_for(judged.known, rule) if c.number != made.number]
            if not made.at and any(c.on == made.on and c.outcome == "pass" for c in others):
                book.tell(
                    "A pass of the same day stands too; the fail stands last. "
                    "Settle it with --at HH:MM on both."
                )
        elif outcome.at(made.on).code == "failed" and rule.closed_by:
            book.tell(
                f"The {rule.title} failed before, and stays so: {_cleared_by(rule.closed_by)}"
            )
        else:
            last = counted_last(judged, made, rule)
            stands = outcome.last_good(made.on)
            if last and stands and stands < last:
                last = stands
            if last and outcome.kind.renews:
                printed = (
                    f"; the paper says {day_words(made.last_day)}"
                    if made.last_day and made.last_day != last
                    else ""
                )
                book.tell(f"Counts for {rule.title} to {day_words(last)}{printed}.")
    if (
        made.outcome == "pass"
        and not failed(made)
        and not made.at
        and any(c.on == made.on and failed(c) for c in judged.known.checks.get(made.what, ()))
    ):
        book.tell(
            "A fail of the same day stands last and stays open. Settle it with --at HH:MM on both."
        )


def _tell_unordered(book: Writing, judged: Judgement, made: Check) -> None:
    """A check without a time, on the day of what asks for it: nobody can tell which came first."""
    for outcome in judged.outcomes:
        step = outcome.at(made.on)
        asked = outcome.kind.by_event and step.code == "not done" and len(step.detail) > 1
        if asked and not made.at and made.what in outcome.rule.checks and step.detail[1] == made.on:
            book.tell(
                f"It has no time, and what asks for {outcome.rule.title} is of that day: nobody "
                "can tell which came first. Say it with: fleetcare correct "
                f"{made.number} --at HH:MM WHY"
            )


def expect(place: str, by: str, said: Expectation, *, dry_run: bool = False) -> list[str]:
    """Write down a day on which a check is said to fall due; nothing is judged by it."""
    with recording(place, by, dry_run=dry_run) as book:
        book.facts(said.van)
        kind = book.book.find_check(said.what)
        made: Expectation = put(book, said._replace(what=kind.name) if kind else said)
        title = book.book.checks[made.what].title
        book.tell(
            f"#{made.number} {made.van}: {title} is said to fall due {day_words(made.due_on)}. "
            f"Find its paper: until it is recorded nothing counts."
        )
    return book.said
