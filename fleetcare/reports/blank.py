"""A sheet to fill, as columns: headings, choices from the rules in use, how each is filled."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import NamedTuple


class BlankColumn(NamedTuple):
    """One column to fill."""

    heading: str
    how: str
    example: str | int
    choices: tuple[str, ...]
    needed: bool
    day: bool
    text: bool


class BlankSheet(NamedTuple):
    """One sheet to fill, what to know before, and the rows that say by heading what is asked for;
    without any it has an example."""

    name: str
    columns: Sequence[BlankColumn]
    notes: Sequence[str]
    rows: Sequence[Mapping[str, str]] = ()
