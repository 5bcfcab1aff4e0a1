"""Ways in which a van was once let out when it must not be; each is shut."""

from __future__ import annotations

import datetime as dt

import pytest

from fleetcare.desk import calls, questions
from fleetcare.errors import Refused
from fleetcare.reports.hire import HireReport
from fleetcare.rules.party import NO_BIKES, Party
from tests.typed import typed, typed_all
from tests.vans import TREAD

ON = dt.date(2026, 8, 1)
BACK = dt.date(2026, 8, 5)


def _asked(place: str, party: Party = NO_BIKES) -> HireReport:
    return questions.hireable(place, "V01", calls.Question(ON, BACK, party, ON, None))


def _refusal(place: str, line: str) -> str:
    with pytest.raises(Refused) as refused:
        typed(place, line, ON)
    return str(refused.value)


@pytest.mark.parametrize(
    ("lines", "correction", "refusal"),
    [
        (
            [],
            'correct 6 --jurisdiction fr "w"',
            '--jurisdiction: there are no rules for "fr"; there are: gb',
        ),
        ([], 'correct 6 --spare foo "w"', '--spare: "foo" is not one of wheel, kit, none'),
        (
            ["defect report V01 --grade dangerous x"],
            'correct 30 --grade silly "w"',
            '--grade: "silly" is not one of dangerous, major, minor, advisory',
        ),
        (
            ["record V01 mot --on 2026-07-20 --fail --certificate M1"],
            'correct 30 --outcome banana "w"',
            '--outcome: "banana" is not one of pass, fail, seen',
        ),
        (
            ["record V01 mot --on 2026-07-20 --fail --certificate M1 --at 15:00"],
            'correct 30 --at late "w"',
            '--at: "late" is not a time of day: type it like 14:30',
        ),
        (
            ["take-off V01 tyre front-left --on 2026-07-20"],
            'correct 30 --on 2024-01-01 "w"',
            "--place: nothing is recorded at tyre front-left on 2024-01-01",
        ),
        (
            [
                "hire add V01 --from 2026-08-03 --through 2026-08-07 --ref A",
                "hire add V01 --from 2026-08-07 --through 2026-08-09 --ref B",
            ],
            'correct 32 --from 2026-08-04 "w"',
            "V01 is booked as A from Mon 3 Aug 2026 through Fri 7 Aug 2026 (#30): two hires share a "
            "changeover day at most",
        ),
        (
            ["defect report V01 --grade minor x"],
            'correct 30 --recheck-by 2026-07-01 "w"',
            "--recheck-by: 2026-07-01 is before it was found (2026-08-01)",
        ),
        (
            ["hire add V01 --from 2026-08-03 --through 2026-08-07 --ref A --bikes 1"],
            'correct 30 --bike-kg abc "w"',
            '--bike-kg: "abc" is not a mass in kg: type it like 24',
        ),
    ],
)
def test_a_correction_is_held_to_what_a_record_typed_anew_is(
    good: str, lines: list[str], correction: str, refusal: str
) -> None:
    """A slip in a correction is refused as it would have been in the first place."""
    typed_all(good, lines, ON)

    assert _refusal(good, correction) == refusal


def test_a_part_is_not_copied_to_another_van(good: str) -> None:
    """Its readings would stay behind, and the part stand on two vans at once."""
    typed(good, "van add V02 --jurisdiction gb --in-service-from 2024-01-01", ON)

    assert _refusal(good, "fit V02 tyre front-left --part 7") == (
        "--part: #7 is a part of V01, and its readings stand there. Take it off V01, type its "
        "marks for V02 as they are read off it, and read it again"
    )


@pytest.mark.parametrize(
    ("line", "refusal"),
    [
        (
            "record V01 walkaround --reading tread=1.2mm",
            '--reading "tread": say which tyre: front-left, front-right, rear-left, rear-right',
        ),
        (
            "record V01 walkaround --reading tread:front-lefft=1.2mm",
            '--reading "tread": no tyre at "front-lefft" is in the book; fitted are: front-left, '
            'front-right, rear-left, rear-right. Did you mean "front-left"? Fit it first with: '
            "fleetcare fit V01 tyre front-lefft",
        ),
        (
            "record V01 extinguisher-basic --fail --by X --place boot",
            '--place: no extinguisher at "boot" is in the book; fitted are: door. Fit it first with: '
            "fleetcare fit V01 extinguisher boot",
        ),
    ],
)
def test_a_reading_of_no_known_part_is_not_swallowed(good: str, line: str, refusal: str) -> None:
    """A bad reading that belonged to nothing would stop nothing."""
    assert _refusal(good, line) == refusal


@pytest.mark.parametrize("kind", ["tyres --place front-left", "damp"])
def test_a_failed_check_that_no_rule_reads_stops_hire(good: str, kind: str) -> None:
    """It becomes a major defect, open until somebody signs it off."""
    shown = typed(good, f"record V01 {kind} --fail --by B", ON)

    assert 'major: "' in shown
    assert _asked(good).hireable == "no"
    typed(good, 'defect sign-off 31 --by "Lead" "put right"', ON)
    assert _asked(good).hireable == "yes"


def test_with_a_time_on_one_only_the_part_came_after_the_check(good: str) -> None:
    """A hob fitted on the day of a timed gas check is untested; a new tyre has no reading."""
    typed_all(
        good,
        [
            'record V01 gas-safety --on 2026-07-20 --pass --by "A. Fitter" --certificate G2 --at 09:00',
            "fit V01 appliance hob --on 2026-07-20",
            f"record V01 walkaround --by B --at 09:00 {TREAD}",
            "fit V01 tyre front-left --made 0524 --load-index 112 --cold-pressure 65psi",
            'record V01 wheel-nuts --pass --by "B. Smith"',
            'record V01 wheel-nuts-again --pass --by "B. Smith" --reading nuts-stood=35min',
        ],
        ON,
    )
    report = _asked(good)

    assert [(b.rule, b.standing) for b in report.blocking] == [("gas-safety-check", "no record")]
    assert [line.place for line in report.at_handover] == ["front-left"]


@pytest.mark.parametrize(
    ("places", "party"),
    [
        ("--bikes 0 --electric-bikes 2", Party(0, 3)),
        ("--bikes 0 --electric-bikes 2", Party(1, 0)),
        ("--bikes 0 --electric-bikes 0", Party(1, 0)),
        ("--bikes 4 --electric-bikes 0", Party(0, 1)),
    ],
)
def test_a_rack_without_places_of_a_sort_takes_none(good: str, places: str, party: Party) -> None:
    """No place is no place, however light the bikes."""
    typed_all(
        good,
        [
            f"fit V01 bike-rack --rating 200kg --on 2026-07-02 {places}",
            "record V01 rack --pass --by B --on 2026-07-03",
        ],
        ON,
    )

    assert [b.rule for b in _asked(good, party).blocking] == ["rack-rating"]


def test_one_van_cannot_go_out_twice_on_one_day(good: str) -> None:
    """Two hires that both begin and end on one day have no changeover between them."""
    typed(good, "hire add V01 --from 2026-08-03 --through 2026-08-03 --ref A", ON)

    assert "two hires share a changeover day at most" in _refusal(
        good, "hire add V01 --from 2026-08-03 --through 2026-08-03 --ref B"
    )
    typed(good, "hire add V01 --from 2026-08-03 --through 2026-08-05 --ref C", ON)


@pytest.mark.parametrize(
    ("line", "refusal"),
    [
        (
            'record V01 mot --pass --certificate " "',
            "--certificate: is blank: type it, or leave the option out",
        ),
        (
            'record V01 water --pass --by "\u200b"',
            "--by: is blank: type it, or leave the option out",
        ),
        ('hold V01 --from 2026-08-01 ""', "words: is blank: type it, or leave the option out"),
        (
            'hire add V01 --from 2026-08-03 --through 2026-08-04 --ref "A\nB"',
            "--ref: has a line break or a control character: type it on one line",
        ),
        (
            'inspector add C --scope electrical --register-no " " --from 2015-01-01',
            "--register-no: is blank: type it, or leave the option out",
        ),
        (
            "record V01 insurance --fail --from 2026-07-01 --last-day 2027-08-03",
            "an insurance for self-drive hire is in force or not: it has no pass or fail",
        ),
    ],
)
def test_a_blank_is_nobody_and_nothing(good: str, line: str, refusal: str) -> None:
    """A blank never stands for a name, a number or a reason."""
    assert _refusal(good, line) == refusal


def test_a_hold_is_not_lifted_before_it_began(good: str) -> None:
    """A slip in the day would wipe the hold out from its start."""
    typed(good, "hold V01 --from 2026-07-01 x", ON)

    assert _refusal(good, 'hold lift 30 --on 2026-06-01 --by X "why"') == (
        "--on: 2026-06-01 is before the hold began (2026-07-01)"
    )


def test_an_inspector_taken_out_of_the_book_counts_no_more(good: str) -> None:
    """Without the person there is nobody competent behind the check."""
    typed(good, 'withdraw 2 "never worked here"', ON)

    assert "gas-safety-check" in {b.rule for b in _asked(good).blocking}


def test_a_correction_of_one_reading_leaves_the_others(good: str) -> None:
    """An unsafe appliance is not dropped by putting another reading right."""
    typed_all(
        good,
        [
            'record V01 gas-safety --on 2026-07-20 --pass --by "A. Fitter" --certificate G2 '
            "--result hob=unsafe --result heater=pass",
            'correct 30 --reading tightness-drop=2mbar "read again"',
        ],
        ON,
    )

    assert _asked(good).hireable == "no"


def test_could_never_offers_days_inside_another_hire(good: str) -> None:
    """The stretches end at its collection and begin at its return."""
    typed(good, "hire add V01 --from 2026-08-03 --through 2026-08-04 --ref A", ON)

    assert _asked(good).could == (
        (ON, dt.date(2026, 8, 3)),
        (dt.date(2026, 8, 4), dt.date(2026, 8, 10)),
    )


def test_after_a_fail_is_closed_the_paper_is_told_of_again(good: str) -> None:
    """The evidence line names certificate and checker, not the fail that is over."""
    typed_all(
        good,
        [
            "record V01 gas-safety --on 2026-07-20 --fail --by X",
            'record V01 gas-safety --on 2026-07-21 --pass --by "A. Fitter" --certificate G3',
        ],
        ON,
    )
    (found,) = questions.why_rule(good, "V01", "gas-safety-check", ON)

    assert found.reason == (
        "passed Tue 21 Jul 2026 (#31, certificate G3, A. Fitter), last day Tue 10 Aug 2027; counts "
        "as done on Mon 10 Aug 2026"
    )


def test_a_booking_on_days_off_fleet_heads_the_due_report(good: str) -> None:
    """It is written down, and stands first until somebody changes it."""
    typed_all(
        good,
        [
            "hire add V01 --from 2026-08-20 --through 2026-08-26 --ref A",
            "van change V01 --out-of-service-from 2026-08-24",
        ],
        ON,
    )
    first = questions.due(good, ON, None).items[0]

    assert (first.rule, first.group, first.spoils) == (
        "service",
        "changed",
        "A from Thu 20 Aug 2026",
    )
