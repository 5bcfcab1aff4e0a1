"""A van breaks down on the road: another goes on with the hire, and both are accounted for."""

from __future__ import annotations

import datetime as dt

import pytest

from fleetcare.errors import Declined, Refused
from tests.typed import refused, typed, typed_all

DAY = dt.date(2026, 11, 23)
LEFT = (
    'hire swap H136 --to V01 --where "services, M6 north" --odometer 69200mi --by "W. Yard" '
    '--at 14:20 --told "wait behind the barrier" --came "Fell Motors" "clutch gone"'
)


def _where(place: str, van: str) -> str:
    rows = typed(place, "van list --csv", DAY).splitlines()
    return next(row for row in rows if row.startswith(f"{van},")).split(",", 7)[-1].strip('"')


def test_the_van_left_is_held_and_the_other_is_to_be_released(sample_book: str) -> None:
    """V06 is back, where it stands is known, its next hire is stopped; H136 goes on with V01."""
    said = typed(sample_book, LEFT, DAY)
    assert 'V06 back from H136, Mon 23 Nov 2026, left at "services, M6 north".' in said
    assert 'V06: breakdown, Mon 23 Nov 2026 14:20, at "services, M6 north".' in said
    assert "V06: Now stopped by inspection after a breakdown: H137 from Fri 27 Nov 2026." in said
    assert "Sheets: fleetcare return V06 H136 --by NAME; fleetcare handover V01 H136" in said

    assert _where(sample_book, "V06").startswith("left at services, M6 north (#")
    shown = typed(sample_book, "van show V06", DAY)
    assert (
        "clutch gone; at services, M6 north; told: wait behind the barrier; came: Fell Motors"
    ) in shown
    typed(sample_book, "event V01 knock", DAY)  # it must pass its own release
    with pytest.raises(Declined, match="Not released"):
        typed(sample_book, 'hire out H136 --by "W. Yard" --odometer 70000mi', DAY)


def test_fetched_and_inspected_it_may_go_again(sample_book: str) -> None:
    """Fetched it is in the yard, and still stopped; inspected it goes."""
    typed(sample_book, LEFT, DAY)
    typed(sample_book, "event V06 fetched", DAY)
    assert _where(sample_book, "V06") == "in the yard"
    said = typed(sample_book, 'record V06 inspection --pass --by "B. Smith" --at 16:30', DAY)
    assert "V06 (IQ18 QIQ): hireable through Mon 28 Dec 2026, was not hireable today." in said


def test_both_vans_get_their_sheets(sample_book: str, tmp_path: object) -> None:
    """The return of the one left and the handover of the other, under one reference."""
    typed(sample_book, LEFT, DAY)
    for what, van in (("return", "V06"), ("handover", "V01")):
        file = f"{tmp_path}/{what}.txt"
        typed(sample_book, f"{what} {van} H136 --sheet {file}", DAY)
        with open(file, encoding="utf-8") as sheet:
            assert sheet.readline().startswith(f"{what.upper()} SHEET  {van} (")


def test_one_that_is_not_out_is_moved_otherwise(sample_book: str) -> None:
    """A booking to come is no swap on the road; nor is a swap for itself."""
    line = 'hire swap {} --to {} --where X --odometer 1mi --by "W. Yard" "why"'
    assert refused(sample_book, line.format("H141", "V02"), DAY) == (
        "H141 is not out with another van. Move it with: fleetcare hire change H141 --van VAN"
    )
    assert "is not out with another van" in refused(sample_book, line.format("H136", "V06"), DAY)


def test_a_van_that_may_not_go_is_not_taken(sample_book: str) -> None:
    """V12 lacks its electrical inspection: nothing is written, the hire stays with V06."""
    with pytest.raises(Declined, match="Nothing was written"):
        typed(sample_book, LEFT.replace("--to V01", "--to V12"), DAY)
    assert _where(sample_book, "V06").startswith("out as H136")


def test_a_breakdown_says_where_and_who_came(good: str) -> None:
    """An event by itself, without a swap; the last word says where the van is."""
    day = dt.date(2026, 8, 1)
    typed_all(good, ['event V01 breakdown --where "lay-by, A66" --came "breakdown service"'], day)
    assert "left at lay-by, A66" in typed(good, "van list", day)
    with pytest.raises(Refused):
        typed(good, "event V01 breakdwn", day)
