"""Where a van is and when: pencilled bookings and their hours, visits to a workshop, where a van
was left, and days on which something is said to fall due."""

from __future__ import annotations

from alembic import op

from fleetcare.store.migrating import create, drop_empty, guard, narrow, widen

revision = "0007"
down_revision = "0006"

_KEY = "van number"
_NEW = {
    "visits": """
        number number! van key! from_on day! through_on day! where said! jobs text words said
        parts said parts_due_on day even_so said""",
    "expectations": "number number! van key! what text! due_on day! place text",
}
_HOURS = "collect_at text return_at text"
# table: its columns before, and those added
_WIDER = {
    "hires": (
        """
        number number! van key! ref text! from_on day! through_on day! bikes int!
        electric_bikes int! bike_kg text licence text licence_seen_on day abroad text
        people int children int even_so said luggage text water text fuel text""",
        f"{_HOURS} pencilled_on day pencilled_at text",
    ),
    "hire_changes": (
        """
        number number! van key! hire number! on day! words said from_on day through_on day
        bikes int electric_bikes int bike_kg text licence text licence_seen_on day abroad text
        moved_to text cancelled flag people int children int
        luggage text water text fuel text""",
        f"{_HOURS} firm flag",
    ),
    "backs": (
        """
        number number! van key! hire number! on day! at text by said odometer text even_so said""",
        "where said",
    ),
    "events": (
        """
        number number! van key! what text! on day! at text by said hire number words said""",
        "where said told said came said",
    ),
}


def _index() -> None:
    if op.get_bind().dialect.name == "sqlite":  # a rebuilt table has lost it
        op.create_index("ix_hires_ref", "hires", ["ref"])


def upgrade() -> None:
    """Make the new tables, and those that say more wider."""
    for table, (before, added) in _WIDER.items():
        widen(table, _KEY, before, added)
    _index()
    for table, spelled in _NEW.items():
        create(table, _KEY, spelled)
        guard(table)


def downgrade() -> None:
    """Go back where nothing would be lost; otherwise raise and leave all as it is."""
    for table in _NEW:
        drop_empty(table)
    for table, (before, added) in _WIDER.items():
        narrow(table, _KEY, before, added)
    _index()
