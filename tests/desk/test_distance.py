"""How far it goes: a service that falls due by distance is seen before the hire that takes it
there."""

from __future__ import annotations

import datetime as dt
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fleetcare.desk import questions
from fleetcare.desk.calls import Question
from fleetcare.records.kinds import Hire
from fleetcare.rules.kinds.driven import Driven
from fleetcare.rules.party import NO_BIKES
from fleetcare.van.odometer import Rises, Shown
from tests.typed import refused, typed, typed_all

ON = dt.date(2026, 8, 1)
D = dt.date.fromisoformat
# 500 miles a fortnight since it came, read every four weeks; the belt is due at 60,000 miles.
DRIVEN = [
    f"odometer V01 {30000 + 1000 * n}mi --on {dt.date(2025, 7, 5) + dt.timedelta(weeks=4 * n)} "
    "--even-so far"
    for n in range(14)
]


def _asked(place: str, start: str, through: str) -> tuple[str, str, list[tuple[str, str]]]:
    question = Question(D(start), D(through), NO_BIKES, ON)
    found = questions.hireable(place, "V01", question)
    return found.hireable, found.bookable, [(b.rule, b.reason) for b in found.blocking]


@pytest.fixture
def driven(good: str) -> str:
    """The good van, read every four weeks up to 4 July 2026 at 43,000 miles."""
    gas = 'record V01 gas-safety --on 2026-07-10 --pass --by "A. Fitter" --certificate G2'
    typed_all(good, [*DRIVEN, gas])
    return good


def test_a_service_that_falls_due_inside_a_hire_is_seen_beforehand(driven: str) -> None:
    """3,000 miles are left. They last into September; two weeks of a hire may use them up."""
    typed(driven, "van change V01 --belt-distance 46000mi")

    near = _asked(driven, "2026-08-05", "2026-08-07")
    assert near == ("yes", "yes", [])

    hireable, bookable, blocking = _asked(driven, "2026-08-05", "2026-08-19")
    assert (hireable, bookable) == ("cannot say", "if done")
    assert blocking == [
        (
            "timing-belt",
            "first due at 46,000 mi; read 43000mi Sat 4 Jul 2026; from the day after Thu 13 Aug 2026 "
            "it may be past that: read it and write it down: fleetcare odometer V01 READING",
        )
    ]


def test_a_reading_settles_it(driven: str) -> None:
    """It went nowhere in July: read again, it goes."""
    typed(driven, "van change V01 --belt-distance 46000mi")
    assert _asked(driven, "2026-08-05", "2026-08-16")[0] == "cannot say"
    typed(driven, "odometer V01 43000mi --on 2026-08-01", ON)

    assert _asked(driven, "2026-08-05", "2026-08-16")[0] == "yes"


def test_monday_hears_of_it_while_the_hire_is_to_come(driven: str) -> None:
    """The hire booked drives the forecast, and the job stands before it."""
    typed(driven, "van change V01 --belt-distance 46000mi")
    typed(driven, "hire add V01 --from 2026-08-05 --through 2026-08-19 --ref H1", ON)

    found = [i for i in questions.due(driven, ON, None).items if i.rule == "timing-belt"]
    assert [(i.group, i.standing, i.spoils, i.last_good_day, i.do_by) for i in found] == [
        ("coming", "due soon", "H1 from Wed 5 Aug 2026", dt.date(2026, 8, 13), dt.date(2026, 8, 4))
    ]


def test_miles_and_kilometres_are_never_mixed_in_silence(driven: str) -> None:
    """What is typed in kilometres is held to miles by the yard of 1959, and told as it was read."""
    typed(driven, "van change V01 --belt-distance 96560.64km")  # 60,000 miles

    (why,) = questions.why_rule(driven, "V01", "timing-belt", ON)
    assert why.reason.startswith("first due at 60,000 mi; read 43000mi Sat 4 Jul 2026, about ")


def _driven(readings: list[tuple[int, int]], hires: list[tuple[int, int]]) -> Driven:
    start = dt.date(2025, 1, 1)

    def day(number: int) -> dt.date:
        return start + dt.timedelta(number)

    shown = [Shown(day(on), Decimal(km), f"{km}km") for on, km in readings]
    booked = [Hire(0, "V01", str(a), day(a), day(a + b)) for a, b in hires]
    return Driven(Rises(shown), booked, Decimal(250), Decimal(300))


@st.composite
def _odometers(draw: st.DrawFn) -> list[tuple[int, int]]:
    days = sorted(draw(st.sets(st.integers(0, 700), min_size=1, max_size=25)))
    rises = draw(st.lists(st.integers(0, 3000), min_size=len(days), max_size=len(days)))
    return [(day, sum(rises[: place + 1])) for place, day in enumerate(days)]


_HIRES = st.lists(st.tuples(st.integers(0, 1000), st.integers(1, 21)), max_size=6)


@given(
    _odometers(), _HIRES, st.tuples(st.integers(0, 1000), st.integers(1, 21)), st.integers(1, 30000)
)
def test_a_further_hire_never_moves_the_cautious_day_later(
    readings: list[tuple[int, int]], hires: list[tuple[int, int]], one: tuple[int, int], more: int
) -> None:
    """Nothing but a reading does: time that passes without one is asked of nowhere."""
    limit = Decimal(readings[-1][1] + more)

    assert _driven(readings, [*hires, one]).sure_to(limit) <= _driven(readings, hires).sure_to(
        limit
    )


@given(_odometers(), _HIRES, st.integers(1, 30000), st.integers(1, 30000))
def test_further_is_never_reached_sooner(
    readings: list[tuple[int, int]], hires: list[tuple[int, int]], one: int, two: int
) -> None:
    """The last sure day only moves out with the distance, and is no day before the last reading."""
    known = _driven(readings, hires)
    less, more = sorted((one, two))
    first, second = (known.sure_to(known.last.value + Decimal(km)) for km in (less, more))

    assert known.last.on <= first <= second


@given(_odometers(), st.integers(0, 700))
def test_between_two_readings_no_more_is_known_than_the_first(
    readings: list[tuple[int, int]], day: int
) -> None:
    """Work done between them counts from what was read before it: all may have been driven since."""
    known = _driven(readings, [])
    on = dt.date(2025, 1, 1) + dt.timedelta(day)
    before = [one.value for one in known.readings if one.on <= on]

    assert known.at(on) == (before[-1] if before else None)


def test_a_booking_named_for_other_days_drives_those_days(driven: str) -> None:
    """Asked of a reference with other days the hire asked about counts, not only the one booked."""
    typed(driven, "van change V01 --belt-distance 46000mi")
    typed(driven, "hire add V01 --from 2027-05-05 --through 2027-05-07 --ref H9 --even-so far", ON)

    question = Question(D("2026-08-05"), D("2026-08-19"), NO_BIKES, ON, "H9")
    assert questions.hireable(driven, "V01", question).hireable == "cannot say"


def test_a_distance_beyond_all_sense_breaks_nothing(driven: str) -> None:
    """Even so it is written down, and the van is judged by it."""
    typed(driven, f"van change V01 --belt-distance {'9' * 60}mi --even-so slip")

    assert _asked(driven, "2026-08-05", "2026-08-07")[0] == "yes"


def test_a_reading_above_a_later_one_is_asked_back(driven: str) -> None:
    """It would make the later one look turned back, and nobody could say any more."""
    assert refused(driven, "odometer V01 44000mi --on 2026-06-20").splitlines() == [
        "--odometer: 44000mi is more than 43000mi on 2026-07-04",
        'If it is true, add: --even-so "why"',
    ]
