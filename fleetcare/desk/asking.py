"""Opening the book to ask: the rules in use, vans judged as known, names and words filled in."""

from __future__ import annotations

import contextlib
import datetime as dt
import gc
from collections.abc import Iterator
from functools import lru_cache, partial
from typing import Any, NamedTuple

from fleetcare import shipped
from fleetcare.desk.clocks import left_out
from fleetcare.desk.closed import running_out
from fleetcare.desk.memory import InUse, Kept, remembered
from fleetcare.errors import Problem, Refused, near
from fleetcare.records.facts import Facts
from fleetcare.rules.book import FIRM, Book, Key
from fleetcare.rules.formats import asking_rules, files_of, text_of
from fleetcare.rules.judge import judge
from fleetcare.rules.outcome import AsOf, Judgement
from fleetcare.rules.read import read_book, try_book
from fleetcare.store import facts as stored
from fleetcare.store.engine import Connection, reading
from fleetcare.store.walk import InHand, InStore, Walk
from fleetcare.words.marks import MARK

_FEW = 0.25  # the share of a fleet that is read van by van; of more, every table whole


class Asked(NamedTuple):
    """The book opened to ask: its rules, how much it knows, and cautions about the rules in use."""

    connection: Connection
    book: Book
    as_of: AsOf
    cautions: tuple[str, ...]
    known: int | None = None  # an earlier size of the book it is asked as known at
    kept: Kept | None = None  # what this process remembers of its vans

    def facts(self, van: str) -> Facts:
        """One van's facts; Refused with the nearest fleet number when there is no such van."""
        found = stored.facts_of(self.connection, van, self.known)
        if found is None:
            if self.known is not None and stored.facts_of(self.connection, van):
                words = f"was not in the book yet when it held {self.known:,} records"
                raise Refused([Problem("", f'"{van}" {words}')])
            hint = near(van, stored.vans_of(self.connection))
            raise Refused(
                [
                    Problem(
                        "",
                        f'"{van}" is not in the fleet.{hint} Add it with: fleetcare van add {van}',
                    )
                ]
            )
        return found

    def judged(self, van: str) -> Judgement:
        """One van judged on what is known now."""
        found = self.kept.judged(van, self.book, self.as_of) if self.kept else None
        return found or self._judged_anew(self.facts(van))

    def _judged_anew(self, facts: Facts) -> Judgement:
        judged = self.judge(facts)
        if self.kept:
            self.kept.keep(judged)
        return judged

    def judge(self, facts: Facts) -> Judgement:
        """Facts judged by the rules asked by."""
        return judge(facts, self.book, self.as_of)

    def at(self, size: int) -> Asked | None:
        """The same book as it was known at a size, by the rules in use then; None before any."""
        digest = stored.adopted_at(self.connection, size)
        if digest is None:
            return None
        text = stored.rulebook_text(self.connection, digest)
        book = book_of(digest, text, taken_in(self.connection, text, known=size))
        return Asked(self.connection, book, AsOf(size, digest), (), size)

    def latest(self) -> Asked:
        """The same book as it is known now, by the rules in use."""
        book, _ = rules_in_use(self.connection)
        return Asked(self.connection, book, AsOf(stored.size_of(self.connection), book.digest), ())

    def fleet(self) -> Iterator[Judgement]:
        """Every van judged, one at a time."""
        for judged, _ in self.fleet_in_hand():
            yield judged

    def fleet_in_hand(self) -> Iterator[tuple[Judgement, InHand | InStore]]:
        """Every van judged, one at a time, with its rows, to be asked as known at an earlier size.

        The collector rests meanwhile: a judgement holds no circle, so it goes when it is let go.
        """
        resting = gc.isenabled()
        gc.disable()
        try:
            yield from self._remembered_fleet() or self._read_fleet()
        finally:
            if resting:
                gc.enable()

    def _read_fleet(self) -> Iterator[tuple[Judgement, InHand]]:
        """Every van from its rows, each table read once from the front to the back."""
        for rows in Walk(self.connection, self.as_of.known_at, self.known).vans():
            facts = rows.facts()
            if facts.stated:
                yield self._judged_anew(facts), rows

    def _remembered_fleet(self) -> Iterator[tuple[Judgement, InStore]] | None:
        """The same where most of them are remembered; None where they are not."""
        vans = self.kept.vans() if self.kept else None
        if self.kept is None or vans is None:
            return None
        found = {van: self.kept.judged(van, self.book, self.as_of) for van in vans}
        if list(found.values()).count(None) > len(found) * _FEW:
            return None
        return self._told_apart(found)

    def _told_apart(
        self, found: dict[str, Judgement | None]
    ) -> Iterator[tuple[Judgement, InStore]]:
        for van, judged in found.items():
            if judged is None:
                facts = stored.facts_of(self.connection, van)
                judged = self._judged_anew(facts) if facts else None
            if judged:
                yield judged, InStore(van, self.connection)

    def filled(self, value: Any) -> Any:
        """Rows or text with names and words put where marks stand for them."""
        marks: set[str] = set()
        _find_marks(value, marks)
        if not marks:
            return value
        return _fill(value, stored.words_of(self.connection, sorted(marks)))


def _find_marks(value: Any, found: set[str]) -> None:
    if isinstance(value, str):
        if MARK in value:
            found.update(value.split(MARK)[1::2])
    elif isinstance(value, (tuple, list)):
        for item in value:
            _find_marks(item, found)
    elif isinstance(value, dict):
        for item in value.values():
            _find_marks(item, found)


def _fill(value: Any, words: dict[str, str | None]) -> Any:
    if isinstance(value, str):
        if MARK not in value:
            return value
        parts = value.split(MARK)
        parts[1::2] = [words.get(part) or "erased" for part in parts[1::2]]
        return "".join(parts)
    if isinstance(value, tuple) and hasattr(value, "_make"):
        return value._make(_fill(item, words) for item in value)
    if isinstance(value, (tuple, list)):
        return type(value)(_fill(item, words) for item in value)
    if isinstance(value, dict):
        return {key: _fill(item, words) for key, item in value.items()}
    return value


def rules_in_use(connection: Connection) -> tuple[Book, str]:
    """The book adopted, read from the text kept, and that text."""
    digest, _, text = stored.adopted(connection)
    return book_of(digest, text, taken_in(connection, text)), text


TakenIn = tuple[tuple[Key, dt.date], ...]


@lru_cache(maxsize=4)
def book_of(digest: str, text: str, taken_in: TakenIn) -> Book:
    """The book of a text, with the day each rule that asks after an event was taken in."""
    return read_book(files_of(text), digest)._replace(adopted=dict(taken_in))


@lru_cache(maxsize=16)
def _asking_rules(text: str) -> list[tuple[Key, tuple[str, ...]]]:
    return asking_rules(files_of(text))


def taken_in(
    connection: Connection, text: str, today: dt.date | None = None, known: int | None = None
) -> TakenIn:
    """The day each rule that asks for something after an event was first taken in, under whatever
    name: before it nobody was asked. `today` is the day of an adoption about to be written; with
    `known` by the adoptions up to that size of the book."""
    adoptions = stored.adoptions_of(connection, known)
    rules = _asking_rules(text)
    if len(adoptions) == 1 and today is None:
        return tuple((key, adoptions[0][0]) for key, _ in rules)
    days: dict[Key, dt.date] = {}
    for day, digest in adoptions:
        text_then = stored.rulebook_text(connection, digest)
        # By name, whichever folder it stood in: one moved to another home was asked all the same.
        then = {name for (_, name), _ in _asking_rules(text_then)}
        for key, names in rules:
            if key not in days and not then.isdisjoint(names):
                days[key] = day
    return tuple((key, days.get(key, today or dt.date.max)) for key, _ in rules)


@contextlib.contextmanager
def asking(place: str, known_at: KnownAt | None = None) -> Iterator[Asked]:
    """Open the book to ask. Nothing is written.

    With `known_at` as it was known then: a moment is resolved once to the size the ledger had, and
    from there on known are the records up to that size that none of them takes back, judged by the
    rules adopted by then. Refused for a size the book never had, or before its rules.
    """
    with reading(place) as connection:
        if known_at is None:
            kept = remembered(place, connection)
            size = kept.seen.size if kept else stored.size_of(connection)
            in_use = kept.rules(partial(_in_use, connection)) if kept else _in_use(connection)
            as_of = AsOf(size, in_use.book.digest)
            yield Asked(connection, in_use.book, as_of, in_use.cautions, kept=kept)
            return
        book, _ = rules_in_use(connection)
        size = stored.size_of(connection)
        known = _resolved(connection, known_at, size)
        then = Asked(connection, book, AsOf(size, book.digest), ()).at(known)
        if then is None:
            began = stored.recorded_at(connection, 1)[:10]
            words = f"the book knew nothing yet at {known_at}: its first record is of {began}"
            raise Refused([Problem("--known-at", words)])
        caution = f"as known with the first {known:,} of {size:,} records"
        hidden = () if known_at.moment is None else left_out(connection, known)
        yield then._replace(cautions=(caution, *hidden))


def _in_use(connection: Connection) -> InUse:
    book, text = rules_in_use(connection)
    return InUse(book, (*_differs(text), *running_out(book)))


class KnownAt(NamedTuple):
    """When it was known: a size of the ledger, as printed on any paper, or the moment before which
    the records were written."""

    size: int | None = None
    moment: dt.datetime | None = None

    def __str__(self) -> str:
        return f"@{self.size}" if self.moment is None else self.moment.isoformat()


def through(day: dt.date) -> KnownAt:
    """What was written down before the end of a day here."""
    return KnownAt(moment=dt.datetime.combine(day, dt.time.max).astimezone(dt.UTC))


def _resolved(connection: Connection, known_at: KnownAt, size: int) -> int:
    if known_at.moment is not None:
        return stored.size_before(connection, known_at.moment)
    if known_at.size is None or known_at.size > size:
        words = f"the book holds {size:,} records: {known_at} is a size it never had"
        raise Refused([Problem("--known-at", words)])
    return known_at.size


def hidden_at(place: str, known_at: KnownAt) -> tuple[str, ...]:
    """What a moment leaves out of an answer by a wrong clock; a size goes by no clock."""
    if known_at.moment is None:
        return ()
    with reading(place) as connection:
        return left_out(connection, stored.size_before(connection, known_at.moment))


def _differs(text: str) -> tuple[str, ...]:
    """A caution when the program ships other rules than those in use."""
    shipped_text = package_text(firm_in(text))
    if shipped_text == text:
        return ()
    faults = faults_of(shipped_text)
    if faults:
        return (kept_in_use(faults),)
    return (
        "the rules in use differ from those this program ships; "
        "the next record written adopts the program's",
    )


@lru_cache(maxsize=4)
def faults_of(text: str) -> tuple[Problem, ...]:
    """What keeps a text from being adopted: most often a firm's own file that does not go with the
    rules a newer program ships."""
    return tuple(try_book(files_of(text))[1])


def kept_in_use(faults: tuple[Problem, ...]) -> str:
    """What is said where a newer program's rules can't be adopted."""
    told = "; ".join(str(fault) for fault in faults)
    return (
        "the firm's own file does not go with the rules this program ships, so the rules adopted "
        f"stay in use: {told}. Put the file right and take it in with: fleetcare rules adopt FILE"
    )


@lru_cache(maxsize=4)
def firm_in(text: str) -> Any:
    """The firm's own file in a text; None where there is none. Read, and never written to."""
    return files_of(text).get(FIRM)


def package_text(firm: Any = None) -> str:
    """The text of the package's rules, with the firm's own file if there is one."""
    files = dict(shipped.rulebook_files())
    if firm is not None:
        files[FIRM] = firm
    return text_of(files)
