"""A tablet that the yard shares: an owner pairs it, and whoever of the yard has a PIN takes a turn
on it, for the yard's pages alone.

Wrong PINs are counted over all tablets, or each tablet more would be five guesses more. How long
and how often: common practice, no source.
"""

from __future__ import annotations

import datetime as dt
from typing import NamedTuple

from fleetcare import clock, secret
from fleetcare.desk import gate
from fleetcare.desk.gate import moment
from fleetcare.errors import Problem, Refused
from fleetcare.store import doors, tablets
from fleetcare.store.doors import SessionRow
from fleetcare.store.people import Connection, NobodyYet, beside
from fleetcare.store.tablets import PinRow, TabletRow

TRIES = 5  # wrong ones in a row, after which a PIN is dead


class Tablet(NamedTuple):
    """A tablet of the yard: what it is called, who paired it and when, and its last use."""

    name: str
    by: str
    paired_on: dt.date
    used_on: dt.date
    used_at: str


def pair(place: str, by: str, name: str, token: str, tablet: str) -> str:
    """Make the device that somebody is signed in on the yard's; gives the token of its cookie. They
    are signed out on it, so that whoever takes it up next is not them.

    Refused for a device that is paired already, and for a name that says nothing or is another's.
    """
    gate.hold_to_plain(name, "tablet")
    made, now = secret.token(), moment()
    with beside(place, writes=True) as connection:
        here = _found(connection, tablet)
        if here is not None:
            words = f'this one is paired already, as "{here.name}": end that first'
            raise Refused([Problem("", words, "tablet")])
        known = {row.name.casefold() for row in _paired(connection)}
        if name.casefold() in known:
            words = f'"{name}" is paired already: end it first, or choose another name'
            raise Refused([Problem("", words, "tablet")])
        gate.forget_old(connection)
        tablets.pair(connection, secret.digest(made), TabletRow(name, by, now, now))
        gate.end(connection, token)
    return made


def end(place: str, name: str) -> None:
    """A tablet is the yard's no more, and every session begun on it ends. Refused where none is
    called so."""
    with beside(place, writes=True) as connection:
        if not tablets.unpair(connection, name):
            raise Refused([Problem("", f'no tablet is called "{name}"', "tablet")])


def listed(place: str) -> list[Tablet]:
    """The tablets of the yard."""
    with beside(place) as connection:
        rows = _paired(connection)
    return [
        Tablet(row.name, row.by, clock.hour_of(row.made_at)[0], *clock.hour_of(row.seen_at))
        for row in rows
    ]


def called(place: str, tablet: str) -> str | None:
    """What the tablet of a cookie is called; None where it is none of the yard's."""
    with beside(place) as connection:
        found = _found(connection, tablet)
    return found.name if found else None


def _paired(connection: Connection) -> list[TabletRow]:
    return tablets.paired(connection, moment(gate.PAIRED))


def _found(connection: Connection, tablet: str) -> TabletRow | None:
    return tablets.find(connection, secret.digest(tablet), moment(gate.PAIRED)) if tablet else None


def hands(place: str) -> list[str]:
    """Whoever may come in by a PIN on a tablet of the yard."""
    with beside(place) as connection:
        return list(_hands(connection))


def _hands(connection: Connection) -> dict[str, PinRow]:
    """The PINs of those who are of the yard now."""
    kept = tablets.pins(connection)
    named = [row.name for row in doors.persons(connection) if _of_the_yard(row)]
    return {name: kept[name] for name in named if name in kept}


def _of_the_yard(row: doors.Row) -> bool:
    return gate.AT_TABLET in row.roles.split(",")


class Own(NamedTuple):
    """What somebody's own page says: their roles, and whether they have a PIN or may."""

    roles: tuple[str, ...]
    may_have_pin: bool
    has_pin: bool
    dead: bool  # typed wrongly too often


def own(place: str, name: str) -> Own:
    """What somebody is here, and how their PIN stands."""
    with beside(place) as connection:
        row, kept = gate.known(connection, name), tablets.pins(connection).get(name)
    dead = kept is not None and kept.wrong >= TRIES
    return Own(tuple(row.roles.split(",")), _of_the_yard(row), kept is not None, dead)


def pins(place: str) -> dict[str, str]:
    """Who has a PIN, and how it stands."""
    try:
        with beside(place) as connection:
            kept = _hands(connection)
    except NobodyYet:
        return {}
    return {
        name: "PIN dead, to be set anew" if row.wrong >= TRIES else "PIN set"
        for name, row in kept.items()
    }


class Chosen(NamedTuple):
    """A PIN as somebody chose it, with their password."""

    password: str
    pin: str
    again: str


def set_pin(place: str, name: str, chosen: Chosen, address: str) -> None:
    """Set somebody's PIN, or another; what was begun by the one before ends.

    Refused for whoever is not of the yard, for a PIN that is weak or typed differently again, and
    for a wrong password, which is counted as at the door.
    """
    weak = secret.pin_weakness(chosen.pin)
    faults = [Problem("", weak, "pin")] if weak else []
    if chosen.pin != chosen.again:
        faults.append(Problem("", "was typed differently the second time", "again"))
    if not own(place, name).may_have_pin:
        faults = [Problem("", f"a PIN is for the role {gate.AT_TABLET} alone", "pin")]
    if faults:
        raise Refused(faults)
    kept = secret.hashed(chosen.pin)
    gate.by_own_password(
        place, name, chosen.password, address,
        lambda connection: tablets.put_pin(connection, name, kept),
    )  # fmt: skip


def end_pin(place: str, name: str) -> None:
    """Somebody has no PIN from here on, and what was begun by it ends."""
    with beside(place, writes=True) as connection:
        gate.known(connection, name)
        tablets.drop_pin(connection, name)


def holds(place: str, tablet: str, name: str) -> bool:
    """Whether somebody's PIN can be typed on the tablet of a cookie: not where it is dead. Refused
    where the tablet is none of the yard's, or nobody of the yard has that name and a PIN."""
    with beside(place) as connection:
        return _asked(connection, tablet, name).wrong < TRIES


def _asked(connection: Connection, tablet: str, name: str) -> PinRow:
    kept = _hands(connection).get(name) if _found(connection, tablet) else None
    if kept is None:
        raise Refused(
            [Problem("", "this device is none of the yard's, or nobody of that name has a PIN")]
        )
    return kept


def begin(place: str, tablet: str, name: str, pin: str) -> str | None:
    """The token of a turn on the tablet of a cookie; None for a PIN that is wrong, or is dead.

    Refused as `holds` is. Counted before it is looked at: many at once are not let in together.
    """
    with beside(place, writes=True) as connection:
        kept = _asked(connection, tablet, name).kept
        if not tablets.count_try(connection, name, TRIES):
            return None
    if not secret.verified(kept, pin):
        return None
    with beside(place, writes=True) as connection:
        now = _asked(connection, tablet, name)  # it took a while: removed, ended, another PIN
        if now.kept != kept or not tablets.came_true(connection, name, kept):
            return None
        gate.forget_old(connection)
        made, at = secret.token(), moment()
        row = SessionRow(name, secret.token(), at, at)
        tablets.put_turn(connection, secret.digest(made), secret.digest(tablet), row)
    return made
