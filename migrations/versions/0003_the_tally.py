"""The head of the ledger keeps the root of its tree, and the frontier a further leaf needs."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

from fleetcare.merkle import frontier_of, root_of
from fleetcare.store.migrating import STRICT, guard

revision = "0003"
down_revision = "0002"


def _columns() -> list[sa.Column[str]]:
    return [
        sa.Column("root", sa.Text, nullable=False),
        sa.Column("frontier", sa.Text, nullable=False),
    ]


def _make(more: list[sa.Column[str]]) -> None:
    op.create_table(
        "ledger_head",
        sa.Column("one", sa.Integer, autoincrement=False),
        sa.Column("size", sa.Integer, nullable=False),
        sa.Column("recorded_at", sa.Text, nullable=False),
        *more,
        sa.PrimaryKeyConstraint("one", name="pk_ledger_head"),
        sa.CheckConstraint("one = 1", name=op.f("ck_ledger_head_single")),
        **STRICT,
    )


def upgrade() -> None:
    """Work the tree out from the leaves that are there."""
    connection = op.get_bind()
    leaves: list[str] = list(
        connection.execute(
            sa.select(sa.column("leaf"))
            .select_from(sa.table("record"))
            .order_by(sa.column("number"))
        ).scalars()
    )
    frontier = frontier_of(bytes.fromhex(leaf) for leaf in leaves)
    root, kept = root_of(frontier).hex(), " ".join(one.hex() for one in frontier)
    if connection.dialect.name == "sqlite":
        op.rename_table("ledger_head", "ledger_head_before")
        _make(_columns())
        op.execute(
            sa.text(
                "INSERT INTO ledger_head SELECT one, size, recorded_at, :root, :kept"
                " FROM ledger_head_before"
            ).bindparams(root=root, kept=kept)
        )
        op.drop_table("ledger_head_before")
        guard("ledger_head")
        return
    for column in _columns():
        column.nullable = True
        op.add_column("ledger_head", column)
    op.execute(
        sa.text("UPDATE ledger_head SET root = :root, frontier = :kept").bindparams(
            root=root, kept=kept
        )
    )
    for name in ("root", "frontier"):
        op.alter_column("ledger_head", name, nullable=False)


def downgrade() -> None:
    """The tree can be worked out again: nothing is lost by going back."""
    if op.get_bind().dialect.name == "sqlite":
        op.rename_table("ledger_head", "ledger_head_before")
        _make([])
        op.execute("INSERT INTO ledger_head SELECT one, size, recorded_at FROM ledger_head_before")
        op.drop_table("ledger_head_before")
        guard("ledger_head")
        return
    op.drop_column("ledger_head", "frontier")
    op.drop_column("ledger_head", "root")
