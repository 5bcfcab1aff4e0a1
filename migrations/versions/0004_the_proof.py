"""What proves others: answers given, papers kept under their digest, names emptied."""

from __future__ import annotations

from fleetcare.store.migrating import create, drop_empty, guard

revision = "0004"
down_revision = "0003"

_NEW = {
    "answers": (
        "van number",
        """
        number number! van key! asked text! on day! from_on day! through_on day! hireable text!
        bookable text! known_at int! rulebook text! ref text bikes int! electric_bikes int!
        bike_kg text licence text abroad text blocking text""",
    ),
    "scans": (
        "van number",
        "number number! van key! record number! on day! digest text sort text octets int",
    ),
    "fleet_scans": (
        "number",
        "number number! record number! on day! digest text! sort text! octets int!",
    ),
    "erasures": ("number", "number number! on day! emptied int! why said!"),
}


def upgrade() -> None:
    """Make the four tables."""
    for table, (key, spelled) in _NEW.items():
        create(table, key, spelled)
        guard(table)


def downgrade() -> None:
    """Go back while they hold nothing; otherwise raise and leave all as it is."""
    for table in _NEW:
        drop_empty(table)
