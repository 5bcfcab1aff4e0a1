"""Tread and damp to come, as the clerk and the workshop meet them: told, and stopping nothing."""

from __future__ import annotations

import datetime as dt

from tests.typed import typed, typed_all

DAY = dt.date(2026, 12, 1)
READ = [
    f"record V01 damp --on {day} --by B --reading damp:rooflight={figure}"
    for day, figure in (("2025-10-01", 10), ("2026-04-01", 14), ("2026-10-01", 18))
]


def _why(place: str, day: dt.date = DAY) -> str:
    return typed(place, "why V01 damp-trend", day).splitlines()[1].strip()


def test_what_is_to_come_is_told_and_stops_nothing(good: str) -> None:
    """In date to its cautious last day; past it nobody can say, and the van may go."""
    typed_all(good, READ, DAY)
    number = _why(good).split("#")[1].split(")")[0]
    assert _why(good) == (
        f"why     read 18 Thu 1 Oct 2026 (#{number}), 3 readings; sure to Fri 10 Dec 2027"
    )
    typed(good, 'record V01 gas-safety --pass --by "A. Fitter" --certificate G2', DAY)
    line = "hireable V01 --from 2027-02-01 --through 2027-02-08"
    assert "damp to come" not in typed(good, line, DAY)
    later = "record V01 damp --on 2026-12-01 --by B --reading damp:rooflight=29"
    typed(good, later, DAY)
    said = typed(good, line, DAY)
    assert "Caution: damp to come rooflight: cannot say, read 29 Tue 1 Dec 2026" in said
    assert "from the day after it may be over 30: read it again" in said
    assert "Book it? NO" not in said


def test_a_reading_against_the_others_is_told(good: str) -> None:
    """A wall that dried by ten points in a month was read with another meter, or elsewhere."""
    typed_all(good, READ, DAY)
    typed(good, "record V01 damp --on 2026-11-01 --by B --reading damp:rooflight=8", DAY)

    assert "It reads better than the others lead to expect: read it again" in _why(good)


def test_time_that_passes_without_a_reading_moves_nothing(good: str) -> None:
    """Asked a year later the last sure day is the same."""
    typed_all(good, READ, DAY)
    assert _why(good) == _why(good, dt.date(2027, 11, 30))
