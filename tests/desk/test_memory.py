"""What a process remembers of its vans is what it would judge anew, whoever wrote meanwhile."""

from __future__ import annotations

import datetime as dt
import os
import shutil
import threading
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from fleetcare import clock
from fleetcare.cli.demo import run
from fleetcare.desk import memory, sample
from fleetcare.desk.asking import asking
from fleetcare.rules.outcome import Judgement
from tests.typed import typed

DAY = dt.date(2026, 11, 23)
PENCILLED = "V08"  # it has a booking that lapses by the hour


@pytest.fixture(autouse=True)
def _forgetting() -> Iterator[None]:
    """Nothing is remembered by the tests that come after."""
    before = dict(memory._MEMORIES)
    yield
    memory._MEMORIES.clear()
    memory._MEMORIES.update(before)


def _judged(place: str) -> list[Judgement]:
    with asking(place) as asked:
        return list(asked.fleet())


def _anew(place: str) -> list[Judgement]:
    """The same by a process that remembers nothing."""
    kept = memory._MEMORIES.pop(place)
    try:
        return _judged(place)
    finally:
        memory._MEMORIES[place] = kept


def _said(fleet: list[Judgement]) -> list[Any]:
    return [
        (one.known.facts, one.service, one.as_of, one.book.digest, one.outcomes) for one in fleet
    ]


def test_every_write_of_a_year_is_seen_by_the_next_question(tmp_path: Path) -> None:
    """The sample is typed by other processes line by line; after each every van is asked for."""
    place, again, lines = str(tmp_path / "sample.db"), [], []

    def typed_elsewhere(words: list[str]) -> None:
        run(words)
        lines.append(words)
        if "init" in words:
            memory.remember(place)
        if len(lines) < 40 or len(lines) % 7 == 0:
            before = {one.van: one.known for one in _judged(place)}
            assert _said(_judged(place)) == _said(_anew(place)), words
            again.append(sum(one.known is before[one.van] for one in _judged(place)))

    sample.build(Path(place), typed_elsewhere)
    assert len(lines) > 300
    assert sum(again) > 400, "it remembered"


def test_a_van_is_judged_anew_where_something_was_written_of_it_and_no_other(
    sample_book: str,
) -> None:
    """A hold renews one van, a person all of them, another day all of them."""
    memory.remember(sample_book)
    with clock.standing_at(dt.datetime(2026, 11, 23, 9, tzinfo=dt.UTC)):
        before = {one.van: one for one in _judged(sample_book)}
        typed(sample_book, "hold V01 --from 2026-11-23 'strange noise'", DAY)
        after = {one.van: one for one in _judged(sample_book)}
        assert after["V01"].known is not before["V01"].known
        assert [o for o in after["V01"].outcomes if o not in before["V01"].outcomes]
        others = [van for van in after if van not in ("V01", PENCILLED)]
        assert others
        assert all(after[van].known is before[van].known for van in others)
        assert {one.as_of.known_at for one in after.values()} == {
            before["V01"].as_of.known_at + 1
        }, "each says how much the book holds now"
        with asking(sample_book) as asked:
            assert asked.judged("V01").known is after["V01"].known
        typed(sample_book, "inspector add 'N. Newcomer'", DAY)
        newer = {one.van: one for one in _judged(sample_book)}
        assert all(newer[van].known is not after[van].known for van in newer)
    with clock.standing_at(dt.datetime(2026, 11, 24, 9, tzinfo=dt.UTC)):
        assert all(one.known is not newer[one.van].known for one in _judged(sample_book))


def test_another_book_put_in_its_place_is_not_taken_for_it(
    sample_book: str, tmp_path: Path
) -> None:
    """An older copy put back, and written to until it is as long as the one remembered."""
    older = tmp_path / "older.db"
    shutil.copy(sample_book, older)
    memory.remember(sample_book)
    typed(sample_book, "hold V01 --from 2026-11-23 'strange noise'", DAY)
    stopped = _said(_judged(sample_book))
    os.replace(older, sample_book)
    assert _said(_judged(sample_book)) == _said(_anew(sample_book)) != stopped
    typed(sample_book, "odometer V02 99000mi --even-so 'read twice'", DAY)
    found = _judged(sample_book)
    assert len(found) == len(stopped)
    assert _said(found) == _said(_anew(sample_book))
    typed(sample_book, "odometer V02 99100mi", DAY)
    assert _said(_judged(sample_book)) == _said(_anew(sample_book))


def test_a_question_that_began_before_a_write_is_answered_as_it_began(sample_book: str) -> None:
    """What another thread saw meanwhile is not told to it."""
    memory.remember(sample_book)
    with asking(sample_book) as asked:
        typed(sample_book, "hold V01 --from 2026-11-23 'strange noise'", DAY)
        newer = threading.Thread(target=_judged, args=(sample_book,))
        newer.start()
        newer.join()
        assert asked.judged("V01").as_of.known_at == asked.as_of.known_at
        assert not asked.judged("V01").of_records("holds")
    with asking(sample_book) as asked:
        assert asked.judged("V01").of_records("holds")


def test_a_booking_that_lapses_by_the_hour_is_not_remembered(sample_book: str) -> None:
    """A pencilled booking is asked by the minute."""
    memory.remember(sample_book)
    typed(
        sample_book,
        "hire add V01 --from 2027-09-10 --through 2027-09-14 --ref P1 --pencilled --even-so 'a test'",
        DAY,
    )
    first = {one.van: one.known for one in _judged(sample_book)}
    then = {one.van: one.known for one in _judged(sample_book)}
    assert [van for van in first if first[van] is not then[van]] == ["V01", PENCILLED]


def test_what_is_not_served_is_not_remembered(sample_book: str) -> None:
    """The terminal judges anew each time."""
    with asking(sample_book) as asked:
        assert asked.kept is None
        assert asked.judged("V01").known is not asked.judged("V01").known


def test_as_known_earlier_nothing_is_remembered(sample_book: str) -> None:
    """A question about an earlier size reads what was there."""
    from fleetcare.desk.asking import KnownAt

    memory.remember(sample_book)
    with asking(sample_book) as asked:
        size = asked.as_of.known_at
    with asking(sample_book, KnownAt(size)) as asked:
        assert asked.kept is None


def test_no_more_vans_are_remembered_than_it_may(
    sample_book: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Those kept longest are let go of; a fleet of more is walked through as ever."""
    monkeypatch.setattr(memory, "MOST", 1)
    memory.remember(sample_book)
    with asking(sample_book) as asked:
        assert asked.kept is not None
        assert asked.kept.vans() is None
        first = asked.judged("V01").known
        assert asked.judged("V01").known is first
        asked.judged("V02")
        assert asked.judged("V01").known is not first
    assert _said(_judged(sample_book)) == _said(_anew(sample_book))
