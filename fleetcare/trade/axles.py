"""What a load does to the two axles, by moments.

Source: the lever, as in any textbook of statics. With a load L at a distance O behind the rear
axle and a wheelbase W, taking moments about the rear axle,

    front after = front - L * O / W
    rear after  = rear + L + L * O / W

so the two axles together gain L, no more and no less. A load behind the rear axle puts more than
its own weight on that axle and lifts the front: a bike rack may overload the rear axle of a van
whose total is well within its plate, and take the grip from the steered wheels.
"""

from decimal import MAX_EMAX, MAX_PREC, MIN_EMIN, Context, Decimal
from fractions import Fraction
from math import ceil
from typing import NamedTuple

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
    shift = Fraction(load_kg) * Fraction(behind_rear_mm) / Fraction(wheelbase_mm)
    shift_kg = _EXACT.scaleb(Decimal(ceil(shift * 1000)), -3)
    return AxleLoads(
        _EXACT.subtract(front_kg, shift_kg),
        _EXACT.add(_EXACT.add(rear_kg, load_kg), shift_kg),
    )
