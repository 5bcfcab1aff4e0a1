"""Taking a record back, or correcting it. The old one stays; the new one stands beside it."""

from __future__ import annotations

from typing import Any

from fleetcare.desk.held import faults, left_by
from fleetcare.desk.people import resolved
from fleetcare.desk.session import Writing, recording
from fleetcare.errors import Problem, Refused, UsageFault
from fleetcare.intake import words
from fleetcare.records.fields import SECRET, Field, Is, fields_of
from fleetcare.records.kept import Answer, Erasure, FleetScan, Scan
from fleetcare.records.kinds import KINDS, Adoption, Repair, Withdrawal
from fleetcare.records.yard import HireChange, Out, Sheet, Waiver
from fleetcare.store import facts as stored

_FIXED = frozenset({"number", "van"})
# What was said, answered or emptied stays so.
NEVER_TAKEN_BACK = (Withdrawal, Adoption, Answer, Erasure)
# What was answered, waived, moved, cancelled or signed then is not put right afterwards: it is
# withdrawn where it is wrong, and said anew by the command that holds it to its rules.
_FIXED_OF: dict[type, frozenset[str]] = {
    Out: frozenset({"hireable", "known_at", "rulebook", "blocking", "waived", "unreleased"}),
    Waiver: frozenset({"rule", "code", "place"}),
    HireChange: frozenset({"moved_to", "cancelled"}),
    Sheet: frozenset({"what", "lines"}),
    Scan: frozenset({"digest", "sort", "octets"}),
    FleetScan: frozenset({"digest", "sort", "octets"}),
    Repair: frozenset({"temporary"}),
}


def _open_fields(record: type) -> dict[str, Field]:
    """The fields of a kind of record that may be put right."""
    fixed = _FIXED | _FIXED_OF.get(record, frozenset())
    return {field.name: field for field in fields_of(record) if field.name not in fixed}


def option_of(name: str) -> str:
    """How a field is typed as an option: from_on is --from, last_day is --last-day."""
    plain = name if name == "on" else name.removesuffix("_on")
    return f"--{plain.replace('_', '-')}"


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


def _standing(book: Writing, number: int) -> tuple[str, str | None, Any]:
    """The record a number means now, corrections followed; Refused when there is none."""
    found = book.stands(number)
    if type(found[2]) in NEVER_TAKEN_BACK:
        what = f"an {found[0]}" if found[0][0] in "aeiou" else f"a {found[0]}"
        words = f"#{number} is {what}: it is not taken back. Record what is true instead"
        raise Refused([Problem("", words)])
    return found


def withdraw(place: str, by: str, number: int, why: str, *, dry_run: bool = False) -> list[str]:
    """Take a record back."""
    with recording(place, by, dry_run=dry_run) as book:
        kind, van, record = _standing(book, number)
        if van:
            facts = book.facts(van)
            if kind == "van" and len(facts.stated) == 1:
                raise Refused(
                    [Problem("", f"#{number} is all that is said of {van}: correct it instead")]
                )
            book.refuse(left_by(book, facts, record))
        else:
            book.watch_fleet()
        made = book.add(Withdrawal(0, record.number, why, van))
        of = f" of {van}" if van else ""
        book.tell(f'#{made.number} withdrew #{record.number} ({kind}{of}): "{why}".')
        if van and kind == "fit":
            book.tell(
                f"What was taken off {record.what} {record.place} stays off: fit it again, "
                "or withdraw that record too."
            )
    return book.said


def correct(
    place: str,
    by: str,
    number: int,
    why: str,
    changes: dict[str, Any],
    readings: tuple[str, ...] = (),
    cleared: tuple[str, ...] = (),
    *,
    dry_run: bool = False,
) -> list[str]:
    """Put a record right: a new record with the changes stands in its stead."""
    with recording(place, by, dry_run=dry_run) as book:
        kind, van, old = _standing(book, number)
        facts = book.facts(van) if van else None
        if facts is None:
            book.watch_fleet()
        root = stored.known_of(book.connection).stands_for.get(old.number, old.number)
        fields = _open_fields(type(old))
        changes = _changes(book, kind, fields, changes, readings, cleared, old)
        new = old._replace(**changes)
        if new == old:
            raise Refused([Problem("", f"#{number} says that already: nothing to correct")])
        kept = frozenset(
            field.name
            for field in fields_of(type(old))
            if field.holds in SECRET and field.name not in changes
        )
        book.refuse(faults(book, facts, new, root))
        made = book.add(new, kept)
        link = book.add(Withdrawal(0, old.number, why, van, made.number))
        named = ", ".join(name.replace("_", " ") for name in changes)
        book.tell(
            f"#{made.number} corrects #{old.number} ({kind}): {named}. #{link.number} says "
            f'why: "{why}".'
        )
    return book.said


def _changes(
    book: Writing,
    kind: str,
    fields: dict[str, Field],
    changes: dict[str, Any],
    readings: tuple[str, ...],
    cleared: tuple[str, ...],
    old: Any,
) -> dict[str, Any]:
    found = dict(changes)
    if "by" in found and "inspector" in fields:
        found["inspector"], found["by"] = resolved(book, found["by"])
    by_option = {option_of(name).removeprefix("--"): name for name in fields}
    for name in cleared:
        key = by_option.get(name, name)
        if key not in fields or not fields[key].optional:
            raise UsageFault(f'a {kind} has no "{name}" that may be left empty')
        found[key] = None
    strange = sorted(set(found) - set(fields))
    if strange:
        names = ", ".join(map(option_of, strange))
        raise UsageFault(f"a {kind} has no {names}; it has: {', '.join(map(option_of, fields))}")
    if readings:
        found["readings"] = _readings(book, kind, old, readings)
    if not found:
        raise UsageFault("say what to correct, like --on 2026-03-02")
    return found


def _readings(book: Writing, kind: str, old: Any, readings: tuple[str, ...]) -> tuple[Any, ...]:
    """The readings of a check with some put right; those not named stay as they were."""
    if kind != "check":
        raise UsageFault(f"a {kind} has no readings")
    read = [
        words.result(word.removeprefix("result:"), book.book)
        if word.startswith("result:")
        else words.reading(word, _any_kind(book), book.book)
        for word in readings
    ]
    book.refuse([one for one in read if isinstance(one, Problem)])
    merged = {one[:2]: one for one in [*old.readings, *read]}
    return tuple(merged.values())


def _any_kind(book: Writing) -> Any:
    from fleetcare.things import CheckKind

    return CheckKind("check", "check", readings=tuple(book.book.readings))
