"""What one record would put right, and the same van supposing it were there.

"If done first" is no second calculation: the remedy is written into the facts as a record of a
day, and the rules judge those facts as they judge any others.
"""

from __future__ import annotations

import datetime as dt
import itertools
from collections.abc import Iterator
from typing import Any

from fleetcare.records.kept import Scan
from fleetcare.records.kinds import Check, Fit, Odometer, Reading, Recheck, SignOff, VanFacts
from fleetcare.records.yard import RecallDone
from fleetcare.rules.book import Book
from fleetcare.rules.kinds import kind_of
from fleetcare.rules.outcome import Outcome
from fleetcare.rules.remedies import Remedy
from fleetcare.things import all_hold, values_of
from fleetcare.timeline import Step
from fleetcare.van.said import FitOut
from fleetcare.van.van import OTHERS, SUPPOSED, Has, Van

_PLATED = "1000kg"  # tyres want it low, a load wants it high: less than any axle's does for both
_NEVER_SPOILS = "9990-12-31"


def remedy_for(outcome: Outcome, step: Step) -> Remedy | None:
    """The record that would put a bad step right; None when no single record can."""
    rule = outcome.rule
    if step.code == "unsaid":
        return Remedy("say", " ".join(step.detail), None, rule, step.detail)
    return outcome.kind.remedy(rule, outcome.place, step)


def supposing(van: Van, book: Book, remedy: Remedy, day: dt.date, serial: int = 0) -> Van:
    """The van with the remedy recorded on a day, by somebody competent, everything in order."""
    number, name = SUPPOSED + serial * 64, van.facts.van
    if remedy.sort == "check":
        return van.with_(_check(van, book, remedy, day, number))
    if remedy.sort == "component":
        stays = van.stays(remedy.what)
        places = remedy.places or (str(remedy.place),)
        for offset, place in enumerate([p for p in places if p in stays] or places):
            van = van.with_(new_part(van, book, remedy, place, day, number + offset))
        return van
    if remedy.sort == "sign-off":
        return van.with_(SignOff(number, name, remedy.detail[0], day, by="supposed"))
    if remedy.sort == "recheck":
        waits = dt.date.fromisoformat(_NEVER_SPOILS)
        return van.with_(Recheck(number, name, remedy.detail[0], day, waits, by="supposed"))
    if remedy.sort == "recall":
        return van.with_(RecallDone(number, name, remedy.detail[0], day, "dealer", "paper"))
    if remedy.sort == "odometer":
        return van.with_(Odometer(number, name, day, "0km"))
    if remedy.sort == "paper":
        return van.with_(Scan(number, name, remedy.detail[0], day, "supposed"))
    return van


def touches(van: Van, book: Book, remedy: Remedy) -> Has:
    """What there is a record of once a remedy is done: rules that read none of it stay as they
    were. A signature may also close the fail that found the defect."""
    nothing: frozenset[str] = frozenset()
    checks, readings, components = nothing, nothing, nothing
    others: tuple[str, ...] = ()
    if remedy.sort == "check":
        checks, readings = frozenset({remedy.what}), frozenset(book.checks[remedy.what].readings)
    elif remedy.sort == "component":
        components = frozenset({remedy.what})
    elif remedy.sort == "sign-off":
        defect = next((d for d in van.facts.defects if d.number == remedy.detail[0]), None)
        found_by = van.check_numbered(defect.check if defect else None)
        checks = frozenset({found_by.what}) if found_by else nothing
        others = ("defects",)
    else:
        read = {
            "recheck": ("defects",),
            "recall": ("recalls",),
            "paper": ("scans",),
            "odometer": ("odometers",),
        }
        others = read.get(remedy.sort, ())
    flags = tuple(name in others for name in OTHERS)
    return Has(checks, components, readings, nothing, nothing, flags)


def _check(van: Van, book: Book, remedy: Remedy, day: dt.date, number: int) -> Check:
    kind, rule = book.checks[remedy.what], remedy.rule
    figures = kind_of(rule).figures(rule, day)
    readings = tuple(
        Reading(name, remedy.place, figure)
        for name, figure in figures.items()
        if name in kind.readings
    )
    place = remedy.place if kind.of else None
    # After whatever else is supposed that day: what was just fitted is then tested.
    check = Check(
        number, van.facts.van, remedy.what, day, "24:01", "pass", place=place, readings=readings
    )
    if kind.paper or _by_its_days(van, book, remedy.what):
        return check._replace(from_on=day, last_day=dt.date.fromisoformat(_NEVER_SPOILS))
    return check


def _by_its_days(van: Van, book: Book, what: str) -> bool:
    """Whether a rule that binds the van counts a check by the days printed on it alone."""
    said = van.fit_outs[-1][1]
    feeds = book.under(said.home).fed_by.get(what, ())
    return any(kind_of(rule).printed and all_hold(rule.when, said.get) for rule in feeds)


def new_part(van: Van, book: Book, remedy: Remedy, place: str, day: dt.date, number: int) -> Fit:
    """A new part of the same sort as the old one, made that day, able to bear any load."""
    old = next((s.fit for s in reversed(van.stays(remedy.what).get(place, [])) if s.fit), None)
    usual = next(iter(book.components[remedy.what].varieties), None)
    return Fit(
        number,
        van.facts.van,
        remedy.what,
        place,
        day,
        at="24:00",
        made=day.isoformat(),
        replace_by=_NEVER_SPOILS,
        variety=remedy.variety or (old.variety if old else None) or usual,
        cold_pressure=old.cold_pressure if old else None,
        load_index="200/200",
        rating="100000kg",
        bikes=100,
        electric_bikes=100,
    )


def said_ways(van: str, book: Book, fit_out: FitOut, names: tuple[str, ...]) -> Iterator[VanFacts]:
    """Every statement that would say the facts left open, the emptiest fit-out first."""
    options: list[list[tuple[str, Any]]] = []
    for name in names:
        if name.startswith("places of "):
            options.append([("places", (f"{name.removeprefix('places of ')}:",))])
        elif name == "notice_height":
            options.append([(name, fit_out.get("height") or "3000mm")])
        elif name.endswith("_mass"):
            options.append([(name, _PLATED)])
        elif name not in VanFacts._fields:
            options.append([("has", (f"{name}:{word}",)) for word in ("no", "yes")])
        else:
            options.append([(name, value) for value in reversed(values_of(book.facts[name]))])
    for ways in itertools.product(*options):
        yield stating(van, ways)


def stating(van: str, ways: tuple[tuple[str, Any], ...]) -> VanFacts:
    """One statement of a van that says fields as given; words of one field stand together."""
    said: dict[str, Any] = {}
    for name, value in ways:
        said[name] = (*said.get(name, ()), *value) if isinstance(value, tuple) else value
    return VanFacts(SUPPOSED, van)._replace(**said)
