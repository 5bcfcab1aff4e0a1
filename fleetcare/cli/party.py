"""The hirer's party as typed: bikes, class of licence, countries."""

from __future__ import annotations

import re
from collections.abc import Callable
from decimal import Decimal
from typing import Any, TypeVar

import click

from fleetcare.cli.words import COUNT
from fleetcare.intake.typed import LICENCES, countries, kg
from fleetcare.records.workshop import too_many_children
from fleetcare.rules.party import Party

F = TypeVar("F", bound=Callable[..., Any])


class Countries(click.ParamType[tuple[str, ...]]):
    """Countries by their two letters, with commas between."""

    name = "DE,AT"

    def convert(self, value: Any, param: Any, ctx: Any) -> tuple[str, ...]:
        """The countries in capitals, each once; a usage error names what is none."""
        if isinstance(value, tuple):
            return value
        try:
            return countries(value)
        except ValueError as fault:
            self.fail(str(fault), param, ctx)


LICENCE = click.option(
    "--licence",
    type=click.Choice(LICENCES),
    help="Class the hirer showed; visitor: a licence of no GB, NI or EEA country.",
)
ABROAD = click.option("--abroad", type=Countries(), help="Countries visited, like DE,AT.")
_BIKES: tuple[tuple[str, str], ...] = (
    ("--bikes", "Ordinary bikes."),
    ("--electric-bikes", "E-bikes."),
)

_PEOPLE: tuple[tuple[str, str], ...] = (
    ("--people", "How many ride, the driver among them."),
    ("--children-under-135", "How many of them are children under 135 cm."),
)
_LOAD: tuple[tuple[str, str], ...] = (
    ("--luggage-kg", "Luggage and stores, in kg: the load is then weighed against the plate."),
    ("--water-l", "Fresh water aboard, in litres."),
    ("--fuel-l", "Fuel aboard, in litres; full is counted where it was weighed so."),
)
# The fields of a party that these say.
LOAD = tuple(name.removeprefix("--").replace("-", "_") for name, _ in _LOAD)


class Figure(click.ParamType[Decimal]):
    """A figure in the unit that its option names; from 0 up where it is no distance."""

    name = "FIGURE"

    def __init__(self, *, signed: bool = False) -> None:
        self._form = re.compile(rf"{'-?' if signed else ''}\d{{1,6}}(\.\d{{1,3}})?")

    def convert(self, value: Any, param: Any, ctx: Any) -> Decimal:
        """The figure as typed; a usage error for anything else."""
        if not self._form.fullmatch(str(value)):
            self.fail(f'"{value}" is not a figure: type it like 150 or 150.5', param, ctx)
        return Decimal(str(value))


def takes_party(default: int | None = 0) -> Callable[[F], F]:
    """For a command that asks about a party: bikes, their weights, people, licence, countries."""

    def decorate(callback: F) -> F:
        made: Any = ABROAD(LICENCE(callback))
        for name, words in reversed(_LOAD):
            made = click.option(name, type=Figure(), metavar="FIGURE", help=words)(made)
        for name, words in reversed(_PEOPLE):
            made = click.option(name, type=COUNT, help=words)(made)
        made = click.option(
            "--bike-kg", multiple=True, help="Mass of a bike that was weighed, in kg."
        )(made)
        for name, words in reversed(_BIKES):
            made = click.option(name, type=COUNT, default=default, help=words)(made)
        return made  # type: ignore[no-any-return]

    return decorate


def takes_wish(callback: F) -> F:
    """For a command that asks which van: what the van itself is to be."""
    made: Any = callback
    for name, dest, words in (
        ("--without", "has_not", "A fact of the firm's own that the van is said not to have."),
        ("--with", "has", "A fact of the firm's own that the van is said to have."),
    ):
        made = click.option(name, dest, multiple=True, metavar="FACT", help=words)(made)
    return click.option("--berths", type=COUNT, help="How many it must sleep.")(made)  # type: ignore[no-any-return]


def wish_of(said: dict[str, Any]) -> Any:
    """The options of `takes_wish`."""
    from fleetcare.desk.which import wished

    return wished(said["berths"], said["has"], said["has_not"])


def party_of(said: dict[str, Any]) -> Party:
    """The options of `takes_party` as a party; a usage error for a mass that is none, more masses
    than bikes, or more children than people."""
    weighed = weighed_kg(said["bike_kg"])
    bikes, electric_bikes = said["bikes"], said["electric_bikes"]
    people, children = said["people"], said["children_under_135"]
    if len(weighed) > bikes + electric_bikes:
        raise click.BadParameter(
            f"{len(weighed)} masses for {bikes + electric_bikes} bikes", param_hint="--bike-kg"
        )
    too_many = too_many_children(people, children)
    if too_many:
        raise click.BadParameter(too_many, param_hint="--children-under-135")
    licence, abroad = said["licence"], said["abroad"] or ()
    load = {name: said[name] for name in LOAD}
    return Party(bikes, electric_bikes, weighed, licence, abroad, people, children, **load)


def weighed_kg(bike_kg: tuple[str, ...]) -> tuple[str, ...]:
    """Masses as typed, without their unit."""
    try:
        return tuple(kg(one) for one in bike_kg)
    except ValueError as fault:
        raise click.BadParameter(str(fault), param_hint="--bike-kg") from None
