"""Who asks: what a hirer brings and where it goes."""

from __future__ import annotations

import datetime as dt
from typing import NamedTuple

from fleetcare.windows import FOREVER, after_days


class Shown(NamedTuple):
    """A driver's licence as it was shown: its class, the day, the last day of that class, and of
    which driver where there are several."""

    licence: str
    on: dt.date
    last_day: dt.date
    driver: int | None = None


class Party(NamedTuple):
    """What a hirer brings and where it goes: bikes, the masses in kg of those that were weighed,
    the class of licence said, the countries visited, how many people with how many children under
    135 cm, and the licence of each driver as shown; which sheets are kept of the hire."""

    bikes: int = 0
    electric_bikes: int = 0
    weighed_kg: tuple[str, ...] = ()
    licence: str | None = None
    abroad: tuple[str, ...] = ()
    people: int | None = None
    children: int | None = None
    drivers: tuple[Shown, ...] = ()
    sheets: tuple[tuple[str, dt.date], ...] = ()  # which, and the day it was filled
    out: dt.date | None = None  # the day the van left with them

    @property
    def any_bikes(self) -> bool:
        """Whether the rack is used at all."""
        return self.bikes + self.electric_bikes > 0

    def serves_to(self, on: dt.date, within: int) -> dt.date:
        """The first day on which what was done for the handover serves no more: so many days later,
        but what served the handover itself serves to the return."""
        fresh = after_days(on, within)
        return FOREVER if self.out and on <= self.out < fresh else fresh


NO_BIKES = Party()
