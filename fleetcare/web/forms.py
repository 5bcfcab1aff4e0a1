"""Forms as typed in a browser: a field of a record is an input of its name, and a label beside it.

What can't be read is a fault of its field; all of a form's are told at once.
"""

from __future__ import annotations

import datetime as dt
import re
from collections.abc import Callable, Iterable, Mapping
from types import MappingProxyType
from typing import TypeVar

from fleetcare.desk.once import Sent
from fleetcare.errors import Problem, Refused
from fleetcare.files import Given
from fleetcare.intake.typed import LICENCES, countries, day
from fleetcare.records.workshop import PENCILLED_HOURS, too_many_children
from fleetcare.rules.party import Party

T = TypeVar("T")
SIZE = re.compile(r"[0-9]{1,11}")  # of the book, or the number of a record: as an address says it
_MOST_COUNTED = 99

# What a person reads beside a field.
LABELS = {
    "from_on": "First day",
    "from": "First day",
    "through_on": "Last day",
    "collect_at": "Hour of collection",
    "return_at": "Hour of return",
    "people": "People, the driver among them",
    "children": "Of them children under 135 cm",
    "bikes": "Bikes",
    "electric_bikes": "E-bikes",
    "licence": "Class of licence",
    "abroad": "Countries abroad, like DE,AT",
    "berths": "Must sleep",
    "to_van": "Van to go on with",
    "swap": "Or the booking to change vans with",
    "told": "What the hirer was told",
    "came": "Who came out to it",
    "ref": "Reference of the booking, no names",
    "pencilled": f"Pencilled: lapses by itself after {PENCILLED_HOURS} hours",
    "even_so": "Why it stands all the same",
    "why": "Why",
    "words": "In words",
    "odometer": "Odometer with its unit, like 42310mi",
    "unreleased": "It left although it was not to: why",
    "where": "Where it was left, if not in the yard",
    "what": "Check",
    "outcome": "How it ended",
    "on": "Day",
    "at": "Time, like 14:30; now, where it is today and left empty",
    "by": "Who did it",
    "place": "Which one",
    "certificate": "Number of the certificate",
    "last_day": "Last day, as printed",
    "readings": "Readings, one a line, like tread:front-left=5.2mm",
    "results": "Results, one a line, like hob=pass; pass, isolated, unsafe or not-tested",
    "grade": "How bad",
    "about": "About",
    "number": "Number",
    "temporary": "Only for the hire it is out on now",
    "van": "Van",
    "name": "Name",
    "role": "Roles",
    "password": "Password",
    "again": "The same again",
    "pin": "PIN, 6 digits or more",
    "tablet": "What the tablet is called",
    "passkey": "What the passkey is called, like office laptop",
    "answer": "Answer",
    "known_at": "With so many records",
    "known_on": "Known at the end of",
    "item": "What is waived",
    "sure": "It cannot be undone, and is to be done",
    "tally": "Tally, as printed",
    "grouped": "Grouped by",
    "evidence": "With a sheet of evidence for",
    "photo": "Photo, from the camera",
    "paper": "Its paper: a PDF or a picture",
    "sheet": "The filled sheet",
    "signature": "The hirer signs here, if they do: that they were shown what stands below",
}
_KEY = re.compile(r"[0-9a-f-]{36}")


class Form:
    """What was typed, field by field; faults are gathered and raised together by `done`."""

    def __init__(
        self, values: Mapping[str, str], files: Mapping[str, Given] = MappingProxyType({})
    ) -> None:
        self.values, self.sent = values, files
        self.faults: list[Problem] = []

    def word(self, name: str) -> str | None:
        """What was typed, without blanks around it; None where nothing was."""
        return self.values.get(name, "").strip() or None

    def needed(self, name: str) -> str:
        """The same, and a fault where nothing was typed."""
        found = self.word(name)
        if found is None:
            self.faults.append(Problem("", "is not filled in", name))
        return found or ""

    def chosen(self, name: str, known: Iterable[str]) -> str | None:
        """One of the words that a list offers."""
        listed = tuple(known)
        return self._read(name, lambda text: _one_of(text, listed))

    def day(self, name: str) -> dt.date | None:
        """A day."""
        return self._read(name, day)

    def count(self, name: str) -> int | None:
        """A number of people, bikes or berths."""
        return self._read(name, _count)

    def number(self, name: str, digits: int) -> int | None:
        """A number of so many digits at the most."""
        return self._read(name, lambda text: _digits(text, digits))

    def countries(self, name: str) -> tuple[str, ...]:
        """Countries by their two letters."""
        return self._read(name, countries) or ()

    def lines(self, name: str) -> tuple[str, ...]:
        """What was typed, one a line."""
        listed = self.values.get(name, "").splitlines()
        return tuple(line.strip() for line in listed if line.strip())

    def file(self, name: str) -> Given | None:
        """A file, and a fault where none was chosen."""
        found = self.sent.get(name)
        if found is None:
            self.faults.append(Problem("", "no file was chosen", name))
        return found

    def files(self, *names: str) -> tuple[Given, ...]:
        """The files that were chosen."""
        return tuple(self.sent[name] for name in names if name in self.sent)

    def party(self) -> Party:
        """Who goes, and with what."""
        people, children = self.count("people"), self.count("children")
        too_many = too_many_children(people, children)
        if too_many:
            self.faults.append(Problem("", too_many, "children"))
        return Party(
            self.count("bikes") or 0, self.count("electric_bikes") or 0, (),
            self.chosen("licence", LICENCES), self.countries("abroad"), people, children,
        )  # fmt: skip

    def waited(self) -> Sent:
        """How long the form waited for a signal, and its key; of one sent at once neither."""
        ago, key = self.values.get("ago", "") or "0", self.values.get("key") or None
        if not re.fullmatch(r"[0-9]{1,7}", ago) or (key and not _KEY.fullmatch(key)):
            self.faults.append(Problem("", "the form was not sent by a page of ours"))
            return Sent()
        return Sent(int(ago), key)

    def done(self) -> None:
        """Refused with every fault, where there is one."""
        if self.faults:
            raise Refused(self.faults)

    def _read(self, name: str, read: Callable[[str], T]) -> T | None:
        text = self.word(name)
        if text is None:
            return None
        try:
            return read(text)
        except ValueError as fault:
            self.faults.append(Problem("", str(fault), name))
            return None


def record_number(text: str, called: str) -> int:
    """The number of a record in an address. Refused where it is none: `called` so."""
    if not SIZE.fullmatch(text):
        raise Refused([Problem("", f"there is no record {called}")])
    return int(text)


def _count(text: str) -> int:
    if not re.fullmatch(r"[0-9]{1,2}", text):
        raise ValueError(f'"{text}" is not a number from 0 to {_MOST_COUNTED}')
    return int(text)


def _digits(text: str, most: int) -> int:
    if not re.fullmatch(rf"[0-9]{{1,{most}}}", text):
        raise ValueError(f'"{text}" is not a number of at most {most} digits')
    return int(text)


def _one_of(text: str, listed: tuple[str, ...]) -> str:
    if text not in listed:
        raise ValueError(f'"{text}" is not one of {", ".join(listed)}')
    return text
