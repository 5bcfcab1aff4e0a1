"""How soon a figure that wears may pass its limit, against simulated tyres and walls."""

from __future__ import annotations

import random

import pytest

from fleetcare.trade.forecast import Point, Trend, enough

VANS = 400


def _tyre(chance: random.Random, noise: float) -> tuple[list[Point], float]:
    """Readings of one tyre at odd distances, worn unevenly and read unevenly, in km and mm worn;
    and at how many km it is truly worn out, 6.4 mm after it was fitted."""
    per_km = chance.uniform(0.6, 2.4) / 10_000
    km, worn, points = 0.0, 0.0, []
    read_to = chance.uniform(0.4, 0.9) * 6.4
    while worn < 6.4:
        stage = chance.uniform(200, 900)
        before = worn
        worn += stage * per_km * chance.gammavariate(4, 0.25)
        km += stage
        if worn >= 6.4:
            km -= stage * (worn - 6.4) / (worn - before)
        elif worn < read_to and chance.random() < 0.35:
            points.append((km, worn + chance.uniform(-noise, noise)))
    return points, km


def _wall(chance: random.Random) -> tuple[list[Point], float]:
    """Readings of one damp wall through the seasons, in days and points; and its day over 30."""
    a_year = chance.uniform(3, 12)
    day, damp, points = 0.0, 8.0, []
    read_to = chance.uniform(12, 25)
    while damp < 30:
        day += 30
        damp += a_year / 12 * chance.gammavariate(3, 1 / 3)
        if damp < read_to and chance.random() < 0.25:
            points.append((day, damp + chance.uniform(-1, 1)))
    return points, day


@pytest.mark.parametrize("noise", [0.0, 0.1, 0.2])
def test_a_tyre_is_worn_out_no_sooner_in_ninety_five_of_a_hundred(noise: float) -> None:
    """By the fastest wear seen and its margin, from the most worn that was read."""
    chance, sure, told = random.Random(f"tread {noise}"), 0, 0
    while told < VANS:
        points, end = _tyre(chance, noise)
        if len(points) < 3 or not enough(points):
            continue
        told += 1
        soonest = Trend(points).soonest(6.4 - max(worn for _, worn in points))
        sure += soonest is None or points[-1][0] + soonest <= end
    assert sure / told >= 0.95


def test_a_wall_is_over_its_limit_no_sooner_in_ninety_five_of_a_hundred() -> None:
    """From the last reading; what comes in faster than ever before is the rest."""
    chance, sure, told = random.Random("damp"), 0, 0
    while told < VANS:
        points, end = _wall(chance)
        if len(points) < 3 or not enough(points):
            continue
        told += 1
        soonest = Trend(points).soonest(30 - points[-1][1])
        sure += soonest is not None and points[-1][0] + soonest <= end
    assert sure / told >= 0.95
