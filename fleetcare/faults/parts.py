"""What a component fitted or taken off can't be written down with."""

from __future__ import annotations

import sys

from fleetcare.errors import Problem, an, near, not_one_of
from fleetcare.faults.common import place_name
from fleetcare.faults.context import Context, fault
from fleetcare.records.kinds import Fit, TakeOff
from fleetcare.things import ComponentKind
from fleetcare.trade.load_index import read_load_index, speed_kmh
from fleetcare.trade.marks import read_mark
from fleetcare.van.places import stay_on
from fleetcare.van.van import Van

MARKS = Fit._fields[Fit._fields.index("made") : Fit._fields.index("even_so")]


def fit(within: Context, new: Fit) -> list[Problem]:
    """Its kind, its place, its marks; of one fitted again, that it is that one."""
    kind = within.rules.components.get(new.what)
    if kind is None:
        return no_such_component(within, new.what)
    found = [*place(within.van, kind, new.place), *_marks(new, kind.week_code)]
    if new.variety and kind.varieties and new.variety not in kind.varieties:
        found += fault("variety", not_one_of(new.variety, kind.varieties))
    if new.tyre_mark not in (None, "r30", "r54"):
        found += fault("tyre_mark", f'"{new.tyre_mark}" is not r30 or r54')
    found += _in_order(within, new)
    return found + (_again(within, new, new.part) if new.part else [])


def _in_order(within: Context, new: Fit | TakeOff) -> list[Problem]:
    """Of one place and day a time is said of all that was done there, or of none: without one it
    stands before what has one, and a component taken off would be taken to be there still."""
    facts = within.facts
    same = (new.what, new.place, new.on)
    moves: list[Fit | TakeOff] = [*facts.fits, *facts.take_offs]
    others = [o for o in moves if (o.what, o.place, o.on) == same]
    last = new.number or sys.maxsize  # one not written down yet is the newest
    for other in others:
        if bool(other.at) != bool(new.at) and bool(new.at) != (last > other.number):
            timed = f"at {other.at}" if other.at else "without a time"
            words = f"#{other.number} was done there {timed} that day: say the time of both"
            return fault("at", words)
    return []


def no_such_component(within: Context, what: str) -> list[Problem]:
    """The nearest kind of component."""
    known = within.rules.components
    return fault("what", f'there is no kind of component "{what}".{near(what, known)}')


def known_places(van: Van, kind: ComponentKind) -> list[str]:
    """The places of a kind of component that the rules name, that were stated, or ever filled."""
    named = list(kind.fixed)
    named += [p for by in kind.by_fact.values() for listed in by.values() for p in listed]
    named += van.fit_outs[-1][1].places.get(kind.name, ())
    return list(dict.fromkeys([*named, *van.stays(kind.name)]))


def place(van: Van, kind: ComponentKind, where: str) -> list[Problem]:
    """A place is one that is known, or a word fit to be a new one where there may be others."""
    known = known_places(van, kind)
    if where in known:
        return []
    if not kind.other_places:
        words = f'{an(kind.title)} has no place "{where}"; places are: {", ".join(known)}.'
        return fault("place", f"{words}{near(where, known)}")
    return place_name(where)


def _marks(new: Fit, week_code: bool) -> list[Problem]:
    """The marks of a component can be read, and are not after the day it was fitted."""
    found = []
    for name in ("made", "commissioned", "replace_by"):
        value = getattr(new, name)
        if value is None:
            continue
        try:
            day = read_mark(value, week_code and name == "made", new.on)
        except ValueError as wrong:
            found += fault(name, str(wrong))
            continue
        if name == "commissioned" and day and day > new.on:
            found += fault(name, f"{value} is after the day it was fitted ({new.on})")
    for name, read in (("load_index", read_load_index), ("speed_symbol", speed_kmh)):
        value = getattr(new, name)
        if value is not None:
            try:
                read(value)
            except ValueError as wrong:
                found += fault(name, str(wrong))
    return found


def _again(within: Context, new: Fit, part: int) -> list[Problem]:
    """A component fitted again is named by its first record, and keeps its own marks."""
    origin = next((one for one in within.facts.fits if one.number == part), None)
    if origin is None:
        return fault("part", "is no component of this van")
    if origin.part:
        return fault("part", f"was fitted again itself: name its first record, #{origin.part}")
    marked = any(getattr(new, name) is not None for name in MARKS)
    return same_part(new, origin, part, marked=marked)


def same_part(new: Fit, origin: Fit, part: int, *, marked: bool) -> list[Problem]:
    """Why a component can't be fitted again as the one of a record: it has marks of its own, it is
    of another kind, its readings stand with another van."""
    if marked:
        words = f"#{part} keeps its own marks: correct that record if they are wrong"
    elif origin.what != new.what:
        words = f"#{part} is {an(origin.what)}, not {an(new.what)}"
    elif origin.van != new.van:
        words = (
            f"#{part} is a part of {origin.van}, and its readings stand there. Take it off "
            f"{origin.van}, type its marks for {new.van} as they are read off it, and read it again"
        )
    else:
        return []
    return fault("part", words)


def take_off(within: Context, new: TakeOff) -> list[Problem]:
    """Something is there to be taken off."""
    if new.what not in within.rules.components:
        return no_such_component(within, new.what)
    if occupant(within.van, new):
        return _in_order(within, new)
    return fault("place", f"nothing is recorded at {new.what} {new.place} on {new.on}")


def occupant(van: Van, new: Fit | TakeOff) -> Fit | None:
    """The component in a record's place at the end of its day."""
    stay = stay_on(van.stays(new.what).get(new.place, []), new.on)
    return stay.fit if stay else None
