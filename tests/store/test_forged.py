"""A book forged whole: a failed MOT made a pass, and its tree worked out anew, is sound by itself.
What shows it is a tally kept elsewhere, and only one with enough of its root."""

from __future__ import annotations

import datetime as dt
import sqlite3
from contextlib import closing
from pathlib import Path
from typing import Any

import pytest

from fleetcare.desk import questions, trust
from fleetcare.desk.asking import asking
from fleetcare.merkle import frontier_of, leaf_hash, pushed, root_of
from fleetcare.records.leaf import leaf_bytes, utc_text
from fleetcare.store.facts import find_record
from fleetcare.store.ledger import leaves_of
from tests.typed import typed

ON = dt.date(2026, 8, 1)
AGREED = 16  # bits the forgery here agrees with, in a second; 32 took five minutes


@pytest.fixture
def printed(good: str) -> tuple[str, str, str]:
    """A book whose last record is a failed MOT; its tally as printed that day, and its root."""
    typed(good, "record V01 mot --fail --by Tester --certificate T1", ON)
    before = trust.status(good)
    return good, f"{before.records} {before.tally}", before.root


def _forge(place: str, root: str) -> int:
    """Make the fail of the last record a pass, at a moment with which the printed root begins as it
    did, and all that follows from it. Gives its number."""
    with asking(place) as asked:
        *leaves, _ = leaves_of(asked.connection)
        number = len(leaves) + 1
        found = find_record(asked.connection, number)
        assert found is not None
    forged = found[2]._replace(outcome="pass")
    with closing(sqlite3.connect(place)) as book:
        query = "SELECT recorded_at, recorded_by FROM record WHERE number = ?"
        ((at, by),) = book.execute(query, (number,)).fetchall()
        made = _agreeing(forged, dt.datetime.fromisoformat(at), by, leaves, root)
        triggers = book.execute("SELECT name, sql FROM sqlite_master WHERE type = 'trigger'")
        kept = triggers.fetchall()
        for name, _ in kept:
            book.execute(f'DROP TRIGGER "{name}"')
        book.execute("UPDATE checks SET outcome = 'pass' WHERE number = ?", (number,))
        book.execute(
            "UPDATE record SET recorded_at = ?, leaf = ? WHERE number = ?", (*made[:2], number)
        )
        book.execute(
            "UPDATE ledger_head SET recorded_at = ?, root = ?, frontier = ?", made[:1] + made[2:]
        )
        for _, sql in kept:
            book.execute(sql)
        book.commit()
    return number


def _agreeing(
    record: Any, at: dt.datetime, by: str, leaves: list[bytes], root: str
) -> tuple[str, str, str, str]:
    """A moment at which a record gives a tree whose root begins as another: with its leaf, root and
    frontier."""
    before = frontier_of(leaves)
    for later in range(1, 1_000_000):
        moment = at + dt.timedelta(microseconds=later)
        leaf = leaf_hash(leaf_bytes(record, moment, by))
        frontier = pushed(before, len(leaves), bytes.fromhex(leaf))
        found = root_of(frontier).hex()
        if found[: AGREED // 4] == root[: AGREED // 4]:
            return utc_text(moment), leaf, found, " ".join(one.hex() for one in frontier)
    raise AssertionError("no moment of a second agrees")


def test_a_forged_book_is_refused_by_the_tally_and_called_a_hint_by_a_piece_of_it(
    printed: tuple[str, str, str], tmp_path: Path
) -> None:
    """By itself it holds, and the van's MOT is in date. The printed tally refuses it; the digits it
    was forged to agree with are called a hint and no proof, and so are 32 bits of a true tally."""
    place, tally, root = printed
    size = tally.split()[0]
    true = trust.verify(place, (f"{size} {root[:8]}",))
    stood = questions.why_rule(place, "V01", "mot", ON)[0].standing
    _forge(place, root)
    alone = trust.verify(place)
    whole = trust.verify(place, (tally,))
    piece = trust.verify(place, (f"{size} {root[: AGREED // 4]}",))

    assert stood == "failed"
    assert questions.why_rule(place, "V01", "mot", ON)[0].standing == "in date"
    assert (alone.faults, alone.found.sound) == ([], True)
    assert whole.faults == [f"the first {size} records are not those of the tally {tally!r}"]
    for found, bits in ((true, 32), (piece, AGREED)):
        assert (found.faults, found.found.sound, len(found.held)) == ([], False, 1)
        assert found.found.hints == [
            f"the first {size} records agree with the {bits} bits of the tally "
            f"'{size} {root[: bits // 4]}', which is a hint and no proof: a book can be forged to "
            "agree with fewer than 64 bits. Give a tally with more of its root"
        ]


def test_a_witness_shows_where_a_forged_book_was_changed(
    printed: tuple[str, str, str], tmp_path: Path
) -> None:
    """No tally need be kept or typed: the file it was told by the way names the line that no longer
    holds, and the records between it and the line before."""
    place, _, root = printed
    file = tmp_path / "witness.jsonl"
    typed(place, f"witness --to {file}", ON)
    typed(place, "odometer V01 42400mi", ON)
    typed(place, "record V01 mot --fail --by Tester --certificate T2", ON)
    typed(place, "witness", ON)
    before = trust.verify(place, (), (str(file),))
    number = _forge(place, root)
    after = trust.verify(place, (), (str(file),))

    assert (before.found.sound, after.found.sound, number) == (True, False, 32)
    assert after.faults == [
        f'"{file}", line 2: the first 32 records are not those it saw on Sat 1 Aug 2026. Line 1 '
        "holds, so what was changed stands among #31 to #32"
    ]
