"""Bookings that lapse by themselves, and the hours of collection and return."""

from __future__ import annotations

import datetime as dt
import json

import pytest

from fleetcare import clock
from fleetcare.desk import diary, questions
from fleetcare.desk.asking import KnownAt
from fleetcare.desk.calls import Question
from fleetcare.errors import Refused
from fleetcare.rules.party import NO_BIKES
from tests.typed import refused, typed

DAY = dt.date(2026, 8, 1)
DAYS = "--from 2026-08-05 --through 2026-08-07"


def _later(days: int) -> dt.date:
    return DAY + dt.timedelta(days=days)


def _stands(place: str, on: dt.date) -> dict[str, str]:
    return {row["ref"]: row["stands"] for row in json.loads(typed(place, "hire list --json", on))}


def test_a_pencilled_booking_keeps_the_van_and_lapses_by_itself(good: str) -> None:
    """For 48 hours unless said: until Monday at noon nobody else has these days, then anybody."""
    said = typed(good, f"hire add V01 {DAYS} --ref H1 --pencilled", DAY)
    assert (
        "It is pencilled and lapses by itself Mon 3 Aug 2026 12:00. Make it firm with: fleetcare "
        "hire change H1 --firm"
    ) in said
    assert _stands(good, _later(2)) == {"H1": "pencilled until Mon 3 Aug 2026 12:00"}
    assert "H1 from Wed 5 Aug 2026 through Fri 7 Aug 2026" in refused(
        good, f"hire add V01 {DAYS} --ref H2", _later(2)
    )

    assert _stands(good, _later(3)) == {"H1": "lapsed Mon 3 Aug 2026 12:00"}
    typed(good, f"hire add V01 {DAYS} --ref H2", _later(3))
    assert _stands(good, _later(3))["H2"] == "booked"


def test_made_firm_it_stays(good: str) -> None:
    """Said once, before it lapses; a second time nothing changes."""
    typed(good, f"hire add V01 {DAYS} --ref H1 --pencilled 1", DAY)
    said = typed(good, "hire change H1 --firm", DAY)

    assert "H1 of V01: firm from now on." in said
    assert _stands(good, _later(3)) == {"H1": "booked"}
    assert refused(good, "hire change H1 --firm", _later(1)) == (
        "H1 stands so already: say what changes"
    )


def test_one_that_lapsed_is_named_and_booked_again_where_it_can(good: str) -> None:
    """Its release says when it lapsed and what to do; taken by another it stays lapsed."""
    typed(good, f"hire add V01 {DAYS} --ref H1 --pencilled 24", DAY)
    fault = refused(good, 'hire out H1 --by "W. Yard" --odometer 12000mi', _later(4))
    assert fault == (
        "H1 of V01 lapsed Sun 2 Aug 2026 12:00. Book it again, if the van is free, with: fleetcare "
        "hire change H1 --firm"
    )
    assert "firm from now on" in typed(good, "hire change H1 --firm", _later(2))

    typed(good, "hire add V01 --from 2026-08-10 --through 2026-08-12 --ref H3 --pencilled 1", DAY)
    typed(good, "hire add V01 --from 2026-08-10 --through 2026-08-12 --ref H4", _later(1))
    assert "V01 is booked as H4" in refused(good, "hire change H3 --firm", _later(1))


def test_what_was_known_then_is_asked_at_the_hour_of_then(good: str) -> None:
    """Asked as known on Saturday the pencilled booking stands in the way; as known today not."""
    typed(good, f"hire add V01 {DAYS} --ref H1 --pencilled", DAY)
    with clock.standing_at(dt.datetime.combine(_later(1), dt.time(12), dt.UTC)):
        size = KnownAt(size=diary.diary(good, DAY, 1).known_at)
    typed(good, "odometer V01 12000mi", _later(1))
    with clock.standing_at(dt.datetime.combine(_later(3), dt.time(12), dt.UTC)):
        asked = Question(_later(4), _later(6), NO_BIKES, _later(3), None)
        assert questions.hireable(good, "V01", asked).bookable == "yes"
        then = questions.hireable(good, "V01", asked, size)
    assert [line.rule for line in then.blocking] == ["hire"]


def test_a_hire_brought_back_after_the_next_is_collected_is_refused(good: str) -> None:
    """On a changeover day the hours decide, where both were said."""
    typed(good, f"hire add V01 {DAYS} --ref H1 --collect-at 14:00 --return-at 10:00", DAY)
    more = "hire add V01 --from 2026-08-07 --through 2026-08-09 --ref H2"
    assert refused(good, f"{more} --collect-at 09:30") == (
        "V01 is booked as H1 from Wed 5 Aug 2026 14:00 through Fri 7 Aug 2026 10:00 (#35): it is "
        "collected before the other is back"
    ).replace("#35", refused(good, f"{more} --collect-at 09:30").split("(")[1].split(")")[0])
    typed(good, f"{more} --collect-at 10:00", DAY)
    assert refused(good, "hire change H2 --collect-at 9").startswith(
        '--collect-at: "9" is not a time of day: type it like 14:30'
    )


def test_hours_between_two_hires_are_the_firms(good: str, tmp_path: object) -> None:
    """With four hours asked for, three are too few."""
    firm = f"{tmp_path}/firm.toml"
    with open(firm, "w", encoding="utf-8") as file:
        file.write("[settings]\nturnaround_hours = 4\n")
    assert "Changed: turnaround hours, 4 (were 0)." in typed(good, f"rules adopt {firm}", DAY)
    typed(good, f"hire add V01 {DAYS} --ref H1 --return-at 10:00", DAY)
    more = "hire add V01 --from 2026-08-07 --through 2026-08-09 --ref H2"

    assert "4 hours must lie between" in refused(good, f"{more} --collect-at 13:00")
    with pytest.raises(Refused):
        typed(good, "hire change H1 --return-at 25:00", DAY)
    typed(good, f"{more} --collect-at 14:00", DAY)


def test_one_back_late_names_the_hire_it_presses(good: str) -> None:
    """The yard that takes it back hears whom to ring, with the hour of collection."""
    typed(good, f"hire add V01 {DAYS} --ref H1", DAY)
    typed(
        good,
        "hire add V01 --from 2026-08-08 --through 2026-08-09 --ref H2 --collect-at 11:00", DAY
    )  # fmt: skip
    typed(good, 'hire out H1 --by "W. Yard" --odometer 12000mi --unreleased test', _later(4))
    said = typed(good, "hire back H1 --odometer 12400mi", _later(7))

    assert (
        "Next on V01: H2, Sat 8 Aug 2026 11:00. It was back late and presses that hire: ring them."
    ) in said


def test_a_day_hire_before_another_of_that_day_is_held_to_its_hours(good: str) -> None:
    """Whichever was booked first: back at five, it does not serve a collection at nine."""
    typed(
        good, "hire add V01 --from 2026-08-03 --through 2026-08-06 --ref L1 --collect-at 09:00", DAY
    )
    day = "hire add V01 --from 2026-08-03 --through 2026-08-03 --ref D1 --collect-at 07:00"
    assert "it is collected before the other is back" in refused(good, f"{day} --return-at 17:00")
    typed(good, f"{day} --return-at 08:30", DAY)
    assert refused(
        good, "hire add V01 --from 2026-08-09 --through 2026-08-09 --ref D2 --collect-at 17:00 "
        "--return-at 09:00"
    ) == "--return-at: 09:00 is before it is collected (17:00)"  # fmt: skip


def test_moved_and_made_firm_it_is_firm(good: str) -> None:
    """`--firm` with another van is no word in vain; a swap wants it said before."""
    typed(good, 'van add V02 --like V01 --plate "QI25 QIQ" --in-service-from 2026-01-01', DAY)
    typed(good, f"hire add V01 {DAYS} --ref H1 --pencilled 1", DAY)
    typed(good, "hire add V01 --from 2026-08-08 --through 2026-08-09 --ref H2", DAY)
    assert "make it firm first" in refused(good, "hire change H1 --swap H2 --firm")
    typed(good, "hire change H1 --van V02 --firm --even-so", DAY)

    assert _stands(good, _later(3))["H1"] in ("booked", "moved to V02 Sat 1 Aug 2026")
    rows = json.loads(typed(good, "hire list --json", _later(3)))
    assert [r["stands"] for r in rows if r["ref"] == "H1" and r["van"] == "V02"] == ["booked"]


def test_one_that_went_out_does_not_lapse_on_another_van(good: str) -> None:
    """Pencilled, released, and swapped on the road: it stands with the van they are in."""
    typed(good, 'van add V02 --like V01 --plate "QI25 QIQ" --in-service-from 2026-01-01', DAY)
    typed(good, "hire add V01 --from 2026-08-01 --through 2026-08-07 --ref H1 --pencilled 1", DAY)
    typed(good, "hire out H1 --by W --odometer 12000mi --unreleased went", DAY)
    typed(
        good,
        'hire swap H1 --to V02 --where A66 --odometer 12100mi --by W "clutch" --even-so known', DAY
    )  # fmt: skip
    rows = json.loads(typed(good, "hire list --json", _later(3)))

    assert [r["stands"] for r in rows if r["van"] == "V02"] == ["presumed out"]


def test_any_van_is_one_whose_hours_leave_room(good: str) -> None:
    """The best van comes back too late that day: the next one is booked, and nothing is said of
    the vans that were only looked at."""
    typed(good, 'van add V02 --like V01 --plate "QI25 QIQ" --in-service-from 2026-01-01', DAY)
    typed(
        good, "hire add V01 --from 2026-08-03 --through 2026-08-05 --ref L1 --return-at 17:00", DAY
    )
    line = "hire add --van any --from 2026-08-05 --through 2026-08-07 --ref N1 --collect-at 09:00"
    said = typed(good, line, DAY)
    assert ": hire N1 from Wed 5 Aug 2026 09:00 through Fri 7 Aug 2026." in said
    assert said.split()[1] == "V02:"
    assert "V01" not in said

    said = typed(good, line.replace("09:00", "17:30").replace("N1", "N2"), DAY)
    assert said.split()[1] == "V01:"
