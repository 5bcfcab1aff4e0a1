"""Bikes as typed."""

from __future__ import annotations

from decimal import Decimal, InvalidOperation

import click

from fleetcare.rules.kinds.case import Party


def party_of(bikes: int, electric_bikes: int, bike_kg: tuple[str, ...]) -> Party:
    """A party of bikes; a usage error for a mass that is none, or more masses than bikes."""
    weighed = []
    for typed in bike_kg:
        kg = typed.removesuffix("kg")
        try:
            if not 0 < Decimal(kg) < 1000:
                raise InvalidOperation
        except InvalidOperation:
            raise click.BadParameter(
                f'"{typed}" is not a mass in kg: type it like 24', param_hint="--bike-kg"
            ) from None
        weighed.append(kg)
    if len(weighed) > bikes + electric_bikes:
        raise click.BadParameter(
            f"{len(weighed)} masses for {bikes + electric_bikes} bikes", param_hint="--bike-kg"
        )
    return Party(bikes, electric_bikes, tuple(weighed))
