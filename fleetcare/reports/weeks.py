"""The fleet week by week: what the wall chart by the office door shows, as words in cells."""

from __future__ import annotations

import datetime as dt
from collections import Counter
from collections.abc import Iterator

from fleetcare.rules.outcome import Judgement
from fleetcare.windows import FOREVER, Windows, next_day

WEEKS = 26


def mondays(on: dt.date) -> list[dt.date]:
    """The Mondays of the chart, from the week that holds a day on."""
    first = on - dt.timedelta(days=on.weekday())
    return [first + dt.timedelta(weeks=n) for n in range(WEEKS)]


def week_words(judged: Judgement, on: dt.date, late: int, due: Counter[dt.date]) -> tuple[str, ...]:
    """One van, a few words for each week: out on hire, stopped, overdue, due, or in date. `late`
    is its `overdue`, `due` its `last_days` counted."""
    may_go = judged.hireable_days()
    found: list[str] = []
    for monday in mondays(on):
        sunday = monday + dt.timedelta(days=6)
        words = [
            f"out {hire.ref}"
            for hire in judged.hires
            if hire.from_on <= sunday and hire.through_on >= monday
        ]
        week = Windows([(monday, next_day(sunday))])
        if (may_go & week).empty:
            words.append("stopped")
        else:
            if (may_go & week) != week:
                words.append("stopped for part")
            if late:  # as the book stands: nothing says it will be done
                words.append(f"{late} overdue")
        many = sum(number for day, number in due.items() if monday <= day <= sunday)
        if many:
            words.append(f"{many} due")
        found.append("; ".join(words) or "in date")
    return tuple(found)


def overdue(judged: Judgement, on: dt.date) -> int:
    """How many items are past their last day on a day."""
    return sum(outcome.standing(outcome.at(on)) == "overdue" for outcome in judged.outcomes)


def last_days(judged: Judgement, on: dt.date) -> Iterator[dt.date]:
    """The last good day of everything that stands good on a day and will lapse."""
    for outcome in judged.outcomes:
        last = outcome.last_good(on)
        if last is not None and last != FOREVER:
            yield last
