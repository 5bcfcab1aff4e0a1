"""What is fitted to a van and taken off it, and what its odometer showed."""

from __future__ import annotations

import datetime as dt
from typing import Any

from fleetcare.desk.session import Writing, recording
from fleetcare.errors import Problem, Refused, near
from fleetcare.intake import words
from fleetcare.intake.slips import ANYWAY, fit_slips, odometer_slips
from fleetcare.records.facts import Facts
from fleetcare.records.kinds import Fit, Odometer, TakeOff
from fleetcare.rules.book import Book
from fleetcare.store import facts as stored
from fleetcare.things import ComponentKind
from fleetcare.van.places import stay_on
from fleetcare.van.van import View
from fleetcare.words.days import day_words


def component_kind(book: Book, what: str) -> ComponentKind:
    """A kind of component by its name; Refused with the nearest one."""
    if what not in book.components:
        raise Refused(
            [
                Problem(
                    "component",
                    f'there is no kind of component "{what}".{near(what, book.components)}',
                )
            ]
        )
    return book.components[what]


def _vocabulary(kind: ComponentKind) -> list[str]:
    named = list(kind.fixed)
    named += [p for by in kind.by_fact.values() for listed in by.values() for p in listed]
    return list(dict.fromkeys(named))


def settled_place(book: Book, view: View, kind: ComponentKind, where: str | None) -> str:
    """The place meant: as typed, or the only one there is. Refused where neither is clear."""
    known = [
        *_vocabulary(kind),
        *view.fit_outs[-1][1].places.get(kind.name, ()),
        *view.stays(kind.name),
    ]
    known = list(dict.fromkeys(known))
    if where is None:
        if len(known) == 1:
            return known[0]
        raise Refused(
            [Problem("place", f"say which {kind.title}: {', '.join(known) or 'type a place'}")]
        )
    if where not in known and not kind.other_places:
        raise Refused(
            [
                Problem(
                    "place",
                    f'a {kind.title} has no place "{where}"; places are: '
                    f"{', '.join(known)}.{near(where, known)}",
                )
            ]
        )
    if words.place_name(where):
        raise Refused(words.place_name(where))
    return where


def fit(
    place: str,
    by: str,
    van: str,
    what: str,
    where: str | None,
    on: dt.date | None,
    said: dict[str, Any],
    *,
    part: int | None = None,
    even_so: str | None = None,
    dry_run: bool = False,
) -> list[str]:
    """Fit a component; one that was in the place comes off that day."""
    with recording(place, by, dry_run=dry_run) as book:
        facts = book.facts(van)
        view = View(facts, book.book)
        kind = component_kind(book.book, what)
        spot = settled_place(book.book, view, kind, where)
        record = Fit(0, van, what, spot, on or book.today, **said, even_so=even_so)
        if part is not None:
            record = _again(book, facts, record, part, said)
        faults = fit_faults(book, view, kind, record)
        book.refuse(faults)
        if not even_so:
            refuse_slips(fit_slips(facts, record, kind.week_code))
        old = occupant(view, what, spot, record.on)
        if old:
            off = book.add(TakeOff(0, van, what, spot, record.on, record.at))
            book.tell(
                f"#{off.number} took off the {kind.title} (#{old.number}) that was at "
                f"{spot}, {day_words(record.on)}."
            )
        made = book.add(record)
        marked = f", made {made.made}" if made.made else ""
        marked += f", marked {made.replace_by}" if made.replace_by else ""
        book.tell(f"#{made.number} fitted {kind.title} at {spot}, {day_words(made.on)}{marked}.")
        book.tell_asked(van, made.number)
    return book.said


def fit_faults(book: Writing, view: View, kind: ComponentKind, record: Fit) -> list[Problem]:
    """What a component can't be written down with: its day, its place, its marks."""
    settled_place(book.book, view, kind, record.place)
    found = [
        *words.day_after(record.on, book.today),
        *words.time_of_day(record.at),
        *words.measures(record),
        *words.marks(record, kind.week_code),
    ]
    variety = record.variety
    if variety and record.what == "extinguisher" and variety not in words.VARIETIES:
        listed = f"{', '.join(words.VARIETIES)}{near(variety, words.VARIETIES)}"
        found.append(Problem("--type", f'"{variety}" is not one of {listed}'))
    if variety and record.what == "tyre" and variety not in words.TYRES:
        listed = f"{', '.join(words.TYRES)}{near(variety, words.TYRES)}"
        found.append(Problem("--type", f'"{variety}" is not one of {listed}'))
    if record.tyre_mark not in (None, "r30", "r54"):
        found.append(Problem("--tyre-mark", f'"{record.tyre_mark}" is not r30 or r54'))
    return found


def refuse_slips(slips: list[Problem]) -> None:
    """Refuse likely slips, with the words that record them anyway."""
    if slips:
        raise Refused([*slips, Problem("", ANYWAY)])


def occupant(view: View, what: str, spot: str, on: dt.date) -> Fit | None:
    """The component in a place at the end of a day."""
    stay = stay_on(view.stays(what).get(spot, []), on)
    return stay.fit if stay else None


def _again(book: Writing, facts: Facts, record: Fit, part: int, said: dict[str, Any]) -> Fit:
    """A component of the book fitted again, as itself, on its own van."""
    found = stored.find_record(book.connection, part)
    if found is None or found[0] != "fit":
        raise Refused([Problem("--part", f"#{part} is not a component of the book")])
    origin: Fit = found[2]
    marked = any(value is not None for name, value in said.items() if name != "at")
    faults = part_faults(record, origin, part, marked=marked)
    if faults:
        raise Refused(faults)
    return record._replace(part=origin.part or origin.number)


def part_faults(record: Fit, origin: Fit, part: int, *, marked: bool) -> list[Problem]:
    """Why a component can't be fitted again as the one of a record: it has marks of its own, it is
    of another kind, its readings stand with another van."""
    if marked:
        words_ = f"#{part} keeps its own marks: correct that record if they are wrong"
    elif origin.what != record.what:
        words_ = f"#{part} is a {origin.what}, not a {record.what}"
    elif origin.van != record.van:
        words_ = (
            f"#{part} is a part of {origin.van}, and its readings stand there. Take it off "
            f"{origin.van}, type its marks for {record.van} as they are read off it, and read it "
            "again"
        )
    else:
        return []
    return [Problem("--part", words_)]


def take_off(
    place: str,
    by: str,
    van: str,
    what: str,
    where: str | None,
    on: dt.date | None,
    at: str | None,
    *,
    dry_run: bool = False,
) -> list[str]:
    """Empty a place."""
    with recording(place, by, dry_run=dry_run) as book:
        view = View(book.facts(van), book.book)
        kind = component_kind(book.book, what)
        spot = settled_place(book.book, view, kind, where)
        day = on or book.today
        book.refuse([*words.day_after(day, book.today), *words.time_of_day(at)])
        old = occupant(view, what, spot, day)
        if old is None:
            raise Refused([Problem("place", f"nothing is recorded at {what} {spot} on {day}")])
        made = book.add(TakeOff(0, van, what, spot, day, at))
        book.tell(
            f"#{made.number} took off the {kind.title} (#{old.part or old.number}) at "
            f"{spot}, {day_words(day)}. Fit it again with: fleetcare fit VAN {what} PLACE "
            f"--part {old.part or old.number}"
        )
        book.tell_asked(van, made.number)
    return book.said


def odometer(
    place: str,
    by: str,
    van: str,
    reading: str,
    on: dt.date | None,
    at: str | None,
    *,
    even_so: str | None = None,
    dry_run: bool = False,
) -> list[str]:
    """Write down what the odometer showed."""
    with recording(place, by, dry_run=dry_run) as book:
        facts = book.facts(van)
        record = Odometer(0, van, on or book.today, reading, at, even_so)
        book.refuse(
            [
                *words.day_after(record.on, book.today),
                *words.time_of_day(at),
                *words.measures(record),
            ]
        )
        if not even_so:
            refuse_slips(odometer_slips(facts, record.on, reading))
        made = book.add(record)
        book.tell(f"#{made.number} odometer {reading}, {day_words(record.on)}.")
    return book.said
