"""Sets of days against a plain set of days and against portion; month sums against published
cases, pandas and dateutil."""

from __future__ import annotations

import datetime as dt

import pandas as pd
import portion
import pytest
from dateutil.relativedelta import relativedelta
from hypothesis import given
from hypothesis import strategies as st

from fleetcare.windows import (
    EVER,
    FOREVER,
    Windows,
    add_months,
    each_day,
    early_from,
    eve,
    eve_of_months,
    latest_deadline,
    month_end,
    next_day,
)

BASE = dt.date(2024, 2, 20)
D = dt.date.fromisoformat
_days = st.integers(0, 40).map(lambda n: BASE + dt.timedelta(days=n))
_spans = st.lists(st.tuples(_days, _days).map(sorted).map(tuple), max_size=6)
_any_day = st.dates(dt.date(1990, 1, 1), dt.date(2090, 1, 1))


def _plain(spans: list[tuple[dt.date, dt.date]]) -> set[dt.date]:
    return {a + dt.timedelta(days=n) for a, b in spans for n in range((b - a).days)}


def _of(windows: Windows) -> set[dt.date]:
    return {d for d in each_day(BASE, BASE + dt.timedelta(days=50)) if d in windows}


@given(_spans, _spans)
def test_windows_are_sets_of_days(one, two) -> None:
    """Union, meeting, complement and difference agree with plain sets of days."""
    a, b = Windows(one), Windows(two)
    whole = set(each_day(BASE, BASE + dt.timedelta(days=50)))

    assert _of(a | b) == _plain(one) | _plain(two)
    assert _of(a & b) == _plain(one) & _plain(two)
    assert _of(~a) == whole - _plain(one)
    assert _of(a - b) == _plain(one) - _plain(two)
    assert (a == b) == (_plain(one) == _plain(two))


@given(_spans, _days, _days)
def test_covers_and_last_good_agree_with_the_days(spans, start, through) -> None:
    """A stretch is covered when each of its days is in the set; the last good day ends the run."""
    windows, days = Windows(spans), _plain(spans)
    start, through = min(start, through), max(start, through)
    last = start
    while last in days and next_day(last) in days:
        last = next_day(last)

    assert windows.covers(start, through) == (set(each_day(start, through)) <= days)
    assert windows.last_good(start) == (last if start in days else None)


@given(_spans, _spans)
def test_windows_agree_with_an_independent_library(one, two) -> None:
    """The same algebra by portion's half-open intervals gives the same stretches."""

    def theirs(spans):
        found = portion.empty()
        for a, b in spans:
            found |= portion.closedopen(a, b)
        return found

    a, b = Windows(one), Windows(two)
    for ours, other in (((a | b), theirs(one) | theirs(two)), ((a & b), theirs(one) & theirs(two))):
        assert [(i.lower, i.upper) for i in other if not i.empty] == list(ours.spans)


def test_a_set_of_days_has_no_truth_of_its_own() -> None:
    """Asking one for its truth is a mistake that is not answered."""
    with pytest.raises(TypeError, match=r"^ask a set of days for \.empty or \.covers"):
        bool(Windows())


@pytest.mark.parametrize(
    ("day", "months", "end"),
    [
        # Published and computed cases, identical in dateutil 2.9 and 4.0.
        ("2026-01-31", 1, "2026-02-28"),
        ("2024-01-31", 1, "2024-02-29"),
        ("2026-01-31", 2, "2026-03-31"),
        ("2024-02-29", 12, "2025-02-28"),
        ("2024-02-29", 48, "2028-02-29"),
        ("2023-02-28", 12, "2024-02-28"),
        ("2026-08-30", 6, "2027-02-28"),
        ("2026-08-31", 6, "2027-02-28"),
        ("2026-03-31", -1, "2026-02-28"),
        # Dodds v Walker [1981] 1 WLR 1027: four months from 30 September end on 30 January.
        ("1978-09-30", 4, "1979-01-30"),
        ("2018-02-10", 12, "2019-02-10"),
        ("2025-02-28", 12, "2026-02-28"),
        ("2027-02-28", 12, "2028-02-28"),
    ],
)
def test_months_are_added_in_one_step(day: str, months: int, end: str) -> None:
    """The corresponding day, or the last day of a month that has none."""
    assert add_months(D(day), months) == D(end)


@given(_any_day, st.integers(-400, 400))
def test_months_agree_with_two_independent_libraries(day, months) -> None:
    """pandas.DateOffset and dateutil.relativedelta add the same months."""
    ours = add_months(day, months)

    assert ours == day + relativedelta(months=months)
    assert ours == (pd.Timestamp(day) + pd.DateOffset(months=months)).date()


@given(_any_day, st.integers(1, 240))
def test_the_eve_of_months_is_the_day_before_or_the_months_end(day, months) -> None:
    """The eve is one day before the corresponding day; of a day that is not there, the month's
    last day."""
    end = day + relativedelta(months=months)
    expected = end - dt.timedelta(days=1) if end.day == day.day else end

    assert eve_of_months(day, months) == expected


@given(_any_day, st.integers(0, 60))
def test_month_end_agrees_with_pandas(day, months) -> None:
    """The last day of the month so many months on."""
    assert (
        month_end(day, months)
        == (
            pd.Timestamp(day.replace(day=1)) + pd.DateOffset(months=months) + pd.offsets.MonthEnd(0)
        ).date()
    )


@pytest.mark.parametrize(
    ("deadline", "months", "opens"),
    [
        ("2023-08-10", 2, "2023-06-11"),  # derived from GSIUR 36A(1) and UKSI 2018/1082 art 1.4
        ("2025-04-30", 2, "2025-03-01"),
        ("2023-12-31", 2, "2023-11-01"),
        ("2024-05-15", 1, "2024-04-16"),  # the agency's own example of the one-month rule
        ("2023-03-31", 1, "2023-03-01"),
        ("2007-04-01", 1, "2007-03-02"),
    ],
)
def test_an_early_window_opens_the_day_after_the_clamped_day(deadline, months, opens) -> None:
    """Opening on the clamped day itself would let two checks stand too far apart."""
    assert early_from(D(deadline), months) == D(opens)


@given(_any_day, st.integers(1, 3))
def test_the_latest_deadline_holds_the_day_and_no_later_one_does(day, months) -> None:
    """Found by trying every deadline of the next hundred days."""
    holding = [
        d
        for d in each_day(day, day + dt.timedelta(days=31 * months + 9))
        if early_from(d, months) <= day <= d
    ]

    assert latest_deadline(day, months) == max(holding)


@given(_any_day)
def test_the_ends_of_time_stay_where_they_are(day) -> None:
    """Nothing is added to EVER or FOREVER, and a day steps forth and back to itself."""
    assert next_day(FOREVER) == FOREVER
    assert (eve(EVER), eve(FOREVER)) == (EVER, FOREVER)
    assert add_months(FOREVER, 12) == FOREVER
    assert add_months(dt.date(9999, 6, 1), 12) == FOREVER
    assert eve(next_day(day)) == day
