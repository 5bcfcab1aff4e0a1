"""How fast a figure rises, from readings of it, and how soon it may reach so much more.

The rate is Theil's: the median of the slopes between every two readings, which a slip or an idle
winter does not move; its bounds are Sen's (Sen, P.K., J. Am. Stat. Ass. 63, 1968), as textbooks of
robust statistics has them. Those bounds are of the rate alone. A van that is let is driven in
bursts, so how soon it may be somewhere is asked of the readings themselves: what comes is taken to
be as fast as the fastest stretch as long that was seen, and a margin faster.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from functools import cached_property
from math import sqrt
from operator import sub, truediv
from statistics import NormalDist
from typing import NamedTuple

Point = tuple[float, float]  # a day, as a number, and what was read
SURE = 0.95  # the share of vans whose rate lies within its bounds
_ONE_SIDE = NormalDist().inv_cdf((1 + SURE) / 2)
LEAST_READINGS, LEAST_DAYS = 3, 28  # for a rate to be more than a guess: common practice, no source
NEWEST = 14  # readings, and as many older ones
OLDEST_DAYS = 760
A_YEAR = 365
# How much faster than anything seen a van is taken to be driven, where a whole year was seen and
# where not: no source; so chosen that at least 95 of 100 simulated vans (tests/trade/test_forecast)
# get there no sooner.
MARGIN, MARGIN_UNSEEN = 1.25, 1.6


class Rate(NamedTuple):
    """How much a day: the median of the slopes, and its bounds."""

    usual: float
    low: float
    high: float


class Stretches(NamedTuple):
    """Between every two readings of different days: over how many days, the rise, and its slope."""

    days: list[float]
    rises: list[float]
    slopes: list[float]


def stretches(points: Sequence[Point]) -> Stretches:
    """Every stretch of readings in order of day. Whole columns at once, for a fleet has many."""
    days: list[float] = []
    rises: list[float] = []
    at, shown = [x for x, _ in points], [y for _, y in points]
    for apart in range(1, len(points)):
        days += map(sub, at[apart:], at)
        rises += map(sub, shown[apart:], shown)
    if 0.0 in days:
        kept = [(over, rise) for over, rise in zip(days, rises, strict=True) if over > 0]
        days, rises = [over for over, _ in kept], [rise for _, rise in kept]
    return Stretches(days, rises, list(map(truediv, rises, days)))


def rate(points: Sequence[Point]) -> Rate:
    """Theil's slope and Sen's bounds, for readings in order of day.

    Raises ValueError where no two are of different days.
    """
    return _rate(points, stretches(points).slopes)


def _rate(points: Sequence[Point], slopes: list[float]) -> Rate:
    found = sorted(slopes)
    if not found:
        raise ValueError("no two readings are of different days")
    n, pairs = len(points), len(found)
    ties = _tied([x for x, _ in points]) + _tied([y for _, y in points])
    spread = sqrt(max(n * (n - 1) * (2 * n + 5) - ties, 0) / 18)
    reach = _ONE_SIDE * spread
    upper = min(round((pairs + reach) / 2), pairs - 1)
    lower = max(round((pairs - reach) / 2) - 1, 0)
    middle = pairs // 2
    median = found[middle] if pairs % 2 else (found[middle - 1] + found[middle]) / 2
    return Rate(median, found[lower], found[upper])


def _tied(values: list[float]) -> int:
    """What values that are the same take off the spread."""
    if len(set(values)) == len(values):
        return 0
    return sum(k * (k - 1) * (2 * k + 5) for k in Counter(values).values())


def enough(points: Sequence[Point]) -> bool:
    """Whether readings tell a rate at all."""
    return len(points) >= LEAST_READINGS and points[-1][0] - points[0][0] >= LEAST_DAYS


def chosen(points: Sequence[Point]) -> list[Point]:
    """The readings that count, of those in order of day: the newest, and as many spread over the
    two years before them, so that a busy season is not forgotten in a quiet one."""
    newest = list(points[-NEWEST:])
    older = [point for point in points[:-NEWEST] if point[0] > points[-1][0] - OLDEST_DAYS]
    step = max(len(older) / NEWEST, 1)
    return [older[int(place * step)] for place in range(min(len(older), NEWEST))] + newest


class Trend:
    """The readings that count of one figure, and what follows from them, each worked out once."""

    def __init__(self, points: Sequence[Point]) -> None:
        self.points = chosen(points)

    @cached_property
    def _seen(self) -> Stretches:
        return stretches(self.points)

    @cached_property
    def _bounds(self) -> Rate:
        return _rate(self.points, self._seen.slopes)

    @cached_property
    def rate(self) -> Rate | None:
        """How much a day; None where the readings are too few to tell."""
        return self._bounds if enough(self.points) else None

    @cached_property
    def _known(self) -> float:
        """Over how many days it was read."""
        return self.points[-1][0] - self.points[0][0]

    @cached_property
    def _fastest(self) -> tuple[list[tuple[float, float]], float]:
        """The short stretches than which none faster rose as much, the fastest first, each with
        its slope and rise; and the slope that may last for ever: of the fastest long stretch, or
        the bound of the rate where that is more."""
        half, seen, ever = self._known / 2, self._seen, self._bounds.high
        every = zip(seen.slopes, seen.rises, seen.days, strict=True)
        found: list[tuple[float, float]] = []
        for slope, rise, days in sorted([one for one in every if one[0] > ever], reverse=True):
            if days >= half:
                return found, slope
            if not found or rise > found[-1][1]:
                found.append((slope, rise))
        return found, ever

    def soonest(self, more: float) -> float | None:
        """The fewest days in which so much more may be reached after the last reading; None where
        nothing seen ever rose.

        A stretch as fast as one that was seen is taken to last no longer than that one did, or for
        ever where it was half of all that is known. Raises ValueError where no two readings are of
        different days.
        """
        if more <= 0:
            return 0.0
        faster, ever = self._fastest
        margin = MARGIN if self._known >= A_YEAR else MARGIN_UNSEEN
        least = more / margin
        a_day = next((slope for slope, rise in faster if rise >= least), ever) * margin
        return more / a_day if a_day > 0 else None
