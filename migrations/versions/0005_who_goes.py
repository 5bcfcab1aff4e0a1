"""Who goes and who signed: drivers' licences as shown, people and belts, names given to a card."""

from __future__ import annotations

from alembic import op

from fleetcare.store.migrating import create, drop_empty, guard, narrow, widen

revision = "0005"
down_revision = "0004"

_KEY = "van number"
_NEW = {
    "drivers": (
        _KEY,
        """
        number number! van key! hire number! driver int! licence text! shown text! on day!
        last_day day!""",
    ),
    "attributions": ("number", "number number! inspector number! records text!"),
}
_PARTY = "people int children int"
# table: its columns before, and those added
_WIDER = {
    "vans": (
        """
        number number! van key! on day plate text vin text jurisdiction text test_class text
        first_registered_on day in_service_from day out_of_service_from day max_mass text
        front_axle_mass text rear_axle_mass text tag_axle_mass text running_order_mass text
        height text notice_height text wheelbase text seats int berths int axles text spare text
        lpg flag mains flag rack flag gas_alarm flag electrical_certificate text places text
        has text even_so said""",
        "belted_seats int unladen_mass text",
    ),
    "hires": (
        """
        number number! van key! ref text! from_on day! through_on day! bikes int!
        electric_bikes int! bike_kg text licence text licence_seen_on day abroad text""",
        f"{_PARTY} even_so said",
    ),
    "hire_changes": (
        """
        number number! van key! hire number! on day! words said from_on day through_on day
        bikes int electric_bikes int bike_kg text licence text licence_seen_on day abroad text
        moved_to text cancelled flag""",
        _PARTY,
    ),
    "answers": (
        """
        number number! van key! asked text! on day! from_on day! through_on day! hireable text!
        bookable text! known_at int! rulebook text! ref text bikes int! electric_bikes int!
        bike_kg text licence text abroad text blocking text""",
        _PARTY,
    ),
}


def _index() -> None:
    if op.get_bind().dialect.name == "sqlite":  # a rebuilt table has lost it
        op.create_index("ix_hires_ref", "hires", ["ref"])


def upgrade() -> None:
    """Make the two new tables, and the four that say more wider."""
    for table, (key, spelled) in _NEW.items():
        create(table, key, spelled)
        guard(table)
    for table, (before, added) in _WIDER.items():
        widen(table, _KEY, before, added)
    _index()


def downgrade() -> None:
    """Go back where nothing would be lost; otherwise raise and leave all as it is."""
    for table in _NEW:
        drop_empty(table)
    for table, (before, added) in _WIDER.items():
        narrow(table, _KEY, before, added)
    _index()
