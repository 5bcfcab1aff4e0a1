"""What is missing, as a new user asks for it, and a van taken over from one like it."""

from __future__ import annotations

import datetime as dt
import json
import shlex

import click
import pytest

from fleetcare.desk import fleet
from fleetcare.desk.missing import missing
from fleetcare.errors import FleetcareError
from fleetcare.reports.missing import as_json
from tests.typed import refused, typed

DAY = dt.date(2026, 8, 1)


def test_a_van_in_order_misses_nothing(good: str) -> None:
    """Exit 0, and a list that is empty."""
    assert typed(good, "missing V01", DAY) == "V01 (QI24 QIQ): nothing is missing.\n"
    assert json.loads(typed(good, "missing V01 --json", DAY)) == {
        "van": "V01", "items": [], "stops": [],
    }  # fmt: skip


def _found(place: str, van: str) -> dict[str, dict[str, str | None]]:
    rows = as_json(missing(place, van, DAY)[0])["items"]
    return {f"{row['rule']} {row['place'] or ''}".strip(): row for row in rows}


def test_a_part_off_the_van_is_read_off_and_what_it_asks_for_stands_beside_it(good: str) -> None:
    """A hose taken off: the new one, and the tightness test that it asks for in its turn."""
    typed(good, "take-off V01 gas-hose locker", DAY)
    found = _found(good, "V01")

    assert [(row["group"], row["command"]) for row in found.values()] == [
        ("read off", "fleetcare fit V01 gas-hose locker --on DAY --made MARK"),
        ("engineer", "fleetcare record V01 tightness --on DAY --pass --by NAME"),
    ]


def test_what_hangs_on_an_answer_stands_under_it(good: str) -> None:
    """Of a van of which only its home is said: hook-up lead and RCD if it has mains, each layout
    of axles with its tyres, the card that nobody in the book holds."""
    typed(good, "van add V02 --jurisdiction gb --in-service-from 2026-01-01", DAY)
    found = _found(good, "V02")

    assert found["hook-up-lead locker"]["if"] == "mains hook-up"
    assert found["tyre-age rear-left"]["if"] == "axles single or axles tag"
    assert found["tyre-age tag-left"]["if"] == "axles tag"
    assert found["tyre-age front-left"]["if"] is None
    assert found["gas-safety-check"]["if"] == "LPG"
    assert found["extinguisher-service door"]["if"] == (
        "what is fitted has been there for over a year"
    )
    assert found["electrical-inspection"]["command"] == (
        "fleetcare inspector add NAME --scope electrical --from DAY"
    )


def test_a_command_pasted_with_its_blanks_is_refused(good: str) -> None:
    """None of them writes a record by itself."""
    typed(good, "van add V02 --jurisdiction gb", DAY)
    before = typed(good, "status --json", DAY)
    commands = [str(row["command"]) for row in _found(good, "V02").values()]

    assert len(commands) > 30
    for command in commands:
        with pytest.raises((click.UsageError, FleetcareError)):
            typed(good, " ".join(map(shlex.quote, shlex.split(command)[1:])), DAY)
    assert typed(good, "status --json", DAY) == before


def test_a_van_without_a_home_is_told_to_say_it_first(good: str) -> None:
    """The gate that stands in no rule, and the first day on fleet."""
    typed(good, "van add V02 --jurisdiction gb", DAY)

    assert _found(good, "V02")["in_service_from"]["command"] == (
        "fleetcare van change V02 --in-service-from DAY"
    )


def test_the_screen_is_no_wider_than_a_sheet(good: str) -> None:
    """Facts are said in one command, those that hang on an answer in one of their own."""
    typed(good, "van add V02 --jurisdiction gb", DAY)
    said = typed(good, "missing V02", DAY)

    assert max(map(len, said.splitlines())) <= 100
    assert said.count("fleetcare van change V02") == 4  # what is sure, and what hangs on an answer


def test_a_van_like_another_takes_over_what_is_said_of_it(good: str) -> None:
    """Facts and places, never a paper of one van, a part or a check; what is typed wins."""
    said = typed(
        good, 'van add V02 --like V01 --plate "QI25 QIQ" --in-service-from 2026-07-01 --mains', DAY
    )
    shown = {row["fact"]: row["value"] for row in fleet.van(good, "V02", DAY).facts}

    assert said.splitlines()[:2] == [
        "#30 added V02 (QI25 QIQ).",
        "Taken over from V01: jurisdiction, test class, maximum mass (MAM), front axle mass on the "
        "weight plate, rear axle mass on the weight plate, travelling height, wheelbase, axles, "
        "spare, LPG, bike rack, gas alarm, where each gas hose is, where each gas appliance is. "
        "Hold each to this van's own plate and to a walk round it; no part and no check was taken "
        "over.",
    ]
    assert "V01 (" not in said
    assert (shown["mains hook-up"], shown["maximum mass (MAM)"]) == (True, "3500kg")
    assert "first registered" not in shown


def test_a_van_that_is_like_none_says_its_home(good: str) -> None:
    """No home is ever taken for granted."""
    assert refused(good, "van add V02", DAY) == (
        "--jurisdiction: say whose rules it is under, like gb; or --like VAN"
    )
    assert "V09" in refused(good, "van add V02 --like V09", DAY)


def test_what_no_record_puts_right_is_told_once(good: str) -> None:
    """A hold is lifted by whoever set it: it stands above the list, however long the list is."""
    typed(good, "take-off V01 gas-hose locker", DAY)
    typed(good, 'hold V01 --from 2026-08-01 "lent to the dealer"', DAY)
    said = typed(good, "missing V01", DAY)

    assert said.splitlines()[:2] == [
        "V01 (QI24 QIQ): 2 to write down before it may go.",
        "V01 (QI24 QIQ): hold #31: failed. held from Sat 1 Aug 2026: lent to the dealer (#31)",
    ]
    assert said.count("hold #31") == 1
