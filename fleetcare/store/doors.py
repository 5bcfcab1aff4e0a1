"""What is asked of, and written to, the people beside a book. Moments are texts in UTC."""

from __future__ import annotations

from typing import NamedTuple

import sqlalchemy as sa

from fleetcare.store.people import (
    Connection,
    begins,
    feed,
    has,
    link,
    passkey,
    person,
    pin,
    session,
    taken,
    tried,
    turn,
    walk,
)


class Row(NamedTuple):
    """A person as kept."""

    name: str
    roles: str
    password: str | None


class LinkRow(NamedTuple):
    """A link as kept: whose, until when, and whether it lets in by itself."""

    name: str
    until: str
    enters: int


class SessionRow(NamedTuple):
    """A session as kept."""

    name: str
    token: str
    began_at: str
    seen_at: str


def persons(connection: Connection) -> list[Row]:
    """Everybody, by name."""
    query = sa.select(person.c.name, person.c.roles, person.c.password).order_by(person.c.name)
    return [Row(*row) for row in connection.execute(query)]


def find(connection: Connection, name: str) -> Row | None:
    """A person by the name as written."""
    return next((row for row in persons(connection) if row.name == name), None)


def put_person(connection: Connection, row: Row) -> None:
    """Somebody new."""
    connection.execute(sa.insert(person).values(**row._asdict()))


def set_roles(connection: Connection, name: str, roles: str) -> None:
    """Other roles; every session and turn of theirs ends."""
    connection.execute(sa.update(person).where(person.c.name == name).values(roles=roles))
    end_sessions(connection, name)


def end_sessions(connection: Connection, name: str, but: str = "") -> None:
    """Every session and turn of somebody ends, but the one of this digest."""
    for table in (session, turn):
        theirs = sa.delete(table).where(table.c.name == name)
        connection.execute(theirs.where(table.c.digest != but))


def set_password(connection: Connection, name: str, kept: str | None) -> None:
    """Another password, or none any more."""
    connection.execute(sa.update(person).where(person.c.name == name).values(password=kept))


def drop_person(connection: Connection, name: str) -> None:
    """Somebody who may come in no more: nothing of theirs is left here."""
    end_all(connection, name)
    connection.execute(sa.delete(person).where(person.c.name == name))


def end_all(connection: Connection, name: str) -> None:
    """No session, turn, link, PIN and passkey of theirs holds any more."""
    for table in (passkey, session, turn, link, pin):  # first what lets in, then what it began
        connection.execute(sa.delete(table).where(table.c.name == name))


def put_link(connection: Connection, digest: str, row: LinkRow) -> None:
    """A link to come in by."""
    connection.execute(sa.insert(link).values(digest=digest, **row._asdict()))


def find_link(connection: Connection, digest: str) -> LinkRow | None:
    """What a link stands for."""
    query = sa.select(link.c.name, link.c.until, link.c.enters).where(link.c.digest == digest)
    found = connection.execute(query).first()
    return LinkRow(*found) if found else None


def drop_link(connection: Connection, digest: str) -> bool:
    """Use a link up; whether it was still there, for two may come at once."""
    return connection.execute(sa.delete(link).where(link.c.digest == digest)).rowcount == 1


def put_session(connection: Connection, digest: str, row: SessionRow) -> None:
    """Somebody came in."""
    connection.execute(sa.insert(session).values(digest=digest, **row._asdict()))


def find_session(connection: Connection, digest: str) -> tuple[SessionRow, Row] | None:
    """The session of a cookie, and the person whose it is."""
    named = (session.c.name, session.c.token, session.c.began_at, session.c.seen_at)
    whose = (person.c.name, person.c.roles, person.c.password)
    joined = session.join(person, person.c.name == session.c.name)
    query = sa.select(*named, *whose).select_from(joined).where(session.c.digest == digest)
    found = connection.execute(query).first()
    if found is None:
        return None
    return SessionRow(*found[: len(named)]), Row(*found[len(named) :])


def touch(connection: Connection, digest: str, at: str) -> None:
    """A session is in use."""
    connection.execute(sa.update(session).where(session.c.digest == digest).values(seen_at=at))


def drop_session(connection: Connection, digest: str) -> None:
    """A session ends."""
    connection.execute(sa.delete(session).where(session.c.digest == digest))


def forget_before(connection: Connection, began: str, seen: str, tries: str, now: str) -> None:
    """Let go of sessions that began or were seen too long ago, of old tries and dead links."""
    connection.execute(
        sa.delete(session).where((session.c.began_at < began) | (session.c.seen_at < seen))
    )
    connection.execute(sa.delete(tried).where(tried.c.at < tries))
    connection.execute(sa.delete(taken).where(taken.c.at < began))
    connection.execute(sa.delete(link).where(link.c.until < now))


def tries_of(connection: Connection, who: str) -> int:
    """How often it was tried in vain of late."""
    query = sa.select(sa.func.count()).select_from(tried).where(tried.c.who == who)
    return int(connection.execute(query).scalar_one())


def put_try(connection: Connection, who: str, at: str) -> None:
    """Somebody tried in vain."""
    connection.execute(sa.insert(tried).values(who=who, at=at))


def drop_try(connection: Connection, who: str) -> None:
    """The last try was not in vain."""
    last = sa.select(sa.func.max(tried.c.number)).where(tried.c.who == who).scalar_subquery()
    connection.execute(sa.delete(tried).where(tried.c.number == last))


def drop_tries(connection: Connection, who: str) -> None:
    """They came in after all."""
    connection.execute(sa.delete(tried).where(tried.c.who == who))


class AnswerRow(NamedTuple):
    """An answer of a walk that is not signed yet: to which line, who gave it, and when."""

    line: str
    answer: str
    by: str
    at: str


def answers(connection: Connection, sheet: str) -> list[AnswerRow]:
    """What is answered of a walk, in the order it was."""
    columns = (walk.c.line, walk.c.answer, walk.c.by, walk.c.at)
    query = sa.select(*columns).where(walk.c.sheet == sheet).order_by(walk.c.at, walk.c.line)
    return [AnswerRow(*row) for row in connection.execute(query)]


def sheets_like(connection: Connection, beginning: str) -> list[str]:
    """The walks whose names begin so."""
    ours = begins(walk.c.sheet, beginning)
    query = sa.select(walk.c.sheet).where(ours).distinct().order_by(walk.c.sheet)
    return [str(sheet) for (sheet,) in connection.execute(query)]


def put_answer(connection: Connection, sheet: str, row: AnswerRow) -> None:
    """An answer; the last one said of a line stands."""
    drop_answer(connection, sheet, row.line)
    connection.execute(sa.insert(walk).values(sheet=sheet, **row._asdict()))


def drop_answer(connection: Connection, sheet: str, line: str | None = None) -> None:
    """Take an answer back, or all of a walk's."""
    query = sa.delete(walk).where(walk.c.sheet == sheet)
    connection.execute(query if line is None else query.where(walk.c.line == line))


def is_taken(connection: Connection, key: str) -> bool:
    """Whether what bears a key was taken in already."""
    return connection.execute(sa.select(taken.c.key).where(taken.c.key == key)).first() is not None


def take(connection: Connection, key: str, at: str) -> None:
    """What bears a key is taken in."""
    connection.execute(sa.insert(taken).values(key=key, at=at))


class FeedRow(NamedTuple):
    """The address of the calendar as kept: its digest, who gave it out, and when."""

    digest: str
    by: str
    made_at: str


def feed_given(connection: Connection) -> FeedRow | None:
    """The address that holds; there is one at the most."""
    if not has(connection, feed):
        return None
    found = connection.execute(sa.select(feed.c.digest, feed.c.by, feed.c.made_at)).first()
    return FeedRow(*found) if found else None


def put_feed(connection: Connection, row: FeedRow | None) -> None:
    """Another address, or none: the one before holds no more."""
    connection.execute(sa.delete(feed))
    if row is not None:
        connection.execute(sa.insert(feed).values(**row._asdict()))
