"""Inspectors by name: who is meant, and what they are competent for."""

from __future__ import annotations

import datetime as dt
from typing import NamedTuple

from fleetcare.desk.session import Writing, recording
from fleetcare.desk.write import put
from fleetcare.errors import Problem, Refused
from fleetcare.records.kinds import Attribution, Competence, Inspector
from fleetcare.store import facts as stored
from fleetcare.store.lookup import bearing
from fleetcare.words.days import day_words


def known_by(book: Writing, name: str) -> list[Inspector]:
    """The inspectors of a name, or the one whose record number is typed."""
    shared = stored.shared_of(book.connection, stored.known_of(book.connection))
    number = name.lstrip("#")
    if number.isdecimal():
        found = shared.inspectors.get(int(number)) if len(number) < 20 else None
        return [found] if found else []
    names = stored.words_of(book.connection, [i.name for i in shared.inspectors.values()])
    return [i for i in shared.inspectors.values() if names.get(i.name) == name]


def resolved(book: Writing, name: str | None) -> tuple[int | None, str | None]:
    """An inspector's record number, or the name as typed for somebody not in the book.

    Refused where two have the name: the numbers tell them apart.
    """
    if name is None:
        return None, None
    found = known_by(book, name)
    if len(found) > 1:
        raise Refused([several(name, found, "--by ")])
    if found:
        return found[0].number, None
    if name.lstrip("#").isdecimal():
        raise Refused([Problem("", f"#{name.lstrip('#')} is not an inspector", "by")])
    return None, name


def several(name: str, found: list[Inspector], option: str = "") -> Problem:
    """That a name is that of several, and how to say which."""
    numbers = ", ".join(f"#{one.number}" for one in found)
    words = f'"{name}" is the name of {len(found)} inspectors ({numbers}): type the number, like '
    return Problem("", f"{words}{option}{found[0].number}", "by")


def _name_of(book: Writing, person: Inspector) -> str | None:
    """An inspector's name as it is read; as typed where he was just added."""
    return stored.words_of(book.connection, [person.name]).get(person.name)


class Card(NamedTuple):
    """What somebody is competent for, as typed: its days, and the register number on it."""

    scope: str | None = None
    register_no: str | None = None
    from_on: dt.date | None = None
    through_on: dt.date | None = None


class Whose(NamedTuple):
    """Who is meant by a name: another person than the one in the book, and whether the records
    that bear the name alone are theirs."""

    another: bool = False
    theirs: bool = False


_PLAIN = Whose()


def inspector_add(
    place: str, by: str, name: str, card: Card, whose: Whose = _PLAIN, *, dry_run: bool = False
) -> list[str]:
    """Add an inspector, or a further competence of one who is in the book; say which records bear
    the name alone, and whose they are."""
    with recording(place, by, dry_run=dry_run) as book:
        book.refuse(_ill_said(card))
        scopes = sorted({scope for rule in book.book.rules.values() for scope in rule.scopes})
        if card.scope is not None and card.scope not in scopes:
            book.tell(
                f'Caution: no rule asks for the scope "{card.scope}"; rules ask for: '
                f"{', '.join(scopes)}."
            )
        found = [] if whose.another else known_by(book, name)
        if found and card.scope is None and not whose.theirs:
            words = (
                f'"{name}" is in the book already (#{found[0].number}). '
                "For another person of that name add --another"
            )
            raise Refused([Problem("", words)])
        if len(found) > 1:
            raise Refused([several(name, found)])
        if whose.another and whose.theirs and (others := known_by(book, name)):
            words = (
                f'"{name}" is the name of #{others[0].number} too: add the other one first, then '
            )
            raise Refused([Problem("--theirs", f"{words}say whose the records are by number")])
        person = found[0] if found else book.add(Inspector(0, name))
        if not found:
            book.tell(f"#{person.number} added inspector {name}.")
        if card.scope is not None and card.from_on is not None:
            days = (card.from_on, card.through_on)
            new = Competence(0, person.number, card.scope, *days, card.register_no)
            _add_card(book, name, new)
        _say_whose(book, _name_of(book, person) or name, person, theirs=whose.theirs)
    return book.said


_MOST = 12  # records named in one line; the rest are counted


def _say_whose(book: Writing, name: str, person: Inspector, *, theirs: bool) -> None:
    """Link the records that bear the name alone to the inspector, or say which they are."""
    records = bearing(book.connection, name)
    if theirs and not records:
        words = f'no check and no sign-off bears the name "{name}" alone'
        raise Refused([Problem("--theirs", words)])
    if not records:
        return
    listed = ", ".join(f"#{one.number} {one.van} {day_words(one.on)}" for one in records[:_MOST])
    more = f" and {len(records) - _MOST} more" if len(records) > _MOST else ""
    count = f"{len(records)} {'record bears' if len(records) == 1 else 'records bear'}"
    if not theirs:
        book.tell(
            f"{count} that name alone: {listed}{more}. If they are this person's, say so with: "
            f'fleetcare inspector add "{name}" --theirs'
        )
        return
    book.watch_fleet()
    numbers = tuple(str(one.number) for one in records)
    made = book.add(Attribution(0, person.number, numbers))
    book.tell(
        f"#{made.number} {count} that name and {'is' if len(records) == 1 else 'are'} "
        f"of {name} (#{person.number}): {listed}{more}. A card counts from its first day."
    )


def _ill_said(card: Card) -> list[Problem]:
    """What of a card is said without what it needs."""
    if card.scope is not None and card.from_on is None:
        return [Problem("", "say from which day the competence stands", "from_on")]
    if card.scope is None and any(card):
        words = "say what the competence is for, like lpg-leisure-vehicle"
        return [Problem("", words, "scope")]
    return []


def _add_card(book: Writing, name: str, new: Competence) -> None:
    """Write a competence down: it may make old checks count, on any van."""
    book.watch_fleet()
    made = put(book, new)
    until = f" through {day_words(made.through_on)}" if made.through_on else ""
    number = f", register number {new.register_no}" if new.register_no else ""
    since = f"from {day_words(made.from_on)}{until}{number}"
    book.tell(f"#{made.number} {name}: competent for {made.scope} {since}.")
