"""Timelines day by day: joining, splicing, doubt."""

from __future__ import annotations

import datetime as dt

from hypothesis import given
from hypothesis import strategies as st

from fleetcare.timeline import Step, Timeline, Verdict, best, splice, timeline, undecided, worst
from fleetcare.windows import EVER, FOREVER, each_day, eve

BASE = dt.date(2026, 1, 1)
_day = st.integers(0, 20).map(lambda n: BASE + dt.timedelta(days=n))
_verdict = st.sampled_from(list(Verdict))


@st.composite
def lines(draw) -> Timeline:
    """A timeline of a few steps."""
    days = sorted(draw(st.sets(_day, max_size=4)))
    return timeline(
        Step(day, draw(_verdict), "in date", draw(st.integers(1, 3))) for day in [EVER, *days]
    )


def _days() -> list[dt.date]:
    return list(each_day(BASE - dt.timedelta(days=2), BASE + dt.timedelta(days=24)))


@given(st.lists(lines(), min_size=1, max_size=4))
def test_worst_and_best_are_taken_day_by_day(given_lines) -> None:
    """On each day the worst joins to the highest verdict and the best to the lowest."""
    for day in _days():
        verdicts = [line.at(day).verdict for line in given_lines]
        assert worst(given_lines).at(day).verdict == max(verdicts)
        assert best(given_lines).at(day).verdict == min(verdicts)


@given(lines(), lines(), _day)
def test_splice_takes_each_from_its_own_day(one, two, day) -> None:
    """Before the day the first timeline speaks, from it on the second."""
    spliced = splice([(EVER, one), (day, two)])

    for at in _days():
        assert spliced.at(at)[1:] == (two if at >= day else one).at(at)[1:]


@given(lines(), lines())
def test_undecided_is_doubt_only_where_verdicts_differ(one, two) -> None:
    """Where both values of an unsaid fact give the same verdict, it stands."""
    line = undecided([one, two], ("lpg",))

    for day in _days():
        a, b = one.at(day).verdict, two.at(day).verdict
        assert line.at(day).verdict == (a if a == b else Verdict.DOUBT)


@given(lines(), _day, _verdict)
def test_days_last_good_and_worst_over_agree_with_looking_at_each_day(line, day, limit) -> None:
    """The set of days, the last of a stretch and the worst of a stretch, each day by day."""
    good = [d for d in _days() if line.at(d).verdict <= limit]
    last = line.last_good(day, limit)
    end = day + dt.timedelta(days=5)

    assert [d for d in _days() if d in line.days(limit)] == good
    if line.at(day).verdict > limit:
        assert last is None
    elif last == FOREVER:
        assert all(line.at(d).verdict <= limit for d in each_day(day, BASE + dt.timedelta(days=30)))
    else:
        assert all(line.at(d).verdict <= limit for d in each_day(day, last))
        assert line.at(last + dt.timedelta(days=1)).verdict > limit
    assert line.worst_over(day, end).verdict == max(line.at(d).verdict for d in each_day(day, end))
    assert eve(BASE) not in Timeline(line.steps).days(limit) or line.steps[0].verdict <= limit
