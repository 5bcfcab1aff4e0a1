"""What a check, a paper or an inspector can't be written down with."""

from __future__ import annotations

from fleetcare.errors import Problem, an, near, not_one_of
from fleetcare.faults.common import place_name
from fleetcare.faults.context import Context, fault
from fleetcare.records.kinds import Check, FleetPaper, Inspector, Reading
from fleetcare.things import CheckKind

OUTCOMES = ("pass", "fail", "seen")


def check(within: Context, new: Check) -> list[Problem]:
    """Its kind, how it ended, its days as printed, its readings and what they are of."""
    kind = within.rules.checks.get(new.what)
    if kind is None:
        known = within.rules.checks
        return fault("what", f'there is no kind of check "{new.what}".{near(new.what, known)}')
    if new.outcome is not None and new.outcome not in OUTCOMES:
        return fault("outcome", not_one_of(new.outcome, OUTCOMES))
    found = _readings(within, kind, new)
    if kind.paper:
        found += _days_printed(new)
        if new.outcome != "pass":
            found += fault("", f"{an(kind.title)} is in force or not: it has no pass or fail")
    elif new.outcome is None and not new.readings and not found:
        found += fault("", f"say how the {kind.title} ended: --pass or --fail")
    elif new.last_day and new.last_day < new.on:
        found += fault("last_day", f"{new.last_day} is before the check ({new.on})")
    found += _where(within, kind, new)
    if new.place and kind.of is None:
        found += fault("place", f"{an(kind.title)} is done to the van, not to a place")
    return found


def _days_printed(new: Check | FleetPaper) -> list[Problem]:
    found = []
    if new.from_on is None:
        found += fault("from_on", "say the first day it is in force, as printed")
    if new.last_day is None:
        found += fault("last_day", "say the last day it is in force, as printed")
    return found


def paper(within: Context, new: FleetPaper) -> list[Problem]:
    """A paper that covers days, and the vans it names."""
    kind = within.rules.checks.get(new.what)
    if not (kind and kind.paper):
        title = kind.title if kind else f'"{new.what}"'
        return fault("what", f"{an(title)} is done to one van: name it")
    found = _days_printed(new)
    if not new.vans:
        found += fault("vans", "say which vans it names")
    known = within.others.vans()
    for van in new.vans:
        found += [] if van in known else fault("vans", f'"{van}" is not in the fleet')
    return found


def inspector(within: Context, new: Inspector) -> list[Problem]:
    """A name stands once, unless it is said to be another person's."""
    if within.others.named(new.name):
        return fault("name", f'"{new.name}" is in the book already')
    return []


def _readings(within: Context, kind: CheckKind, new: Check) -> list[Problem]:
    found: list[Problem] = []
    seen: set[tuple[str, str | None]] = set()
    for reading in new.readings:
        named = (reading.what, reading.place or new.place or _only_place(within, reading.what))
        if named in seen:
            # One would be read and the other not: nobody could say which is true.
            found += _fault(reading, "is given twice")
            continue
        seen.add(named)
        message = _reading(within, kind, reading)
        found += _fault(reading, message) if message else []
    return found


def _only_place(within: Context, what: str) -> str | None:
    """Where a reading without a place was taken: its component's only place, if there is one."""
    for rule in within.rules.rules.values():
        limits = rule.versions[-1].terms.get("limits", ()) if rule.over else ()
        if any(limit.reading == what for limit in limits):
            filled = list(within.van.stays(str(rule.over)))
            return filled[0] if len(filled) == 1 else None
    return None


def _fault(reading: Reading, message: str) -> list[Problem]:
    what, place, figure = reading
    if what == "result":
        return fault("results", message, f'"{place}={figure}"')
    named = f"{what}:{place}" if place else what
    return fault("readings", message, f'"{named}={figure}"')


def _reading(within: Context, kind: CheckKind, reading: Reading) -> str | None:
    """What is wrong with one reading; None when nothing is."""
    what, place, figure = reading
    known = within.rules.readings.get(what)
    if known is None:
        return f'there is no reading "{what}".{near(what, within.rules.readings)}'
    if what == "result" and kind.results is None:
        return f"{an(kind.title)} has no result for each appliance"
    if what not in kind.readings:
        listed = ", ".join(kind.readings) or "none"
        return f'{an(kind.title)} has no reading "{what}"; it has: {listed}'
    wrong = place_name(place) if place is not None else []
    return wrong[0].message if wrong else known.fault(figure)


def _where(within: Context, kind: CheckKind, new: Check) -> list[Problem]:
    """A check or reading of a component says which one, and that one is in the book.

    A bad reading of a place nobody knows would be lost, and the van let out.
    """
    van, rules = within.van, within.rules
    bound = rules.under(van.fit_outs[-1][1].home)
    by_part = any(rule.over for rule in bound.fed_by.get(new.what, ()))
    asked: list[tuple[str | None, str | None, str, str]] = []
    if kind.of and (new.place or (by_part and new.outcome in ("pass", "fail"))):
        asked.append((kind.of, new.place, "place", ""))
    over = {
        limit.reading: rule.over
        for rule in rules.rules.values()
        if rule.over
        for limit in rule.versions[-1].terms.get("limits", ())
    }
    asked += [
        (over[r.what], r.place or new.place, "readings", f'"{r.what}"')
        for r in new.readings
        if r.what in over
    ]
    if kind.results:
        asked += [
            (kind.results, r.place, "results", "") for r in new.readings if r.what == "result"
        ]
    found = []
    for what, place, field, where in dict.fromkeys(asked):
        found += _of_one(within, new.van, str(what), place, field, where)
    return found


def _of_one(
    within: Context, van: str, what: str, place: str | None, field: str, where: str
) -> list[Problem]:
    filled, title = list(within.van.stays(what)), within.rules.components[what].title
    if place is None and len(filled) > 1:
        return fault(field, f"say which {title}: {', '.join(filled)}", where)
    if place in filled or (place is None and filled):
        return []
    known = f"; fitted are: {', '.join(filled)}" if filled else ""
    at = f' at "{place}"' if place else ""
    message = (
        f"no {title}{at} is in the book{known}.{near(place or '', filled)} Fit it first with: "
        f"fleetcare fit {van} {what} {place or 'PLACE'}"
    )
    return fault(field, message, where)
