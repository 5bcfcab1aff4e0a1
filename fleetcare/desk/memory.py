"""Vans judged of late, kept in memory by a process that answers one question after another.

A van's judgement is kept under the number of its newest record of any kind, bookings and answers
included, that of the newest record of no van (people, papers of several vans, rules), the rules in
use and the day, and under nothing else: whatever is written of it, by whichever process, makes it
be judged anew. Which records are new is asked of the book at every opening; a book that does not
hold the record seen last is another one, and nothing is remembered of it.
"""

from __future__ import annotations

import datetime as dt
import threading
from collections import OrderedDict
from collections.abc import Callable
from typing import NamedTuple

from fleetcare import clock
from fleetcare.rules.book import Book
from fleetcare.rules.outcome import AsOf, Judgement
from fleetcare.store import facts as stored
from fleetcare.store.engine import Connection
from fleetcare.store.ledger import head_of

MOST = 400  # vans; a larger fleet is walked through as ever, and its vans asked for alone are kept


class InUse(NamedTuple):
    """The rules in use, and what is to be said of them."""

    book: Book
    cautions: tuple[str, ...]


class Seen(NamedTuple):
    """The book as seen last: its size, what stands for all of it and for its last record; the
    newest record of each van, and of none."""

    size: int
    root: str
    leaf: str
    newest: dict[str, int]
    shared: int


Key = tuple[int, int, dt.date]
_NOTHING = Seen(0, "", "", {}, 0)


class Memory:
    """What a process remembers of one book."""

    def __init__(self) -> None:
        self._lock = threading.Lock()
        self._seen = _NOTHING
        self._judged: OrderedDict[str, tuple[Key, Judgement]] = OrderedDict()
        self._rules: tuple[Key, InUse] | None = None

    def opened(self, connection: Connection) -> Kept | None:
        """What is remembered of the book as a connection sees it; None where more of it was seen
        already, by a question that came later or before an older copy was put in its place."""
        head = head_of(connection)
        size, root = head.size, head.root
        with self._lock:
            seen = self._seen
            if size < seen.size:
                return None
            if (size, root) != (seen.size, seen.root):
                ours = size > seen.size and stored.leaf_of(connection, seen.size) == seen.leaf
                self._seen = seen = _more(connection, seen if ours else _NOTHING, size, root)
                if not ours:
                    self._judged.clear()
                    self._rules = None
        return Kept(self, seen, clock.today())

    def rules(self, key: Key) -> InUse | None:
        """The rules in use, where they were read since anything of no van was written."""
        found = self._rules
        return found[1] if found and found[0] == key else None

    def keep_rules(self, key: Key, rules: InUse) -> None:
        """Remember the rules in use."""
        self._rules = (key, rules)

    def judged(self, van: str, key: Key) -> Judgement | None:
        """A van as it was judged, where nothing was written of it since."""
        found = self._judged.get(van)
        return found[1] if found and found[0] == key else None

    def keep(self, van: str, key: Key, judged: Judgement) -> None:
        """Remember a van; those kept first are let go of."""
        with self._lock:
            self._judged[van] = (key, judged)
            self._judged.move_to_end(van)
            if len(self._judged) > MOST:
                self._judged.popitem(last=False)


def _more(connection: Connection, seen: Seen, size: int, root: str) -> Seen:
    """What is seen of the book now, with what was written since."""
    newest, shared = dict(seen.newest), seen.shared
    for van, number in stored.newest_since(connection, seen.size):
        if van is None:
            shared = number
        else:
            newest[van] = number
    return Seen(size, root, stored.leaf_of(connection, size), newest, shared)


class Kept(NamedTuple):
    """What is remembered, for one question: as of one state of the book and on one day."""

    memory: Memory
    seen: Seen
    day: dt.date

    def _key(self, van: str) -> Key:
        return (self.seen.newest.get(van, 0), self.seen.shared, self.day)

    def rules(self, read: Callable[[], InUse]) -> InUse:
        """The rules in use; read where they are not remembered."""
        key = (0, self.seen.shared, self.day)
        found = self.memory.rules(key)
        if found is None:
            found = read()
            self.memory.keep_rules(key, found)
        return found

    def judged(self, van: str, book: Book, as_of: AsOf) -> Judgement | None:
        """A van judged by a book, as of now; None where it is to be judged anew."""
        found = self.memory.judged(van, self._key(van))
        return found._replace(as_of=as_of) if found and found.book is book else None

    def keep(self, judged: Judgement) -> None:
        """Remember a van; not where a booking of it lapses by the hour."""
        if judged.known.facts.asked_at is None:
            self.memory.keep(judged.van, self._key(judged.van), judged)

    def vans(self) -> list[str] | None:
        """Every van that anything was ever written of, in the order of fleet numbers; None where
        they are too many to be kept."""
        return sorted(self.seen.newest) if len(self.seen.newest) <= MOST else None


_MEMORIES: dict[str, Memory] = {}


def remember(place: str) -> None:
    """From now on this process remembers the vans of a book; each time from nothing."""
    _MEMORIES[place] = Memory()


def remembered(place: str, connection: Connection) -> Kept | None:
    """What is remembered of a book as a connection sees it."""
    memory = _MEMORIES.get(place)
    return memory.opened(connection) if memory else None
