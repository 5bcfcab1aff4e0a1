"""Who asks: what a hirer brings and where it goes."""

from __future__ import annotations

import datetime as dt
from typing import NamedTuple


class Shown(NamedTuple):
    """A driver's licence as it was shown: its class, the day, and the last day of that class."""

    licence: str
    on: dt.date
    last_day: dt.date | None = None


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
    sheets: tuple[str, ...] = ()

    @property
    def any_bikes(self) -> bool:
        """Whether the rack is used at all."""
        return self.bikes + self.electric_bikes > 0


NO_BIKES = Party()
