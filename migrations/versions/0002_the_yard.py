"""The yard: out and back, sheets, events, recalls, a van laid up or gone; bookings changed."""

from __future__ import annotations

from alembic import op

from fleetcare.store.migrating import create, drop_empty, guard, narrow, widen

revision = "0002"
down_revision = "0001"

_KEY = "van number"
_NEW = {
    "hire_changes": """
        number number! van key! hire number! on day! words said from_on day through_on day
        bikes int electric_bikes int bike_kg text licence text licence_seen_on day abroad text
        moved_to text cancelled flag""",
    "waivers": """
        number number! van key! hire number! rule text! code text! on day! by said! words said!
        place text record number""",
    "outs": """
        number number! van key! hire number! on day! by said! hireable text! known_at int!
        rulebook text! at text odometer text blocking text waived text unreleased said
        even_so said""",
    "backs": """
        number number! van key! hire number! on day! at text by said odometer text even_so said""",
    "sheets": """
        number number! van key! hire number! what text! on day! by said! lines text! at text""",
    "events": """
        number number! van key! what text! on day! at text by said hire number words said""",
    "recalls": """
        number number! van key! maker_number text! on day! words said! stop_use flag do_by day""",
    "recalls_done": """
        number number! van key! recall number! on day! by said! certificate text!""",
    "lay_ups": "number number! van key! from_on day! words said! back_on day",
    "gone": "number number! van key! on day! words said!",
}
# table: its key, its columns before, and those added
_WIDER = {
    "adoptions": ("number", "number number! digest text! origin text!", "on day"),
    "defects": (
        _KEY,
        """
        number number! van key! on day! grade text! words said! at text by said check number
        recheck_by day""",
        "about text hire number odometer text",
    ),
    "repairs": (
        _KEY,
        "number number! van key! defect number! on day! by said! words said",
        "temporary flag",
    ),
    "holds": (
        _KEY,
        "number number! van key! from_on day! words said! through_on day",
        "workshop flag",
    ),
    "hires": (
        _KEY,
        """
        number number! van key! ref text! from_on day! through_on day! bikes int!
        electric_bikes int! bike_kg text""",
        "licence text licence_seen_on day abroad text",
    ),
}


def _index() -> None:
    if op.get_bind().dialect.name == "sqlite":  # a rebuilt table has lost it
        op.create_index("ix_hires_ref", "hires", ["ref"])


def upgrade() -> None:
    """Make the new tables, and the four that say more wider."""
    for table, spelled in _NEW.items():
        create(table, _KEY, spelled)
        guard(table)
    for table, (key, before, added) in _WIDER.items():
        widen(table, key, before, added)
    _index()


def downgrade() -> None:
    """Go back where nothing would be lost; otherwise raise and leave all as it is."""
    for table in _NEW:
        drop_empty(table)
    for table, (key, before, added) in _WIDER.items():
        narrow(table, key, before, added)
    _index()
