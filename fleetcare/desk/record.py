"""One record whole, field by field as it was typed."""

from __future__ import annotations

from typing import Any, NamedTuple

from fleetcare.desk.asking import asking
from fleetcare.desk.session import latest_of
from fleetcare.records.fields import SECRET, Is, fields_of
from fleetcare.records.kinds import FIXED, NEVER_TAKEN_BACK
from fleetcare.store import facts as stored
from fleetcare.words.marks import said


class FieldShown(NamedTuple):
    """One field: what it holds, as typed, and whether it may be put right."""

    name: str
    holds: Is
    text: str
    optional: bool
    may_change: bool


class RecordShown(NamedTuple):
    """A record as it stands, corrections followed."""

    number: int
    kind: str
    van: str | None
    at: str  # the moment it was written down, in UTC
    fields: tuple[FieldShown, ...]
    readings: tuple[str, ...]
    withdrawn: bool
    may_change: bool
    known_at: int


def shown(place: str, number: int) -> RecordShown:
    """The record a number means now. Refused when there is none."""
    with asking(place) as asked:
        (kind, van, record), withdrawn = latest_of(asked.connection, number)
        fixed = FIXED[type(record)]
        may_change = not withdrawn and type(record) not in NEVER_TAKEN_BACK
        fields = tuple(
            FieldShown(
                field.name, field.holds, _text(field.holds, getattr(record, field.name)),
                field.optional,
                may_change and field.name not in fixed and field.holds is not Is.NUMBER,
            )
            for field in fields_of(type(record))
            if field.holds is not Is.PART and field.name not in ("number", "van")
        )  # fmt: skip
        made = RecordShown(
            record.number, kind, van, stored.recorded_at(asked.connection, record.number),
            fields, tuple(_reading(*one) for one in getattr(record, "readings", ())),
            withdrawn, may_change, asked.as_of.known_at,
        )  # fmt: skip
        filled: RecordShown = asked.filled(made)
        return filled


def _text(holds: Is, value: Any) -> str:
    """A value as a person types it; of a list one a line."""
    if value is None:
        return ""
    if holds in SECRET:
        return said(value)
    if holds is Is.NAMES:
        return "\n".join(value)
    if holds is Is.FLAG:
        return "yes" if value else "no"
    return f"#{value}" if holds is Is.NUMBER else str(value)


def _reading(what: str, place: str | None, figure: str) -> str:
    return f"{what}:{place}={figure}" if place else f"{what}={figure}"
