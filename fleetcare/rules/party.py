"""Who asks: what a hirer brings and where it goes."""

from __future__ import annotations

import datetime as dt
from decimal import Decimal
from typing import Any, NamedTuple

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
    135 cm, and the licence of each driver as shown; which sheets are kept of the hire; the luggage,
    water and fuel it takes aboard, and what its bikes weigh by the rules."""

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
    luggage_kg: Decimal | None = None
    water_l: Decimal | None = None
    fuel_l: Decimal | None = None
    bikes_kg: Decimal = Decimal(0)

    @property
    def any_bikes(self) -> bool:
        """Whether the rack is used at all."""
        return self.bikes + self.electric_bikes > 0

    @property
    def says_load(self) -> bool:
        """Whether it says what it takes aboard besides people and bikes."""
        return not self.luggage_kg is self.water_l is self.fuel_l is None

    @property
    def load(self) -> dict[str, Any]:
        """The same as the fields of a record, with units."""
        said = (
            ("luggage", self.luggage_kg, "kg"),
            ("water", self.water_l, "l"),
            ("fuel", self.fuel_l, "l"),
        )
        return {
            name: None if figure is None else f"{figure.normalize():f}{unit}"
            for name, figure, unit in said
        }

    def serves_to(self, on: dt.date, within: int) -> dt.date:
        """The first day on which what was done for the handover serves no more: so many days later,
        but what served the handover itself serves to the return."""
        fresh = after_days(on, within)
        return FOREVER if self.out and on <= self.out < fresh else fresh


NO_BIKES = Party()
