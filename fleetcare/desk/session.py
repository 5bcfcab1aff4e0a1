"""Opening the book to write: one transaction, held to the rules in use, and what to say after."""

from __future__ import annotations

import contextlib
import datetime as dt
from collections.abc import Iterator
from contextvars import ContextVar
from typing import Any, TypeVar

from fleetcare import clock
from fleetcare.desk.asking import (
    Asked,
    book_of,
    faults_of,
    firm_in,
    kept_in_use,
    package_text,
    rules_in_use,
    taken_in,
)
from fleetcare.desk.echo import Hires, told
from fleetcare.errors import Problem, Refused, Stale, an, committing, stays
from fleetcare.faults.common import seen, visible
from fleetcare.files import tidy
from fleetcare.hire.answer import hireable_through
from fleetcare.hire.stopped import stopped_hires
from fleetcare.records.facts import Facts
from fleetcare.records.kinds import FIELD_OF, KIND_OF, Adoption
from fleetcare.reports.fleet import in_a_line, record_rows
from fleetcare.rules.book import Book
from fleetcare.rules.judge import judge
from fleetcare.rules.outcome import AsOf, Judgement
from fleetcare.rules.party import NO_BIKES
from fleetcare.rules.read import digest_of
from fleetcare.store import facts as stored
from fleetcare.store import lookup
from fleetcare.store.append import Writer
from fleetcare.store.engine import Connection, writing
from fleetcare.store.papers import folders_beside
from fleetcare.van.van import Van
from fleetcare.windows import FOREVER, eve
from fleetcare.words.days import day_words
from fleetcare.words.reasons import titled

R = TypeVar("R")


_shown: ContextVar[int | None] = ContextVar("shown", default=None)
_MOST_SINCE = 5  # of what was written since, told to whoever was not shown it


@contextlib.contextmanager
def as_shown(size: int | None) -> Iterator[None]:
    """What is written meanwhile rests on what a person was shown when the book had a size: Stale
    where one of its vans was written to since. None: on what they know themselves."""
    before = _shown.set(size)
    try:
        yield
    finally:
        _shown.reset(before)


class Writing:
    """The book opened to write: checks what is to be written, appends, and says what changed."""

    def __init__(self, place: str, connection: Connection, by: str, dry_run: bool) -> None:
        self.place, self.connection = place, connection
        self.writer = Writer(connection, by)
        self.by = by
        self.said: list[str] = []
        self.dry_run = dry_run
        self.today: dt.date = clock.today()
        self._began = self.writer.size
        self._before: dict[str, Judgement | None] = {}
        self._hires: dict[str, Hires] = {}
        self._whole_fleet = False
        self._facts: dict[str, tuple[int, Facts]] = {}  # as the tables hold them at a size
        self._judged: dict[str, tuple[int, Judgement]] = {}  # at a size of the book
        self.book = self._adopted_book()

    def _adopted_book(self) -> Book:
        """The rules in use; those of a newer program are adopted by its first write."""
        book, text = rules_in_use(self.connection)
        shipped_text = package_text(firm_in(text))
        if shipped_text == text:
            return book
        self.book = book
        faults = faults_of(shipped_text)
        if faults:  # what happened is written down all the same, under the rules adopted
            self.said.append(f"Caution: {kept_in_use(faults)}")
            return book
        newer = self.newer(shipped_text)
        self.watch_fleet()
        adopt(self.writer, shipped_text, "package")
        self.said.append(f"Adopted the program's rules {newer.digest[:8]} (was {book.digest[:8]}).")
        return newer

    def newer(self, text: str) -> Book:
        """The book of a text about to be adopted."""
        return book_of(digest_of(text), text, taken_in(self.connection, text, self.today))

    @property
    def size(self) -> int:
        """How many records the book holds with those added so far."""
        return self.writer.size

    @property
    def asked(self) -> Asked:
        """The same book to ask, as far as it is written."""
        return Asked(self.connection, self.book, AsOf(self.writer.size, self.book.digest), ())

    def facts(self, van: str) -> Facts:
        """One van's facts before this write, judged so that the change can be told."""
        sent, facts = self._facts.get(van, (0, None))
        if facts is None or sent != self.writer.sent:
            facts = self.asked.facts(van)
            self._facts[van] = (self.writer.sent, facts)
        if van not in self._before:
            judged = self._before[van] = judge(facts, self.book, self.asked.as_of)
            self._refuse_stale(judged)
            self._hires.setdefault(van, stopped_hires(judged, self.today))
        return facts

    def _refuse_stale(self, judged: Judgement) -> None:
        """Stale where a van was written to since the writer was shown it."""
        size = _shown.get()
        if size is None:
            return
        told = written_since(self.asked, judged, size, self._began)
        if told:
            head = f"{judged.van} was written to since you were shown it:"
            raise Stale([head, *told, *self._by_oneself(judged.van, size)])

    def _by_oneself(self, van: str, size: int) -> list[str]:
        """That whoever writes wrote all of it: a form sent twice, or a page gone back to."""
        listed = stored.written_since(self.connection, van, size, self._began)
        writers = lookup.writers(self.connection, van)
        if any(writers[number] != self.by for number, _ in listed):
            return []
        return ["You wrote all of it yourself: if you sent this form before, it is written down."]

    def begins(self, van: str) -> None:
        """A van that this write adds: there is no state before it to be told."""
        self._before[van] = None

    def forget(self, van: str) -> None:
        """A van that this write takes out of the book: there is no state after it to be told."""
        self._before.pop(van, None)
        self._hires.pop(van, None)

    def van(self, van: str) -> Van:
        """One van before this write, as it looks; not judged."""
        return Van(self.facts(van))

    def stands(self, number: int) -> tuple[str, str | None, Any]:
        """The record a number means now, corrections followed: kind, van, record. Refused when
        there is none, or it was withdrawn."""
        found, withdrawn = latest_of(self.connection, number)
        if withdrawn:
            raise Refused([Problem("", f"#{number} was withdrawn already")])
        return found

    def standing(self, number: int, kind: type[R]) -> R:
        """The record of a van that a number means, as it stands after corrections; Refused where
        it is of another kind or was withdrawn."""
        found = stored.find_record(self.connection, number)
        if found is None or found[0] != KIND_OF[kind]:
            raise Refused([Problem("", f"#{number} is not {an(KIND_OF[kind])}")])
        root = stored.known_of(self.connection).stands_for.get(number, number)
        listed = getattr(self.facts(str(found[1])), FIELD_OF[kind])
        for record in listed:
            if record.number == root:
                return record  # type: ignore[no-any-return]
        raise Refused([Problem("", f"#{number} was withdrawn")])

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
        self.refuse(seen(record))
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
        size, judged = self._judged.get(van, (0, None))
        if judged is None or size != self.writer.size:
            self.writer.flush()
            facts = stored.facts_of(self.connection, van)
            judged = judge(facts or Facts(van), self.book, self.asked.as_of)
            self._judged[van] = (self.writer.size, judged)
        return judged

    def tell_asked(self, van: str, number: int) -> None:
        """What a record just written asks for, with the caution of the work."""
        for outcome in self.after(van).outcomes:
            step = outcome.timeline.steps[-1]
            if step.code == "not done" and step.record == number:
                caution = f" Caution: {outcome.rule.caution}" if outcome.rule.caution else ""
                self.said.append(f"It asks for: {outcome.rule.title}.{caution}")

    def tell_changes(self) -> None:
        """One sentence for each van touched: hireable through when, and what it was; and the hires
        that what was written stops or sets free."""
        afters = self.asked.fleet() if self._whole_fleet else map(self.after, list(self._before))
        for after in afters:
            before = self._before.get(after.van)
            same = before and _state(after, self.today) == _state(before, self.today)
            quiet = after.van not in self._before or (same and self._whole_fleet)
            if after.known.facts.stated and not quiet:
                self.said.append(changed(after, before, self.today))
            self.said += told(self._hires.get(after.van, {}), after, self.today)


def latest_of(connection: Connection, number: int) -> tuple[tuple[str, str | None, Any], bool]:
    """The record a number means now, corrections followed: kind, van, record; and whether it was
    withdrawn. Refused when there is none."""
    known = stored.known_of(connection)
    root = known.stands_for.get(number, number)
    latest = max((n for n, r in known.stands_for.items() if r == root), default=root)
    found = stored.find_record(connection, latest)
    if found is None:
        raise Refused([Problem("", f"there is no record #{number}")])
    return found, latest in known.withdrawn


def written_since(
    asked: Asked, judged: Judgement, size: int, through: int, *, whole: bool = False
) -> list[str]:
    """What was written down of a van after the book had a size, up to another: the last of it, or
    the `whole` of it."""
    since = stored.written_since(asked.connection, judged.van, size, through)
    rows = {row["record"]: row for row in record_rows(judged)}
    told = []
    for number, kind in since if whole else since[-_MOST_SINCE:]:
        row = rows.get(number, {"what": kind, "words": "", "on": None})
        told.append(f"#{number} {in_a_line(row)}")
    filled: list[str] = asked.filled(told)
    return filled


def adopt(writer: Writer, text: str, origin: str) -> None:
    """Keep a rulebook's text and say that it is used from here on."""
    digest = digest_of(text)
    writer.keep_rulebook(digest, text)
    writer.append(Adoption(0, digest, origin, clock.today()))


@contextlib.contextmanager
def recording(place: str, by: str, *, dry_run: bool = False) -> Iterator[Writing]:
    """Open the book to write: one transaction, all or nothing; a dry run writes nothing."""
    with writing(place) as connection:
        book = Writing(place, connection, by, dry_run)
        book.refuse(visible("as", by))
        if not dry_run:
            book.said += left_by_killed(place)
        yield book
        book.writer.flush()
        book.tell_changes()
        book.said[:] = book.asked.filled(book.said)
        if dry_run:
            book.said.append("Dry run: nothing was written.")
            transaction = connection.get_transaction()
            if transaction is not None:
                transaction.rollback()
        else:
            committing(book.said)
    if not dry_run:
        stays(book.said)


def left_by_killed(place: str) -> list[str]:
    """Remove what killed runs left beside a book, which may hold names in plain text; say so."""
    gone = [str(part) for folder in folders_beside(place) for part in tidy(folder)]
    if not gone:
        return []
    return [f"Removed what a killed run left: {', '.join(gone)}."]


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
