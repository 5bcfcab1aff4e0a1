"""The bytes of a leaf are frozen: a changed byte would be a changed record."""

from __future__ import annotations

import datetime as dt
import hashlib
from pathlib import Path
from typing import Any

import pytest

from fleetcare.merkle import leaf_hash
from fleetcare.records.fields import SECRET, Is, fields_of
from fleetcare.records.kinds import KINDS, Check, Reading
from fleetcare.records.leaf import commitment, leaf_bytes, utc_text

GOLDEN = Path(__file__).parent.parent / "golden" / "leaves.txt"
AT = dt.datetime(2026, 11, 23, 9, 30, 0, 7, dt.UTC)
BY = "b" * 64

_VALUES: dict[Is, Any] = {
    Is.NUMBER: 7,
    Is.VAN: "V01",
    Is.DAY: dt.date(2026, 3, 2),
    Is.CLOCK: "14:30",
    Is.WORD: "Prüf-1",
    Is.COUNT: 4,
    Is.FLAG: True,
    Is.MEASURE: "65psi",
    Is.NAMES: ("gas-hose:locker", "appliance:hob"),
    Is.PERSON: "a" * 64,
    Is.SAID: "c" * 64,
    Is.PART: (Reading("tread", "front-left", "5.20mm"), Reading("gauge", None, "green")),
}


def _whole(record: type) -> Any:
    """A record with every field stated."""
    return record(*[_VALUES[f.holds] for f in fields_of(record)])


def _bare(record: type) -> Any:
    """A record with only what must be stated."""
    return record(
        *[
            () if f.holds is Is.PART else None if f.optional else _VALUES[f.holds]
            for f in fields_of(record)
        ]
    )


def leaves() -> str:
    """Every kind of record, whole and bare, as its leaf."""
    lines = []
    for record in KINDS.values():
        for made in (_whole(record), _bare(record)):
            data = leaf_bytes(made, AT, BY)
            lines += [data.decode(), leaf_hash(data)]
    return "\n".join(lines) + "\n"


def test_leaves_are_frozen() -> None:
    """The bytes and hashes of every kind are those of the golden file."""
    assert leaves() == GOLDEN.read_text("utf-8")


def test_a_leaf_is_hashed_as_rfc_9162_says() -> None:
    """The hash of the empty leaf is the published one, the first root of the published vectors."""
    assert leaf_hash(b"") == "6e340b9cffb37a989ca544e6bb780a2c78901d3fb33738768511a30617afa01d"


def test_a_commitment_is_a_salted_hash_of_the_words_in_one_unicode_form() -> None:
    """Composed and decomposed letters commit alike; another salt commits otherwise."""
    salt = "00" * 16

    assert commitment(salt, "Zoë") == hashlib.sha256(b"\x00" * 16 + "Zoë".encode()).hexdigest()
    assert commitment(salt, "Zoe\u0308") == commitment(salt, "Zo\u00eb")
    assert commitment("01" * 16, "Zoë") != commitment(salt, "Zoë")


def test_a_moment_is_kept_in_utc_and_never_guessed() -> None:
    """Half past midnight at +02:00 is the evening before in UTC; a moment without zone is refused."""
    east = dt.timezone(dt.timedelta(hours=2))

    assert utc_text(dt.datetime(2026, 3, 2, 0, 30, tzinfo=east)) == "2026-03-01T22:30:00.000000Z"
    with pytest.raises(ValueError, match=r"^a moment is kept with its zone$"):
        utc_text(dt.datetime(2026, 3, 2))  # noqa: DTZ001


def test_no_name_or_word_can_stand_in_a_leaf() -> None:
    """Every field for a name or free words is one of the kinds that hold a commitment."""
    loose = {
        "name",
        "words",
        "why",
        "by",
        "even_so",
        "register_no",
        "unreleased",
        "where",
        "told",
        "came",
        "parts",
    }

    for record in KINDS.values():
        for field in fields_of(record):
            assert (field.name in loose) == (field.holds in SECRET), (record, field)


def test_what_was_not_stated_is_left_out() -> None:
    """A leaf holds no null, and digits stay as typed."""
    check = Check(
        3, "V01", "tyres", dt.date(2026, 3, 2), readings=(Reading("tread", "front-left", "5.20mm"),)
    )

    assert leaf_bytes(check, AT, BY).decode() == (
        '{"kind":"check/1","number":3,"recorded_at":"2026-11-23T09:30:00.000007Z",'
        f'"recorded_by":"{BY}","van":"V01","what":"tyres","on":"2026-03-02",'
        '"readings":[{"what":"tread","place":"front-left","figure":"5.20mm"}]}'
    )
