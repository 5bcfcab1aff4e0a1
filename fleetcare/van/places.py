"""What was in each place of a van, and when."""

from __future__ import annotations

import datetime as dt
from typing import NamedTuple

from fleetcare.records.kinds import Check, Fit, TakeOff
from fleetcare.records.yard import Back, Event, Out

# Orders records: the day first, then the time of day (none said stands first), then the number.
Key = tuple[dt.date, str, int]


def key_of(record: Check | Fit | TakeOff | Event | Out | Back) -> Key:
    """Where a record stands: time of day only orders records of one day."""
    return (record.on, record.at or "", record.number)


class Stay(NamedTuple):
    """From a moment on, what is in a place: a component, or nothing."""

    key: Key
    fit: Fit | None

    @property
    def on(self) -> dt.date:
        """The day it starts."""
        return self.key[0]

    @property
    def part(self) -> int | None:
        """The component's number: that of its first fit."""
        return (self.fit.part or self.fit.number) if self.fit else None


Stays = dict[str, list[Stay]]  # by place, in order


def arranged(fits: list[Fit], take_offs: list[TakeOff]) -> dict[str, Stays]:
    """What was in each place ever filled, by kind of component."""
    found: dict[str, Stays] = {}
    moves: list[Fit | TakeOff] = [*fits, *take_offs]
    if len(moves) > 1:
        moves.sort(key=key_of)
    first = {fit.number: fit for fit in fits if not fit.part}
    for move in moves:
        stays = found.setdefault(move.what, {}).setdefault(move.place, [])
        if isinstance(move, TakeOff):
            stays.append(Stay(key_of(move), None))
            continue
        origin = first.get(move.part) if move.part else None
        if origin:
            _leave(found[move.what], move, origin)
            move = origin._replace(
                number=move.number, place=move.place, on=move.on, at=move.at, part=move.part
            )
        stays.append(Stay(key_of(move), move))
    return found


def _leave(places: Stays, move: Fit, origin: Fit) -> None:
    """A component fitted elsewhere is no longer where it was."""
    for place, stays in places.items():
        if place != move.place and stays and stays[-1].part == origin.number:
            stays.append(Stay(key_of(move), None))


def in_place_by(fitted: Key, checked: Key) -> bool:
    """Whether a component was in its place when a check was done.

    On one day the time decides, or the number where neither has a time. With a time on only one
    of them the component came later: what was checked was the one before it.
    """
    if fitted[0] != checked[0]:
        return fitted[0] < checked[0]
    if bool(fitted[1]) != bool(checked[1]):
        return False
    return fitted[1:] < checked[1:]


def stay_at(stays: Stays, place: str | None, key: Key) -> Stay | None:
    """What is in a place at a moment; with no place named, in the only one there is."""
    if place is None:
        place = only_place(stays, key)
    found = None
    for stay in stays.get(place or "", ()):
        if in_place_by(stay.key, key):  # one of that day without a time may stand before one with
            found = stay
    return found


def part_at(stays: Stays, place: str | None, key: Key) -> int | None:
    """The component in a place at a moment, by its number."""
    stay = stay_at(stays, place, key)
    return stay.part if stay else None


def perhaps_at(stays: Stays, place: str | None, key: Key) -> list[int]:
    """The components that came to a place (with none named, to any) on the day of a check, with a
    time on only one of the two, and were written down before it: it may have been done to them as
    well. One written down after it most likely came because of it."""
    listed = [stays.get(place, [])] if place is not None else stays.values()
    return [
        stay.part
        for each in listed
        for stay in each
        if stay.key[0] == key[0]
        and stay.part is not None
        and bool(stay.key[1]) != bool(key[1])
        and stay.key[2] < key[2]
    ]


def only_place(stays: Stays, key: Key) -> str | None:
    """The only place filled at a moment; where there is just one it is that, whenever it was."""
    if len(stays) == 1:
        return next(iter(stays))
    filled = filled_at(stays, key)
    return filled[0] if len(filled) == 1 else None


def filled_at(stays: Stays, key: Key) -> list[str]:
    """The places that hold a component at a moment."""
    return [place for place in stays if part_at(stays, place, key) is not None]


def stay_on(stays: list[Stay], day: dt.date) -> Stay | None:
    """What is in a place at the end of a day."""
    found = None
    for stay in stays:
        if stay.on > day:
            break
        found = stay
    return found
