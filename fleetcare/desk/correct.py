"""Taking a record back, or correcting it. The old one stays; the new one stands beside it."""

from __future__ import annotations

from typing import Any, NamedTuple

from fleetcare.desk.checks import further_defects, open_defects
from fleetcare.desk.people import resolved
from fleetcare.desk.session import Writing, recording
from fleetcare.desk.write import others_of
from fleetcare.errors import Problem, Refused, Stale, UsageFault, an
from fleetcare.faults import faults_of
from fleetcare.faults.context import Context
from fleetcare.faults.hires import booking, two_out
from fleetcare.faults.vans import open_home
from fleetcare.intake import words
from fleetcare.records.facts import Facts, adding, taken_out
from fleetcare.records.fields import SECRET, Field, Is, fields_of, spoken
from fleetcare.records.kinds import (
    FIXED,
    KINDS,
    NEVER_TAKEN_BACK,
    Check,
    Fit,
    Hire,
    TakeOff,
    VanFacts,
    Withdrawal,
)
from fleetcare.records.yard import Back, HireChange
from fleetcare.store import facts as stored
from fleetcare.store import lookup
from fleetcare.van.said import fit_outs
from fleetcare.van.trips import trips_of
from fleetcare.words.days import day_words
from fleetcare.words.records import lines_of


def _open_fields(record: type) -> dict[str, Field]:
    """The fields of a kind of record that may be put right."""
    return {field.name: field for field in fields_of(record) if field.name not in FIXED[record]}


def correctable() -> dict[str, Field]:
    """Every field that some kind of record has and that may be corrected, by its name."""
    found: dict[str, Field] = {}
    for record in KINDS.values():
        if record in NEVER_TAKEN_BACK:
            continue
        for field in _open_fields(record).values():
            if field.holds is not Is.NUMBER:
                found.setdefault(field.name, field)
    return found


def _standing(book: Writing, number: int, shown: int | None = None) -> tuple[str, str | None, Any]:
    """The record a number means now, corrections followed; Refused when there is none, and Stale
    where another was `shown` to whoever puts it right."""
    found = book.stands(number)
    if shown not in (None, found[2].number):
        said = f"#{shown} was put right since you were shown it: #{found[2].number} stands now"
        raise Stale([said])
    if type(found[2]) in NEVER_TAKEN_BACK:
        said = f"#{number} is {an(found[0])}: it is not taken back. Record what is true instead"
        raise Refused([Problem("", said)])
    return found


def withdraw(
    place: str, by: str, number: int, why: str, *, dry_run: bool = False, shown: int | None = None
) -> list[str]:
    """Take a record back; `shown` is the number of the one that was looked at, if it was."""
    with recording(place, by, dry_run=dry_run) as book:
        kind, van, record = _standing(book, number, shown)
        whole = False
        if van:
            facts = book.facts(van)
            whole = isinstance(record, VanFacts) and len(facts.stated) == 1
            book.refuse(_left_by(book, facts, record))
        else:
            book.watch_fleet()
        was = _shown(book, van, record.number)
        made = book.add(Withdrawal(0, record.number, why, van))
        of = f" of {van}" if van else ""
        book.tell(f'#{made.number} withdrew #{record.number} ({kind}{of}): "{why}".')
        book.said += [f"It said: {was}."] if was else []
        if whole:
            book.tell(f"{van} was all a slip: it is in no list any more, and may be added anew.")
            book.forget(str(van))
        if van and kind == "fit":
            book.tell(
                f"What was taken off {record.what} {record.place} stays off: fit it again, "
                "or withdraw that record too."
            )
    return book.said


def _shown(book: Writing, van: str | None, number: int) -> str:
    """A record of a van whole, in the words of every list; nothing for one of no van."""
    if van is None:
        return ""
    lines = dict(lines_of(book.after(van)))
    line = lines.get(stored.known_of(book.connection).stands_for.get(number, number))
    if line is None:
        return ""
    day = f"{day_words(line.on)}, " if line.on else ""
    return f"{day}{line.what}: {line.words}" if line.words else f"{day}{line.what}"


def _left_by(book: Writing, facts: Facts, record: Any) -> list[Problem]:
    """What stands in the way of taking a record back: it would leave a van away unknown or without
    a home, a booking on two vans, or two on one."""
    stands_for = stored.known_of(book.connection).stands_for
    root = stands_for.get(record.number, record.number)
    without = taken_out(facts, type(record), root)
    if isinstance(record, VanFacts):
        return _left_unsaid(book, facts, without, record)
    if isinstance(record, Hire):
        out = next((o for o in facts.outs if o.hire == root), None)
        if out:
            return [Problem("", f"{record.ref} went out (#{out.number}): withdraw that first")]
        if len(stored.hires_of_ref(book.connection, record.ref)) > 1:
            said = f"{record.ref} was moved here: cancel it, or move it with fleetcare hire change"
            return [Problem("", said)]
    if isinstance(record, HireChange) and record.moved_to:
        how = f"move it back with fleetcare hire change REF --van {record.van}"
        return [Problem("", f"#{record.number} moved a booking to {record.moved_to}: {how}")]
    if isinstance(record, HireChange):
        hire = next((t.hire for t in trips_of(without) if t.hire.number == record.hire), None)
        return booking(Context(book.book, book.today, without), hire, {}) if hire else []
    found = two_out(without, None) if isinstance(record, Back) else []
    return [*found, *_leaning(book, facts, without, None)]


def _left_unsaid(book: Writing, facts: Facts, without: Facts, record: VanFacts) -> list[Problem]:
    """A van keeps a home; one that was typed by mistake goes whole, if nothing else is of it."""
    if without.stated:
        held = Context(book.book, book.today, without, before=facts)
        return open_home(held, fit_outs(without.stated)[0][1].home)
    others = lookup.others_of(book.connection, record.van, record.number)
    if not others:
        return []
    listed = ", ".join(f"#{number}" for number in others[:3])
    more = f" and {len(others) - 3} more" if len(others) > 3 else ""
    said = f"#{record.number} is all that is said of {record.van}, and {listed}{more} are of it"
    return [Problem("", f"{said}: correct it instead")]


class Correction(NamedTuple):
    """What is put right of a record: fields by name, readings as typed, fields left empty."""

    changes: dict[str, Any]
    readings: tuple[str, ...] = ()
    cleared: tuple[str, ...] = ()
    shown: int | None = None  # the number of the record that was looked at, if it was


def correct(
    place: str, by: str, number: int, why: str, said: Correction, *, dry_run: bool = False
) -> list[str]:
    """Put a record right: a new record with the changes stands in its stead."""
    with recording(place, by, dry_run=dry_run) as book:
        kind, van, old = _standing(book, number, said.shown)
        facts = book.facts(van) if van else None
        if facts is None:
            book.watch_fleet()
        root = stored.known_of(book.connection).stands_for.get(old.number, old.number)
        changes = _changes(book, kind, said, old)
        new = old._replace(**changes)
        if new == old:
            raise Refused([Problem("", f"#{number} says that already: nothing to correct")])
        kept = frozenset(
            field.name
            for field in fields_of(type(old))
            if field.holds in SECRET and field.name not in changes
        )
        stands = new._replace(number=root)
        book.refuse(faults_of(_held(book, facts, old, root), stands))
        if facts is not None:
            book.refuse(_leaning(book, facts, taken_out(facts, type(old), root), stands))
        was = _shown(book, van, old.number)
        made = book.add(new, kept)
        link = book.add(Withdrawal(0, old.number, why, van, made.number))
        named = ", ".join(name.replace("_", " ") for name in changes)
        book.tell(
            f"#{made.number} corrects #{old.number} ({kind}): {named}. #{link.number} says "
            f'why: "{why}".'
        )
        now = _shown(book, van, made.number)
        book.said += [f"It said: {was}.", f"It says: {now}."] if was and now else []
        if isinstance(stands, Check):
            _open_what_it_found(book, old, stands)
    return book.said


def to_van(
    place: str, by: str, number: int, why: str, van: str, *, dry_run: bool = False
) -> list[str]:
    """A record that was typed on another van than it is of: it is taken back there and stands here.

    Refused for a booking, which is moved; for what points to another record, or has records that
    stand on it; and for what the van it is of could not have been said of.
    """
    with recording(place, by, dry_run=dry_run) as book:
        kind, old_van, old = _standing(book, number)
        if old_van is None or old_van == van:
            raise Refused([Problem("van", f"#{number} is {an(kind)} of {old_van or 'no van'}")])
        facts = book.facts(old_van)
        tied = _tied(facts, old)
        if tied or isinstance(old, (Hire, VanFacts, Fit, TakeOff)):
            how = "Move a booking with fleetcare hire change; withdraw the rest and type it anew"
            words = f"#{number} is {an(kind)} and stays with its van{tied}. {how}"
            raise Refused([Problem("van", words)])
        book.refuse(_left_by(book, facts, old))
        new = old._replace(number=0, van=van)
        others = others_of(book.connection)
        book.refuse(faults_of(Context(book.book, book.today, book.facts(van), others), new))
        was = _shown(book, old_van, old.number)
        secret = frozenset(f.name for f in fields_of(type(old)) if f.holds in SECRET)
        made = book.add(new, secret)
        link = book.add(Withdrawal(0, old.number, why, old_van))
        book.tell(
            f"#{made.number} is of {van} what #{old.number} said of {old_van}: {was}. "
            f'#{link.number} says why: "{why}".'
        )
    return book.said


def _tied(facts: Facts, old: Any) -> str:
    """What a record points to or what points to it, in a few words."""
    points = [
        field.name
        for field in fields_of(type(old))
        if field.holds is Is.NUMBER and field.name not in ("number", "inspector")
        and getattr(old, field.name) is not None
    ]  # fmt: skip
    papers = [scan.number for scan in facts.scans if scan.record == old.number]
    found = [defect.number for defect in facts.defects if defect.check == old.number]
    found += papers
    if points:
        return f", for it names its {points[0]}"
    return f", for #{found[0]} belongs to it" if found else ""


def _open_what_it_found(book: Writing, old: Check, stands: Check) -> None:
    """What a check is now said to have found opens what it would have when it was typed."""
    kind = book.book.checks.get(stands.what)
    if kind is None:
        return
    tied = [d for d in book.facts(stands.van).defects if d.check == stands.number]
    grades = {defect.grade for defect in tied}
    before = further_defects(book.book, old, set(), kind) if old.what == stands.what else []
    found = [f for f in further_defects(book.book, stands, grades, kind) if f not in before]
    open_defects(book, book.after(stands.van), stands, found)


def _leaning(book: Writing, facts: Facts, without: Facts, new: Any) -> list[Problem]:
    """What other records of the van could not have been written down beside a record put right, or
    (None) taken back, and could before: a lift before its hold, a signature without its repair."""
    after = without if new is None else adding(without, new)
    others, found = others_of(book.connection), []
    for name in ("repairs", "sign_offs", "rechecks", "lifts", "recalls_done"):
        for record in getattr(after, name):
            if new is not None and record.number == new.number:
                continue
            was, now = (
                faults_of(Context(book.book, book.today, one, others), record)
                for one in (taken_out(f, type(record), record.number) for f in (facts, after))
            )
            found += [
                Problem("", f"#{record.number} stands on it: {problem.message}")
                for problem in now
                if problem not in was
            ]
    return found


def _held(book: Writing, facts: Facts | None, old: Any, root: int) -> Context:
    """What a record put right is held against: the book without the old one."""
    others = others_of(book.connection)
    if isinstance(old, Hire):
        refs = stored.hire_refs(book.connection)
        others = others._replace(refs=lambda: {r: v for r, v in refs.items() if r != old.ref})
    if facts is None:
        return Context(book.book, book.today, Facts(""), others)
    without = taken_out(facts, type(old), root)
    return Context(book.book, book.today, without, others, before=facts)


def _changes(book: Writing, kind: str, said: Correction, old: Any) -> dict[str, Any]:
    fields, found = _open_fields(type(old)), dict(said.changes)
    if "by" in found and "inspector" in fields:
        found["inspector"], found["by"] = resolved(book, found["by"])
    for name in said.cleared:
        key = next((field for field in fields if name in (field, spoken(field))), "")
        if not key or not fields[key].optional:
            raise UsageFault(f'{an(kind)} has no "{name}" that may be left empty')
        found[key] = None
    strange = sorted(set(found) - set(fields))
    if strange:
        names = ", ".join(f"--{spoken(name)}" for name in strange)
        typed = [name for name, field in fields.items() if field.holds is not Is.NUMBER]
        has = ", ".join(f"--{spoken(name)}" for name in typed)
        raise UsageFault(f"{an(kind)} has no {names}; it has: {has}")
    if said.readings:
        found["readings"] = _readings(book, kind, old, said.readings)
    if not found:
        raise UsageFault("say what to correct, like --on 2026-03-02")
    return found


def _readings(book: Writing, kind: str, old: Any, readings: tuple[str, ...]) -> tuple[Any, ...]:
    """The readings of a check with some put right; those not named stay as they were."""
    if kind != "check":
        raise UsageFault(f"{an(kind)} has no readings")
    read = [
        words.result(word.removeprefix("result:"))
        if word.startswith("result:")
        else words.reading(word)
        for word in readings
    ]
    book.refuse([one for one in read if isinstance(one, Problem)])
    merged = {one[:2]: one for one in [*old.readings, *read]}
    return tuple(merged.values())
