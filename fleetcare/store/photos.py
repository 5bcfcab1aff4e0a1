"""Photos of walks that are not signed yet, kept beside the book until they are."""

from __future__ import annotations

from typing import NamedTuple

import sqlalchemy as sa

from fleetcare.store.people import Connection, begins, has, photo


class PhotoRow(NamedTuple):
    """A photo as kept: which one, of which line, who took it and when."""

    number: int
    line: str
    by: str
    at: str
    octets: int


def of_sheet(connection: Connection, sheet: str) -> list[PhotoRow]:
    """The photos of a walk, in the order they were taken."""
    if not has(connection, photo):
        return []
    octets = sa.func.length(photo.c.data)
    columns = (photo.c.number, photo.c.line, photo.c.by, photo.c.at, octets)
    query = sa.select(*columns).where(photo.c.sheet == sheet).order_by(photo.c.number)
    return [PhotoRow(*row) for row in connection.execute(query)]


def sheets_like(connection: Connection, beginning: str) -> set[str]:
    """The walks of which there are photos and whose names begin so."""
    if not has(connection, photo):
        return set()
    ours = begins(photo.c.sheet, beginning)
    return set(connection.execute(sa.select(photo.c.sheet).where(ours).distinct()).scalars())


def data_of(connection: Connection, beginning: str, number: int) -> bytes | None:
    """A photo of a walk whose name begins so, byte for byte; None where there is none."""
    ours = begins(photo.c.sheet, beginning)
    query = sa.select(photo.c.data).where(ours, photo.c.number == number)
    found = connection.execute(query).first() if has(connection, photo) else None
    return bytes(found[0]) if found else None


def put(connection: Connection, sheet: str, line: str, data: bytes, who: tuple[str, str]) -> None:
    """Another photo of a line; `who` took it, and when."""
    by, at = who
    row = {"sheet": sheet, "line": line, "data": data, "by": by, "at": at}
    connection.execute(sa.insert(photo).values(**row))


def drop(connection: Connection, sheet: str, number: int | None = None) -> None:
    """Let go of a photo of a walk, or of all of them."""
    query = sa.delete(photo).where(photo.c.sheet == sheet)
    connection.execute(query if number is None else query.where(photo.c.number == number))
