"""Checks of a van: sorted once by kind; which failed, which stand after which, what was read."""

from __future__ import annotations

from typing import NamedTuple

from fleetcare.records.kinds import Check, Fit, Reading
from fleetcare.van.places import Stays, key_of, only_place, perhaps_at, stay_at


class Taken(NamedTuple):
    """The readings of one check at one place, with the component they belong to."""

    check: Check
    place: str | None
    part: int | None
    readings: dict[str, Reading]
    perhaps: bool = False  # it came that day, and may not have been there yet: only bad counts
    fit: Fit | None = None  # the component as it was fitted there


def by_kind(checks: list[Check]) -> dict[str, list[Check]]:
    """Checks by what they are, each kind in order of day and time."""
    found: dict[str, list[Check]] = {}
    for check in checks:
        found.setdefault(check.what, []).append(check)
    for listed in found.values():
        if len(listed) > 1:
            listed.sort(key=key_of)
    return found


def failed(check: Check) -> bool:
    """A fail, or a pass in which an appliance was found unsafe or left untested."""
    return check.outcome == "fail" or any(
        r.what == "result" and r.figure in ("unsafe", "not-tested") for r in check.readings
    )


def looked_at(check: Check, place: str) -> bool:
    """Whether a check looked at what is in a place and found it good or shut off: one that names
    results looked at those alone."""
    results = {r.place: r.figure for r in check.readings if r.what == "result"}
    return not results or results.get(place) in ("pass", "isolated")


def stands_after(later: Check, fail: Check) -> bool:
    """Whether a pass stands after a fail: on a later day, or at a later time of the same day.

    With a time missing on either the fail stands last: doubt never hires a van out.
    """
    if later.on != fail.on:
        return later.on > fail.on
    return bool(later.at and fail.at and later.at > fail.at)


def taken(read: list[Check], names: tuple[str, ...], stays: Stays | None) -> list[Taken]:
    """Readings of any of `names`, check by check and place by place, in order; with `stays`, of
    the component that was in the place."""
    found = []
    for check in sorted(read, key=key_of):
        by_place: dict[str | None, dict[str, Reading]] = {}
        for reading in check.readings:
            if reading.what in names:
                place = reading.place or check.place
                by_place.setdefault(place, {})[reading.what] = reading
        for place, readings in by_place.items():
            stay = stay_at(stays, place, key_of(check)) if stays is not None else None
            part = stay.part if stay else None
            if stays is not None and place is None:
                place = only_place(stays, key_of(check))
            found.append(Taken(check, place, part, readings, False, stay.fit if stay else None))
            if stays is not None:
                came = perhaps_at(stays, place, key_of(check))
                found += [Taken(check, place, one, readings, True) for one in came if one != part]
    return found
