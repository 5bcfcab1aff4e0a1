"""A part that goes by two names in one check is still read once: by its own place, by the place of
the check, or by being the only one there is."""

from __future__ import annotations

import datetime as dt
import json
from pathlib import Path
from typing import Any

import pytest

from fleetcare.errors import Refused
from tests.typed import typed

ON = dt.date(2026, 8, 1)


def _refused(place: str, line: str) -> str:
    with pytest.raises(Refused) as refused:
        typed(place, line, ON)
    return str(refused.value)


@pytest.mark.parametrize(
    ("line", "twice"),
    [
        (
            "record V01 tyres --pass --by B --place front-left --reading tread=1.0mm "
            "--reading tread:front-left=6mm",
            "tread:front-left=6mm",
        ),
        (
            'record V01 extinguisher-basic --pass --by "E. Tester" --reading gauge=not-green '
            "--reading gauge:door=green",
            "gauge:door=green",
        ),
        (
            "record V01 walkaround --pass --by B --reading gauge=not-green --reading gauge:door=green",
            "gauge:door=green",
        ),
    ],
)
def test_a_part_with_two_names_is_read_once_in_a_typed_check(
    good: str, line: str, twice: str
) -> None:
    """The good reading that comes second does not hide the bad one."""
    assert _refused(good, line) == f'--reading "{twice}": is given twice'


@pytest.mark.parametrize(
    ("check", "readings", "twice"),
    [
        ({"what": "tyres", "place": "front-left"}, [("tread", None, "1.0mm"), ("tread", "front-left", "6mm")],
         "tread:front-left=6mm"),
        ({"what": "walkaround"}, [("gauge", None, "not-green"), ("gauge", "door", "green")],
         "gauge:door=green"),
    ],
)  # fmt: skip
def test_a_part_with_two_names_is_read_once_in_a_loaded_check(
    good: str,
    tmp_path: Path,
    check: dict[str, Any],
    readings: list[tuple[str, str | None, str]],
    twice: str,
) -> None:
    """Written by another program it is held to the same."""
    listed = [
        {"what": what, "figure": figure} | ({"place": place} if place else {})
        for what, place, figure in readings
    ]
    fact = {"kind": "check", "van": "V01", "on": "2026-08-01", "outcome": "pass", "by": "B",
            "readings": listed} | check  # fmt: skip
    file = tmp_path / "facts.jsonl"
    file.write_text(json.dumps(fact) + "\n")

    assert _refused(good, f"load {file}") == f'{file}:1 readings "{twice}": is given twice'
