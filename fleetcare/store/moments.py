"""Where the clock was ahead when a record was written down, and which moments are untrue by it.

A moment is the clock's, or where the clock shows less a microsecond after the record before, so
that number order is time order. A clock that was ahead once leaves that behind: every command after
it follows by a microsecond, which none is quick enough for, until the true time has come.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator
from itertools import groupby, pairwise
from operator import itemgetter
from typing import NamedTuple

import sqlalchemy as sa

from fleetcare.store import tables

_TICK = dt.timedelta(microseconds=1)
_SLACK = dt.timedelta(seconds=1)  # by which one command's records may run ahead of a coarse clock


class Ahead(NamedTuple):
    """Records with moments of a clock that was ahead: the first and its moment, and the last."""

    number: int
    at: dt.datetime
    last: int


class _Command(NamedTuple):
    """What one command wrote: its first record and its last, with their moments."""

    number: int
    at: dt.datetime
    last: int
    until: dt.datetime


def ahead(connection: sa.Connection, now: dt.datetime) -> list[Ahead]:
    """Every stretch of records with the moments of a clock that was ahead, of those after it or of
    now."""
    found: list[Ahead] = []
    commands, latest = list(_commands(connection)), now + _SLACK
    for before, after in pairwise(commands):
        if after.until > latest or after.at - before.until != _TICK:
            continue
        if found and found[-1].last == before.last:
            found[-1] = found[-1]._replace(last=after.last)
        else:
            found.append(Ahead(before.number, before.at, after.last))
    # A clock set by hand to a whole second, as for a sample, stands still and is not wrong.
    found = [one for one in found if one.at.microsecond]
    to_come = [one for one in commands if one.until > latest]
    return found + [Ahead(one.number, one.at, to_come[-1].last) for one in to_come[:1]]


def _commands(connection: sa.Connection) -> Iterator[_Command]:
    """Every command in order. All that one wrote bears one commitment to who was writing, and what
    another wrote does not: each is salted anew."""
    for _, rows in groupby(_moments(connection), itemgetter(2)):
        listed = list(rows)
        (number, at, _), (last, until, _) = listed[0], listed[-1]
        yield _Command(number, at, last, until)


def _moments(connection: sa.Connection) -> Iterator[tuple[int, dt.datetime, str]]:
    """Every record's number, moment and who wrote it, but for moments that can't be read."""
    record = tables.record.c
    query = sa.select(record.number, record.recorded_at, record.recorded_by)
    for number, at, by in connection.execute(query.order_by(record.number)):
        try:
            moment = dt.datetime.fromisoformat(at)
        except ValueError:
            continue
        if moment.tzinfo:
            yield number, moment, by
