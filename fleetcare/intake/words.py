"""Reading what was typed for readings, places and marks. A fault is a value, never a guess."""

from __future__ import annotations

import datetime as dt
import re
import unicodedata
from collections.abc import Iterable
from typing import Any

from fleetcare.errors import Problem, near
from fleetcare.records.fields import Is, fields_of
from fleetcare.records.kinds import Check, Fit, Reading, VanFacts
from fleetcare.rules.book import Book
from fleetcare.things import CheckKind, ReadingKind
from fleetcare.trade.load_index import read_load_index, speed_kmh
from fleetcare.trade.marks import read_mark
from fleetcare.trade.measures import read_measure

_NAME = re.compile(r"[a-z0-9][a-z0-9-]*")
_VAN = re.compile(r"[A-Za-z0-9][A-Za-z0-9._-]{0,23}")
_TIME = re.compile(r"([01]\d|2[0-3]):[0-5]\d")

VARIETIES = ("powder", "foam", "water", "wet-chemical", "co2", "sealed")
TYRES = ("summer", "m+s", "alpine")  # alpine: the mountain with a snowflake on the side wall


def fleet_number(word: str) -> list[Problem]:
    """A fleet number is letters, digits, dots and dashes; "fleet" means all vans."""
    if word == "fleet":
        return [Problem("fleet number", '"fleet" stands for all vans: choose another')]
    if not _VAN.fullmatch(word):
        return [
            Problem(
                "fleet number",
                f'"{word}" is not a fleet number: use up to 24 letters, '
                "digits, dots and dashes, like V01",
            )
        ]
    return []


_TEXT = frozenset({Is.WORD, Is.PERSON, Is.SAID, Is.VAN, Is.MEASURE})


def seen(record: Any) -> list[Problem]:
    """Every word of a record can be seen: no blank stands for a name, a number or a reason."""
    found = []
    for field, value in zip(fields_of(type(record)), record, strict=True):
        if field.holds in _TEXT and isinstance(value, str):
            found += visible(field.name, value)
    return found


def visible(name: str, text: str) -> list[Problem]:
    """A text has something to see and no line break or control character."""
    where = f"--{name.removesuffix('_on').replace('_', '-')}"
    kinds = {unicodedata.category(c) for c in text}
    if kinds & {"Cc", "Zl", "Zp", "Cs"}:
        return [Problem(where, "has a line break or a control character: type it on one line")]
    if not kinds - {"Zs", "Cf", "Mn"}:
        return [Problem(where, "is blank: type it, or leave the option out")]
    return []


def time_of_day(word: str | None) -> list[Problem]:
    """HH:MM, or nothing."""
    if word is None or _TIME.fullmatch(word):
        return []
    return [Problem("--at", f'"{word}" is not a time of day: type it like 14:30')]


def measures(record: Any) -> list[Problem]:
    """Every figure of a record that has a unit is one, and is not negative or absurd."""
    found = []
    for field, value in zip(fields_of(type(record)), record, strict=True):
        if field.holds is Is.MEASURE and value is not None:
            try:
                read_measure(value, field.dimension or "")
            except ValueError as fault:
                found.append(Problem(f"--{field.name.replace('_', '-')}", str(fault)))
    return found


def place_name(word: str) -> list[Problem]:
    """Places are short words in small letters."""
    if _NAME.fullmatch(word):
        return []
    return [
        Problem(
            "place",
            f'"{word}" is not a place: use small letters, digits and dashes, like rear-left',
        )
    ]


def reading(word: str, kind: CheckKind, book: Book) -> Reading | Problem:
    """One `what[:place]=figure` as typed; the unit must be there unless the reading has none."""
    name, equals, figure = word.partition("=")
    what, _, place = name.partition(":")
    where = f'--reading "{word}"'
    if not equals or not figure or not what:
        return Problem(
            where, "type it as what=figure or what:place=figure, like tread:front-left=5.2mm"
        )
    found = book.readings.get(what)
    if found is None:
        return Problem(where, f'there is no reading "{what}".{near(what, book.readings)}')
    if what not in kind.readings:
        return Problem(
            where,
            f'a {kind.title} has no reading "{what}"; it has: {", ".join(kind.readings) or "none"}',
        )
    if place and place_name(place):
        return Problem(where, place_name(place)[0].message)
    problem = figure_fault(found, figure)
    if problem:
        return Problem(where, problem)
    return Reading(what, place or None, figure)


def reading_faults(check: Check, kind: CheckKind, book: Book) -> list[Problem]:
    """What is wrong with readings that were not typed but came as they are."""
    found = []
    seen: set[tuple[str, str | None]] = set()
    for what, place, figure in check.readings:
        word = f"{what}:{place}={figure}" if place else f"{what}={figure}"
        one = reading(word, kind, book)
        if isinstance(one, Problem):
            found.append(one)
        elif one != Reading(what, place, figure):  # a place inside `what` would be read by no rule
            found.append(Problem(f'--reading "{word}"', "write what, place and figure apart"))
        elif one[:2] in seen:
            found.append(Problem(f'--reading "{word}"', "is given twice"))
        seen.add((what, place))
    return found


def statement_faults(said: VanFacts, book: Book) -> list[Problem]:
    """What is wrong with places and facts of the firm's own that came as they are."""
    found = []
    for word in said.places or ():
        kind, colon, place = word.partition(":")
        one = stated_places(book, [(kind, place or "none")]) if colon else None
        if isinstance(one, Problem):
            found.append(Problem("--places", f'"{word}": {one.message}'))
        elif one != (word,):
            how = 'write it as kind:place, or "kind:" where there is none'
            found.append(Problem("--places", f'"{word}": {how}'))
    for word in said.has or ():
        name, _, value = word.partition(":")
        fact = book.facts.get(name)
        if fact is None or not fact.firm or value not in ("yes", "no"):
            found.append(
                Problem("--has", f'"{word}" is no fact of the firm\'s rules, name:yes or name:no')
            )
    return found


def figure_fault(kind: ReadingKind, figure: str) -> str | None:
    """What is wrong with a figure of a reading; None when nothing is."""
    if kind.words:
        if figure in kind.words:
            return None
        return f'"{figure}" is not one of {", ".join(kind.words)}{near(figure, kind.words)}'
    try:
        value = read_measure(figure, kind.dimension or "", bare=kind.bare).value
    except ValueError as fault:
        return str(fault)
    if kind.dimension == "percent" and value > 100:
        return f'"{figure}" is more than 100 %'
    return None


def result(word: str, book: Book) -> Reading | Problem:
    """One `appliance=result` of a gas check."""
    place, equals, figure = word.partition("=")
    where = f'--result "{word}"'
    if not equals or place_name(place):
        return Problem(where, "type it as appliance=result, like hob=pass")
    problem = figure_fault(book.readings["result"], figure)
    return Problem(where, problem) if problem else Reading("result", place, figure)


def marks(fit: Fit, week_code: bool) -> list[Problem]:
    """The marks of a component can be read, and are not after the day it was fitted."""
    found = []
    for name in ("made", "commissioned", "replace_by"):
        value = getattr(fit, name)
        if value is None:
            continue
        where = f"--{name.replace('_', '-')}"
        try:
            day = read_mark(value, week_code and name == "made", fit.on)
        except ValueError as fault:
            found.append(Problem(where, str(fault)))
            continue
        if name == "commissioned" and day and day > fit.on:
            found.append(Problem(where, f"{value} is after the day it was fitted ({fit.on})"))
    for name, read in (("load_index", read_load_index), ("speed_symbol", speed_kmh)):
        value = getattr(fit, name)
        if value is not None:
            try:
                read(value)
            except ValueError as fault:
                found.append(Problem(f"--{name.replace('_', '-')}", str(fault)))
    return found


def made_after_fitting(fit: Fit, week_code: bool) -> bool:
    """Whether the earliest day a component can be made lies after the day it was fitted."""
    if fit.made is None:
        return False
    try:
        made = read_mark(fit.made, week_code, fit.on)
    except ValueError:
        return False
    return made is not None and made > fit.on


def stated_places(book: Book, given: Iterable[tuple[str, str]]) -> tuple[str, ...] | Problem:
    """Places as stated, `kind:place`; "none" says there is no such place."""
    found: list[str] = []
    for kind, listed in given:
        if kind not in book.components:
            return Problem(
                "--places", f'there is no kind of component "{kind}".{near(kind, book.components)}'
            )
        for place in listed.split(","):
            place = place.strip()
            if place == "none":
                found.append(f"{kind}:")
            elif place_name(place):
                return Problem("--places", place_name(place)[0].message)
            else:
                found.append(f"{kind}:{place}")
    return tuple(found)


def day_after(day: dt.date, today: dt.date, where: str = "--on") -> list[Problem]:
    """A day after today is always refused: it has not happened."""
    if day <= today:
        return []
    return [Problem(where, f"{day} is after today ({today}). Record it on the day it is done")]
