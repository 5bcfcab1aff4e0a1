"""Every kind of record can be put right or taken back, and nothing known earlier changes by it."""

from __future__ import annotations

import datetime as dt
from collections import Counter
from pathlib import Path
from typing import Any

import pytest
import sqlalchemy as sa
from hypothesis import given, settings
from hypothesis import strategies as st

from fleetcare.desk import calls, correct, questions, trust
from fleetcare.desk.asking import KnownAt, asking
from fleetcare.desk.correct import NEVER_TAKEN_BACK, _open_fields
from fleetcare.errors import FleetcareError, Refused
from fleetcare.records.fields import Is
from fleetcare.records.kinds import KIND_OF, KINDS
from fleetcare.rules.party import NO_BIKES
from fleetcare.store import facts as stored
from fleetcare.store import tables
from tests.typed import typed, typed_all

DAY = dt.date(2026, 11, 23)
SIZES = (120, 333, 512, 700, 791)


def _known(place: str) -> list[Any]:
    """Every van's due items and days as known at five earlier sizes."""
    found: list[Any] = []
    for size in SIZES:
        found.append(questions.due(place, DAY, 600, KnownAt(size=size)).items)
        with asking(place, KnownAt(size=size)) as asked:
            found += [(j.van, j.service, j.hireable_days()) for j in asked.fleet()]
    return found


@pytest.fixture
def whole(sample_book: str, tmp_path: Path) -> str:
    """The sample with what it lacks: a scan of each sort, a van that is gone, a place emptied."""
    (tmp_path / "a.pdf").write_bytes(b"%PDF-1.7")
    typed_all(
        sample_book,
        [
            f"attach 75 {tmp_path}/a.pdf",
            f"attach 3 {tmp_path}/a.pdf",
            "take-off V02 fire-blanket kitchen",
            'van gone V12 --on 2026-11-23 "sold"',
            'hire waive H143 stood "looked over" --by "Odo Thackwray"',
            'hire waive H138 stood "looked over" --by "Odo Thackwray"',
            "fit V03 gas-hose locker-1 --made 2026-09",
            'record V01 damp --reading damp:rooflight=9 --by "N. Body"',
            'inspector add "N. Body" --theirs',
        ],
        DAY,
    )
    return sample_book


def _numbers(place: str, kind: str) -> list[int]:
    with asking(place) as asked:
        record = tables.record.c
        query = sa.select(record.number).where(record.kind == kind).order_by(record.number.desc())
        return list(asked.connection.execute(query).scalars())


_NEW: dict[Is, Any] = {
    Is.DAY: dt.date(2026, 11, 20), Is.CLOCK: "07:07", Is.WORD: "other", Is.COUNT: 1, Is.FLAG: False,
    Is.MEASURE: "70001mi", Is.NAMES: ("other",), Is.PERSON: "Other Name", Is.SAID: "other words",
}  # fmt: skip


def _corrected(place: str, kind: str) -> bool:
    """Put some record of a kind right in some field; what is refused is left for the next."""
    for number in _numbers(place, kind)[:12]:
        for field in _open_fields(KINDS[kind]).values():
            if field.holds in _NEW:
                try:
                    said = correct.Correction({field.name: _NEW[field.holds]})
                    correct.correct(place, "Test", number, "why", said)
                    return True
                except FleetcareError:
                    continue
    return False


def _withdrawn(place: str, kind: str) -> bool:
    for number in _numbers(place, kind)[:40]:
        try:
            correct.withdraw(place, "Test", number, "why")
            return True
        except Refused:
            continue
    return False


def test_every_kind_is_corrected_and_taken_back_and_nothing_earlier_changes(whole: str) -> None:
    """Some record of each kind put right, another withdrawn: what was known at five earlier sizes
    is answered alike afterwards, and every leaf still holds."""
    from fleetcare import clock

    never = {KIND_OF[record] for record in NEVER_TAKEN_BACK}
    before = _known(whole)
    with clock.standing_at(dt.datetime(2026, 11, 23, 12, tzinfo=dt.UTC)):
        kinds = [kind for kind in KINDS if kind not in never]
        assert [kind for kind in kinds if not _numbers(whole, kind)] == []
        open_to = [
            k for k in kinds if any(f.holds in _NEW for f in _open_fields(KINDS[k]).values())
        ]
        assert [kind for kind in open_to if not _corrected(whole, kind)] == []
        assert [kind for kind in kinds if not _withdrawn(whole, kind)] == []

    assert _known(whole) == before
    assert trust.verify(whole).faults == []


def test_what_was_said_of_other_records_is_not_taken_back(whole: str) -> None:
    """A withdrawal, an adoption, an answer, an erasure: each is refused with what to do instead."""
    for record in NEVER_TAKEN_BACK:
        kind = KIND_OF[record]
        if kind == "erasure":
            continue  # the sample holds none; tests/desk/test_erase.py makes them
        number = _numbers(whole, kind)[0]
        with pytest.raises(Refused, match="it is not taken back. Record what is true instead$"):  # noqa: RUF043
            typed(whole, f"withdraw {number} why", DAY)


def test_a_withdrawn_check_takes_its_readings_and_leaves_its_defects(good: str) -> None:
    """The reading no longer counts; the defect it found stays until it is signed off itself."""
    typed(
        good,
        'record V01 tyres --pass --by C --reading tread:front-left=1.2mm --major "tyre bald"',
        dt.date(2026, 8, 1),
    )
    number = _numbers(good, "check")[0]
    typed(good, f'withdraw {number} "another van"', dt.date(2026, 8, 1))
    with asking(good) as asked:
        facts = asked.facts("V01")

    assert [c for c in facts.checks if c.readings] == []
    assert [d.grade for d in facts.defects] == ["major"]


def test_whatever_is_put_right_an_earlier_answer_stays(good: str) -> None:
    """Any record of a book, taken back or put right at any time, one upon another."""
    day = dt.date(2026, 8, 1)
    size = 29  # of the book before the first of these
    ended: Counter[str] = Counter()

    @settings(max_examples=15)
    @given(st.data())
    def holds(data: st.DataObject) -> None:
        earlier = data.draw(st.integers(8, size))
        known = KnownAt(size=earlier)
        before = questions.due(good, day, 600, known).items
        number, fit, check = (data.draw(st.integers(*of)) for of in ((2, size), (7, 20), (21, 29)))
        step = ended.total()  # never what is said already
        line = data.draw(
            st.sampled_from(
                [
                    "withdraw {number} why",
                    "correct {check} --on 2025-07-{step:02} why",
                    "correct {check} --certificate C{step} why",
                    "correct 6 --max-mass 34{step:02}kg why",
                    "correct {fit} --made 2024-01-{step:02} why",
                ]
            )
        ).format(number=number, fit=fit, check=check, step=step % 28 + 1)
        try:
            typed(good, line, day)
            ended["taken"] += 1
        except Refused:
            ended["refused"] += 1

        assert questions.due(good, day, 600, known).items == before

    holds()
    with asking(good) as asked:
        assert asked.as_of.known_at >= size + ended["taken"]
    assert ended["taken"] > ended.total() / 2, ended
    assert ended.total() >= 15


def test_corrections_hold_the_record_to_what_it_was_numbered_for(good: str) -> None:
    """A sign-off of a defect that was corrected afterwards still closes it."""
    day = dt.date(2026, 8, 1)
    typed(good, 'defect report V01 --grade major "lamp out"', day)
    number = _numbers(good, "defect")[0]
    typed(good, f'defect sign-off {number} --by C "new lamp"', day)
    typed(good, f'correct {number} --words "near side lamp out" "which one"', day)
    with asking(good) as asked:
        facts = stored.facts_of(asked.connection, "V01")

    assert facts is not None
    assert [d.number for d in facts.defects] == [number]
    assert (
        questions.hireable(good, "V01", calls.Question(day, day, NO_BIKES, day, None)).hireable
        == "yes"
    )
