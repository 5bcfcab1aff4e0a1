"""Erasing a person's name, or the words of a record, once no duty asks for them any more."""

from __future__ import annotations

import datetime as dt
from typing import Any, NamedTuple

from fleetcare.desk.session import Writing, latest_of, recording
from fleetcare.errors import Problem, Refused
from fleetcare.records.fields import SECRET, fields_of
from fleetcare.records.kept import Erasure, FleetScan, Scan
from fleetcare.records.kinds import Check, Competence, Withdrawal
from fleetcare.store import erase as stored_erase
from fleetcare.store import facts as stored
from fleetcare.store import lookup, papers
from fleetcare.store.engine import reading, writing
from fleetcare.windows import add_months
from fleetcare.words.days import day_words

BYTES_LEFT = (
    "the disk still holds the bytes of what was erased: somebody is reading the book, or you do "
    "not own the tables of its server. When they are done, or by who owns them: "
    "fleetcare status --tidy"
)


class _Use(NamedTuple):
    """A record that holds what is to be erased: the day it is of, and whether it stands."""

    number: int
    kind: str
    record: Any
    day: dt.date
    stands: bool
    field: str  # which holds it; "recorded_by" is who wrote the record down

    @property
    def wrote(self) -> bool:
        """Whether it is who wrote the record down, and not of what it says."""
        return self.field == "recorded_by"

    @property
    def who_checked(self) -> bool:
        """Whether it says who did a check."""
        return isinstance(self.record, Check) and self.field in ("by", "inspector")


def erase_name(place: str, by: str, name: str, why: str, *, dry_run: bool = False) -> list[str]:
    """Empty a name everywhere it stands alone, and the register numbers of who bore it.

    Refused while the law or the firm's own years ask for it; says from which day it may be.
    """
    with recording(place, by, dry_run=dry_run) as book:
        if name == by:
            raise Refused([Problem("--as", f'"{name}" is who is writing: let another erase it')])
        if name in why:
            raise Refused([Problem("why", "holds the name itself: say it without")])
        found = stored_erase.commitments_to(book.connection, name)
        if not found:
            raise Refused([Problem("", f'nobody of the name "{name}" is in the book')])
        inspectors = lookup.inspectors_named(book.connection, found)
        found += lookup.register_numbers_of(book.connection, inspectors)
        others = stored_erase.uses_of(
            book.connection, stored_erase.containing(book.connection, name)
        )
        _empty(book, found, [*_uses(book, found), *_checks_of(book, inspectors)], why)
        if others:
            listed = ", ".join(f"#{n}" for n in sorted({use.number for use in others}))
            book.tell(f"The name stands among other words in {listed}: erase those by record.")
    return _scrubbed(place, book)


def erase_record(place: str, by: str, number: int, why: str, *, dry_run: bool = False) -> list[str]:
    """Empty the names and words of one record; of one that keeps a paper, a photo or a signature,
    do away with that."""
    with reading(place) as connection:
        read = stored.find_record(connection, number)
    if read and isinstance(read[2], (Scan, FleetScan)) and read[2].digest:
        return _erase_paper(place, by, number, why, dry_run=dry_run)
    return erase_words(place, by, number, why, dry_run=dry_run)


def _erase_paper(place: str, by: str, number: int, why: str, *, dry_run: bool) -> list[str]:
    """Take the record of a paper back and remove its file, unless another record keeps the same.
    Refused while a duty asks for what it is the paper of, as that stands by now; also where the
    paper's own record was withdrawn, or one press before this one would be a way round the law.

    The file goes when all is written: a run killed in between leaves it, and may be run again.
    """
    folder = papers.folder_of(place)
    with recording(place, by, dry_run=dry_run) as book:
        read = stored.find_record(book.connection, number)
        assert read is not None  # nothing is ever taken out of the book
        _, van, scan = read
        if van:
            book.facts(van)
        path = papers.path_of(folder, scan.digest, scan.sort)
        book.refuse(_duties(book, [_behind(book, scan)]))
        if number not in stored.known_of(book.connection).withdrawn:
            book.add(Withdrawal(0, number, why, van))
        elif not path.is_file():
            raise Refused([Problem("", "was erased already")])
        made = book.add(Erasure(0, book.today, 0, why))  # no word of the book
        book.writer.flush()
        others = [one for one in papers.asked_for(book.connection) if one.digest == scan.digest]
        book.tell(
            f"#{made.number} did away with the paper of #{scan.record}. Copies of the book taken "
            "before now, and what was printed, still hold it."
        )
        if others:
            book.tell(f"Caution: #{others[0].number} keeps the same paper: erase that one too.")
    if not dry_run:
        with writing(place) as connection:  # nobody keeps the same paper meanwhile
            if all(one.digest != scan.digest for one in papers.asked_for(connection)):
                papers.remove(path)
    return book.said


def _behind(book: Writing, scan: Scan | FleetScan) -> _Use:
    """What a paper is of, corrections followed, which says how long it is kept."""
    (kind, _, record), withdrawn = latest_of(book.connection, scan.record)
    day = _day_of(record) or scan.on
    return _Use(record.number, kind, record, day, not withdrawn, "by")


def erase_words(place: str, by: str, number: int, why: str, *, dry_run: bool = False) -> list[str]:
    """Empty the names and words of one record; refused as a name is, but not once it was withdrawn
    or corrected. An inspector, or a card of theirs, is held to the checks they did."""
    with recording(place, by, dry_run=dry_run) as book:
        read = stored.find_record(book.connection, number)
        if read is None:
            raise Refused([Problem("", f"there is no record #{number}")])
        record = read[2]
        found = [
            getattr(record, field.name)
            for field in fields_of(type(record))
            if field.holds in SECRET and getattr(record, field.name)
        ]
        if not found:
            raise Refused([Problem("", f"#{number} holds no name and no words")])
        inspectors = lookup.inspectors_named(book.connection, found)
        if isinstance(record, Competence):
            inspectors.add(record.inspector)
        _empty(book, found, [*_uses(book, found), *_checks_of(book, inspectors)], why)
    return _scrubbed(place, book)


def _empty(book: Writing, found: list[str], uses: list[_Use], why: str) -> None:
    book.refuse(_duties(book, uses))
    emptied = stored_erase.empty(book.connection, found)
    if not emptied:
        raise Refused([Problem("", "was erased already")])
    made = book.add(Erasure(0, book.today, emptied, why))
    places = "place" if emptied == 1 else "places"
    book.tell(
        f"#{made.number} emptied {emptied} {places}. Copies of the book taken before now, and what "
        "was printed, still hold it."
    )


def bytes_left(place: str) -> list[str]:
    """Rid the disk anew of what was erased before; says so where somebody still holds it."""
    with reading(place) as connection:
        erased = stored_erase.anything_erased(connection)
    if not erased or stored_erase.scrub(place):
        return []
    return [BYTES_LEFT[0].upper() + BYTES_LEFT[1:]]


def _scrubbed(place: str, book: Writing) -> list[str]:
    if not book.dry_run and not stored_erase.scrub(place):
        book.tell(f"Caution: {BYTES_LEFT}")
    return book.said


def _uses(book: Writing, found: list[str]) -> list[_Use]:
    """Every record that holds what is to be erased."""
    known = stored.known_of(book.connection)
    uses = []
    for number, field in stored_erase.uses_of(book.connection, found):
        read = stored.find_record(book.connection, number)
        if read is None:
            continue
        written = dt.date.fromisoformat(stored.recorded_at(book.connection, number)[:10])
        day = written if field == "recorded_by" else _day_of(read[2]) or written
        uses.append(_Use(number, read[0], read[2], day, number not in known.withdrawn, field))
    return uses


def _day_of(record: Any) -> dt.date | None:
    day = getattr(record, "on", None) or getattr(record, "from_on", None)
    return day if isinstance(day, dt.date) else None


def _checks_of(book: Writing, inspectors: set[int]) -> list[_Use]:
    """The checks that inspectors did, which name them by number."""
    known = stored.known_of(book.connection)
    return [
        _Use(
            check.number, "check", check, check.on, check.number not in known.withdrawn, "inspector"
        )
        for check in lookup.checks_by(book.connection, inspectors)
    ]


def _duties(book: Writing, uses: list[_Use]) -> list[Problem]:
    """What still asks for the name: the law's own retention first, then the firm's years."""
    standing = [use for use in uses if use.stands or use.wrote]
    checks = [use.record for use in standing if use.who_checked]
    found = [problem for check in checks if (problem := _further_wanted(book, check))]
    years = book.book.keep_names_years
    if standing and years:
        last = max(standing, key=lambda use: use.day)
        may = add_months(last.day, 12 * years)
        if book.today < may:
            words = (
                f"may be erased from {day_words(may)}: #{last.number} is of {day_words(last.day)}, "
                f"and names are kept {years} years against claims (the firm's choice, "
                "keep_names_years in its file)"
            )
            found.append(Problem("", words))
    return list(dict.fromkeys(found))


def _further_wanted(book: Writing, check: Check) -> Problem | None:
    """Why who did a check is still kept; None when enough further ones of its van stand, or the
    van is gone for good and its years are over."""
    kind = book.book.checks.get(check.what)
    facts = stored.facts_of(book.connection, check.van)
    if kind is None or not kind.keep_further or facts is None:
        return None
    later = sum(1 for c in facts.checks if c.what == check.what and c.on > check.on)
    lacking = kind.keep_further - later
    until = add_months(check.on, 12 * kind.keep_gone_years) if facts.gone else None
    if lacking <= 0 or (until is not None and until < book.today):
        return None
    checks, are = ("check", "is") if lacking == 1 else ("checks", "are")
    gone = f", or, {check.van} being gone, to {day_words(until)}" if until else ""
    words = (
        f"#{check.number}, {kind.title} of {check.van} on {day_words(check.on)}: who did it is "
        f"kept until {lacking} further {checks} of {check.van} {are} written down{gone} "
        f"({kind.keep_source})"
    )
    return Problem("", words)
