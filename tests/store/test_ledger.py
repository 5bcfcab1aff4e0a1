"""The ledger finds what was touched behind the program's back, and names the record."""

from __future__ import annotations

import datetime as dt
import json
import sqlite3
from pathlib import Path

import pytest
import sqlalchemy as sa

from fleetcare import merkle
from fleetcare.desk import trust
from fleetcare.errors import Refused, UsageFault
from fleetcare.store import ledger, tables
from fleetcare.store.engine import reading
from tests.typed import typed, typed_all
from tests.vans import GOOD, TREAD

ON = dt.date(2026, 8, 1)


@pytest.fixture
def book(good: str) -> str:
    """A book with a bit of everything in it."""
    typed_all(
        good,
        [
            f'record V01 walkaround --by "Yard" {TREAD}',
            'defect report V01 --grade major "Wiper torn"',
            'correct 21 --on 2025-07-10 "read again"',
            'hold V01 --from 2026-08-04 "windscreen"',
        ],
        ON,
    )
    return good


def _touch(place: str, statement: str) -> None:
    """Change a row as somebody with the file and a database program would."""
    connection = sqlite3.connect(place)
    triggers = "SELECT name FROM sqlite_master WHERE type = 'trigger'"
    for (name,) in connection.execute(triggers).fetchall():
        connection.execute(f'DROP TRIGGER "{name}"')
    connection.execute(statement)
    connection.commit()
    connection.close()


def test_a_book_nobody_touched_holds(book: str) -> None:
    """Every record is its leaf, and the head is the tree of them all."""
    with reading(book) as connection:
        assert list(ledger.faults(connection)) == []
        head = ledger.head_of(connection)
        assert head.root == merkle.root_of(merkle.frontier_of(ledger.leaves_of(connection))).hex()
        size = connection.execute(
            sa.select(sa.func.count()).select_from(tables.record)
        ).scalar_one()
    assert head.size == size


@pytest.mark.parametrize(
    ("statement", "fault"),
    [
        (
            "UPDATE checks SET certificate = 'G9' WHERE number = 21",
            "#21 (check): its fields are not those it was written down with",
        ),
        (
            "UPDATE readings SET figure = '9.9mm' WHERE number = 30 AND line = 1",
            "#30 (check): its fields are not those it was written down with",
        ),
        (
            "UPDATE record SET recorded_at = '2026-08-01T12:00:00.000099Z' WHERE number = 31",
            "#31 (defect): its fields are not those it was written down with",
        ),
        ("DELETE FROM defects WHERE number = 31", "#31 (defect): its fields are missing"),
        ("DELETE FROM record WHERE number = 21", "#21 is missing"),
        (
            "UPDATE said SET text = 'Wiper new' WHERE text = 'Wiper torn'",
            "a name or words of #31 were changed: they are not those committed to",
        ),
        (
            "UPDATE ledger_head SET root = frontier",
            "the root at the head is not that of the leaves",
        ),
        (
            "UPDATE record SET leaf = 'no hash' WHERE number = 3",
            "#3: its leaf is no hash",
        ),
        (
            "UPDATE checks SET \"on\" = '2026-99-99' WHERE number = 21",
            "#21 (check): a day or a list of it cannot be read",
        ),
        (
            "INSERT INTO gone (number, van, \"on\", words) SELECT 31, 'V01', '2026-01-01', words"
            " FROM defects",
            '"gone" holds rows that are no record: #31',
        ),
    ],
)
def test_what_was_touched_is_found_and_named(book: str, statement: str, fault: str) -> None:
    """A field, a reading, a moment, a row, a word, a leaf, the root: each is told."""
    _touch(book, statement)
    with reading(book) as connection:
        found = list(ledger.faults(connection))

    assert any(one.startswith(fault) for one in found), found


def test_an_older_tally_is_held_against_the_book(book: str) -> None:
    """What grew by records alone still begins with it; one record changed and it does not."""
    before = trust.status(book)
    typed(book, 'event V01 knock "gate"', ON)
    right = trust.verify(book, (f"{before.records} {before.tally}",))
    longer = trust.verify(book, (f"{before.records}: {before.root}", "999 7F3A-91C0"))
    wrong = trust.verify(book, (f"{before.records} 0000-0000",))

    assert (right.faults, right.found.sound, len(right.held)) == ([], True, 2)
    assert len(longer.held) == 2
    assert longer.faults == [
        "the book holds 35 records, fewer than the 999 of the tally '999 7F3A-91C0'"
    ]
    assert wrong.faults == [
        f"the first {before.records} records are not those of the tally '{before.records} 0000-0000'"
    ]


@pytest.mark.parametrize("before", ["", "@", "Tally "])
@pytest.mark.parametrize("between", [" ", ": ", " records "])
def test_it_is_said_how_much_of_a_root_was_given(book: str, before: str, between: str) -> None:
    """Fewer than 64 bits are a hint, which is no proof; from 64 on they are told."""
    root = trust.status(book).root.upper()
    printed = trust.status(book).tally
    found = {}
    for given in (root[:4], root[:8], root[:15], root[:16], f"{root[:16]}-{root[16:28]}", printed):
        typed_in = f"{before}34{between}{given}"
        verified = trust.verify(book, (typed_in,))
        assert verified.faults == []
        found[given] = (verified.found.hints, verified.held[1:], verified.found.sound)

    for given, bits in zip(found, (16, 32, 60, 64, 112, 128), strict=True):
        named = f"'{before}34{between}{given}'"
        hint = (
            f"the first 34 records agree with the {bits} bits of the tally {named}, which is a "
            "hint and no proof: a book can be forged to agree with fewer than 64 bits. Give a "
            "tally with more of its root"
        )
        proof = (
            f"The first 34 records are those of the tally {named}: {bits} bits of its root agree."
        )
        assert found[given] == (([hint], [], False) if bits < 64 else ([], [proof], True))


@pytest.mark.parametrize(
    "given",
    ["seven", "678 ---------", "678 ", "678", "678 7F3A-91C0-", "678 -7F3A", "7F3A-91C0",
     "678 " + "0" * 65, "٣ 7F3A", "678 7F3A 91C0"],
)  # fmt: skip
def test_what_is_no_tally_cannot_be_read(book: str, given: str) -> None:
    """No root, signs alone, more than a root, digits of another script: exit code 2."""
    with pytest.raises(UsageFault) as fault:
        trust.verify(book, (given,))

    assert str(fault.value) == (
        f'--tally: "{given}" is not a tally: type it as printed, like '
        '"4,812 7F3A-91C0-22D4-0B6E-5A17-C8F3-E049-6BD2"'
    )


def test_a_leaf_that_is_no_hash_is_told_with_a_tally_too(book: str) -> None:
    """The root of then can't be worked out: the leaf is named, and the tally is not held to it."""
    tally = f"34 {trust.status(book).tally}"
    _touch(book, "UPDATE record SET leaf = 'no hash' WHERE number = 3")
    found = trust.verify(book, (tally,))

    assert "#3: its leaf is no hash" in found.faults
    assert found.held == []


def test_a_status_kept_elsewhere_is_held_against_the_book(book: str, tmp_path: Path) -> None:
    """Its file is read for size and root; a file that tells neither is refused, not passed over."""
    before, kept = trust.status(book), tmp_path / "monday.json"
    kept.write_text(json.dumps(before._asdict()))
    typed(book, 'event V01 knock "gate"', ON)
    right = trust.verify(book, (), (str(kept),))
    kept.write_text(json.dumps({"records": before.records, "root": "0" * 64}))
    wrong = trust.verify(book, (), (str(kept),))

    assert right.held[1] == (
        f"The first {before.records} records are those of the tally '{kept}': 256 bits of its root "
        "agree."
    )
    assert right.as_data() == {
        "sound": True,
        "faults": [],
        "size": before.records + 1,
        "root": trust.status(book).root,
        "hints": [],
        "cautions": [],
    }
    assert wrong.faults == [
        f"the first {before.records} records are not those of the tally '{kept}'"
    ]
    says_nothing = (
        'holds no "records" and "root": give what "fleetcare status --json" or "fleetcare witness" '
        "wrote"
    )
    for text in ("[]", "{}", '{"records": true, "root": "%s"}' % ("0" * 64), '{"records": 3}'):
        kept.write_text(text)
        with pytest.raises(Refused) as fault:
            trust.verify(book, (), (str(kept),))
        assert str(fault.value) == f"{kept}: {says_nothing}"


def test_both_engines_have_the_same_root(place: str) -> None:
    """The head row is kept by the same transaction on each, and the book verifies."""
    from fleetcare import chance, clock
    from fleetcare.desk import keep

    with chance.seeded("root"), clock.standing_at(dt.datetime(2026, 8, 1, 12, tzinfo=dt.UTC)):
        keep.init(place, "Test")
        typed_all(place, GOOD, ON)

    assert trust.verify(place).faults == []
    assert _ROOTS.setdefault("first", trust.status(place).root) == trust.status(place).root


_ROOTS: dict[str, str] = {}
