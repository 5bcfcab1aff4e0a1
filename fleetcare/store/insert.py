"""Rows put into a table by the driver alone: what SQLAlchemy does for each takes as long again."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from functools import cache
from typing import Any

import sqlalchemy as sa
from sqlalchemy.engine.default import DefaultDialect
from sqlalchemy.types import TypeDecorator


def statement(connection: sa.Connection, table: sa.Table) -> str:
    """The driver's own INSERT for a table, every column in order."""
    mark = "?" if connection.dialect.name == "sqlite" else "%s"
    columns = list(table.c)
    names = ", ".join(f'"{column.name}"' for column in columns)
    marks = ", ".join(mark for _ in columns)
    return f'INSERT INTO "{table.name}" ({names}) VALUES ({marks})'  # noqa: S608 (our own names)


def insert(connection: sa.Connection, table: sa.Table, rows: Iterable[Mapping[str, Any]]) -> None:
    """Put rows, of values by column, into a table."""
    kept = _kept(table)
    plain = [tuple(keep(row.get(name)) for name, keep in kept) for row in rows]
    connection.exec_driver_sql(statement(connection, table), plain)


Keep = Callable[[Any], Any]


@cache
def _kept(table: sa.Table) -> list[tuple[str, Keep]]:
    """Each column in order, with what turns its values into what is kept, on either engine."""
    return [(column.name, _keep(column.type)) for column in table.c]


def _keep(kind: Any) -> Keep:
    if not isinstance(kind, TypeDecorator):
        return lambda value: value
    return lambda value: kind.process_bind_param(value, _ANY)


_ANY = DefaultDialect()
