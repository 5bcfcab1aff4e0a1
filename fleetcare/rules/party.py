"""Who asks: what a hirer brings and where it goes."""

from __future__ import annotations

from typing import NamedTuple


class Party(NamedTuple):
    """What a hirer brings and where it goes: bikes, the masses in kg of those that were weighed,
    the class of licence shown, the countries visited."""

    bikes: int = 0
    electric_bikes: int = 0
    weighed_kg: tuple[str, ...] = ()
    licence: str | None = None
    abroad: tuple[str, ...] = ()

    @property
    def any_bikes(self) -> bool:
        """Whether the rack is used at all."""
        return self.bikes + self.electric_bikes > 0


NO_BIKES = Party()
