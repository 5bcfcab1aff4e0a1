"""What was in force on a day, on which records, and what is known otherwise now."""

from __future__ import annotations

import datetime as dt
import json
from typing import Any

import pytest

from fleetcare.errors import Refused
from tests.typed import typed, typed_all

DAY = dt.date(2026, 8, 1)


def _history(place: str, words: str = "") -> dict[str, Any]:
    found: dict[str, Any] = json.loads(typed(place, f"history V01 --json {words}", DAY))
    return found


def _rule(found: dict[str, Any], rule: str, place: str | None = None) -> dict[str, Any]:
    (row,) = [r for r in found["rules"] if (r["rule"], r["place"]) == (rule, place)]
    return dict(row)


def test_it_has_the_keys_programs_rely_on(good: str) -> None:
    """The fixed keys first, then more; a rule that does not apply is not listed."""
    found = _history(good, "--on 2026-08-01")

    assert list(found)[:3] == ["van", "on", "known_at"]
    assert {"van", "on", "known_at", "hireable", "rules"} <= set(found)
    assert list(found["rules"][0])[:6] == [
        "rule", "title", "place", "standing", "last_good_day", "records",
    ]  # fmt: skip
    assert "electrical" not in {row["rule"] for row in found["rules"]}
    assert (found["van"], found["on"], found["hireable"]) == ("V01", "2026-08-01", "yes")
    assert found["begins"] == "2026-08-01"


def test_a_gas_check_rests_on_its_record_its_checker_and_the_card(good: str) -> None:
    """The check, the inspector, the card with its register number, and who said there is LPG."""
    found = _rule(_history(good, "--on 2026-08-01"), "gas-safety-check")
    kinds = {number: _kind(good, number) for number in found["records"]}

    assert sorted(kinds.values()) == ["check", "competence", "inspector", "van"]
    assert found["standing"] == "in date"
    assert found["last_good_day"] == "2026-08-10"
    assert "months 12" in found["terms"]
    assert "Gas Safety" in found["source"]


def _kind(place: str, number: int) -> str:
    from fleetcare.desk.asking import asking
    from fleetcare.store import facts as stored

    with asking(place) as asked:
        found = stored.find_record(asked.connection, number)
        assert found is not None
        return found[0]


def test_a_tyre_rests_on_the_tyre_that_was_there(good: str) -> None:
    """By age the tyre in the place that day is named, the new one only from its own day."""
    before = _rule(_history(good, "--on 2026-07-30"), "tyre-age", "front-left")
    typed(good, "fit V01 tyre front-left --made 2026-06 --on 2026-07-31", DAY)
    after = _history(good, "--on 2026-07-31")
    same = _history(good, "--on 2026-07-30")

    assert _rule(same, "tyre-age", "front-left")["records"] == before["records"]
    new = _rule(after, "tyre-age", "front-left")["records"]
    assert new != before["records"]
    assert "fit" in {_kind(good, number) for number in new}


def test_what_is_known_otherwise_now_is_told(good: str) -> None:
    """A certificate found false afterwards: then in date on its record, now not."""
    gas = next(n for n in range(1, 60) if _is_gas(good, n))
    size = _history(good)["known_at"]
    typed(good, f'withdraw {gas} "it was V02"', DAY)
    then = _history(good, f"--on 2026-07-30 --known-at @{size}")
    now = _history(good, "--on 2026-07-30")
    (differs,) = then["differs"]

    assert (then["hireable"], then["hireable_now"]) == ("yes", "no")
    assert (then["known_at"], then["known_now"]) == (size, size + 1)
    assert differs["then"]["records"] == _rule(then, "gas-safety-check")["records"]
    assert differs["then"]["standing"] == "in date"
    assert differs["now"]["standing"] == "no record"
    assert now["differs"] == []
    text = typed(good, f"history V01 --on 2026-07-30 --known-at @{size}", DAY)
    assert "gas safety check: then in date to Mon 10 Aug 2026" in text
    assert "This book begins on Sat 1 Aug 2026: what lies before was typed from paper" in text


def _is_gas(place: str, number: int) -> bool:
    from fleetcare.desk.asking import asking
    from fleetcare.store import facts as stored

    with asking(place) as asked:
        found = stored.find_record(asked.connection, number)
        return found is not None and found[0] == "check" and found[2].what == "gas-safety"


def test_a_corrected_record_goes_by_the_number_that_stands(good: str) -> None:
    """The evidence names the correction, not the record it put right."""
    gas = next(n for n in range(1, 60) if _is_gas(good, n))
    typed(good, f"correct {gas} --certificate G1b why", DAY)
    found = _rule(_history(good), "gas-safety-check")["records"]

    assert gas not in found
    assert max(found) > gas


@pytest.mark.parametrize(
    ("bikes", "rated"),
    [
        ("--electric-bikes 2", [("rack-rating", "rear", "in date", "60 kg")]),
        ("--bikes 2", [("rack-rating", "rear", "in date", "30 kg")]),
        ("", []),
    ],
)
def test_a_van_out_on_hire_is_judged_for_that_hire(
    good: str, bikes: str, rated: list[tuple[str, str, str, str]]
) -> None:
    """Its own booking is not in its way; the rack's load is judged for its party's bikes."""
    typed(good, f"hire add V01 --from 2026-08-01 --through 2026-08-05 --ref H1 {bikes}", DAY)
    found = _history(good, "--on 2026-08-03")
    rows = [row for row in found["rules"] if row["rule"] == "rack-rating"]

    assert (found["hire"], found["hireable"]) == ("H1", "yes")
    assert [(row["rule"], row["place"], row["standing"], row["reason"]) for row in rows] == [
        (rule, place, standing, f"bikes weigh {load}, the rack is rated 60 kg")
        for rule, place, standing, load in rated
    ]


def test_before_the_book_there_is_no_answer(good: str) -> None:
    """As known before its first record the book refuses to speak."""
    with pytest.raises(Refused) as refused:
        typed_all(good, ["history V01 --known-at 2020-01-01"], DAY)
    assert str(refused.value) == (
        "--known-at: the book knew nothing yet at 2020-01-01T23:59:59.999999+00:00: "
        "its first record is of 2026-08-01"
    )
