"""Kinds of thing a rulebook names: facts, components, readings, checks, events, lines of a sheet;
and conditions over what is stated of them."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable, Mapping
from decimal import Decimal
from typing import Any, NamedTuple

from fleetcare.errors import not_one_of
from fleetcare.records.kinds import VanFacts
from fleetcare.trade.measures import read_measure


class FactKind(NamedTuple):
    """A fact that may be stated about a van, and the values a yes/no or word may take."""

    name: str
    title: str
    holds: str  # yes-no, word, day, count, position or a dimension
    values: tuple[str, ...] = ()
    usual: tuple[str, str] | None = None  # the least and the most of any motorhome

    @property
    def own(self) -> bool:
        """Whether a statement has no field for it: it is said by its name, yes or no."""
        return self.name not in VanFacts._fields


class ComponentKind(NamedTuple):
    """A thing fitted that ages, and the places that must be filled with one."""

    name: str
    title: str
    fixed: tuple[str, ...] = ()
    by_fact: Mapping[str, Mapping[str, tuple[str, ...]]] = {}  # fact → value → places
    stated: bool = False  # the van says its places
    when: tuple[Condition, ...] = ()
    other_places: bool = True  # one fitted elsewhere makes that place
    week_code: bool = False  # four digits are a week code, not a year
    was: tuple[str, ...] = ()  # names it bore before
    bikes: bool = False  # it carries them
    varieties: tuple[str, ...] = ()  # the types one may be of; the first is the usual one
    said_with: str | None = None  # the option that says its places, where it has one of its own


class ReadingKind(NamedTuple):
    """A value measured in a check."""

    name: str
    title: str
    dimension: str | None = None  # None: a word
    bare: bool = False  # typed without its unit
    words: tuple[str, ...] = ()
    usual: tuple[str, str] | None = None  # the least and the most of any motorhome

    def fault(self, figure: str) -> str | None:
        """What is wrong with a figure read; None when nothing is."""
        if self.words:
            if figure in self.words:
                return None
            return not_one_of(figure, self.words)
        try:
            value = read_measure(figure, self.dimension or "", bare=self.bare).value
        except ValueError as wrong:
            return str(wrong)
        if self.dimension == "percent" and value > 100:
            return f'"{figure}" is more than 100 %'
        return None


class CheckKind(NamedTuple):
    """A check, service, test or paper."""

    name: str
    title: str
    aliases: tuple[str, ...] = ()
    was: tuple[str, ...] = ()  # names it bore before
    walkaround: bool = False  # what a filled handover sheet is recorded as
    weighbridge: bool = False  # what a weighbridge ticket is recorded as
    readings: tuple[str, ...] = ()
    of: str | None = None  # the kind of component it is done to
    paper: bool = False  # covers days as printed
    results: str | None = None  # a result for each component of this kind
    print_limit_months: int | None = None  # a last day printed beyond its eve is a slip
    keep_further: int = 0  # who did it is kept until so many further ones are written down
    keep_gone_years: int = 0  # or, of a van that left for good, so many years
    keep_source: str = ""  # what asks for that


# What a weighbridge ticket reads of each axle, front first, and the fact its plate says.
WEIGHED = {
    "weighed-front": "front_axle_mass",
    "weighed-rear": "rear_axle_mass",
    "weighed-tag": "tag_axle_mass",
}


class EventKind(NamedTuple):
    """Something that may happen to a van and asks for a check."""

    name: str
    title: str
    tell: str = ""  # what to tell a hirer who has the van
    steps: tuple[str, ...] = ()  # what is done with it, in order
    aboard: bool = False  # what to do then stands on the sheet in the van
    on_swap: bool = False  # what a hirer's change of vans on the road is written down as
    brings_home: bool = False  # the van is in the yard again
    was: tuple[str, ...] = ()  # names it bore before


class LineKind(NamedTuple):
    """One line of a handover or return sheet: what to look at, why, and what it feeds."""

    name: str
    title: str
    sheets: tuple[str, ...]
    asks: str
    why: str
    source: str
    rules: tuple[str, ...] = ()  # that it feeds
    feeds: str = ""  # what else
    reading: str | None = None
    over: str | None = None  # asked for each place of this kind of component
    event: str | None = None
    check: str | None = None
    when: tuple[Condition, ...] = ()
    bikes: bool | None = None  # only with bikes, only without, or either
    beside: str | None = None  # the field of the component whose figure is printed beside it
    caution: str = ""
    morning: str = ""  # what the hirer looks at each morning, on the sheet in the van
    danger: bool = False  # somebody may be hurt where it is wrong: it is answered in so many words
    was: tuple[str, ...] = ()  # names it bore before


class Jurisdiction(NamedTuple):
    """Where the rules hold, when they were last reviewed, and what to print with them."""

    name: str
    title: str
    reviewed_on: dt.date
    caution: str


class Condition(NamedTuple):
    """Something that must be so of the van (`fact`) or of the component (`part`)."""

    name: str
    equals: tuple[Any, ...] | None = None
    over: Decimal | None = None
    at_least: Decimal | None = None
    up_to: Decimal | None = None
    dimension: str | None = None
    unsaid: str | None = None  # what it is taken for where nobody said


def holds(condition: Condition, value: Any) -> bool | None:
    """Whether a condition holds of a value; None when the value was not said."""
    if value is None:
        value = condition.unsaid
    if value is None:
        return None
    if condition.equals is not None:
        return value in condition.equals
    amount = read_measure(value, condition.dimension).value if condition.dimension else value
    if condition.over is not None:
        return bool(Decimal(amount) > condition.over)
    if condition.up_to is not None:
        return bool(Decimal(amount) <= condition.up_to)
    return bool(Decimal(amount) >= (condition.at_least or 0))


def unusual(typed: str, dimension: str, usual: tuple[str, str] | None) -> str | None:
    """Why a figure is none of a motorhome's; None where it may be one."""
    if usual is None:
        return None
    value = read_measure(typed, dimension, bare=True).value
    least, most = (read_measure(bound, dimension).value for bound in usual)
    if least <= value <= most:
        return None
    return f"{typed} is none of a motorhome's: {usual[0]} to {usual[1]} is usual"


Said = Callable[[str], Any]  # the value of a fact by its name; None when nobody said


def all_hold(conditions: tuple[Condition, ...], said: Said) -> bool | None:
    """Whether all conditions on the van hold; False beats not said, which beats True."""
    answer: bool | None = True
    for condition in conditions:
        one = holds(condition, said(condition.name))
        if one is False:
            return False
        if one is None:
            answer = None
    return answer


def required_places(
    kind: ComponentKind, said: Said, places: Mapping[str, tuple[str, ...]]
) -> tuple[list[str], list[str]]:
    """The places that must be filled with a kind of component, and the facts not said that
    would name more; `places` are those stated, by kind of component."""
    wanted = all_hold(kind.when, said)
    if wanted is False:
        return [], []
    unsaid = [] if wanted else [c.name for c in kind.when if said(c.name) is None]
    found = list(kind.fixed)
    for fact, by_value in kind.by_fact.items():
        value = said(fact)
        if value is None:
            unsaid.append(fact)
        else:
            found.extend(by_value.get(value, ()))
    if kind.stated:
        if kind.name in places:
            found.extend(places[kind.name])
        else:
            unsaid.append(f"places of {kind.name}")
    return ([] if wanted is None else found), unsaid


def values_of(fact: FactKind) -> tuple[Any, ...]:
    """Values that stand for every way a fact could be: all words, yes and no, or two extremes."""
    if fact.holds == "yes-no":
        return (True, False)
    if fact.holds == "word":
        return fact.values
    if fact.holds == "day":
        return (dt.date(1900, 1, 1), dt.date(9990, 1, 1))
    if fact.holds == "count":
        return (0, 1_000_000)
    if fact.holds == "position":
        return ("1000000mm ahead", "1000000mm behind")
    unit = {"mass": "kg", "length": "mm", "pressure": "mbar", "distance": "km"}[fact.holds]
    return (f"0{unit}", f"1000000000{unit}")
