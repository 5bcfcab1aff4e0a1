"""Appending: numbers without a gap, moments that only rise, words put aside, nothing lost."""

from __future__ import annotations

import datetime as dt
import threading

import pytest
import sqlalchemy as sa

from fleetcare.errors import DatabaseFault
from fleetcare.merkle import leaf_hash
from fleetcare.records.kinds import Check, Hire, Inspector, Reading, VanFacts, Withdrawal
from fleetcare.records.leaf import commitment, leaf_bytes
from fleetcare.store import facts as stored
from fleetcare.store import tables
from fleetcare.store.append import Writer
from fleetcare.store.engine import reading, writing
from fleetcare.store.walk import fleet_facts

DAY = dt.date(2026, 3, 2)


def _write(place: str, *records: object) -> list[object]:
    with writing(place) as connection:
        writer = Writer(connection, "Ann")
        made = [writer.append(record) for record in records]
        writer.flush()
    return made


def test_numbers_are_one_row_over_all_kinds(place: str) -> None:
    """Inspectors, vans and checks are numbered together, and the head knows how many there are."""
    _write(place, Inspector(0, "A. Fitter"), VanFacts(0, "V01"))
    _write(place, Check(0, "V01", "tyres", DAY))

    with reading(place) as connection:
        rows = connection.execute(
            sa.select(tables.record.c.number, tables.record.c.kind, tables.record.c.van).order_by(
                tables.record.c.number
            )
        ).all()
        assert [tuple(row) for row in rows] == [
            (1, "inspector", None),
            (2, "van", "V01"),
            (3, "check", "V01"),
        ]
        assert stored.size_of(connection) == 3


def test_a_write_that_fails_leaves_no_number_behind(place: str) -> None:
    """All or nothing: the next record takes the number the failed one would have had."""

    def fail() -> None:
        with writing(place) as connection:
            writer = Writer(connection, "Ann")
            writer.append(VanFacts(0, "V01"))
            writer.flush()
            raise KeyError("power cut")

    with pytest.raises(KeyError):
        fail()

    assert _write(place, VanFacts(0, "V02"))[0].number == 1
    with reading(place) as connection:
        assert stored.vans_of(connection) == ["V02"]


def test_moments_rise_whatever_the_clock_does(place: str) -> None:
    """A clock that runs back gives the moment after the last one, so number order is time order."""
    clock = iter(
        [dt.datetime(2026, 3, 2, 12, tzinfo=dt.UTC)] + [dt.datetime(2020, 1, 1, tzinfo=dt.UTC)] * 3
    )
    with writing(place) as connection:
        writer = Writer(connection, "Ann", now=lambda: next(clock))
        for number in range(3):
            writer.append(VanFacts(0, f"V{number}"))
        writer.flush()

    with reading(place) as connection:
        assert list(
            connection.execute(
                sa.select(tables.record.c.recorded_at).order_by(tables.record.c.number)
            ).scalars()
        ) == [
            "2026-03-02T12:00:00.000000Z",
            "2026-03-02T12:00:00.000001Z",
            "2026-03-02T12:00:00.000002Z",
        ]


def test_every_leaf_is_that_of_the_record_as_read_back(place: str) -> None:
    """What is read from the tables hashes to the leaf, on either engine: dates, flags, lists,
    readings and figures come back to the digit."""
    _write(
        place,
        Inspector(0, "Zoë Ångström"),
        VanFacts(
            0,
            "V01",
            None,
            plate="QI24 QIQ",
            first_registered_on=DAY,
            lpg=True,
            mains=False,
            max_mass="3500.0kg",
            places=("gas-hose:a", "appliance:hob"),
            seats=4,
        ),
        Check(
            0,
            "V01",
            "tyres",
            DAY,
            at="09:05",
            by="B. Smith",
            outcome="pass",
            readings=(Reading("tread", "front-left", "5.20mm"), Reading("tread", "spare", "4mm")),
        ),
        Hire(0, "V01", "H1", DAY, DAY, bike_kg=("24.50",)),
        Withdrawal(0, 4, "double", "V01"),
    )

    with reading(place) as connection:
        rows = connection.execute(sa.select(tables.record)).all()
        assert len(rows) == 5
        for row in rows:
            _, _, record = stored.find_record(connection, row.number)
            at = dt.datetime.fromisoformat(row.recorded_at)
            assert leaf_hash(leaf_bytes(record, at, row.recorded_by)) == row.leaf


def test_words_stand_in_one_table_only(empty_place: str) -> None:
    """No name or free word is found in the tables of records, only what commits to it."""
    _write(
        empty_place,
        Inspector(0, "Unmistakable Name"),
        VanFacts(0, "V01"),
        Check(0, "V01", "tyres", DAY, by="Another Name", words="odd remark"),
    )

    with reading(empty_place) as connection:
        for table in tables.metadata.tables.values():
            for row in connection.execute(sa.select(table)):
                text = repr(tuple(row))
                assert ("Name" in text or "remark" in text or "Ann" in text) == (
                    table is tables.said and row.text is not None and text.count("'") > 0
                ), text
        for row in connection.execute(sa.select(tables.said)):
            assert commitment(row.salt, row.text) == row.commitment


def test_four_writers_at_once_lose_nothing(place: str) -> None:
    """Four threads, each reading and writing twenty-five times: a hundred records, no gap, no
    error. By default SQLite would have lost three in four without a word."""
    errors: list[BaseException] = []

    def work(thread: int) -> None:
        try:
            for turn in range(25):
                with writing(place) as connection:
                    before = stored.size_of(connection)
                    writer = Writer(connection, "Ann")
                    made = writer.append(VanFacts(0, f"V{thread}-{turn}"))
                    writer.flush()
                    assert made.number == before + 1
        except BaseException as error:
            errors.append(error)

    threads = [threading.Thread(target=work, args=(n,)) for n in range(4)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()

    assert errors == []
    with reading(place) as connection:
        assert stored.size_of(connection) == 100
        assert list(
            connection.execute(
                sa.select(tables.record.c.number).order_by(tables.record.c.number)
            ).scalars()
        ) == list(range(1, 101))


def test_a_reader_is_not_stopped_by_a_writer(place: str) -> None:
    """While a write stands open, a question is answered from the book as it was."""
    _write(place, VanFacts(0, "V01"))
    with writing(place) as connection:
        writer = Writer(connection, "Ann")
        writer.append(VanFacts(0, "V02"))
        writer.flush()
        with reading(place) as other:
            assert stored.vans_of(other) == ["V01"]
    with reading(place) as connection:
        assert stored.vans_of(connection) == ["V01", "V02"]


def test_a_locked_book_says_so_and_writes_nothing(empty_place: str, monkeypatch) -> None:
    """A second writer that waited its time is told that the book is locked."""
    monkeypatch.setattr("fleetcare.store.engine.WAIT_SECONDS", 0)

    def second() -> None:
        with writing(empty_place), writing(empty_place):
            pass

    with pytest.raises(DatabaseFault) as fault:
        second()

    assert str(fault.value) == (
        f'"{empty_place}" is locked by another program. Nothing was written or answered; tried '
        "for 0 seconds. Try again when it is done."
    )


def test_one_van_reads_as_it_does_among_all(place: str) -> None:
    """The facts of one van asked alone are those handed out with the fleet, corrections too."""
    made = _write(
        place,
        Inspector(0, "A"),
        VanFacts(0, "V02", plate="QI2 QIQ"),
        VanFacts(0, "V01"),
        VanFacts(0, "v01"),
        VanFacts(0, "V10"),
        Check(0, "V01", "tyres", DAY, readings=(Reading("tread", "spare", "4mm"),)),
        Check(0, "V02", "tyres", DAY),
        Check(0, "V01", "damp", DAY),
        Check(0, "V01", "damp", dt.date(2026, 4, 1)),
    )
    _write(
        place,
        Withdrawal(0, made[7].number, "read again", "V01", made[8].number),
        Withdrawal(0, made[6].number, "slip", "V02"),
    )

    with reading(place) as connection:
        fleet = list(fleet_facts(connection))
        assert [f.van for f in fleet] == ["V01", "V02", "V10", "v01"]
        alone = [stored.facts_of(connection, f.van) for f in fleet]
        assert [f._replace(corrected={}) for f in fleet] == [
            f._replace(corrected={}) for f in alone if f
        ]
        first = fleet[0]
        assert [(c.number, c.on) for c in first.checks] == [(6, DAY), (8, dt.date(2026, 4, 1))]
        assert first.corrected == {8: 9}
        assert fleet[1].checks == []
