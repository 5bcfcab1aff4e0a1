"""Passkeys: a second way in beside the password. Somebody adds one by their password, on a device
of their own, and comes in by it without a name being asked.

What a browser is asked is random, lies here for five minutes, is for that browser alone, and is
heard once, whatever the answer. How long: common practice, no source.
"""

from __future__ import annotations

import datetime as dt
import ipaddress
from typing import NamedTuple
from urllib.parse import urlsplit

from fleetcare import ceremony, clock, secret
from fleetcare.ceremony import Answer as Answer
from fleetcare.ceremony import At, Unheld
from fleetcare.desk import gate, tablet
from fleetcare.desk.gate import moment
from fleetcare.errors import FleetcareError, Problem, Refused
from fleetcare.store import doors, passkeys
from fleetcare.store.passkeys import AskedRow, PasskeyRow
from fleetcare.store.people import Connection, NobodyYet, beside

_MOST = 20  # of a person: common practice, no source
_NUMBER = "a passkey needs a name in the address of these pages, not a number"
_PLAIN = "a passkey needs TLS, which these pages are served without"
_SHARED = (
    "this is a tablet that the yard shares, and whoever unlocks it would be you: add a passkey on "
    "a device of your own"
)
_LATE = "was asked for more than five minutes ago, was answered already, or in another browser"
_ANEW = "fill in the form again"
_PASSWORD = "sign in with your password"


class NotTaken(FleetcareError):
    """A passkey that lets nobody in: why, and whose it is where that is known."""

    def __init__(self, why: str, whose: str | None, words: str) -> None:
        self.why, self.whose = why, whose
        super().__init__(words)


def lacking(origin: str) -> str | None:
    """Why there can be no passkey where the pages are reached so; None where there can be."""
    parted = urlsplit(origin)
    host = parted.hostname or ""
    try:
        ipaddress.ip_address(host)
    except ValueError:
        safe = parted.scheme == "https" or host == "localhost"
        return None if safe else _PLAIN
    return _NUMBER


def _at(origin: str) -> At:
    """How the pages are reached. Refused where there can be no passkey."""
    why = lacking(origin)
    if why:
        raise Refused([Problem("", why)])
    return At(urlsplit(origin).hostname or "", origin.casefold())


class Passkey(NamedTuple):
    """A passkey of somebody: what they call it, for which name of the pages it is, since when, and
    the day of its last use."""

    called: str
    host: str
    added_on: dt.date
    used_on: dt.date | None


def listed(place: str, name: str) -> list[Passkey]:
    """The passkeys of somebody."""
    with beside(place) as connection:
        rows = passkeys.of_person(connection, name)
    return [
        Passkey(
            row.called, row.host, clock.hour_of(row.made_at)[0],
            clock.hour_of(row.used_at)[0] if row.used_at else None,
        )
        for row in rows
    ]  # fmt: skip


def counted(place: str) -> dict[str, str]:
    """Who has passkeys, and how many."""
    try:
        with beside(place) as connection:
            found = passkeys.counts(connection)
    except NobodyYet:
        return {}
    return {name: f"{many} passkey{'s' * (many > 1)}" for name, many in found.items()}


class Device(NamedTuple):
    """The browser that asks: by which cookie what it was asked is known (of their session, where
    somebody is signed in), which tablet it may be, how it reaches the pages, and from where."""

    cookie: str
    tablet: str
    origin: str
    address: str


def ask_to_add(place: str, name: str, called: str, password: str, device: Device) -> str:
    """What a browser is asked for a new passkey of somebody, as JSON.

    Refused where there can be none, on a tablet of the yard, for a name that says nothing or that
    another of theirs has, and for a wrong password, which is counted as at the door.
    """
    at = _at(device.origin)
    if tablet.called(place, device.tablet):
        raise Refused([Problem("", _SHARED)])
    with beside(place) as connection:
        theirs = _others(connection, name, called)
    handle = theirs[0].handle if theirs else secret.token()
    challenge = secret.token()
    here = [row.id for row in theirs if row.host == at.host]
    options = ceremony.to_add(at, (name, handle), challenge, here)

    def then(connection: Connection) -> None:
        row = AskedRow(challenge, name, handle, moment())
        passkeys.ask(connection, secret.digest(device.cookie), row)

    gate.by_own_password(place, name, password, device.address, then)
    return options


def _others(connection: Connection, name: str, called: str) -> list[PasskeyRow]:
    """The passkeys of somebody, beside one that is to be called so. Refused where that is no name,
    or one of them has it."""
    gate.hold_to_plain(called, "passkey")
    theirs = passkeys.of_person(connection, name)
    if len(theirs) >= _MOST:
        raise Refused([Problem("", f"{_MOST} passkeys are yours already: take one away first")])
    if called.casefold() in {row.called.casefold() for row in theirs}:
        words = f'"{called}" is there already: take it away first, or choose another name'
        raise Refused([Problem("", words, "passkey")])
    return theirs


def add(place: str, name: str, called: str, answer: Answer, device: Device) -> None:
    """Somebody has a passkey from here on, which a device of theirs made.

    Refused for what was not asked of this browser, is too late, or does not hold.
    """
    at = _at(device.origin)
    with beside(place, writes=True) as connection:
        asked = _asked(connection, device)
    late = Refused([Problem("", f"this passkey {_LATE}: {_ANEW}")])
    if asked is None or asked.name != name:
        raise late
    try:
        key = ceremony.added(at, asked.challenge, answer)
    except Unheld:
        raise Refused([Problem("", f"the device answered something else: {_ANEW}")]) from None
    with beside(place, writes=True) as connection:
        if doors.find_session(connection, secret.digest(device.cookie)) is None:
            raise late  # it took a while: other roles, a link, removed
        _others(connection, name, called)
        if passkeys.find(connection, key.id):
            raise Refused([Problem("", "this device has that passkey already")])
        row = PasskeyRow(
            key.id, name, called, at.host, asked.handle, key.key, key.uses, moment(), None
        )
        passkeys.put(connection, row)


def _asked(connection: Connection, device: Device) -> AskedRow | None:
    """What this browser was asked of late, once."""
    return passkeys.answered(connection, secret.digest(device.cookie), moment(gate.ASKED))


def ask(place: str, origin: str, address: str) -> tuple[str, str]:
    """What a browser is asked that somebody comes in by, as JSON, and the token of the cookie that
    it is known by. Shut where too much was asked in vain from an address; a password is not."""
    at, token, challenge = _at(origin), secret.token(), secret.token()
    options = ceremony.to_come_in(at, challenge)
    with beside(place, writes=True) as connection:
        gate.count_try(connection, {_tries(address): gate.TRIES_OF_ADDRESS})
        passkeys.ask(connection, secret.digest(token), AskedRow(challenge, "", "", moment()))
    return options, token


def _tries(address: str) -> str:
    """Under what tries by passkey are counted: apart from passwords, for nobody is named so."""
    return f"\n{address}"


class Came(NamedTuple):
    """Somebody came in, by which of their passkeys; the token of their session."""

    name: str
    called: str
    token: str


def come_in(place: str, answer: Answer, device: Device) -> Came:
    """Let somebody in by what their device answered. NotTaken where it was not asked of this
    browser, is too late, does not hold, or the passkey is nobody's any more."""
    at = _at(device.origin)
    with beside(place, writes=True) as connection:
        asked = _asked(connection, device)
        row = passkeys.find(connection, answer.id)
    if asked is None or asked.name:
        raise NotTaken("not asked", None, f"A passkey {_LATE}: ask for it again.")
    if row is None or row.host != at.host or row.handle != answer.whose:
        raise NotTaken("unknown", None, f"This passkey holds no more, or never did: {_PASSWORD}.")
    try:
        uses = ceremony.used(at, asked.challenge, row.key, answer)
    except Unheld:
        words = f"The passkey answered something else: ask for it again, or {_PASSWORD}."
        raise NotTaken("does not hold", row.name, words) from None
    if (uses or row.uses) and uses <= row.uses:
        raise NotTaken(
            "count went back", row.name,
            f"This passkey says that it was used less often than it was, so there may be a copy of "
            f"it: {_PASSWORD}, take it away on Your own, and tell the owner.",
        )  # fmt: skip
    with beside(place, writes=True) as connection:
        if not passkeys.use(connection, row, uses, moment()):  # it took a while: ended, removed
            raise NotTaken("unknown", row.name, f"This passkey holds no more: {_PASSWORD}.")
        doors.drop_try(connection, _tries(device.address))
        token = gate.came_in(connection, row.name, device.tablet)
    return Came(row.name, row.called, token)


def end(place: str, name: str, called: str, session: str) -> None:
    """Somebody has a passkey no more, and is signed out everywhere else: who has its device may
    have come in by it. Refused where none of theirs is called so."""
    with beside(place, writes=True) as connection:
        if doors.find_session(connection, secret.digest(session)) is None:  # by PIN
            raise Refused([Problem("", f"passkeys are no affair of a PIN: {_PASSWORD}")])
        if not passkeys.drop(connection, name, called):
            raise Refused([Problem("", f'none of yours is called "{called}"', "passkey")])
        doors.end_sessions(connection, name, but=secret.digest(session))


def end_all(place: str, name: str) -> None:
    """Somebody has no passkey from here on, and is signed out everywhere."""
    with beside(place, writes=True) as connection:
        gate.known(connection, name)
        passkeys.drop(connection, name)
        doors.end_sessions(connection, name)
