"""Ways by which a no could become a yes through what is typed or loaded: a slip taken for the truth,
a van that is away taken to be in the yard."""

from __future__ import annotations

import datetime as dt
from pathlib import Path

import pytest

from fleetcare.desk import calls, questions
from fleetcare.rules.kinds.case import NO_BIKES
from tests.typed import loaded, not_loaded, refused, typed, typed_all
from tests.vans import TREAD

D = dt.date.fromisoformat
ON = D("2026-08-01")
WALK = f'record V01 walkaround --pass --by "W. Yard" {TREAD}'
ANYWAY = 'If it is true, add: --even-so "why"'


@pytest.mark.parametrize("mark", ["2026-08-02", "2026-09", "2027"])
def test_an_extinguisher_is_not_commissioned_after_today(
    good: str, tmp_path: Path, mark: str
) -> None:
    """Typed, loaded or corrected, a day still to come would give it years it has not."""
    wrong = f"{mark} is after the day it was fitted (2026-08-01)"
    fit = {"kind": "fit", "van": "V01", "what": "extinguisher", "place": "door",
           "on": "2026-08-01", "variety": "powder", "commissioned": mark}  # fmt: skip
    typed(good, "fit V01 extinguisher --type powder --commissioned 2026-08-01", ON)

    assert (
        questions.hireable(good, "V01", calls.Question(ON, ON, NO_BIKES, ON, None)).hireable
        == "yes"
    )
    assert refused(good, f"fit V01 extinguisher --type powder --commissioned {mark}") == (
        f"--commissioned: {wrong}"
    )
    assert refused(good, f'correct 31 --commissioned {mark} "w"') == f"--commissioned: {wrong}"
    assert not_loaded(good, tmp_path, fit) == f"1 commissioned: {wrong}"


def test_the_plate_on_the_paper_is_that_of_the_van(good: str) -> None:
    """The paper of another van says nothing of this one; how the plate is spaced is no matter."""
    line = "record V01 mot --pass --certificate M1 --plate"

    assert refused(good, f'{line} "QI24 QIR"') == (
        f'--plate: the paper says "QI24 QIR", the van bore "QI24 QIQ" on 2026-08-01\n{ANYWAY}'
    )
    typed(good, 'van change V01 --on 2026-07-01 --plate "QQ1 QIQ"', ON)
    assert refused(good, f'{line} "QI24 QIQ"') == (
        f'--plate: the paper says "QI24 QIQ", the van bore "QQ1 QIQ" on 2026-08-01\n{ANYWAY}'
    )
    assert "MOT test passed" in typed(good, f'{line} "qi24qiq" --on 2026-06-30', ON)
    assert "MOT test passed" in typed(good, line.replace("M1", "M2") + "=qq1qiq", ON)


def test_a_print_longer_than_a_test_can_give_is_told_as_a_slip(good: str, tmp_path: Path) -> None:
    """Thirteen months less a day from the test is the most, typed and loaded; a day more is not."""
    line = "record V01 mot --pass --certificate M1 --last-day"
    check = {"kind": "check", "van": "V01", "what": "roadworthiness", "on": "2026-08-01",
             "outcome": "pass", "certificate": "M2"}  # fmt: skip
    wrong = (
        "2027-09-01 is more than a test of 2026-08-01 can give: 13 months less a day is 2027-08-31"
    )

    assert refused(good, f"{line} 2027-09-01") == f"--last-day: {wrong}\n{ANYWAY}"
    assert not_loaded(good, tmp_path, check | {"last_day": "2027-09-01"}) == (
        f'1 last_day: {wrong}\n1: if it is true, add the key "even_so" with why'
    )
    assert "Counts for MOT to Tue 31 Aug 2027.\n" in typed(good, f"{line} 2027-08-31", ON)
    assert "Loaded #31: 1 × check." in loaded(good, tmp_path, check | {"last_day": "2027-08-31"})


def test_what_a_paper_prints_too_long_even_so_counts_no_longer(good: str) -> None:
    """Whoever insists on the print gets the day the rule gives."""
    line = 'record V01 mot --pass --certificate M1 --last-day 2028-08-01 --even-so "so printed"'

    assert "Counts for MOT to Tue 31 Aug 2027; the paper says Tue 1 Aug 2028.\n" in typed(
        good, line, ON
    )


def test_a_return_of_long_ago_hides_no_van_presumed_out_today(good: str) -> None:
    """Only a return of the day itself leaves the van in the yard; H2 is presumed out from the day
    after it begins."""
    then = D("2026-07-20")
    typed_all(
        good,
        [
            "hire add V01 --from 2026-07-20 --through 2026-07-25 --ref H1",
            "hire add V01 --from 2026-08-01 --through 2026-08-05 --ref H2",
            WALK,
            "hire driver H1 --licence B --until 2040-01-01 --shown photocard",
            "hire out H1 --by W --odometer 1000mi",
        ],
        then,
    )
    typed(good, "hire back H1 --odometer 1100mi", D("2026-07-25"))
    first = typed(good, 'defect report V01 --grade minor "blind"', ON)
    said = typed(good, 'defect report V01 --grade dangerous "brakes"', D("2026-08-02"))
    items = questions.due(good, D("2026-08-02"), None).items
    (item,) = [i for i in items if i.rule == "open-defects" and i.standing == "failed"]

    assert (
        "tell the hirer" not in first
    )  # it may stand in the yard yet, on the day it is booked from
    assert 'dangerous defect "brakes", Sun 2 Aug 2026, on H2.\n' in said
    assert "V01: presumed out as H2 until Wed 5 Aug 2026, tell the hirer: " in said
    assert item.group == "out"
    assert str(item.if_out).startswith("presumed out as H2 until Wed 5 Aug 2026. ")
