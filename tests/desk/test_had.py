"""Who had a van at a moment: by release and return, and perhaps where one was not written down."""

from __future__ import annotations

import datetime as dt

import click
import pytest

from fleetcare.desk import had
from tests.typed import typed

DAY = dt.date(2026, 11, 23)


def _who(place: str, van: str, day: str, at: str | None = None) -> list[tuple[str, str]]:
    return [(one.ref, one.sure) for one in had.who_had(place, van, dt.date.fromisoformat(day), at)]


def test_between_release_and_return_it_is_sure(sample_book: str) -> None:
    """V06 went out as H136 on 19 November at 10:00, and is out."""
    assert _who(sample_book, "V06", "2026-11-19", "09:59") == []
    assert _who(sample_book, "V06", "2026-11-19", "10:00") == [("H136", "yes")]
    assert _who(sample_book, "V06", "2026-11-22") == [("H136", "yes")]


def test_what_was_not_written_down_is_perhaps(sample_book: str) -> None:
    """A day without a time on the day of a release, a booking nobody released, a return overdue."""
    assert _who(sample_book, "V06", "2026-11-19") == [("H136", "perhaps")]
    assert _who(sample_book, "V01", "2026-12-05", "12:00") == [("H141", "perhaps")]
    assert ("H136", "perhaps") in _who(sample_book, "V06", "2026-11-28")


def test_a_van_that_was_back_was_with_nobody(sample_book: str) -> None:
    """After its return, and before any release; exit 3, and said."""
    assert _who(sample_book, "V03", "2026-11-18", "23:59") == []
    assert typed(sample_book, "who-had V03 --at 2026-11-18T23:59", DAY) == (
        "V03 at 2026-11-18 23:59: with no hire that is in the book.\n"
    )


def test_a_moment_is_typed_as_a_notice_gives_it(sample_book: str) -> None:
    """Day and hour; nothing is guessed of another form, nor of an hour there is not."""
    for word in ("14/11/2026", "2026-11-14T25:00", "2026-11-14T15", "2026-02-30T10:00"):
        with pytest.raises(click.UsageError):
            typed(sample_book, f"who-had V05 --at {word}", DAY)
    assert typed(sample_book, 'who-had V05 --at "2026-11-14 15:20"', DAY) == (
        "V05 at 2026-11-14 15:20: H135. Out 2026-11-14 09:50; back no return was recorded; booked "
        "through 2026-11-28.\n"
    )


def test_why_finds_the_rules_over_a_component(sample_book: str) -> None:
    """What is asked after by its name as it is typed with `fit`."""
    assert "over age: made 2021-10" in typed(sample_book, "why V07 gas-hose", DAY)
    assert "tyre age front-left" in typed(sample_book, "why V03 tyre", DAY)
