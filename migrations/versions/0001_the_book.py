"""The book as it begins: the ledger, what is said, and a table for each kind of record."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

from fleetcare.store.migrating import REFUSED, STRICT, create, guard, key_text

revision = "0001"
down_revision = None

# name: key columns, then each column as "name sort", with "!" where it must be there.
_TABLES = {
    "vans": (
        "van number",
        """
        number number! van key! on day plate text vin text jurisdiction text test_class text
        first_registered_on day in_service_from day out_of_service_from day max_mass text
        front_axle_mass text rear_axle_mass text tag_axle_mass text running_order_mass text
        height text notice_height text wheelbase text seats int berths int axles text spare text
        lpg flag mains flag rack flag gas_alarm flag electrical_certificate text places text
        has text even_so said""",
    ),
    "fits": (
        "van number",
        """
        number number! van key! what text! place text! on day! at text part number made text
        commissioned text replace_by text variety text load_index text speed_symbol text
        tyre_mark text cold_pressure text rating text own_mass text bikes int electric_bikes int
        behind_rear_axle text even_so said""",
    ),
    "take_offs": (
        "van number",
        """
        number number! van key! what text! place text! on day! at text""",
    ),
    "checks": (
        "van number",
        """
        number number! van key! what text! on day! at text outcome text inspector number by said
        place text certificate text from_on day last_day day odometer text words said
        even_so said""",
    ),
    "defects": (
        "van number",
        """
        number number! van key! on day! grade text! words said! at text by said check number
        recheck_by day""",
    ),
    "repairs": (
        "van number",
        """
        number number! van key! defect number! on day! by said! words said""",
    ),
    "sign_offs": (
        "van number",
        """
        number number! van key! defect number! on day! at text inspector number by said
        words said""",
    ),
    "rechecks": (
        "van number",
        """
        number number! van key! defect number! on day! next_on day! by said! words said""",
    ),
    "holds": (
        "van number",
        """
        number number! van key! from_on day! words said! through_on day""",
    ),
    "lifts": (
        "van number",
        """
        number number! van key! hold number! on day! by said! words said""",
    ),
    "hires": (
        "van number",
        """
        number number! van key! ref text! from_on day! through_on day! bikes int!
        electric_bikes int! bike_kg text""",
    ),
    "odometers": (
        "van number",
        """
        number number! van key! on day! shown text! at text even_so said""",
    ),
    "fleet_papers": (
        "number",
        """
        number number! what text! on day! from_on day! last_day day! vans text! certificate text""",
    ),
    "inspectors": ("number", "number number! name said!"),
    "competences": (
        "number",
        """
        number number! inspector number! scope text! from_on day! through_on day
        register_no said""",
    ),
    "withdrawals": (
        "number",
        """
        number number! record number! why said! van key replaced_by number""",
    ),
    "adoptions": ("number", "number number! digest text! origin text!"),
}


def upgrade() -> None:
    """Make every table and its triggers."""
    if op.get_bind().dialect.name == "postgresql":
        op.execute(
            "CREATE OR REPLACE FUNCTION refuse_change() RETURNS trigger LANGUAGE plpgsql AS "
            f"$$ BEGIN RAISE EXCEPTION '{REFUSED}'; END $$"
        )
    op.create_table(
        "ledger_head",
        sa.Column("one", sa.Integer, autoincrement=False),
        sa.Column("size", sa.Integer, nullable=False),
        sa.Column("recorded_at", sa.Text, nullable=False),
        sa.PrimaryKeyConstraint("one", name="pk_ledger_head"),
        sa.CheckConstraint("one = 1", name=op.f("ck_ledger_head_single")),
        **STRICT,
    )
    op.create_table(
        "said",
        sa.Column("commitment", key_text(), nullable=False),
        sa.Column("salt", sa.Text),
        sa.Column("text", sa.Text),
        sa.PrimaryKeyConstraint("commitment", name="pk_said"),
        sa.CheckConstraint("(salt IS NULL) = (text IS NULL)", name=op.f("ck_said_both")),
        **STRICT,
    )
    op.create_table(
        "record",
        sa.Column("number", sa.Integer, autoincrement=False),
        sa.Column("kind", sa.Text, nullable=False),
        sa.Column("van", key_text()),
        sa.Column("recorded_at", sa.Text, nullable=False),
        sa.Column(
            "recorded_by",
            key_text(),
            sa.ForeignKey("said.commitment", name="fk_record_recorded_by"),
            nullable=False,
        ),
        sa.Column("leaf", sa.Text, nullable=False),
        sa.PrimaryKeyConstraint("number", name="pk_record"),
        **STRICT,
    )
    op.create_table(
        "rulebook",
        sa.Column("digest", key_text(), nullable=False),
        sa.Column("text", sa.Text, nullable=False),
        sa.PrimaryKeyConstraint("digest", name="pk_rulebook"),
        **STRICT,
    )
    for table, (key, spelled) in _TABLES.items():
        create(table, key, spelled)
    op.create_table(
        "readings",
        sa.Column("van", key_text(), nullable=False),
        sa.Column(
            "number",
            sa.Integer,
            sa.ForeignKey("record.number", name="fk_readings_number"),
            nullable=False,
            autoincrement=False,
        ),
        sa.Column("line", sa.Integer, nullable=False, autoincrement=False),
        sa.Column("what", sa.Text, nullable=False),
        sa.Column("place", sa.Text),
        sa.Column("figure", sa.Text, nullable=False),
        sa.PrimaryKeyConstraint("van", "number", "line", name="pk_readings"),
        sqlite_with_rowid=False,
        **STRICT,
    )
    op.create_index("ix_checks_certificate", "checks", ["certificate"])
    op.create_index("ix_hires_ref", "hires", ["ref"])
    for table in ("ledger_head", "said", "record", "rulebook", "readings", *_TABLES):
        guard(table)
    op.execute(
        "INSERT INTO ledger_head (one, size, recorded_at)"
        " VALUES (1, 0, '1970-01-01T00:00:00.000000Z')"
    )


def downgrade() -> None:
    """There is nothing before the book: going back would lose every record."""
    raise NotImplementedError("going back before 0001 would lose every record; nothing was changed")
