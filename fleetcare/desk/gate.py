"""Who may come in: people with their roles, links that let them in once, sessions, and tries.

Lengths of time are the firm's to shorten, not yet its own: common practice, no source.
"""

from __future__ import annotations

import contextlib
import datetime as dt
import unicodedata
from collections.abc import Callable, Iterable
from typing import NamedTuple, TypeVar

from fleetcare import clock, secret
from fleetcare.desk.asking import asking
from fleetcare.errors import DatabaseFault, FleetcareError, Problem, Refused, near, not_one_of
from fleetcare.faults.common import visible
from fleetcare.store import doors, passkeys, tablets
from fleetcare.store.doors import LinkRow, SessionRow
from fleetcare.store.people import Connection, NobodyYet, beside

T = TypeVar("T")
ROLES = ("clerk", "yard", "workshop", "owner")
AT_TABLET = "yard"  # the one role that somebody has who came in by a PIN
LINK = dt.timedelta(hours=24)
IDLE, LONGEST = dt.timedelta(hours=12), dt.timedelta(days=7)
TURN_IDLE = dt.timedelta(minutes=30)  # of somebody who came in by a PIN
PAIRED = dt.timedelta(days=180)  # how long a tablet stays the yard's
ASKED = dt.timedelta(minutes=5)  # how long a passkey that was asked for may be answered by
_SEEN = dt.timedelta(minutes=1)  # how exactly it is known when a session was last used
_TRIES, _WHILE = 10, dt.timedelta(minutes=15)
TRIES_OF_ADDRESS = 30  # a firm's people share one
_LONGEST_NAME = 60


class Person(NamedTuple):
    """Somebody who may come in, and what for."""

    name: str
    roles: tuple[str, ...]
    may_sign_in: bool = True  # has a password


class Session(NamedTuple):
    """Somebody who came in; `token` stands in each form that they are shown."""

    person: Person
    token: str


class Shut(FleetcareError):
    """Too many tries: nobody is let in from there for a while, with the right password neither."""


def moment(ago: dt.timedelta = dt.timedelta(0)) -> str:
    """A moment so long ago, as it is kept."""
    return (clock.now() - ago).isoformat(timespec="microseconds")


def person_add(place: str, name: str, roles: Iterable[str]) -> str:
    """Let somebody in; gives the token of the link by which they choose a password.

    Refused for a name that is there already, says nothing or is too long, and for roles that are
    none.
    """
    with asking(place):  # a book has to be there
        pass
    asked = _held(roles)
    hold_to_plain(name, "name")
    with beside(place, writes=True, make=True) as connection:
        if name.casefold() in {row.name.casefold() for row in doors.persons(connection)}:
            how = f'Their way in is lost? fleetcare person link "{name}"'
            raise Refused([Problem("name", f'"{name}" may come in already. {how}')])
        doors.put_person(connection, doors.Row(name, ",".join(asked), None))
        return _linked(connection, name, enters=False)


def hold_to_plain(name: str, field: str) -> None:
    """A name is written in one way, so that no two are told apart by what nobody sees. Refused
    where it is written otherwise, says nothing or is too long."""
    faults = visible(field, name)
    if faults:
        raise Refused(faults)
    if len(name) > _LONGEST_NAME:
        raise Refused([Problem("", f"has more than {_LONGEST_NAME} characters", field)])
    hidden = any(unicodedata.category(one) in ("Cc", "Cf") for one in name)
    if hidden or name != " ".join(unicodedata.normalize("NFKC", name).split()):
        raise Refused([Problem("", "has blanks or signs that nobody sees: type it plainly", field)])


def _held(roles: Iterable[str]) -> list[str]:
    """Roles in their own order, each once; Refused where one is none, or there are none."""
    named = list(roles)
    unknown = [Problem("--role", not_one_of(one, ROLES)) for one in named if one not in ROLES]
    if unknown or not named:
        raise Refused(unknown or [Problem("--role", f"say at least one: {', '.join(ROLES)}")])
    return [role for role in ROLES if role in named]


def _linked(connection: Connection, name: str, *, enters: bool) -> str:
    made = secret.token()
    row = LinkRow(name, moment(-LINK), int(enters))
    doors.put_link(connection, secret.digest(made), row)
    return made


def person_link(place: str, name: str, *, enters: bool = False) -> str:
    """A new link for somebody whose way in is lost; what they had no longer holds. `enters`: it
    lets in by itself, for the sample fleet alone."""
    with beside(place, writes=True) as connection:
        known(connection, name)
        if not enters:
            doors.end_all(connection, name)
            doors.set_password(connection, name, None)
        return _linked(connection, name, enters=enters)


def person_roles(place: str, name: str, roles: Iterable[str]) -> list[str]:
    """Other roles for somebody; what they are signed in with ends."""
    asked = _held(roles)
    with beside(place, writes=True) as connection:
        known(connection, name)
        if "owner" not in asked:
            _keep_an_owner(connection, name)
        doors.set_roles(connection, name, ",".join(asked))
    return asked


def person_remove(place: str, name: str) -> None:
    """Somebody may come in no more, from this moment on. What they wrote stays in the book."""
    with beside(place, writes=True) as connection:
        known(connection, name)
        _keep_an_owner(connection, name)
        doors.drop_person(connection, name)


def people(place: str) -> list[Person]:
    """Everybody who may come in."""
    try:
        with beside(place) as connection:
            return [_person(row) for row in doors.persons(connection)]
    except NobodyYet:
        return []


def _person(row: doors.Row) -> Person:
    return Person(row.name, tuple(row.roles.split(",")), row.password is not None)


def known(connection: Connection, name: str) -> doors.Row:
    """Somebody who may come in. Refused for a name that nobody has."""
    row = doors.find(connection, name)
    if row is None:
        names = [one.name for one in doors.persons(connection)]
        hint = near(name, names)
        raise Refused([Problem("name", f'nobody is called "{name}" here.{hint}')])
    return row


def _keep_an_owner(connection: Connection, name: str) -> None:
    """Refused where somebody is the only owner: nobody could let people in any more."""
    owners = [row for row in doors.persons(connection) if "owner" in _person(row).roles]
    ours = next((row for row in owners if row.name == name), None)
    if ours is None:
        return
    others = [row for row in owners if row.name != name and (row.password or not ours.password)]
    if not others:
        raise Refused([Problem("name", f'"{name}" is the only owner: make another one first')])


class Link(NamedTuple):
    """Whose a link is, and whether it lets in by itself."""

    name: str
    enters: bool


def link(place: str, token: str) -> Link | None:
    """What a link stands for; None where it was used, or is too old."""
    with beside(place) as connection:
        row = doors.find_link(connection, secret.digest(token))
    return Link(row.name, bool(row.enters)) if row and row.until > moment() else None


def come_by_link(place: str, token: str, password: str, again: str, tablet: str = "") -> str | None:
    """Use a link: choose the password, and come in; gives the token of the session, None where the
    link holds no more. Refused for a password that is weak, or was not typed the same twice."""
    found = link(place, token)
    if found is None:
        return None
    if not found.enters:
        weak = secret.weakness(password, found.name)
        if weak or password != again:
            raise Refused([Problem("", weak or "was typed differently again", "password")])
    kept = None if found.enters else secret.hashed(password)
    with beside(place, writes=True) as connection:
        if not found.enters and not doors.drop_link(connection, secret.digest(token)):
            return None
        if kept is not None:
            doors.end_all(connection, found.name)
            doors.set_password(connection, found.name, kept)
        return came_in(connection, found.name, tablet)


def forget_old(connection: Connection) -> None:
    """Let go of sessions and turns that are over, of tries long ago, and of links and tablets that
    hold no more."""
    doors.forget_before(connection, moment(LONGEST), moment(IDLE), moment(_WHILE), moment())
    tablets.forget_before(connection, moment(TURN_IDLE), moment(PAIRED))
    passkeys.forget_before(connection, moment(ASKED))


def came_in(connection: Connection, name: str, tablet: str) -> str:
    """The token of a new session; where it is begun on a tablet of the yard it ends with it."""
    forget_old(connection)
    made, now, on = secret.token(), moment(), secret.digest(tablet)
    row = SessionRow(name, secret.token(), now, now)
    doors.put_session(connection, secret.digest(made), row)
    if tablet and tablets.find(connection, on, moment(PAIRED)):
        tablets.put_begun(connection, secret.digest(made), on)
    return made


def sign_in(place: str, name: str, password: str, address: str, tablet: str = "") -> str | None:
    """The token of a new session; None for a name or password that is not right."""
    return by_password(
        place, name, password, address, lambda connection: came_in(connection, name, tablet)
    )


def by_password(
    place: str, name: str, password: str, address: str, then: Callable[[Connection], T]
) -> T | None:
    """Do what somebody may who knows their password; None for a name or password that is not right.

    Shut after ten tries in vain of one name from one address, or thirty from one, in a quarter of
    an hour; from elsewhere the same name may come in, so that nobody locks another out.
    """
    pair = f"{name}\n{address}"
    with beside(place, writes=True) as connection:
        count_try(connection, {pair: _TRIES, address: TRIES_OF_ADDRESS})
        row = doors.find(connection, name)
    if not secret.verified(row.password if row else None, password):
        return None
    newer = secret.hashed(password) if row and secret.outdated(str(row.password)) else None
    with beside(place, writes=True) as connection:
        now = doors.find(connection, name)  # it took a while: other roles, a link, removed
        if now is None or row is None or now.password != row.password:
            return None
        doors.drop_tries(connection, pair)
        doors.drop_try(connection, address)
        if newer:
            doors.set_password(connection, name, newer)
        return then(connection)


def count_try(connection: Connection, most: dict[str, int]) -> None:
    """Count a try under each of these, before it is looked at: many at once are not let through
    together. Shut where there were so many of one in the last quarter of an hour."""
    forget_old(connection)
    if any(doors.tries_of(connection, who) >= tries for who, tries in most.items()):
        raise Shut("too many tries from here: wait a quarter of an hour, or ask the owner")
    for who in most:
        doors.put_try(connection, who, moment())


def by_own_password(
    place: str, name: str, password: str, address: str, then: Callable[[Connection], None]
) -> None:
    """Do what somebody signed in may who types their password again. Refused for a wrong one,
    which is counted as at the door."""

    def done(connection: Connection) -> bool:
        then(connection)
        return True

    if not by_password(place, name, password, address, done):
        raise Refused([Problem("", "is not the one you sign in by", "password")])


def session(place: str, token: str) -> Session | None:
    """Who a cookie belongs to; None where the session is over, or the person may come in no
    more."""
    digest = secret.digest(token)
    with beside(place) as connection:
        found = doors.find_session(connection, digest)
        turn = None if found else tablets.find_turn(connection, digest, moment(PAIRED))
    if found is not None:
        return _still(place, digest, found, IDLE, doors.touch)
    return _turn(place, digest, *turn) if turn else None


def _turn(place: str, digest: str, row: SessionRow, who: doors.Row) -> Session | None:
    """A turn by PIN: whoever takes it is of the yard there, and nothing else that they are."""
    if AT_TABLET not in _person(who).roles:
        return None
    there = who._replace(roles=AT_TABLET)
    return _still(place, digest, (row, there), TURN_IDLE, tablets.touch_turn)


def _still(
    place: str, digest: str, found: tuple[SessionRow, doors.Row], idle: dt.timedelta,
    touch: Callable[[Connection, str, str], None],
) -> Session | None:  # fmt: skip
    """A session that is neither idle nor old; that it is in use is kept now and then."""
    row, who = found
    if row.began_at < moment(LONGEST) or row.seen_at < moment(idle):
        return None
    if row.seen_at < moment(_SEEN):
        with contextlib.suppress(DatabaseFault), beside(place, writes=True) as connection:
            touch(connection, digest, moment())  # locked for now: the next request does
    return Session(_person(who), row.token)


def sign_out(place: str, token: str) -> None:
    """End a session, here and not only in the browser."""
    with beside(place, writes=True) as connection:
        end(connection, token)


def end(connection: Connection, token: str) -> None:
    """The session or the turn of a cookie is over."""
    doors.drop_session(connection, secret.digest(token))
    tablets.drop_turn(connection, secret.digest(token))
