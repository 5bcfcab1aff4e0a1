"""Lines of a file taken into the book: held to it as it is read, which keeps nobody from writing,
and then written in one go."""

from __future__ import annotations

import contextlib
import datetime as dt
from collections import Counter
from collections.abc import Callable, Iterable, Iterator
from typing import NamedTuple

from fleetcare import clock
from fleetcare.desk.asking import Asked, asking
from fleetcare.desk.checks import open_defects
from fleetcare.desk.incoming import Incoming
from fleetcare.desk.session import Writing, recording
from fleetcare.errors import Problem, Refused
from fleetcare.intake.lines import Line
from fleetcare.records.facts import Facts
from fleetcare.records.kinds import FLEET_KINDS, KIND_OF, Check
from fleetcare.store.append import Writer
from fleetcare.words.entering import card_command

Shown = Callable[[Iterable[Line], int], Iterable[Line]]  # the lines as they are gone through


def unseen(lines: Iterable[Line], _: int) -> Iterable[Line]:
    """The lines, gone through with nobody looking on."""
    return lines


_FEW = 40  # vans of which is said what a file changed, one a line


class Looked:
    """A book looked at, to hold records against: a van's facts are read, and judged by nobody."""

    def __init__(self, asked: Asked, today: dt.date) -> None:
        self._asked, self.today = asked, today
        self.connection, self.book = asked.connection, asked.book
        self.size = asked.as_of.known_at

    @property
    def at(self) -> tuple[int, str, dt.date]:
        """What the holding rests on: how much the book held, its rules, and today."""
        return self.size, self.book.digest, self.today

    def facts(self, van: str) -> Facts:
        """A van's facts; Refused where there is no such van."""
        return self._asked.facts(van)


class File(NamedTuple):
    """What was read of a file: its lines, what was wrong with others, and whether a line that says
    what the book holds already is passed over."""

    lines: list[Line]
    faults: list[Problem]
    known_already: bool = False


@contextlib.contextmanager
def _looking(place: str) -> Iterator[Looked]:
    with asking(place) as asked:
        yield Looked(asked, clock.today())


def taken_in(
    place: str,
    by: str,
    file: File,
    *,
    dry_run: bool = False,
    shown: Shown = unseen,
    told: Callable[[Incoming], Iterable[str]] = lambda _: (),
) -> tuple[list[str], Incoming]:
    """Take lines in, all or none; Refused with every fault, those found before among them. Returns
    what to print, and what was taken in.

    Where somebody wrote meanwhile they are held again, and nobody else writes until they are
    written.
    """
    lines, known_already = file.lines, file.known_already
    with _looking(place) as looked:
        taking = Incoming(looked, known_already=known_already)
        faults = [*file.faults, *_faults(taking, shown(lines, len(lines)))]
        if faults:
            raise Refused(faults)
        made = Writer(looked.connection, by)
        for record in taking.records:
            made.append(record)
    with recording(place, by, dry_run=dry_run) as book:
        now = Looked(book.asked, book.today)
        as_looked = now.at == looked.at and made.sent_through(book.writer)
        if not as_looked:
            taking = Incoming(now, known_already=known_already)
            book.refuse(_faults(taking, lines))
        _watch(book, taking, lines)
        if as_looked:
            book.writer = made
        else:
            for record in taking.records:
                book.add(record)
        if taking.records:
            _tell(book, taking)
        for words in told(taking):
            book.tell(words)
    return book.said, taking


def _faults(taking: Incoming, lines: Iterable[Line]) -> list[Problem]:
    return [problem for line in lines for problem in taking.take(line)]


def _watch(book: Writing, taking: Incoming, lines: list[Line]) -> None:
    """Remember how each van stands, so that what changes can be told; of many it is not."""
    vans = dict.fromkeys(r.van for r in taking.records if "van" in r._fields)
    if any(line.kind in FLEET_KINDS for line in lines):
        book.watch_fleet()
    if len(vans) > _FEW:
        book.tell(
            f"{len(vans):,} vans were touched: how each stands is in fleetcare van list, and what "
            "now stops a hire heads fleetcare due."
        )
        return
    for van in vans:
        if van in taking.begun:
            book.begins(van)
        else:
            book.facts(van)


def _tell(book: Writing, taking: Incoming) -> None:
    """Say how much was added, and add what its checks leave behind."""
    counted = Counter(KIND_OF[type(record)] for record in taking.records)
    listed = ", ".join(f"{many} × {kind}" for kind, many in counted.items())
    first, last = taking.records[0].number, taking.records[-1].number
    numbers = f"#{first}" if first == last else f"from #{first} to #{last}"
    book.tell(f"Loaded {numbers}: {listed}.")
    for check, found in taking.untold():
        open_defects(book, book.after(check.van), check, found)
    checks = {r.number: r for r in taking.records if isinstance(r, Check)}
    vans = dict.fromkeys(check.van for check in checks.values())
    if len(vans) <= _FEW:
        _tell_uncounted(book, checks, list(vans))


def _tell_uncounted(book: Writing, checks: dict[int, Check], vans: list[str]) -> None:
    """Which checks are kept and do not count, and why; then the cards that would let them."""
    kept: dict[tuple[str, str], list[int]] = {}
    cards: dict[str, None] = {}
    for outcome in (one for van in vans for one in book.after(van).outcomes):
        for number, why in outcome.uncounted:
            check = checks.get(number)
            if check is None:
                continue
            kept.setdefault((outcome.rule.title, why), []).append(number)
            if check.by and check.inspector is None and outcome.rule.by.scope:
                cards[card_command(outcome.rule.by, f'"{check.by}"')] = None
    for (title, why), numbers in kept.items():
        listed = ", ".join(f"#{number}" for number in dict.fromkeys(numbers))
        book.tell(f"Kept, and not counted for {title}: {listed}, {why}.")
    for command in cards:
        book.tell(f"With a card in force they count: {command} --theirs")
