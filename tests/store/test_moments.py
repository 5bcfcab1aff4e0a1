"""A clock that was ahead once is named, and an answer as known on a day says what it leaves out."""

from __future__ import annotations

import contextlib
import datetime as dt
import io
import shlex

import openpyxl
import pytest

from fleetcare import clock
from fleetcare.cli.app import cli
from fleetcare.desk import keep, papers, trust
from fleetcare.desk.asking import KnownAt
from fleetcare.store import moments
from fleetcare.store.engine import reading
from tests.typed import typed_all
from tests.vans import GOOD

TRUE = dt.datetime(2026, 8, 1, 9, 30, 15, 123_456, dt.UTC)
WRONG = dt.datetime(2027, 3, 1, 12, 0, 7, 482_913, dt.UTC)
SAID = "the clock was ahead when #{} was written down: {} bear moments from Mon 1 Mar 2027 12:00 UTC on"


def _at(place: str, moment: dt.datetime, line: str) -> tuple[str, str]:
    """A line typed at a moment, and what it prints on either stream."""
    out, err = io.StringIO(), io.StringIO()
    with (
        clock.standing_at(moment),
        contextlib.redirect_stdout(out),
        contextlib.redirect_stderr(err),
    ):
        cli.main(
            ["--db", place, "--as", "T", *shlex.split(line)], "fleetcare", standalone_mode=False
        )
    return out.getvalue(), err.getvalue()


@pytest.fixture
def wrong(place: str) -> tuple[str, int]:
    """A book in which one command was typed by a clock seven months ahead, and two after it was put
    right; and the number of the first of them."""
    with clock.standing_at(TRUE - dt.timedelta(days=1)):
        keep.init(place, "Test")
    typed_all(place, GOOD, dt.date(2026, 8, 1))
    size = trust.verify(place).head.size
    right = TRUE + dt.timedelta(days=1)
    _at(place, right, 'event V01 knock --on 2026-08-02 "gate"')
    _at(place, WRONG, 'defect report V01 --on 2026-08-02 --grade minor "blind sticks"')
    _at(place, right, 'defect report V01 --on 2026-08-02 --grade minor "step loose"')
    _at(place, right + dt.timedelta(days=3), 'hold V01 --from 2026-08-06 "step being mended"')
    return place, size + 2


def _cautions(place: str, now: dt.datetime) -> list[str]:
    with clock.standing_at(now):
        found = trust.verify(place)
    assert found.faults == []
    assert found.found.sound
    return found.cautions


def test_moments_still_to_come_are_named(wrong: tuple[str, int]) -> None:
    """Seen while the wrong moment lies ahead of now: from the first to the last record of it."""
    place, first = wrong
    said = SAID.format(first, f"#{first} to #{first + 2}")

    assert _cautions(place, TRUE + dt.timedelta(days=9)) == [
        f"{said}. What was known then is asked by a size, like --known-at @{first + 2}"
    ]


def test_moments_that_later_ones_had_to_follow_are_named(wrong: tuple[str, int]) -> None:
    """The true time has come since, and records of it are not among them."""
    place, first = wrong
    _at(place, WRONG + dt.timedelta(days=2), 'event V01 knock --on 2027-03-03 "post"')
    said = SAID.format(first, f"#{first} to #{first + 2}")

    assert _cautions(place, WRONG + dt.timedelta(days=30)) == [
        f"{said}. What was known then is asked by a size, like --known-at @{first + 2}"
    ]


def test_one_record_of_a_clock_ahead_is_named_alone(place: str) -> None:
    """Nothing followed it yet."""
    with clock.standing_at(WRONG):
        keep.init(place, "Test")
    with clock.standing_at(TRUE), reading(place) as connection:
        assert moments.ahead(connection, clock.now()) == [moments.Ahead(1, WRONG, 1)]

    assert _cautions(place, TRUE) == [
        "the clock was ahead when #1 was written down: #1 bears Mon 1 Mar 2027 12:00 UTC. "
        "What was known then is asked by a size, like --known-at @1"
    ]


def test_records_of_one_command_may_run_ahead_of_a_coarse_clock(place: str) -> None:
    """Two written at one reading of the clock, looked at by the same: no wrong clock."""
    with clock.standing_at(TRUE - dt.timedelta(days=1)):
        keep.init(place, "Test")
    _at(place, TRUE, 'inspector add "A. Fitter" --scope extinguisher --from 2015-01-01')

    assert _cautions(place, TRUE) == []


def test_a_book_whose_clock_was_right_bears_no_caution(sample_book: str) -> None:
    """Three years of a firm; two commands of one whole minute, set by hand, are no wrong clock."""
    assert _cautions(sample_book, dt.datetime(2026, 11, 24, tzinfo=dt.UTC)) == []


QUESTIONS = {
    "due": ("out", "Note"),
    "hireable V01 --from 2026-08-10 --through 2026-08-12": ("out", "Caution"),
    "why V01 open-defects": ("err", "Caution"),
    "history V01": ("err", "Caution"),
    "van list": ("err", "Caution"),
    "van show V01": ("err", "Caution"),
}


@pytest.mark.parametrize("line", QUESTIONS)
def test_an_answer_as_known_on_a_day_says_what_it_leaves_out(
    wrong: tuple[str, int], line: str
) -> None:
    """Three records written by then bear later moments: said with the answer, whatever was asked.
    A size goes by no clock, and what came before the wrong moment is said in full."""
    place, first = wrong
    now = TRUE + dt.timedelta(days=9)
    where, word = QUESTIONS[line]
    said = SAID.format(first, f"#{first} to #{first + 2}")
    told = (
        f"{word}: {said}, left out here whenever written down. Ask by a size, like "
        f"--known-at @{first + 2}"
    )
    asked = f"{line} --on 2026-08-09"
    by_day = _at(place, now, f"{asked} --known-at 2026-08-09")
    by_size = _at(place, now, f"{asked} --known-at @{first + 2}")

    assert told in " ".join(by_day[where == "err"].split())  # folded to the width of a page
    assert "the clock was ahead" not in "".join(by_size)
    assert "step loose" not in by_day[0]


def test_the_workbook_says_what_it_leaves_out(wrong: tuple[str, int]) -> None:
    """On its first sheet, beside how many records it rests on."""
    place, first = wrong
    day = dt.date(2026, 8, 9)
    known_at = KnownAt(moment=dt.datetime(2026, 8, 9, 23, 59, tzinfo=dt.UTC))
    with clock.standing_at(TRUE + dt.timedelta(days=9)):
        _, data = papers.insurers(place, day, known_at)
    rows = openpyxl.load_workbook(io.BytesIO(data)).worksheets[0].iter_rows(values_only=True)
    said = SAID.format(first, f"#{first} to #{first + 2}")

    assert [row[1] for row in rows if row[0] == "As known then"] == [
        f"as known with the first {first - 1} of {first + 2} records",
        f"{said}, left out here whenever written down. Ask by a size, like --known-at @{first + 2}",
    ]
