"""${message}"""

from __future__ import annotations

revision = ${repr(up_revision)}
down_revision = ${repr(down_revision)}


def upgrade() -> None:
    """Say what changes, and copy the triggers of every table that is rebuilt."""
    ${upgrades if upgrades else "pass"}


def downgrade() -> None:
    """Restore the schema, or raise saying what would be lost."""
    ${downgrades if downgrades else "pass"}
