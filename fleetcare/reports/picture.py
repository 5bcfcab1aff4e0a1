"""A van's rules, or the fleet, along the months: the rows of a wall chart before it is drawn."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Iterator
from typing import NamedTuple

from fleetcare.rules.outcome import Judgement, Outcome
from fleetcare.timeline import Verdict
from fleetcare.windows import add_months, eve, month_end, next_day
from fleetcare.words.reasons import titled

MONTHS_BEFORE, MONTHS_AFTER = 2, 12


class Span(NamedTuple):
    """From one day to another, half open: a word for how it stands."""

    start: dt.date
    until: dt.date
    word: str


class Bar(NamedTuple):
    """One row of the chart: its name, how it stands along the months, the hires over it."""

    name: str
    spans: tuple[Span, ...]
    hires: tuple[Span, ...] = ()


class Picture(NamedTuple):
    """The whole chart."""

    title: str
    on: dt.date
    start: dt.date
    until: dt.date
    bars: tuple[Bar, ...]
    note: str
    throughout: tuple[str, ...] = ()  # what is in date on every day of it, by name


def frame(on: dt.date) -> tuple[dt.date, dt.date]:
    """The first day of the chart and the day after its last: whole months around a day."""
    first = next_day(month_end(on, -MONTHS_BEFORE - 1))
    return first, next_day(month_end(on, MONTHS_AFTER))


def of_van(judged: Judgement, on: dt.date, note: str) -> Picture:
    """One van: its hires on top, then a row a rule and place that applies in those months, what
    lapses first above what lapses later. What is in date throughout is named and has no row; what
    is asked at each handover is drawn on the days of hires that have begun, and on no other."""
    start, until = frame(on)
    hires = _hires(judged, start, until)
    rows, throughout = [], []
    for outcome in judged.outcomes:
        spans = tuple(_standings(outcome, start, until))
        if outcome.rule.blocks == "at handover" and outcome.kind.each_handover:
            spans = tuple(_within(spans, [hire for hire in hires if hire.start <= on]))
        words = {span.word for span in spans}
        if words == {"in date"} and spans[0].start == start and spans[-1].until == until:
            throughout.append(titled(outcome))
        elif words - {"not applicable"}:
            rows.append(Bar(titled(outcome), spans))
    rows.sort(key=lambda bar: _lapses(bar, on, until))
    plate = judged.plate_on(on)
    named = f"{judged.van} ({plate})" if plate else judged.van
    bars = (Bar("hires", (), hires), *rows)
    return Picture(named, on, start, until, bars, note, tuple(throughout))


_GOOD = ("in date", "not applicable")


def _lapses(bar: Bar, on: dt.date, until: dt.date) -> dt.date:
    """The first day from a day on that a row is not in date; after the chart where it is."""
    bad = (max(span.start, on) for span in bar.spans if span.word not in _GOOD and span.until > on)
    return min(bad, default=until)


def _within(spans: tuple[Span, ...], hires: list[Span]) -> Iterator[Span]:
    """How a row stands on the days of hires, and nothing between them."""
    for hire in hires:
        for span in spans:
            first, end = max(span.start, hire.start), min(span.until, hire.until)
            if first < end:
                yield Span(first, end, span.word)


def of_fleet(judgements: Iterable[Judgement], on: dt.date, note: str, firm: str) -> Picture:
    """The fleet: a row a van, the days it may go out, its hires over them."""
    start, until = frame(on)
    bars = []
    for judged in judgements:
        plate = judged.plate_on(on)
        name = f"{judged.van} {plate}" if plate else judged.van
        bars.append(Bar(name, tuple(_days(judged, start, until)), _hires(judged, start, until)))
    return Picture(firm or "The fleet", on, start, until, tuple(bars), note)


def _standings(outcome: Outcome, start: dt.date, until: dt.date) -> Iterator[Span]:
    steps = outcome.timeline.steps
    ends = [step.start for step in steps[1:]] + [until]
    for step, end in zip(steps, ends, strict=True):
        first, last = max(step.start, start), min(end, until)
        if first < last:
            late = step.verdict is Verdict.LATE
            yield Span(first, last, "overdue, may go" if late else outcome.standing(step))


def _days(judged: Judgement, start: dt.date, until: dt.date) -> Iterator[Span]:
    """The days a van may go, and those it may not."""
    if judged.service is None:
        yield Span(start, until, "cannot say")
        return
    day = start
    for first, end in judged.hireable_days().spans:
        first, end = max(first, start), min(end, until)
        if first >= end:
            continue
        if day < first:
            yield Span(day, first, "stopped")
        yield Span(first, end, "may go")
        day = end
    if day < until:
        yield Span(day, until, "stopped")


def _hires(judged: Judgement, start: dt.date, until: dt.date) -> tuple[Span, ...]:
    return tuple(
        Span(max(hire.from_on, start), min(next_day(hire.through_on), until), hire.ref)
        for hire in judged.hires
        if hire.from_on < until and hire.through_on >= start
    )


def months(picture: Picture) -> list[dt.date]:
    """The first day of every month of the chart."""
    found, day = [], picture.start
    while day < picture.until:
        found.append(day)
        day = add_months(day, 1)
    assert eve(day) >= eve(picture.until)
    return found
