"""Opening the book to ask or to write: the connection, the rules in use, and what to say after."""

from __future__ import annotations

import contextlib
import datetime as dt
import gc
from collections.abc import Iterator
from functools import lru_cache
from typing import Any, NamedTuple

from fleetcare import clock, shipped
from fleetcare.desk.touched import Hires, told
from fleetcare.errors import Problem, Refused
from fleetcare.intake import words
from fleetcare.records.facts import Facts
from fleetcare.records.kinds import Adoption
from fleetcare.rules.book import Book, near
from fleetcare.rules.bookable import hireable_through
from fleetcare.rules.explain import MARK, day_words, titled
from fleetcare.rules.judge import judge
from fleetcare.rules.kinds.case import NO_BIKES
from fleetcare.rules.outcome import AsOf, Judgement
from fleetcare.rules.read import FIRM, digest_of, files_of, read_book, text_of
from fleetcare.rules.stands import Item, newly_stopped, stopped_hires
from fleetcare.rules.trips import Trip
from fleetcare.store import facts as stored
from fleetcare.store.append import Writer
from fleetcare.store.engine import Connection, reading, writing
from fleetcare.windows import FOREVER, eve

Changed = dict[frozenset[Item], list[Trip]]


class Since(NamedTuple):
    """What the book knew at an earlier size, and the vans touched since (None: all of them)."""

    size: int
    book: Book | None
    touched: set[str | None]


class Asked(NamedTuple):
    """The book opened to ask: its rules, how much it knows, and cautions about the rules in use."""

    connection: Connection
    book: Book
    as_of: AsOf
    cautions: tuple[str, ...]

    def facts(self, van: str) -> Facts:
        """One van's facts; Refused with the nearest fleet number when there is no such van."""
        found = stored.facts_of(self.connection, van)
        if found is None:
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
        return judge(self.facts(van), self.book, self.as_of)

    def changed_hires(self, judged: Judgement, since: Since, on: dt.date) -> Changed:
        """The hires of a van, out or still to come, that something stops now and did not stop by
        the records and rules of an earlier size of the book."""
        if not (judged.hires and (judged.van in since.touched or None in since.touched)):
            return {}
        facts = stored.facts_of(self.connection, judged.van, since.size)
        if facts is None or since.book is None:
            return {}
        then = judge(facts, since.book, AsOf(since.size, since.book.digest))
        return newly_stopped(stopped_hires(then, on), stopped_hires(judged, on))

    def since(self, moment: dt.datetime) -> Since:
        """What the book knew before a moment, and which vans were touched after it."""
        size = stored.size_before(self.connection, moment)
        digest = stored.adopted_at(self.connection, size)
        book = None
        if digest is not None:
            text = stored.rulebook_text(self.connection, digest)
            book = _book_of(digest, text, _taken_in(self.connection, text))
        return Since(size, book, stored.touched_since(self.connection, size))

    def fleet(self) -> Iterator[Judgement]:
        """Every van judged, one at a time.

        The collector rests meanwhile: a judgement holds no circle, so it goes when it is let go.
        """
        resting = gc.isenabled()
        gc.disable()
        try:
            for facts in stored.fleet_facts(self.connection):
                yield judge(facts, self.book, self.as_of)
        finally:
            if resting:
                gc.enable()

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
    return _book_of(digest, text, _taken_in(connection, text)), text


@lru_cache(maxsize=4)
def _book_of(digest: str, text: str, taken_in: tuple[tuple[str, dt.date], ...]) -> Book:
    return read_book(files_of(text), digest)._replace(adopted=dict(taken_in))


def _taken_in(
    connection: Connection, text: str, today: dt.date | None = None
) -> tuple[tuple[str, dt.date], ...]:
    """The day each rule that asks for something after an event was first taken in: before it
    nobody was asked. `today` is the day of an adoption about to be written."""
    adoptions = stored.adoptions_of(connection)
    names = _asking_rules(text)
    days: dict[str, dt.date] = {}
    for day, digest in adoptions:
        if len(adoptions) == 1 and today is None:
            return tuple((name, day) for name in names)
        known = _asking_rules(stored.rulebook_text(connection, digest))
        days |= {name: day for name in names if name in known and name not in days}
    return tuple((name, days.get(name, today or dt.date.max)) for name in names)


@lru_cache(maxsize=16)
def _asking_rules(text: str) -> tuple[str, ...]:
    """The rules of a text that count from what happens."""
    return tuple(
        name
        for tables in files_of(text).values()
        for name, rule in tables.get("rule", {}).items()
        if rule.get("kind") == "after"
    )


@contextlib.contextmanager
def asking(place: str) -> Iterator[Asked]:
    """Open the book to ask. Nothing is written."""
    with reading(place) as connection:
        book, text = rules_in_use(connection)
        yield Asked(connection, book, AsOf(stored.size_of(connection), book.digest), _differs(text))


def _differs(text: str) -> tuple[str, ...]:
    """A caution when the program ships other rules than those in use."""
    if text == package_text(files_of(text).get(FIRM)):
        return ()
    return (
        "the rules in use differ from those this program ships; "
        "the next record written adopts the program's",
    )


def package_text(firm: Any = None) -> str:
    """The text of the package's rules, with the firm's own file if there is one."""
    files = dict(shipped.rulebook_files())
    if firm is not None:
        files[FIRM] = firm
    return text_of(files)


class Writing:
    """The book opened to write: checks what is to be written, appends, and says what changed."""

    def __init__(self, connection: Connection, by: str, dry_run: bool) -> None:
        self.connection = connection
        self.writer = Writer(connection, by)
        self.by = by
        self.said: list[str] = []
        self.dry_run = dry_run
        self.today: dt.date = clock.today()
        self._before: dict[str, Judgement | None] = {}
        self._hires: dict[str, Hires] = {}
        self._whole_fleet = False
        self.book = self._adopted_book()

    def _adopted_book(self) -> Book:
        """The rules in use; those of a newer program are adopted by its first write."""
        book, text = rules_in_use(self.connection)
        shipped_text = package_text(files_of(text).get(FIRM))
        if shipped_text == text:
            return book
        newer = self.newer(shipped_text)
        self.book = book
        self.watch_fleet()
        adopt(self.writer, shipped_text, "package")
        self.said.append(f"Adopted the program's rules {newer.digest[:8]} (was {book.digest[:8]}).")
        return newer

    def newer(self, text: str) -> Book:
        """The book of a text about to be adopted."""
        return _book_of(digest_of(text), text, _taken_in(self.connection, text, self.today))

    @property
    def asked(self) -> Asked:
        """The same book to ask, as far as it is written."""
        return Asked(self.connection, self.book, AsOf(self.writer.size, self.book.digest), ())

    def facts(self, van: str) -> Facts:
        """One van's facts before this write, judged so that the change can be told."""
        facts = self.asked.facts(van)
        if van not in self._before:
            judged = self._before[van] = judge(facts, self.book, self.asked.as_of)
            self._hires.setdefault(van, stopped_hires(judged, self.today))
        return facts

    def watch_fleet(self, *, state: bool = False) -> list[str]:
        """Before something that touches every van: remember what stops each one's hires, so that
        those it changes are named; with `state`, each van whose own days change too.

        Gives the vans that are on fleet today, where their state is watched.
        """
        self._whole_fleet, on_fleet = True, []
        for judged in self.asked.fleet():
            self._hires[judged.van] = stopped_hires(judged, self.today)
            if state and judged.service is not None and self.today in judged.service:
                self._before[judged.van] = judged
                on_fleet.append(judged.van)
        return on_fleet

    def add(self, record: Any, keep: frozenset[str] = frozenset()) -> Any:
        """Append a record; Refused where a word of it is blank."""
        self.refuse(words.seen(record))
        return self.writer.append(record, keep)

    def tell(self, sentence: str) -> None:
        """Say something when all is written."""
        self.said.append(sentence)

    def refuse(self, problems: list[Problem]) -> None:
        """Raise every problem at once, if there are any."""
        if problems:
            raise Refused(problems)

    def after(self, van: str) -> Judgement:
        """A van judged with what was appended so far."""
        self.writer.flush()
        facts = stored.facts_of(self.connection, van)
        if facts is None:
            facts = Facts(van)
        return judge(facts, self.book, self.asked.as_of)

    def tell_changes(self) -> None:
        """One sentence for each van touched: hireable through when, and what it was; and the hires
        that what was written stops or sets free."""
        afters = self.asked.fleet() if self._whole_fleet else map(self.after, list(self._before))
        for after in afters:
            before = self._before.get(after.van)
            same = before and _state(after, self.today) == _state(before, self.today)
            quiet = after.van not in self._before or (same and self._whole_fleet)
            if after.view.facts.stated and not quiet:
                self.said.append(changed(after, before, self.today))
            self.said += told(self._hires.get(after.van, {}), after, self.today)


def adopt(writer: Writer, text: str, origin: str) -> None:
    """Keep a rulebook's text and say that it is used from here on."""
    digest = digest_of(text)
    writer.keep_rulebook(digest, text)
    writer.append(Adoption(0, digest, origin, clock.today()))


@contextlib.contextmanager
def recording(place: str, by: str, *, dry_run: bool = False) -> Iterator[Writing]:
    """Open the book to write: one transaction, all or nothing; a dry run writes nothing."""
    with writing(place) as connection:
        book = Writing(connection, by, dry_run)
        book.refuse(words.visible("as", by))
        yield book
        book.writer.flush()
        book.tell_changes()
        book.said[:] = book.asked.filled(book.said)
        if dry_run:
            book.said.append("Dry run: nothing was written.")
            transaction = connection.get_transaction()
            if transaction is not None:
                transaction.rollback()


def named(judgement: Judgement, day: dt.date) -> str:
    """A van as every echo names it: V01 (QI24 QIQ)."""
    plate = judgement.plate_on(day)
    return f"{judgement.van} ({plate})" if plate else judgement.van


def changed(after: Judgement, before: Judgement | None, today: dt.date) -> str:
    """What a write changed: "V01 (QI24 QIQ): hireable through Tue 1 Sep 2026, was Sat 14 Mar."""
    new = _state(after, today)
    old = _state(before, today) if before else None
    sentence = f"{named(after, today)}: {new}"
    if old is None:
        return f"{sentence}."
    was = "unchanged" if old == new else f"was {old.removeprefix('hireable through ')}"
    first = _first_bad(after, today)
    return f"{sentence}, {was}.{first}"


def _state(judgement: Judgement, today: dt.date) -> str:
    last = hireable_through(judgement, today)
    if last is None:
        return "not hireable today"
    return "hireable, no end known" if last == FOREVER else f"hireable through {day_words(last)}"


def _first_bad(judgement: Judgement, today: dt.date) -> str:
    """What ends the hireable stretch, or stands in the way today."""
    last = hireable_through(judgement, today)
    if last == FOREVER:
        return ""
    if last is None:
        listed = [
            titled(o)
            for o in judgement.outcomes
            if any(True for _ in o.bad_steps(today, today, NO_BIKES))
        ]
        if judgement.service is None or today not in judgement.service:
            listed.insert(0, "not on fleet")
        more = f" and {len(listed) - 3} more" if len(listed) > 3 else ""
        return f" In the way: {', '.join(listed[:3])}{more}." if listed else ""
    for outcome in judgement.outcomes:
        for step in outcome.timeline.steps:
            if step.start > last and eve(step.start) == last and outcome.blocks(step, NO_BIKES):
                return f" First to lapse: {titled(outcome)}."
    return ""
