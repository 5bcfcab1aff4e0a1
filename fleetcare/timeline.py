"""A timeline: from each day on, a verdict, a code, and the record or facts that made it.

It covers every day from EVER on, so a gap is never guessed at. `worst` joins what must all
hold, `best` what may stand in for each other, `splice` puts one after another, `sampled` looks
again on each day something changes, and `undecided` is what is left when a fact nobody stated
could be either way.
"""

from __future__ import annotations

import datetime as dt
import enum
from bisect import bisect_right
from collections.abc import Callable, Iterable, Sequence
from functools import partial
from typing import Any, NamedTuple

from fleetcare.windows import EVER, FOREVER, Windows, eve


class Verdict(enum.IntEnum):
    """How a day stands under a rule; a higher one outweighs a lower one."""

    GOOD = 0
    LATE = 1  # overdue, but not past its stop day: hireable with a caution
    DOUBT = 2  # cannot say: never hires a van out
    LACKS = 3


class Step(NamedTuple):
    """From `start` on: the verdict, a code that names the case, the record and its particulars."""

    start: dt.date
    verdict: Verdict
    code: str
    record: int | None = None
    detail: tuple[Any, ...] = ()


class Timeline(NamedTuple):
    """Steps in order of day; the first starts at EVER, no two neighbours say the same."""

    steps: tuple[Step, ...]

    def at(self, day: dt.date) -> Step:
        """The step that holds `day`."""
        # From the end: what is asked is nearly always about today, and few steps lie ahead.
        for step in reversed(self.steps):
            if step.start <= day:
                found: Step = step
                return found
        return self.steps[0]

    def last_good(self, day: dt.date, worst: Verdict = Verdict.GOOD) -> dt.date | None:
        """Last day of the stretch no worse than `worst` that holds `day`; None if it does not.

        FOREVER when nothing known ends it.
        """
        last = FOREVER
        for step in reversed(self.steps):
            if step[0] <= day:
                return None if step[1] > worst else last
            if step[1] > worst:
                last = eve(step[0])
        return None

    def days(self, worst: Verdict = Verdict.GOOD) -> Windows:
        """The days no worse than `worst`."""
        ends = [step.start for step in self.steps[1:]] + [FOREVER]
        return Windows(
            (step.start, end)
            for step, end in zip(self.steps, ends, strict=True)
            if step.verdict <= worst
        )

    def worst_over(self, start: dt.date, through: dt.date) -> Step:
        """The first of the worst steps that touch the days `start` to `through`."""
        first = bisect_right(self.steps, start, key=_start) - 1
        found = self.steps[first]
        for step in self.steps[first + 1 :]:
            if step.start > through:
                break
            if step.verdict > found.verdict:
                found = step
        return found


def _start(step: Step) -> dt.date:
    return step.start


# A fleet makes millions of these; a tuple made straight is made in half the time.
make_step: Callable[[tuple[Any, ...]], Step] = partial(tuple.__new__, Step)
make_line: Callable[[tuple[Any, ...]], Timeline] = partial(tuple.__new__, Timeline)


def timeline(steps: Iterable[Step]) -> Timeline:
    """Make a timeline of steps given in order; what a later step overtakes on its day is dropped.

    Raises ValueError when the first step does not start at EVER.
    """
    kept: list[Step] = []
    for step in steps:
        while kept and kept[-1][0] >= step[0]:
            kept.pop()
        if kept and step[1:] == kept[-1][1:]:
            continue
        kept.append(step)
    if not kept or kept[0][0] != EVER:
        raise ValueError("a timeline starts at EVER")
    return make_line((tuple(kept),))


def always(
    verdict: Verdict, code: str, record: int | None = None, detail: tuple[Any, ...] = ()
) -> Timeline:
    """The same on every day."""
    return Timeline((Step(EVER, verdict, code, record, detail),))


def sampled(days: Iterable[dt.date], look: Callable[[dt.date], Step]) -> Timeline:
    """Look at EVER and again on each of `days` (when something changes) and keep what is seen."""
    return timeline(look(day) for day in sorted({EVER, *days}))


def _chosen(timelines: Sequence[Timeline], choose: Callable[[list[Step]], Step]) -> Timeline:
    if len(timelines) == 1:
        return timelines[0]
    days = sorted({step.start for line in timelines for step in line.steps})

    def look(day: dt.date) -> Step:
        return choose([line.at(day) for line in timelines])._replace(start=day)

    return timeline(look(day) for day in days)


def worst(timelines: Sequence[Timeline]) -> Timeline:
    """What must all hold: on each day the worst step, the first named where two are as bad."""
    return _chosen(timelines, lambda steps: max(steps, key=_weight))


def _weight(step: Step) -> tuple[Verdict, bool]:
    return step.verdict, step.code != "not applicable"  # what applies says more


def best(timelines: Sequence[Timeline]) -> Timeline:
    """What may stand in for each other: on each day the best step."""
    return _chosen(timelines, lambda steps: min(steps, key=lambda step: step.verdict))


def splice(parts: Sequence[tuple[dt.date, Timeline]]) -> Timeline:
    """Each timeline from its own day on, until the next one's day; the first from EVER."""
    if len(parts) == 1:
        return parts[0][1]
    steps: list[Step] = []
    for place, (start, line) in enumerate(parts):
        begin = start if place else EVER
        until = parts[place + 1][0] if place + 1 < len(parts) else FOREVER
        if begin >= until:
            continue
        steps.append(line.at(begin)._replace(start=begin))
        steps.extend(step for step in line.steps if begin < step.start < until)
    return timeline(steps)


def undecided(options: Sequence[Timeline], detail: tuple[Any, ...]) -> Timeline:
    """A rule judged for each value an unsaid fact could have: doubt only where verdicts differ.

    `detail` names the facts nobody stated.
    """

    def choose(steps: list[Step]) -> Step:
        if len({step.verdict for step in steps}) == 1:
            return steps[0]
        return Step(EVER, Verdict.DOUBT, "unsaid", None, detail)

    return _chosen(options, choose)
