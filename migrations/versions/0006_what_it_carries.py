"""What a van carries and how far it goes: where its loads sit, what a hirer brings aboard, the
distances its maker asks for work at."""

from __future__ import annotations

from alembic import op

from fleetcare.store.migrating import narrow, widen

revision = "0006"
down_revision = "0005"

_KEY = "van number"
_LOAD = "luggage text water text fuel text"
# table: its columns before, and those added
_WIDER = {
    "vans": (
        """
        number number! van key! on day plate text vin text jurisdiction text test_class text
        first_registered_on day in_service_from day out_of_service_from day max_mass text
        front_axle_mass text rear_axle_mass text tag_axle_mass text running_order_mass text
        height text notice_height text wheelbase text seats int berths int axles text spare text
        lpg flag mains flag rack flag gas_alarm flag electrical_certificate text places text
        has text even_so said belted_seats int unladen_mass text""",
        """
        rear_overhang text overall_length text front_seats_at text rear_seats_at text
        water_tank_at text luggage_at text gas_mass text service_distance text
        oil_distance text belt_distance text""",
    ),
    "hires": (
        """
        number number! van key! ref text! from_on day! through_on day! bikes int!
        electric_bikes int! bike_kg text licence text licence_seen_on day abroad text
        people int children int even_so said""",
        _LOAD,
    ),
    "hire_changes": (
        """
        number number! van key! hire number! on day! words said from_on day through_on day
        bikes int electric_bikes int bike_kg text licence text licence_seen_on day abroad text
        moved_to text cancelled flag people int children int""",
        _LOAD,
    ),
    "answers": (
        """
        number number! van key! asked text! on day! from_on day! through_on day! hireable text!
        bookable text! known_at int! rulebook text! ref text bikes int! electric_bikes int!
        bike_kg text licence text abroad text blocking text people int children int""",
        _LOAD,
    ),
}


def _index() -> None:
    if op.get_bind().dialect.name == "sqlite":  # a rebuilt table has lost it
        op.create_index("ix_hires_ref", "hires", ["ref"])


def upgrade() -> None:
    """Make the four tables that say more wider."""
    for table, (before, added) in _WIDER.items():
        widen(table, _KEY, before, added)
    _index()


def downgrade() -> None:
    """Go back where nothing would be lost; otherwise raise and leave all as it is."""
    for table, (before, added) in _WIDER.items():
        narrow(table, _KEY, before, added)
    _index()
