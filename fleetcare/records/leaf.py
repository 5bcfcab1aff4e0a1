"""The bytes a record's leaf is made of, and the commitments that stand for names and words.

A leaf is canonical JSON: one object, keys in declared order, what was not stated left out, no
spaces, plain UTF-8 in Unicode form C. The form is frozen in golden files: a changed byte is a
changed record.
"""

from __future__ import annotations

import datetime as dt
import hashlib
import json
import unicodedata
from typing import Any

from fleetcare.records.fields import Is, fields_of
from fleetcare.records.kinds import KIND_OF


def utc_text(moment: dt.datetime) -> str:
    """A moment as it is stored and hashed: UTC, microseconds always written, `Z` at the end.

    Raises ValueError for a moment without a zone: guessing one could move a record by a day.
    """
    if moment.tzinfo is None:
        raise ValueError("a moment is kept with its zone")
    return moment.astimezone(dt.UTC).strftime("%Y-%m-%dT%H:%M:%S.%fZ")


def commitment(salt: str, text: str) -> str:
    """SHA-256 over the salt (32 hex digits) and the text in form C: stands for a name or words."""
    plain = bytes.fromhex(salt) + unicodedata.normalize("NFC", text).encode()
    return hashlib.sha256(plain).hexdigest()


def _plain(value: Any) -> Any:
    if isinstance(value, dt.date):
        return value.isoformat()
    if isinstance(value, str):
        return unicodedata.normalize("NFC", value)
    return value


def plain_fields(record: Any) -> dict[str, Any]:
    """The stated fields of a record as JSON values, in declared order; the number left out."""
    found: dict[str, Any] = {}
    for field, value in zip(fields_of(type(record)), record, strict=True):
        if value is None or field.name == "number":
            continue
        if field.holds is Is.PART:
            found[field.name] = [plain_fields(row) for row in value]
        elif field.holds is Is.NAMES:
            found[field.name] = [_plain(name) for name in value]
        else:
            found[field.name] = _plain(value)
    return found


def leaf_bytes(record: Any, recorded_at: dt.datetime, recorded_by: str) -> bytes:
    """What is hashed for a record: kind and form, number, when and by whom, then its fields.

    `recorded_by` is a commitment already.
    """
    leaf = {
        "kind": f"{KIND_OF[type(record)]}/1",
        "number": record.number,
        "recorded_at": utc_text(recorded_at),
        "recorded_by": recorded_by,
        **plain_fields(record),
    }
    return json.dumps(leaf, ensure_ascii=False, separators=(",", ":")).encode()
