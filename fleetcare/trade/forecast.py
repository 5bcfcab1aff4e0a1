"""How fast a figure rises, from readings of it, and how soon it may reach so much more.

The rate is Theil's: the median of the slopes between every two readings, which a slip or an idle
winter does not move; its bounds are Sen's (Sen, P.K., J. Am. Stat. Ass. 63, 1968), as textbooks of
robust statistics has them. Those bounds are of the rate alone. A van that is let is driven in
bursts, so how soon it may be somewhere is asked of the readings themselves: what comes is taken to
be as fast as the fastest stretch as long that was seen, and a margin faster.
"""

from __future__ import annotations

from bisect import bisect_left
from collections import Counter
from collections.abc import Sequence
from functools import cached_property
from itertools import accumulate, combinations
from math import inf, sqrt
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


Slope = tuple[float, float]  # the rise between two readings: how much a day, over how many days


def slopes(points: Sequence[Point]) -> list[Slope]:
    """Between every two readings of different days."""
    return [
        ((later - earlier) / (b - a), b - a)
        for (a, earlier), (b, later) in combinations(points, 2)
        if b > a
    ]


def rate(points: Sequence[Point]) -> Rate:
    """Theil's slope and Sen's bounds, for readings in order of day.

    Raises ValueError where no two are of different days.
    """
    return _rate(points, slopes(points))


def _rate(points: Sequence[Point], between: list[Slope]) -> Rate:
    found = sorted([a_day for a_day, _ in between])
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
    def _slopes(self) -> list[Slope]:
        return slopes(self.points)

    @cached_property
    def _bounds(self) -> Rate:
        return _rate(self.points, self._slopes)

    @cached_property
    def rate(self) -> Rate | None:
        """How much a day; None where the readings are too few to tell."""
        return self._bounds if enough(self.points) else None

    @cached_property
    def _fastest(self) -> tuple[list[float], list[float]]:
        """How much each stretch seen may rise in all, faster by the margin, in order; and from each
        of them on the fastest that may rise so much. A long one, and the bound of the rate, may
        last for ever."""
        known = self.points[-1][0] - self.points[0][0]
        margin = MARGIN if known >= A_YEAR else MARGIN_UNSEEN
        found = [
            (a_day * days * margin if days < known / 2 else inf, a_day * margin)
            for a_day, days in self._slopes
            if a_day > 0
        ]
        high = self._bounds.high * margin
        found += [(inf, high)] if high > 0 else []
        found.sort()
        fastest = list(accumulate((a_day for _, a_day in reversed(found)), max))
        return [rise for rise, _ in found], fastest[::-1]

    def soonest(self, more: float) -> float | None:
        """The fewest days in which so much more may be reached after the last reading; None where
        nothing seen ever rose.

        A stretch as fast as one that was seen is taken to last no longer than that one did, or for
        ever where it was half of all that is known. Raises ValueError where no two readings are of
        different days.
        """
        if more <= 0:
            return 0.0
        rises, fastest = self._fastest
        place = bisect_left(rises, more)
        return more / fastest[place] if place < len(rises) else None
