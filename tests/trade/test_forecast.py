"""Forecasts of a rising figure: the rate against scipy, how soon against simulated vans."""

from __future__ import annotations

import random

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.stats import theilslopes

from fleetcare.trade.forecast import (
    NEWEST,
    SURE,
    Point,
    Trend,
    chosen,
    enough,
    rate,
)


@st.composite
def _readings(draw: st.DrawFn) -> list[Point]:
    """Readings of rising days and figures, some of one figure: the van stood."""
    days = sorted(draw(st.sets(st.integers(0, 900), min_size=3, max_size=28)))
    rises = draw(st.lists(st.integers(0, 1500), min_size=len(days), max_size=len(days)))
    return [(float(day), float(sum(rises[: i + 1]))) for i, day in enumerate(days)]


@given(_readings())
def test_the_rate_is_what_scipy_says(points: list[Point]) -> None:
    """`scipy.stats.theilslopes` gives the same slope and the same bounds."""
    found = rate(points)
    theirs = theilslopes([y for _, y in points], [x for x, _ in points], alpha=SURE)

    assert found.usual == pytest.approx(theirs.slope)
    assert (found.low, found.high) == pytest.approx((theirs.low_slope, theirs.high_slope))


def test_a_slip_does_not_move_the_rate() -> None:
    """One reading of ten a thousand out: the median of the slopes stays where it was."""
    even = [(float(day), 100.0 * day) for day in range(0, 100, 10)]
    slipped = [(day, km + (1000 if day == 50 else 0)) for day, km in even]

    assert rate(even).usual == 100
    assert rate(slipped).usual == pytest.approx(100, rel=0.05)


def test_a_van_driven_evenly_is_there_a_margin_sooner() -> None:
    """100 km a day over a whole year seen: 5,000 km more take 50 days, or 40 at a quarter faster."""
    even = [(float(day), 100.0 * day) for day in range(0, 400, 20)]

    assert Trend(even).soonest(5000) == pytest.approx(40)
    assert Trend(even[-5:]).soonest(5000) == pytest.approx(50 / 1.6)  # no year of it was seen


@given(_readings(), st.floats(1, 20000), st.floats(1, 20000))
def test_more_is_never_reached_sooner(points: list[Point], one: float, two: float) -> None:
    """The further off, the later; nothing more is there at once."""
    less, more = sorted((one, two))
    first, second = Trend(points).soonest(less), Trend(points).soonest(more)

    assert Trend(points).soonest(0) == 0
    assert (first is None) == (second is None)
    assert first is None or second is None or first <= second + 1e-6


def test_a_van_that_stood_is_nowhere_soon() -> None:
    """Nothing seen ever rose, so nothing is forecast."""
    assert Trend([(0.0, 5.0), (40.0, 5.0), (90.0, 5.0)]).soonest(100) is None


def test_too_few_readings_tell_nothing() -> None:
    """Three of them, over four weeks: common practice, no source."""
    assert not enough([(0.0, 1.0), (40.0, 2.0)])
    assert not enough([(0.0, 1.0), (10.0, 2.0), (27.0, 3.0)])
    assert enough([(0.0, 1.0), (10.0, 2.0), (28.0, 3.0)])


def test_the_newest_count_and_some_of_two_years_before() -> None:
    """So many of each at most, in order, the last one always among them."""
    many = [(float(day), float(day)) for day in range(0, 2000, 5)]
    kept = chosen(many)

    assert len(kept) == 2 * NEWEST and kept[-NEWEST:] == many[-NEWEST:]
    assert kept == sorted(kept) and kept[0][0] > 1995 - 760
    assert chosen(many[:5]) == many[:5]


def _life(rnd: random.Random) -> list[Point]:
    """Three years of a van on hire: bursts of 3 to 14 days, 40 km a day to over 400, gaps, quiet
    winters; read as it goes out and comes back."""
    day, km, found = 0.0, 0.0, []
    while day < 1100:
        summer = 3 <= (day // 30) % 12 <= 9
        day += rnd.choice([0, 1, 2, 3, 5, 8, 13]) if summer else rnd.choice([3, 7, 14, 30])
        found.append((day, km))
        nights = rnd.choice([3, 4, 7, 7, 7, 10, 14])
        km += nights * rnd.gammavariate(4, 40)
        day += nights
        found.append((day, km))
    return [p for i, p in enumerate(found) if i + 1 == len(found) or found[i + 1][0] > p[0]]


def _reached(points: list[Point], place: int, more: float) -> float | None:
    """In how many days after a reading the van truly got so much further."""
    goal = points[place][1] + more
    for (a, before), (b, after) in zip(points[place:], points[place + 1 :], strict=False):
        if after >= goal > before:
            return a + (goal - before) / (after - before) * (b - a) - points[place][0]
    return None


@pytest.mark.parametrize(("least", "most"), [(200, 800), (800, 3000), (3000, 12000)])
@pytest.mark.parametrize("seen", [0.15, 0.5])
def test_at_least_95_of_100_vans_get_there_no_sooner(seen: float, least: int, most: int) -> None:
    """Simulated vans, forecast in their first months and after a year and a half of readings."""
    rnd, sure, tried = random.Random(20261127), 0, 0
    while tried < 400:
        points = _life(rnd)
        place = rnd.randrange(int(len(points) * seen), int(len(points) * (seen + 0.1)))
        more = rnd.uniform(least, most)
        true = _reached(points, place, more)
        if true is None:
            continue
        tried += 1
        said = Trend(points[: place + 1]).soonest(more)
        sure += said is not None and said <= true + 1e-9

    assert sure >= 0.95 * tried
