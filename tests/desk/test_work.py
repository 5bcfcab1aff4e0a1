"""A van booked in with a workshop: it goes on no hire, and Monday says so."""

from __future__ import annotations

import datetime as dt
import json

from tests.typed import refused, typed

DAY = dt.date(2026, 8, 1)
BOOKED = (
    'work book V01 --from 2026-08-10 --through 2026-08-11 --where "Fell Motors" --for gas-safety'
)


def test_on_its_days_the_van_goes_on_no_hire(good: str) -> None:
    """The clerk hears which workshop; the day after it may go; called off it may go at once."""
    said = typed(good, BOOKED, DAY)
    number = said.split()[0].removeprefix("#")
    assert said.splitlines()[0] == (
        f'#{number} V01 booked in Mon 10 Aug 2026 through Tue 11 Aug 2026: "Fell Motors". Call it '
        f"off with: fleetcare withdraw {number} WHY"
    )

    answer = typed_no(good, "2026-08-11", "2026-08-14")
    assert answer["blocking"][0]["reason"] == (
        "booked in with a workshop from Mon 10 Aug 2026 through Tue 11 Aug 2026: Fell Motors "
        f"(#{number})"
    )
    typed(good, f'withdraw {number} "they are closed"', DAY)
    assert answer["hireable"] == "no"
    assert typed_no(good, "2026-08-05", "2026-08-08")["hireable"] == "yes"


def typed_no(place: str, first: str, last: str) -> dict[str, object]:
    """The answer to a hire, whatever the exit code."""
    import click

    from fleetcare import clock
    from fleetcare.desk import questions
    from fleetcare.desk.calls import Question
    from fleetcare.reports.hire import as_json
    from fleetcare.rules.party import NO_BIKES

    del click
    with clock.standing_at(dt.datetime.combine(DAY, dt.time(12), dt.UTC)):
        days = (dt.date.fromisoformat(first), dt.date.fromisoformat(last))
        return as_json(questions.hireable(place, "V01", Question(*days, NO_BIKES, DAY, None)))


def test_monday_says_what_is_booked_in(good: str) -> None:
    """The gas check is due on the 10th and booked in that day; one booked in later is too late."""
    typed(good, BOOKED, DAY)
    items = json.loads(typed(good, "due --json", DAY))["items"]
    gas = next(item for item in items if item["rule"] == "gas-safety-check")
    assert gas["booked_in"].startswith("booked in Mon 10 Aug 2026 (#")
    assert not [item for item in items if item["rule"] == "hold"]
    assert "booked in Mon 10 Aug 2026 (#" in typed(good, "due", DAY)

    late = 'work book V01 --from 2026-08-13 --where "Fell Motors" --for gas-safety --dry-run'
    assert "Caution: gas safety check is to be done by Mon 10 Aug 2026, before this." in typed(
        good, late, DAY
    )


def test_a_slip_in_its_days_is_asked_back(good: str) -> None:
    """Days of a hire, parts that come too late, a job that is none; and each with its cure."""
    typed(good, "hire add V01 --from 2026-08-05 --through 2026-08-10 --ref H1", DAY)
    fault = refused(good, f"{BOOKED} --parts seal --parts-due 2026-08-12")
    assert "--from: V01 is booked as H1, Wed 5 Aug 2026 to Mon 10 Aug 2026" in fault
    assert "--parts-due: 2026-08-12 is after the van comes in (2026-08-10)" in fault
    assert fault.endswith('If it is true, add: --even-so "why"')
    said = typed(good, f'{BOOKED} --even-so "H1 moves to V02"', DAY)
    assert "V01: Now stopped by hold #" in said

    assert 'Did you mean "chassis"?' in refused(
        good, "work book V01 --from 2026-08-20 --where X --for chasis"
    )


def test_jobs_that_one_visit_can_do_are_one(good: str) -> None:
    """Gas and habitation fall due apart; the days on which one visit loses least are told."""
    found = json.loads(typed(good, "work list --json", dt.date(2026, 8, 3)))
    assert [item["rule"] for item in found[0]["due"]] == ["gas-safety-check"]
    assert found[0]["together"] is None

    later = dt.date(2027, 3, 1)
    typed(good, 'record V01 gas-safety --pass --by "A. Fitter" --certificate G2', DAY)
    found = json.loads(typed(good, "work list --json", later))
    rules = {item["rule"] for item in found[0]["due"]}
    assert {"habitation-service", "water-disinfection", "chassis-service"} <= rules
    first, last = found[0]["together"]
    assert "2027-03-01" <= first <= last
    assert f"one visit {_day(first)}" in typed(good, "work list", later)

    more = "--for habitation --for water --for chassis --for brake-fluid"
    typed(good, f'work book V01 --from 2027-03-08 --where "our own" {more}', later)
    row = json.loads(typed(good, "work list --json", later))[0]
    assert [visit["where"] for visit in row["visits"]] == ["our own"]
    booked = {item["rule"] for item in row["due"] if item["booked_in"]}
    assert {"habitation-service", "water-disinfection", "chassis-service"} <= booked


def _day(iso: str) -> str:
    day = dt.date.fromisoformat(iso)
    return f"{day:%a} {day.day} {day:%b %Y}"
