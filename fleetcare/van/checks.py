"""Checks of a van: which failed, which stand after which, what was read in them."""

from __future__ import annotations

from typing import NamedTuple

from fleetcare.records.kinds import Check, Reading


class Taken(NamedTuple):
    """The readings of one check at one place, with the component they belong to."""

    check: Check
    place: str | None
    part: int | None
    readings: dict[str, Reading]


def stands_after(later: Check, fail: Check) -> bool:
    """Whether a pass stands after a fail: on a later day, or at a later time of the same day.

    With a time missing on either the fail stands last: doubt never hires a van out.
    """
    if later.on != fail.on:
        return later.on > fail.on
    return bool(later.at and fail.at and later.at > fail.at)
