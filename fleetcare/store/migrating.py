"""What migrations are written with: a table spelled in words, its triggers, and a table made wider.

A column is "name sort", with "!" after the sort where it must be there. Nothing here knows the
records: what a migration makes is frozen in its own file, and a test holds the two together.
"""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op
from sqlalchemy.dialects import postgresql

REFUSED = "records are only added: write a correction or a withdrawal"
STRICT = {"sqlite_strict": True}


def _columns(spelled: str) -> list[tuple[str, str]]:
    words = spelled.split()
    return list(zip(words[::2], words[1::2], strict=True))


def key_text() -> sa.types.TypeEngine[str]:
    """Text sorted by code point on both engines."""
    return sa.Text().with_variant(postgresql.TEXT(collation="C"), "postgresql")


def _column(table: str, name: str, sort: str) -> sa.Column[object]:
    needed, sort = sort.endswith("!"), sort.rstrip("!")
    kind: sa.types.TypeEngine[object] = {
        "number": sa.Integer(),
        "int": sa.Integer(),
        "flag": sa.Integer(),
        "key": key_text(),
        "said": key_text(),
    }.get(sort, sa.Text())  # type: ignore[assignment]
    target = {"number": "record.number", "said": "said.commitment"}.get(sort)
    keys = [sa.ForeignKey(target, name=f"fk_{table}_{name}")] if target else []
    return sa.Column(name, kind, *keys, nullable=not needed, autoincrement=False)


def _named_checks(table: str, columns: list[tuple[str, str]]) -> tuple[list[str], list[str]]:
    """The names and texts of what any writer is held to."""
    names, texts = [], []
    for name, sort in columns:
        if sort.startswith("day") or sort == "flag":
            names.append(f"ck_{table}_{name}")
            texts.append(f'"{name}" IN (0, 1)' if sort == "flag" else f'length("{name}") = 10')
    return names, texts


def _checks(table: str, columns: list[tuple[str, str]]) -> list[sa.CheckConstraint]:
    named = zip(*_named_checks(table, columns), strict=True)
    return [sa.CheckConstraint(text, name=op.f(name)) for name, text in named]


def create(table: str, key: str, spelled: str) -> None:
    """Make a table clustered by `key` from its columns in words."""
    columns = _columns(spelled)
    op.create_table(
        table,
        *(_column(table, name, sort) for name, sort in columns),
        sa.PrimaryKeyConstraint(*key.split(), name=f"pk_{table}"),
        *_checks(table, columns),
        sqlite_with_rowid=False,
        **STRICT,
    )


def guard(table: str) -> None:
    """Triggers that refuse to change or delete what was written."""
    for act in ("UPDATE", "DELETE"):
        if table == "ledger_head" and act == "UPDATE":
            continue
        when = ""
        if table == "said" and act == "UPDATE":
            when = (
                " WHEN (NEW.text IS NOT NULL OR NEW.salt IS NOT NULL"
                " OR NEW.commitment <> OLD.commitment)"
            )
        start = f'CREATE TRIGGER "{table}_no_{act.lower()}" BEFORE {act} ON "{table}"'
        if op.get_bind().dialect.name == "sqlite":
            op.execute(f"{start}{when} BEGIN SELECT RAISE(ABORT, '{REFUSED}'); END")
        else:
            op.execute(f"{start} FOR EACH ROW{when} EXECUTE FUNCTION refuse_change()")
    if op.get_bind().dialect.name == "postgresql":
        op.execute(
            f'CREATE TRIGGER "{table}_no_truncate" BEFORE TRUNCATE ON "{table}"'
            " EXECUTE FUNCTION refuse_change()"
        )


def rebuild(table: str, key: str, before: str, after: str) -> None:
    """SQLite: make a table anew with other columns and carry every row over, column by column.

    A rebuilt table loses its triggers and indexes there: the triggers are put back, an index is
    the migration's own to make again. No table points to one that is clustered by van.
    """
    old = f"{table}_before"
    op.rename_table(table, old)
    create(table, key, after)
    kept = {name for name, _ in _columns(after)}
    names = ", ".join(f'"{name}"' for name, _ in _columns(before) if name in kept)
    op.execute(
        f'INSERT INTO "{table}" ({names}) SELECT {names} FROM "{old}"'  # noqa: S608 (our own names)
    )
    op.drop_table(old)
    guard(table)


def widen(table: str, key: str, before: str, added: str) -> None:
    """Add columns at the end of a table that holds rows."""
    if op.get_bind().dialect.name == "sqlite":
        rebuild(table, key, before, f"{before} {added}")
        return
    columns = _columns(added)
    for name, sort in columns:
        op.add_column(table, _column(table, name, sort))
    for name, check in zip(*_named_checks(table, columns), strict=True):
        op.create_check_constraint(op.f(name), table, check)


def _first_of(table: str) -> sa.Select[int]:
    return sa.select(sa.literal(1)).select_from(sa.table(table)).limit(1)


def narrow(table: str, key: str, before: str, added: str) -> None:
    """Take columns away again. Raises RuntimeError when any of them says something."""
    said = sa.or_(*(sa.column(name).is_not(None) for name, _ in _columns(added)))
    if op.get_bind().execute(_first_of(table).where(said)).first():
        raise RuntimeError(f'going back would lose what "{table}" says; nothing was changed')
    if op.get_bind().dialect.name == "sqlite":
        rebuild(table, key, f"{before} {added}", before)
        return
    for name, _ in _columns(added):
        op.drop_column(table, name)


def drop_empty(table: str) -> None:
    """Drop a table without rows. Raises RuntimeError when it has any."""
    if op.get_bind().execute(_first_of(table)).first():
        raise RuntimeError(f'going back would lose the rows of "{table}"; nothing was changed')
    op.drop_table(table)
