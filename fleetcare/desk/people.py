"""Inspectors by name: who is meant, and what they are competent for."""

from __future__ import annotations

import datetime as dt

from fleetcare.desk.session import Writing, recording
from fleetcare.errors import Problem, Refused
from fleetcare.records.kinds import Competence, Inspector
from fleetcare.store import facts as stored
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
        numbers = ", ".join(f"#{i.number}" for i in found)
        raise Refused(
            [
                Problem(
                    "",
                    f'"{name}" is the name of {len(found)} inspectors '
                    f"({numbers}): type the number, like --by "
                    f"{found[0].number}",
                    "by",
                )
            ]
        )
    if found:
        return found[0].number, None
    if name.lstrip("#").isdecimal():
        raise Refused([Problem("", f"#{name.lstrip('#')} is not an inspector", "by")])
    return None, name


def inspector_add(
    place: str,
    by: str,
    name: str,
    scope: str | None,
    register_no: str | None,
    from_on: dt.date | None,
    through_on: dt.date | None,
    *,
    another: bool = False,
    dry_run: bool = False,
) -> list[str]:
    """Add an inspector, or a further competence of one who is in the book."""
    with recording(place, by, dry_run=dry_run) as book:
        if scope and from_on is None:
            raise Refused([Problem("--from", "say from which day the competence stands")])
        if not scope and (register_no or from_on or through_on):
            raise Refused(
                [Problem("--scope", "say what the competence is for, like lpg-leisure-vehicle")]
            )
        if from_on and through_on and through_on < from_on:
            raise Refused([Problem("--through", f"{through_on} is before {from_on}")])
        scopes = sorted({s for r in book.book.rules.values() for s in r.by.scopes if s})
        if scope and scope not in scopes:
            book.tell(
                f'Caution: no rule asks for the scope "{scope}"; rules ask for: '
                f"{', '.join(scopes)}."
            )
        found = [] if another else known_by(book, name)
        if found and not scope:
            raise Refused(
                [
                    Problem(
                        "",
                        f'"{name}" is in the book already (#{found[0].number}). '
                        "For another person of that name add --another",
                    )
                ]
            )
        person = found[0] if found else book.add(Inspector(0, name))
        if not found:
            book.tell(f"#{person.number} added inspector {name}.")
        if scope and from_on:
            book.watch_fleet()
            made = book.add(Competence(0, person.number, scope, from_on, through_on, register_no))
            until = f" through {day_words(through_on)}" if through_on else ""
            number = f", register number {register_no}" if register_no else ""
            book.tell(
                f"#{made.number} {name}: competent for {scope} from {day_words(from_on)}"
                f"{until}{number}."
            )
    return book.said
