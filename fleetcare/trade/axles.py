"""What a load does to the two axles, by moments.

Source: the lever, as in any textbook of statics. With a load L at a distance O behind the rear
axle and a wheelbase W, taking moments about the rear axle,

    front after = front - L * O / W
    rear after  = rear + L + L * O / W

so the two axles together gain L, no more and no less. A load behind the rear axle puts more than
its own weight on that axle and lifts the front: a bike rack may overload the rear axle of a van
whose total is well within its plate, and take the grip from the steered wheels.
"""

import re
from collections.abc import Iterable
from decimal import MAX_EMAX, MAX_PREC, MIN_EMIN, Context, Decimal
from fractions import Fraction
from math import ceil, floor
from typing import NamedTuple

from fleetcare.trade.measures import read_measure

# Sums of the reader's own digits, never rounded, whatever context the caller works in.
_EXACT = Context(prec=MAX_PREC, Emax=MAX_EMAX, Emin=MIN_EMIN)


class AxleLoads(NamedTuple):
    """What each axle bears, in kg."""

    front_kg: Decimal
    rear_kg: Decimal


def moments(
    front_kg: Decimal,
    rear_kg: Decimal,
    load_kg: Decimal,
    behind_rear_mm: Decimal,
    wheelbase_mm: Decimal,
) -> AxleLoads:
    """Give both axle loads once `load_kg` lies `behind_rear_mm` behind the rear axle.

    A negative distance is a load ahead of the rear axle, between the axles. A front load below
    zero is given as it comes out: the van would stand on its tail.

    The shift L * O / W seldom ends as a decimal. It is worked out exactly and then taken up to
    the next gram, once, so that the two axles still gain exactly the load and the rear axle, the
    one that bike racks overload, is never shown lighter than it is.
    """
    figures = (front_kg, rear_kg, load_kg, behind_rear_mm, wheelbase_mm)
    for figure in figures:
        if not figure.is_finite():
            raise ValueError(f'"{figure}" is not a mass or a length: weigh or measure it again')
    if wheelbase_mm <= 0:
        raise ValueError(
            f'"{wheelbase_mm}" mm is not a wheelbase: '
            "type the distance between the axle centres, which is more than 0"
        )
    shift_kg = _grams(ceil(_shift(load_kg, behind_rear_mm, wheelbase_mm) * 1000))
    return AxleLoads(
        _EXACT.subtract(front_kg, shift_kg),
        _EXACT.add(_EXACT.add(rear_kg, load_kg), shift_kg),
    )


def _shift(load_kg: Decimal, behind_rear_mm: Decimal, wheelbase_mm: Decimal) -> Fraction:
    """What a load takes off the front axle, and adds to the rear besides itself."""
    return Fraction(load_kg) * Fraction(behind_rear_mm) / Fraction(wheelbase_mm)


def _grams(grams: int) -> Decimal:
    return _EXACT.scaleb(Decimal(grams), -3)


class Load(NamedTuple):
    """Something carried: its mass, and how far ahead and how far behind it may lie, in mm behind
    the rear axle. The two are one where its place is known; a mass taken off is below zero."""

    kg: Decimal
    foremost_mm: Decimal
    hindmost_mm: Decimal


class Reach(NamedTuple):
    """The least and the most something may be, in kg."""

    least: Decimal
    most: Decimal


def reach(
    front_kg: Decimal, rear_kg: Decimal, loads: Iterable[Load], wheelbase_mm: Decimal
) -> tuple[Reach, Reach]:
    """What the front and the rear axle may bear with all loads on, wherever each lies within its
    bounds; taken outwards to the gram, so that neither limit is ever flattered.

    Raises ValueError for a wheelbase that is not more than 0.
    """
    if wheelbase_mm <= 0:
        raise ValueError(f'"{wheelbase_mm}" mm is not a wheelbase')
    least, most, total = Fraction(0), Fraction(0), Decimal(0)
    for load in loads:
        ends = sorted(
            _shift(load.kg, at, wheelbase_mm) for at in (load.foremost_mm, load.hindmost_mm)
        )
        least, most, total = least + ends[0], most + ends[1], total + load.kg
    low, high = _grams(floor(least * 1000)), _grams(ceil(most * 1000))
    return Reach(front_kg - high, front_kg - low), Reach(
        rear_kg + total + low, rear_kg + total + high
    )


_PLACED = re.compile(r"(.+?)\s*(ahead|behind)")


def read_position(text: str) -> Decimal:
    """Where something sits along the van, as "800mm behind" or "1.2m ahead" the rear axle: mm
    behind it, ahead of it with a minus. ValueError, as a sentence, for anything else.

    The side is a word and not a sign, for a sign is lost by a slip of the pen."""
    found = _PLACED.fullmatch(text.strip().lower())
    if found is None:
        raise ValueError(
            f'"{text}" does not say on which side of the rear axle: '
            'type it like "1200mm ahead" or "800mm behind"'
        )
    value = read_measure(found[1], "length").value
    return -value if found[2] == "ahead" else value
