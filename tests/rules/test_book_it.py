"""May it go out, can it be booked, and on which days must the work be done."""

from __future__ import annotations

import datetime as dt
import shutil
from pathlib import Path

import pytest

from fleetcare.desk import calls, questions
from fleetcare.errors import Refused
from fleetcare.reports.hire import HireReport, Work
from fleetcare.rules.party import Party
from tests.typed import typed, typed_all
from tests.vans import GOOD, TREAD

D = dt.date.fromisoformat
ON = D("2026-08-01")


def _asked(
    place: str,
    start: str,
    through: str,
    on: str = "2026-08-01",
    bikes: int = 0,
    electric: int = 0,
    kg: tuple[str, ...] = (),
) -> HireReport:
    return questions.hireable(
        place,
        "V01",
        calls.Question(D(start), D(through), Party(bikes, electric, kg), D(on), None),
    )


def test_a_van_in_order_may_go_out_once_its_tread_is_read(good: str) -> None:
    """Today's readings make the yes a bare one; without them the yes names what to record."""
    before = _asked(good, "2026-08-01", "2026-08-09")
    typed(good, f'record V01 walkaround --by "Yard" {TREAD}', ON)
    after = _asked(good, "2026-08-01", "2026-08-09")

    assert (before.hireable, before.bookable) == ("yes", "yes")
    assert [(line.rule, line.place) for line in before.at_handover] == [
        *(
            ("tread-to-go-out", f"{end}-{side}")
            for end in ("front", "rear")
            for side in ("left", "right")
        ),
        ("walkaround", None),
    ]
    assert (after.hireable, after.at_handover, after.blocking) == ("yes", (), ())
    assert after.hireable_through == D("2026-08-10")


def test_the_gas_deadline_is_met_between_two_days(good: str) -> None:
    """Gas deadline 10 Aug 2026, hire 1–14 Aug 2027: from 14 Aug 2026, by Fri 30 Jul 2027."""
    report = _asked(good, "2027-08-01", "2027-08-14")
    gas = [w for w in report.to_do if w.rule == "gas-safety-check"]

    assert (report.hireable, report.bookable) == ("no", "if done")
    assert gas == [
        Work("gas-safety-check", None, "gas safety check", D("2026-08-14"), D("2027-07-30"), True)
    ]
    assert "2026-08-10" in {
        str(line.last_good_day) for line in report.blocking if line.rule == "gas-safety-check"
    }


def test_do_from_on_a_saturday_moves_to_monday(good: str) -> None:
    """The first day must be one on which the work can be done: 15 Aug 2026 is a Saturday."""
    report = _asked(good, "2027-08-01", "2027-08-15")

    assert next(w for w in report.to_do if w.rule == "gas-safety-check").do_from == D("2026-08-17")


def test_the_last_free_day_stands_before_hires_in_between(good: str) -> None:
    """A day that any part of another hire touches is not free for work that needs the van."""
    typed(good, "hire add V01 --from 2027-07-26 --through 2027-07-31 --ref H9", ON)
    report = _asked(good, "2027-08-01", "2027-08-14")
    by = {w.rule: w.do_by for w in report.to_do}

    assert by["gas-safety-check"] == D("2027-07-23")


def test_no_free_day_is_a_no_with_the_days_it_could_go(good: str) -> None:
    """Collected today, or booked solid until then: the work cannot be done."""
    today = _asked(good, "2026-08-11", "2026-08-14", on="2026-08-11")

    assert (today.hireable, today.bookable, today.to_do) == ("no", "no", ())
    assert _asked(good, "2026-08-08", "2026-08-14", on="2026-08-07").bookable == "if done"
    assert _asked(good, "2026-08-08", "2026-08-14", on="2026-08-07").could == ()
    assert today.could == ()
    assert _asked(good, "2026-08-03", "2026-08-14", on="2026-08-01").could == (
        (D("2026-08-01"), D("2026-08-10")),
    )


def _record(work: Work) -> str:
    """The command that does a piece of work, for somebody competent."""
    kinds = {
        "roadworthiness-test": "record V01 roadworthiness --pass --certificate NEW",
        "gas-safety-check": 'record V01 gas-safety --pass --by "A. Fitter" --certificate NEW',
        "extinguisher-extended-service": 'record V01 extinguisher-extended --pass --by "E. Tester"',
        "extinguisher-service": 'record V01 extinguisher-basic --pass --by "E. Tester"',
        "habitation-service": 'record V01 habitation --pass --by "B. Smith"',
        "chassis-service": 'record V01 chassis --pass --by "B. Smith"',
        "water-disinfection": 'record V01 water --pass --by "B. Smith"',
        "brake-fluid": 'record V01 brake-fluid --pass --by "B. Smith"',
        "gas-hose-age": "fit V01 gas-hose locker --made {day}",
        "co-alarm-age": "fit V01 co-alarm --made {day}",
        "tyre-age": "fit V01 tyre {place} --made {day} --load-index 112 --cold-pressure 65psi",
        "tyre-tread": "fit V01 tyre {place} --made {day} --load-index 112 --cold-pressure 65psi",
        "open-defects": 'defect sign-off {number} --by "Lead"',
        "wheel-nuts": 'record V01 wheel-nuts --pass --by "B. Smith"',
        "wheel-nuts-again": 'record V01 wheel-nuts-again --pass --by "B. Smith" --reading nuts-stood=35min',
        "gas-hose-tested": 'record V01 tightness --pass --by "A. Fitter"',
        "insurance": "record V01 insurance --from {day} --last-day 2029-12-31",
        "vehicle-tax": "record V01 tax --from {day} --last-day 2029-12-31",
    }
    return kinds[work.rule]


def _done(place: str, work: Work, day: dt.date) -> None:
    number = (work.place or "").lstrip("#")
    if work.rule == "open-defects":
        typed(place, f'defect repair {number} --by "B. Smith"', day)
    typed(place, _record(work).format(day=day, place=work.place, number=number), day)


@pytest.mark.parametrize(
    ("extra", "start", "through", "on"),
    [
        ("", "2027-08-01", "2027-08-14", "2026-08-01"),
        ("", "2027-06-21", "2027-07-05", "2026-08-01"),
        ("", "2029-01-15", "2029-01-30", "2026-08-01"),
        (
            'defect report V01 --on 2026-07-20 --grade major "wiper torn"\n'
            "record V01 tyres --on 2026-07-20 --by X --place front-left --reading tread:front-left=1.2mm",
            "2026-08-21",
            "2026-08-30",
            "2026-08-03",
        ),
        (
            'record V01 roadworthiness --on 2026-07-01 --fail --certificate F1 --major "play"\n'
            "hire add V01 --from 2026-08-20 --through 2026-08-26 --ref H1",
            "2026-08-29",
            "2026-09-04",
            "2026-08-03",
        ),
    ],
)
def test_each_piece_of_work_saves_the_hire_on_its_days_and_on_no_day_either_side(
    good: str, tmp_path: Path, extra: str, start: str, through: str, on: str
) -> None:
    """Re-recorded as typed on do_from and do_by the hire is on; on the day before and after it is
    not, or that day is none on which the work could be done. All other work is done by its day, or
    with it where that must come first."""
    typed_all(good, extra, ON)
    report = _asked(good, start, through, on)
    assert report.bookable == "if done"
    asked = 0
    for work in report.to_do:
        others = [w for w in report.to_do if w != work]
        for day, saved in (
            (work.do_from, True),
            (work.do_by, True),
            (work.do_from - dt.timedelta(days=1), False),
            (work.do_by + dt.timedelta(days=1), False),
        ):
            if not saved and _no_work_on(report, day, D(on), D(start), work.needs_van, good):
                continue
            # The others by their last day; what this one must not come before with it, what is
            # fitted before what is tested.
            earlier = [report.to_do[number - 1] for number in work.after]
            copy = shutil.copy(good, f"{tmp_path}/copy-{asked}.db")
            jobs = [(other, day if other in earlier else other.do_by) for other in others]
            ordered = sorted(
                [*jobs, (work, day)],
                key=lambda j: (_record(j[0])[:3] != "fit", report.to_do.index(j[0])),
            )
            for job, when in ordered:
                _done(copy, job, when)
            answer = _asked(copy, start, through, start)
            assert (answer.hireable == "yes") is saved, (work, day, answer)
            asked += 1
    assert asked >= 2 * len(report.to_do)


def _no_work_on(
    report: HireReport, day: dt.date, on: dt.date, start: dt.date, needs_van: bool, place: str
) -> bool:
    """Whether no work could be done on a day: too early, closed, collected, or out on hire."""
    with questions.asking(place) as asked:
        hires = asked.judged("V01").hires
    out = any(h.from_on <= day <= h.through_on for h in hires)
    return day < on or day >= start or day.weekday() >= 5 or (needs_van and out)


def test_a_fact_nobody_said_is_one_record_to_make(good: str, ready: str) -> None:
    """The screen names the fact; saying it the wrong way would cost more, so it is only "if done"."""
    typed_all(ready, GOOD.replace(" --no-mains", ""), ON)
    report = _asked(ready, "2026-08-05", "2026-08-09")

    assert (report.hireable, report.bookable) == ("cannot say", "if done")
    assert [(w.rule, w.do, w.needs_van) for w in report.to_do] == [
        ("electrical-inspection", "say mains hook-up", False)
    ]
    assert {line.rule for line in report.blocking} == {
        "electrical-inspection",
        "rcd-fitted",
        "hook-up-lead",
    }


def test_another_hire_a_hold_and_days_off_fleet_are_a_no(good: str) -> None:
    """Each stands in the way by its own name, and no work helps."""
    typed(good, "hire add V01 --from 2026-08-03 --through 2026-08-07 --ref H1", ON)
    typed(good, 'hold V01 --from 2026-08-06 --through 2026-08-09 "windscreen"', ON)
    typed(good, "van change V01 --out-of-service-from 2027-01-01", ON)
    clash = _asked(good, "2026-08-05", "2026-08-08")
    gone = _asked(good, "2026-12-30", "2027-01-03")

    assert [(line.rule, line.standing) for line in clash.blocking] == [
        ("hire", "failed"),
        ("hold", "failed"),
    ]
    assert (clash.hireable, clash.bookable) == ("no", "no")
    assert gone.blocking[0].rule == "service"
    assert gone.bookable == "no"


def test_two_hires_may_share_a_changeover_day(good: str) -> None:
    """Returned in the morning, collected in the afternoon; a second shared day is a clash."""
    typed(good, "hire add V01 --from 2026-08-03 --through 2026-08-07 --ref H1", ON)

    assert _asked(good, "2026-08-07", "2026-08-09").hireable == "yes"
    assert _asked(good, "2026-08-01", "2026-08-03").hireable == "yes"
    assert _asked(good, "2026-08-06", "2026-08-09").hireable == "no"
    with pytest.raises(Refused) as refused:
        typed(good, "hire add V01 --from 2026-08-06 --through 2026-08-09 --ref H2", ON)
    assert str(refused.value) == (
        "V01 is booked as H1 from Mon 3 Aug 2026 through Fri 7 Aug 2026 (#30): two hires share a "
        "changeover day at most"
    )


def test_a_booking_asked_by_its_reference_is_not_in_its_own_way(good: str) -> None:
    """Its days and bikes are taken from the booking."""
    typed(good, "hire add V01 --from 2026-08-03 --through 2026-08-07 --ref H1 --bikes 2", ON)
    report = questions.hireable(good, "V01", calls.Question(None, None, Party(), ON, "H1"))

    assert (report.start, report.through, report.hireable) == (
        D("2026-08-03"),
        D("2026-08-07"),
        "yes",
    )
    assert any("rack and bikes weigh 45 kg" in caution for caution in report.cautions)


@pytest.mark.parametrize(
    ("bikes", "electric", "kg", "hireable"),
    [
        # 15 kg a bike, 30 kg an e-bike, four or two places: common practice, no source. Rated 60 kg.
        (4, 0, (), "yes"),
        (5, 0, (), "no"),
        (0, 2, (), "yes"),
        (2, 1, (), "yes"),
        (3, 1, (), "no"),
        (0, 3, (), "no"),
        (2, 0, ("31", "31"), "no"),
        (2, 0, ("25", "25"), "yes"),
        (0, 2, ("24", "24"), "yes"),
    ],
)
def test_bikes_share_places_and_are_weighed(good: str, bikes, electric, kg, hireable) -> None:
    """Places are shared (ordinary/4 + electric/2 at most 1) and their mass meets the rating."""
    report = _asked(good, "2026-08-03", "2026-08-07", bikes=bikes, electric=electric, kg=kg)

    assert report.hireable == hireable
    if hireable == "no":
        assert [line.rule for line in report.blocking] == ["rack-rating"]
        assert report.bookable == "no"


def test_rack_rules_stop_only_a_party_with_bikes(good: str) -> None:
    """A rack past its inspection is nobody's concern until bikes go."""
    later = ("2027-05-10", "2027-05-12")
    typed(good, 'record V01 habitation --on 2027-05-01 --pass --by "B"', D("2027-05-01"))

    def rules(bikes: int) -> set[str]:
        return {line.rule for line in _asked(good, *later, on="2027-05-10", bikes=bikes).blocking}

    assert "rack-inspection" in rules(1)
    assert "rack-inspection" not in rules(0)


def test_deleting_a_record_never_makes_a_van_more_hireable(good: str) -> None:
    """Whatever single record is withdrawn, no day becomes hireable that was not. The exceptions
    are a fail, defect, hold, hire or withdrawal; this van has none, nor a check so early that it
    restarted a clock."""
    with questions.asking(good) as asked:
        before = asked.judged("V01").hireable_days()
        records = asked.as_of.known_at
    shrunk = 0
    for number in range(2, records + 1):
        copy = shutil.copy(good, good + ".copy")
        try:
            typed(copy, f'withdraw {number} "to see"', ON)
        except Refused as refused:
            assert "is all that is said" in str(refused)
            continue
        with questions.asking(copy) as asked:
            after = asked.judged("V01").hireable_days()
        assert (after - before).empty, number
        shrunk += after != before
    assert shrunk > 20


def test_a_booking_with_more_bikes_than_the_rack_bears_heads_the_due_report(good: str) -> None:
    """It is written down, and stands first until somebody changes it."""
    booked = "hire add V01 --from 2026-08-03 --through 2026-08-07 --ref H1 --electric-bikes 3"
    typed(good, f"{booked} --even-so known", ON)
    first = questions.due(good, ON, None).items[0]

    assert (first.rule, first.group, first.standing, first.do_by) == (
        "rack-rating",
        "spoils",
        "failed",
        None,
    )
    assert first.spoils == "H1 from Mon 3 Aug 2026"


def test_what_lapses_while_a_van_is_out_comes_first_with_what_to_tell_the_hirer(good: str) -> None:
    """Gas ends on 10 August; the van is presumed out from the 8th to the 12th."""
    typed(good, "hire add V01 --from 2026-08-08 --through 2026-08-12 --ref H1", ON)
    first = questions.due(good, D("2026-08-09"), None).items[0]

    assert (first.rule, first.group, first.standing) == ("gas-safety-check", "out", "due soon")
    assert first.if_out is not None
    assert first.if_out.startswith("presumed out as H1 until Wed 12 Aug 2026. The gas check ends ")


def test_due_says_when_to_do_the_work(good: str) -> None:
    """From the day the early window opens, by the last free working day before the hire it would
    spoil, else the last working day in date."""
    typed(good, "hire add V01 --from 2026-08-08 --through 2026-08-12 --ref H1", ON)
    gas = next(i for i in questions.due(good, ON, None).items if i.rule == "gas-safety-check")
    wide = {i.rule: i for i in questions.due(good, ON, 600).items if i.rule != "tyre-age"}
    chassis = wide["chassis-service"]

    assert (gas.do_from, gas.do_by, gas.spoils) == (
        D("2026-08-03"),
        D("2026-08-07"),
        "H1 from Sat 8 Aug 2026",
    )
    assert (chassis.do_from, chassis.do_by) == (D("2027-04-01"), D("2027-04-01"))
    assert wide["insurance"].do_by == D("2028-03-31")
