"""A dump taken into an empty book: the same records, numbers, moments, words and root.

Each line's leaf is made anew from what the line says and the tree from the leaves; the root must be
the one the first line names, or nothing is kept. Rows go to the driver as they are: the line has
the very texts and numbers the columns hold.
"""

from __future__ import annotations

import base64
import binascii
import datetime as dt
import hashlib
import json
import re
import unicodedata
from collections.abc import Callable, Iterable, Iterator
from pathlib import Path
from typing import Any, NamedTuple

import sqlalchemy as sa

from fleetcare.errors import Problem, Refused
from fleetcare.files import new_file
from fleetcare.merkle import leaf_hash, pushed, root_of
from fleetcare.records.fields import SECRET, Is, fields_of
from fleetcare.records.kept import Erasure
from fleetcare.records.kinds import KINDS, Adoption
from fleetcare.records.leaf import commitment
from fleetcare.store import migrate, papers, tables
from fleetcare.store.backup import refuse_left
from fleetcare.store.dump import FORM
from fleetcare.store.engine import called, in_one_file, with_log, writing
from fleetcare.store.facts import size_of
from fleetcare.store.insert import statement

_BATCH = 5000
MOST_HEAD = 2_000_000  # characters of a first line that is looked at
_DIGEST = re.compile(r"[0-9a-f]{64}")
_SALT = re.compile(r"[0-9a-f]{32}")
_ENCODE = json.JSONEncoder(ensure_ascii=False, separators=(",", ":")).encode
# How a field is taken in. Half a million records go through here: small numbers, not enumerations.
_TEXT, _WHOLE, _FLAG, _NAMES, _WORDS, _ROWS, _DAY = range(7)
_HOW: dict[Is, int] = {
    Is.NUMBER: _WHOLE, Is.COUNT: _WHOLE, Is.FLAG: _FLAG, Is.NAMES: _NAMES, Is.PART: _ROWS,
    Is.DAY: _DAY,
    **dict.fromkeys(SECRET, _WORDS),
}  # fmt: skip
_TYPE: dict[int, type] = {_TEXT: str, _WHOLE: int, _FLAG: bool, _NAMES: list, _WORDS: dict}


class Head(NamedTuple):
    """What the first line of a dump says."""

    records: int
    root: str


def head_of(line: str, name: str) -> Head | None:
    """The head of a dump; None where the line is none. Refused for one of another form."""
    try:
        raw = json.loads(line)
    except (ValueError, RecursionError):
        return None
    if not isinstance(raw, dict) or "fleetcare" not in raw:
        return None
    if raw["fleetcare"] != FORM or raw.get("schema") != tables.SCHEMA:
        words = (
            f"is a dump of the form {raw['fleetcare']}, schema {raw.get('schema')}; this program "
            f"takes {FORM}, schema {tables.SCHEMA}: load it with the program that wrote it"
        )
        raise Refused([Problem(name, words)])
    records, root = raw.get("records"), raw.get("root")
    if type(records) is not int or not isinstance(root, str) or not _DIGEST.fullmatch(root):
        raise Refused([Problem(f"{name}:1", "does not say how many records, and their root")])
    return Head(records, root)


def load(
    connection: sa.Connection,
    lines: Iterable[str],
    name: str,
    head: Head,
    folder: Callable[[], Path],
) -> None:
    """Take the lines after the head into an empty book; papers go into their folder, which is only
    asked for when there is one.

    Refused, and nothing is kept, where the book holds records already, a line can't be read, or the
    root comes out other than the head says.
    """
    refuse_filled(connection)
    loading = _Loading(connection, folder)
    for number, line in enumerate(lines, 2):
        try:
            loading.take(json.loads(line))
        except KeyError as fault:
            words = f"is not a line of a dump (it does not say {fault}): nothing was loaded"
            raise Refused([Problem(f"{name}:{number}", words)]) from None
        except (ValueError, TypeError, AttributeError, RecursionError) as fault:
            words = f"is not a line of a dump ({fault}): nothing was loaded"
            raise Refused([Problem(f"{name}:{number}", words)]) from None
    loading.flush()
    if (loading.size, loading.root) != head:
        words = (
            f"says {head.records:,} records of root {head.root[:8]}, and holds {loading.size:,} of "
            f"root {loading.root[:8]}: it was cut short or changed; nothing was loaded"
        )
        raise Refused([Problem(name, words)])
    wrong = list(loading.unasked(connection))
    if papers.asked_for(connection):
        wrong += papers.faults(folder(), connection)
    if wrong:
        raise Refused([Problem(name, one) for one in wrong])


def refuse_filled(connection: sa.Connection) -> None:
    """Refused for a book that holds records."""
    held = size_of(connection)
    if held:
        records = "record" if held == 1 else "records"
        words = (
            f"a whole dump goes into an empty book, and this one holds {held:,} {records}: name a "
            "path where nothing is yet"
        )
        raise Refused([Problem("--db", words)])


def load_new(place: str, lines: Iterable[str], name: str, head: Head) -> None:
    """A dump made into a new SQLite book; nothing is left behind where it is refused."""
    refuse_left(place)
    with new_file(place) as part, papers.new_folder(place) as folder, called(part, place):
        migrate.upgrade(str(part))
        with writing(str(part)) as connection:
            load(connection, lines, name, head, lambda: folder)
        in_one_file(part)
        with_log(part)  # before it bears its name: a run killed here leaves no book kept otherwise


class _Spec(NamedTuple):
    """How a kind's lines become rows."""

    fields: tuple[tuple[str, int, bool], ...]
    table: sa.Table


_SPECS = {
    kind: _Spec(
        tuple(
            (f.name, _HOW.get(f.holds, _TEXT), f.optional)
            for f in fields_of(record)
            if f.name != "number"
        ),
        tables.TABLES[record],
    )
    for kind, record in KINDS.items()
}


def _nfc(text: str) -> str:
    return text if text.isascii() else unicodedata.normalize("NFC", text)


class _Loading:
    """A dump on its way in: the tree so far, and the rows not yet sent."""

    def __init__(self, connection: sa.Connection, folder: Callable[[], Path]) -> None:
        self._connection = connection
        self._folder = folder
        self.size = 0
        self._last = ""
        self._frontier: tuple[bytes, ...] = ()
        self._rows: dict[sa.Table, list[tuple[Any, ...]]] = {}
        self._said: dict[tuple[str, str], str] = {}
        self._commitments: set[str] = set()
        self._rulebooks: set[str] = set()
        self._papers: set[str] = set()
        self._emptied = 0
        self._days: set[str] = set()
        self._insert = {
            table: statement(connection, table) for table in tables.metadata.tables.values()
        }

    @property
    def root(self) -> str:
        """The root over what was taken so far."""
        return root_of(self._frontier).hex()

    def take(self, line: Any) -> None:
        """One line. Raises ValueError, KeyError or TypeError for one that is no line of a dump."""
        if "kind" in line:
            self._record(line)
        elif "rulebook" in line:
            digest, text = line["rulebook"], line["text"]
            if hashlib.sha256(text.encode()).hexdigest() != digest:
                raise ValueError("the rules are not those of their digest")
            if digest in self._rulebooks:
                raise ValueError("the same rules stand on an earlier line")
            self._rulebooks.add(digest)
            self._add(tables.rulebook, (digest, text))
        elif "paper" in line:
            self._paper(line)
        else:
            raise ValueError("it is neither record, rulebook nor paper")

    def _paper(self, line: Any) -> None:
        try:
            data = base64.b64decode(line["base64"], validate=True)
        except binascii.Error as fault:
            raise ValueError(str(fault)) from None
        if hashlib.sha256(data).hexdigest() != line["paper"]:
            raise ValueError("the paper is not that of its digest")
        self._papers.add(line["paper"])
        papers.keep(self._folder(), data, line["sort"])

    def _add(self, table: sa.Table, row: tuple[Any, ...]) -> None:
        self._rows.setdefault(table, []).append(row)

    def _record(self, line: dict[str, Any]) -> None:
        kind, number, at = line["kind"], line["number"], line["recorded_at"]
        if number != self.size + 1:
            raise ValueError(f"#{self.size + 1} is to come next")
        moment = dt.datetime.fromisoformat(at)
        if len(at) != 27 or at[-1] != "Z" or at <= self._last or moment.tzinfo is None:
            raise ValueError("it was written down no later than the record before it")
        by = self._committed(line["recorded_by"])
        leaf = {"kind": f"{kind}/1", "number": number, "recorded_at": at, "recorded_by": by}
        spec = _SPECS[kind]
        row: list[Any] = [number]
        readings: list[dict[str, str]] = []
        for name, how, optional in spec.fields:
            value = line.get(name)
            if value is None:
                if not optional:
                    raise ValueError(f"it does not say {name}")
                row.append(None)
            elif how == _DAY:
                leaf[name] = self._day(value)
                row.append(value)
            elif how == _TEXT and type(value) is str and value.isascii():
                leaf[name] = value
                row.append(value)
            elif how == _ROWS:
                readings = leaf[name] = _readings(value)
            else:
                leaf[name], kept = self._value(name, how, value)
                row.append(kept)
        strange = line.keys() - leaf.keys()
        if strange:
            raise ValueError(f"it says {', '.join(sorted(strange))}, which a {kind} does not")
        hashed = leaf_hash(_ENCODE(leaf).encode())
        self._frontier = pushed(self._frontier, self.size, bytes.fromhex(hashed))
        self.size, self._last = number, at
        van = line.get("van")
        self._add(tables.record, (number, kind, van, at, by, hashed))
        self._add(spec.table, tuple(row))
        for place, read in enumerate(readings, 1):
            self._add(
                tables.readings,
                (van, number, place, read["what"], read.get("place"), read["figure"]),
            )
        if not number % _BATCH:
            self.flush()

    def _value(self, name: str, how: int, value: Any) -> tuple[Any, Any]:
        """What a leaf says of a value, and what its column keeps."""
        of: Any = type(value)
        if of is not _TYPE[how]:
            raise ValueError(f"{name} is not what it should be")
        if how == _WORDS:
            made = self._committed(value)
            return made, made
        if how == _NAMES:
            names = [_nfc(one) for one in value]
            return names, _ENCODE(names)
        if how == _TEXT:
            text = _nfc(value)
            return text, text
        if not -(2**31) <= value < 2**31:
            raise ValueError(f"{name} is out of all bounds")
        return value, int(value)

    def _day(self, text: Any) -> str:
        """A day that is one; each is looked at once."""
        if text not in self._days:
            if dt.date.fromisoformat(text).isoformat() != text:
                raise ValueError(f"{text} is not a day")
            self._days.add(text)
        return str(text)

    def _committed(self, told: dict[str, str]) -> str:
        """The commitment to a name or words; their row is kept once."""
        if "erased" in told:
            made = told["erased"]
            if not _DIGEST.fullmatch(made):
                raise ValueError("what was erased left no commitment")
            row: tuple[Any, ...] = (made, None, None)
            self._emptied += made not in self._commitments
        else:
            salt, text = told["salt"], told["text"]
            known = self._said.get((salt, text))
            if known:
                return known
            if not _SALT.fullmatch(salt):
                raise ValueError("a salt is 32 hex digits")
            made = self._said[salt, text] = commitment(salt, text)
            row = (made, salt, text)
        if made not in self._commitments:
            self._commitments.add(made)
            self._add(tables.said, row)
        return made

    def unasked(self, connection: sa.Connection) -> Iterator[str]:
        """Rules, papers and emptied names that no record accounts for, and rules that are missing:
        the root says nothing of these."""
        adopted = set(connection.execute(sa.select(tables.TABLES[Adoption].c.digest)).scalars())
        for digest in adopted - self._rulebooks:
            yield f"lacks the rules {digest[:8]} that a record adopts"
        for digest in self._rulebooks - adopted:
            yield f"holds the rules {digest[:8]}, which no record adopts"
        for digest in self._papers - {one.digest for one in papers.asked_for(connection)}:
            yield f"holds the paper {digest[:8]}, which no record asks for"
        erased = tables.TABLES[Erasure].c.emptied
        told = connection.execute(sa.select(sa.func.coalesce(sa.func.sum(erased), 0))).scalar_one()
        if told != self._emptied:
            yield f"has {self._emptied:,} names or words emptied, and erasures tell of {told:,}"

    def flush(self) -> None:
        """Send the rows so far, in the order in which one table rests on another."""
        for table in tables.in_order():
            rows = self._rows.pop(table, None)
            if rows:
                self._connection.exec_driver_sql(self._insert[table], rows)
        if self.size:
            self._connection.execute(
                sa.update(tables.head).values(
                    size=self.size,
                    recorded_at=self._last,
                    root=self.root,
                    frontier=" ".join(one.hex() for one in self._frontier),
                )
            )


def _readings(value: Any) -> list[dict[str, str]]:
    found = []
    for row in value:
        named = {name: _nfc(row[name]) for name in ("what", "place", "figure") if name in row}
        if len(named) != len(row):
            raise ValueError("a reading says more than what, place and figure")
        found.append(named)
    return found
