"""A filled handover or return sheet: its brackets read, and each answer held to its line."""

from __future__ import annotations

import datetime as dt
import re
from collections.abc import Iterable
from typing import NamedTuple

from fleetcare.errors import Problem, not_one_of
from fleetcare.records.fields import unseen
from fleetcare.records.kinds import GRADES, Reading
from fleetcare.records.yard import HOW_SIGNED, NOT_SIGNED, SHOWN
from fleetcare.rules.book import Book
from fleetcare.things import LineKind
from fleetcare.trade.measures import read_measure

_ANSWER = re.compile(r"\[([^\]]*)\] +([a-z][a-z0-9-]*(?::[a-z0-9-]+)?)(?: .*)?")
_EIGHTHS = re.compile("[0-8]/8")
SIGNED = ("signed-by", "signed-on", "signed-at")
_LONGEST = 40  # characters of words kept on the sheet as they are


class Found(NamedTuple):
    """A defect that a line names."""

    grade: str
    words: str
    about: str


class Answered(NamedTuple):
    """What the answer to one line comes to."""

    kept: str  # on the sheet: never free words about a defect
    found: tuple[Found, ...] = ()
    reading: Reading | None = None
    event: tuple[str, str | None] | None = None
    odometer: str | None = None
    check: str | None = None  # a kind of check done on the way
    drivers: tuple[tuple[str, dt.date, str], ...] = ()  # class, last day, how shown


def read_form(text: str) -> tuple[dict[str, str], list[Problem]]:
    """Every bracket that says something, by the name of its line; a line answered twice is a
    fault."""
    answers: dict[str, str] = {}
    faults = []
    for row in text.replace("\f", "\n").splitlines():
        match = _ANSWER.fullmatch(row.strip())
        if not match:
            continue
        answer, name = match[1].strip(), match[2]
        if name in answers:
            faults.append(Problem(name, "stands on the sheet twice"))
        if answer:
            answers[name] = answer
    return answers, faults


_HEAD = re.compile(r"((?:PREPARED|HANDOVER|RETURN) SHEET .*?) +page \d+ of \d+")


def heads_of(text: str) -> list[str]:
    """The head of each page, as printed: which sheet of which van and hire it is."""
    rows = (row.strip() for row in text.replace("\f", "\n").splitlines())
    return [found[1] for row in rows if (found := _HEAD.fullmatch(row))]


def named_in(head: str) -> list[str]:
    """What a head names: sheet, van and hire. The plate in it may be another by now."""
    return re.sub(r"^(\S+ SHEET +\S+) \([^)]*\)", r"\1", head).split()


def strangers(answers: Iterable[str], names: Iterable[str]) -> list[Problem]:
    """Answers to lines that this van's sheet does not have."""
    known = {*names, *SIGNED}
    return [
        Problem(name, "is no line of this van's sheet: is it the sheet of another van or hire?")
        for name in answers
        if name not in known
    ]


def read_answer(kind: LineKind, place: str | None, text: str, book: Book) -> Answered | Problem:
    """The answer to one line, or what is wrong with it."""
    where = f"{kind.name}:{place}" if place else kind.name
    hidden = unseen(text)
    if hidden:
        return Problem(where, hidden)
    if kind.asks in ("look", "nil"):
        return _looked(kind, where, text)
    if kind.asks == "reading":
        fault = book.readings[str(kind.reading)].fault(text)
        reading = Reading(str(kind.reading), place, text)
        return Problem(where, fault) if fault else Answered(f"{where}={text}", reading=reading)
    if kind.asks == "event":
        return _happened(kind, where, text)
    if kind.asks == "odometer":
        try:
            read_measure(text, "distance")
        except ValueError as fault:
            return Problem(where, str(fault))
        return Answered(f"{where}={text}", odometer=text)
    if kind.asks == "licence":
        return _licences(where, text, book)
    if kind.asks == "check":
        if text not in ("done", "no"):
            return Problem(where, f'"{text}" is not done or no')
        return Answered(f"{where}={text}", check=kind.check if text == "done" else None)
    if kind.asks == "eighths" and not _EIGHTHS.fullmatch(text):
        return Problem(where, f'"{text}" is not eighths: type it like 5/8, with 8/8 for full')
    if kind.asks == "signature" and how_signed(text) not in HOW_SIGNED:
        return Problem(where, not_one_of(how_signed(text), HOW_SIGNED))
    if kind.asks == "shown" and text not in ("yes", "no"):
        return Problem(where, f'"{text}" is not yes or no')
    if len(text) > _LONGEST:
        return Problem(where, f"is longer than {_LONGEST} characters: say it shorter")
    return Answered(f"{where}={text}")


def how_signed(text: str) -> str:
    """How the hirer signed; an answer may say why they would not: "would not sign: rain"."""
    how, colon, _ = text.partition(":")
    how = how.strip(" .").casefold()
    return how if not colon or how == NOT_SIGNED else text


def _looked(kind: LineKind, where: str, text: str) -> Answered | Problem:
    """Sound, or one defect or more: "minor: blind torn; major: step loose"."""
    sound = "ok" if kind.asks == "look" else "nil"
    if text == sound:
        return Answered(f"{where}={sound}")
    found = []
    for part in text.split(";"):
        grade, colon, words = (piece.strip() for piece in part.partition(":"))
        if not colon or grade not in GRADES or not words:
            return Problem(
                where,
                f'"{part.strip()}" is neither {sound} nor a grade and what is wrong: type it like '
                f"{GRADES[2]}: blind torn, with {', '.join(GRADES)}",
            )
        found.append(Found(grade, words, kind.name))
    worst = min(found, key=lambda one: GRADES.index(one.grade)).grade
    return Answered(f"{where}={worst}", tuple(found))


def _licences(where: str, text: str, book: Book) -> Answered | Problem:
    """What was seen of each driver's licence: "C1 2031-04-02 photocard; B 2029-01-31 online"."""
    found = []
    for part in text.split(";"):
        licence, *rest = part.split() or [""]
        day, shown = (rest[0], rest[1]) if len(rest) == 2 else ("", "")
        try:
            last = dt.date.fromisoformat(day)
        except ValueError:
            last = None
        if licence not in book.licences or last is None or shown not in SHOWN:
            return Problem(
                where,
                f'"{part.strip()}" is not a class, its last day and how it was shown: type it like '
                f"C1 2031-04-02 photocard, with {', '.join(book.licences)} and {', '.join(SHOWN)}, "
                'and ";" between drivers',
            )
        found.append((licence, last, shown))
    return Answered(f"{where}={text}", drivers=tuple(found))


def _happened(kind: LineKind, where: str, text: str) -> Answered | Problem:
    answer, colon, words = (piece.strip() for piece in text.partition(":"))
    if answer not in ("yes", "no") or (answer == "no" and colon):
        return Problem(where, f'"{text}" is not no, yes, or yes: and what happened')
    event = (str(kind.event), words or None) if answer == "yes" else None
    return Answered(f"{where}={answer}", event=event)
