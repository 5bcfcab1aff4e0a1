"""Ways by which a yes could become a no, or advice be wrong: each is asked of a whole book, as
somebody at the counter asks it."""

from __future__ import annotations

import datetime as dt
import json
from pathlib import Path

import pytest

from fleetcare.desk import calls, questions
from fleetcare.reports.hire import HireReport, Work
from fleetcare.rules.kinds.case import NO_BIKES
from tests.typed import typed, typed_all
from tests.vans import GOOD, TREAD

D = dt.date.fromisoformat
ON = D("2026-08-01")
WALK = f'record V01 walkaround --pass --by "W. Yard" {TREAD}'


def _asked(place: str, start: str, through: str, van: str = "V01") -> HireReport:
    return questions.hireable(place, van, calls.Question(D(start), D(through), NO_BIKES, ON, None))


def _against(report: HireReport) -> tuple[str, list[tuple[str, str | None, str]]]:
    return report.hireable, [(b.rule, b.place, b.reason) for b in report.blocking]


@pytest.mark.parametrize(("old", "new"), [(30, 31), (31, 30)])
def test_a_defect_signed_off_is_not_asked_for_again_beside_a_new_one(
    good: str, old: int, new: int
) -> None:
    """Booked "if done first", what is to do is the open defect alone, on any working day before."""
    typed_all(
        good,
        [
            'defect report V01 --grade major "lamp"',
            'defect report V01 --grade major "step"',
            f'defect sign-off {old} --by "Lead" "put right"',
        ],
        ON,
    )
    report = _asked(good, "2026-08-05", "2026-08-08")

    assert (report.hireable, report.bookable) == ("no", "if done")
    assert report.to_do == (
        Work(
            "open-defects", f"#{new}", f"defect #{new} rectified and signed off",
            D("2026-08-03"), D("2026-08-04"), needs_van=True,
        ),
    )  # fmt: skip


def test_what_nobody_said_may_be_said_to_the_last_working_day_before(ready: str) -> None:
    """Friday, for a Monday's collection; and so though the van is on hire until then, for saying it
    needs its papers only."""
    typed_all(ready, GOOD.replace(" --no-mains", ""), ON)
    second = "hire add V01 --from 2026-08-10 --through 2026-08-10 --ref H2"
    typed(ready, second, ON)
    said = Work(
        "electrical-inspection", None, "say mains hook-up", D("2026-08-03"), D("2026-08-07"), False
    )
    due = [
        (i.do_from, i.do_by, i.spoils)
        for i in questions.due(ready, ON, None).items
        if i.rule == "electrical-inspection"
    ]

    assert due == [(D("2026-08-03"), D("2026-08-07"), "H2 from Mon 10 Aug 2026")]
    between = "hire add V01 --from 2026-08-02 --through 2026-08-09 --ref H1 --even-so known"
    for lines in ([], [between]):
        typed_all(ready, lines, ON)
        report = questions.hireable(ready, "V01", calls.Question(None, None, NO_BIKES, ON, "H2"))
        assert (report.hireable, report.bookable) == ("cannot say", "if done")
        assert report.to_do == (said,)


def test_a_paper_of_the_fleet_that_is_loaded_counts(ready: str, tmp_path: Path) -> None:
    """For each van it names, one of the same file included, from its first day to its last."""
    typed_all(ready, [one for one in GOOD.strip().splitlines() if " insurance " not in one], ON)
    lacks = ("no", [("insurance", None, "nothing recorded")])
    assert _against(_asked(ready, "2026-08-03", "2026-08-04")) == lacks
    facts = [
        {"kind": "van", "van": "V02", "jurisdiction": "gb", "in_service_from": "2026-08-01"},
        {"kind": "fleet-paper", "what": "insurance", "on": "2026-08-01", "from_on": "2026-08-02",
         "last_day": "2026-08-05", "vans": ["V01", "V02"]},
    ]  # fmt: skip
    (tmp_path / "facts.jsonl").write_text("".join(f"{json.dumps(one)}\n" for one in facts))
    printed = typed(ready, f"load {tmp_path}/facts.jsonl", ON)
    of_v02 = [
        (w.standing, w.last_good_day)
        for w in questions.why_rule(ready, "V02", "insurance", D("2026-08-02"))
    ]

    assert printed.splitlines()[0] == "Loaded from #29 to #30: 1 × van, 1 × fleet-paper."
    assert _against(_asked(ready, "2026-08-02", "2026-08-05")) == ("yes", [])
    assert _against(_asked(ready, "2026-08-01", "2026-08-05")) == lacks
    assert _asked(ready, "2026-08-05", "2026-08-06").hireable == "no"
    assert of_v02 == [("in date", D("2026-08-05"))]


@pytest.mark.parametrize("day", [D("2026-08-02"), D("2026-08-03")])
def test_a_temporary_repair_on_a_vans_second_hire_spares_that_hire(good: str, day: dt.date) -> None:
    """It lasts to the end of the hire the van is out on, not of the one before, be it on the day
    that one came back."""
    typed_all(
        good,
        [
            "hire add V01 --from 2026-08-01 --through 2026-08-02 --ref H1",
            "hire add V01 --from 2026-08-02 --through 2026-08-06 --ref H2",
            WALK,
            "hire driver H1 --licence B --until 2040-01-01 --shown photocard",
            "hire out H1 --by W --odometer 1000mi",
        ],
        ON,
    )
    typed_all(
        good,
        [
            "hire back H1 --odometer 1100mi",
            WALK,
            "hire driver H2 --licence B --until 2040-01-01 --shown photocard",
            "hire out H2 --by W --odometer 1100mi",
        ],
        D("2026-08-02"),
    )
    typed(good, 'defect report V01 --grade major "lamp"', day)
    stopped = questions.hireable(good, "V01", calls.Question(None, None, NO_BIKES, day, "H2"))
    said = typed(good, 'defect repair 41 --by AA --temporary "tape"', day)
    spared = questions.hireable(good, "V01", calls.Question(None, None, NO_BIKES, day, "H2"))
    out = [i.group for i in questions.due(good, day, None).items if i.rule == "open-defects"]

    assert stopped.hireable == "no"
    assert said.splitlines()[0] == (
        "#42 defect #41 mended by AA, for this hire only: to the end of H2, Thu 6 Aug 2026."
    )
    assert _against(spared) == ("yes", [])
    assert out == ["overdue"]
    assert _against(_asked(good, "2026-08-07", "2026-08-08"))[0] == "no"


@pytest.mark.parametrize(
    ("what", "spot", "marks", "rule"),
    [
        ("smoke-alarm", "bedroom", "--made 2010-01", "smoke-alarm-age"),
        ("fire-blanket", "awning", "--replace-by 2026-06-30", "fire-blanket"),
    ],
)
def test_a_place_nobody_asks_for_may_be_emptied(
    good: str, what: str, spot: str, marks: str, rule: str
) -> None:
    """What is over age in an extra place stops the van; taken out, nothing is lacking there."""
    typed(good, f"fit V01 {what} {spot} {marks} --on 2026-07-01", ON)
    report = _asked(good, "2026-08-01", "2026-08-01")
    against = {(b.rule, b.place) for b in report.blocking}
    typed(good, f"take-off V01 {what} {spot}", ON)
    stood = {w.place: w.standing for w in questions.why_rule(good, "V01", rule, ON)}

    assert (rule, spot) in against
    assert _against(_asked(good, "2026-08-01", "2026-08-01")) == ("yes", [])
    assert stood[spot] == "not applicable"


def test_a_walkaround_written_down_after_the_return_serves_the_next_hire(good: str) -> None:
    """Of one day and without times, what was written down last was done last."""
    typed_all(
        good,
        [
            "hire add V01 --from 2026-07-30 --through 2026-08-01 --ref H1",
            "hire add V01 --from 2026-08-01 --through 2026-08-04 --ref H2",
            WALK,
            "hire driver H1 --licence B --until 2040-01-01 --shown photocard",
            "hire out H1 --by W --odometer 1000mi",
        ],
        D("2026-07-30"),
    )
    shown = "hire driver H2 --licence B --until 2040-01-01 --shown photocard"
    typed_all(good, ["hire back H1 --odometer 1100mi", WALK, shown], ON)
    report = questions.hireable(good, "V01", calls.Question(None, None, NO_BIKES, ON, "H2"))

    assert (report.hireable, report.at_handover) == ("yes", ())
    assert typed(good, "hire out H2 --by W --odometer 1100mi", ON).splitlines()[0] == (
        "#40 V01 released to H2 by W, Sat 1 Aug 2026, until Tue 4 Aug 2026; judged on 39 records "
        f"under rules {_digest(good)}."
    )


def test_a_walkaround_before_the_van_went_out_that_day_is_used_up(good: str) -> None:
    """Of one day and without times, what was written down before the handover was for it."""
    typed_all(
        good,
        [
            "hire add V01 --from 2026-08-01 --through 2026-08-01 --ref H1",
            "hire add V01 --from 2026-08-01 --through 2026-08-04 --ref H2",
            WALK,
            "hire driver H1 --licence B --until 2040-01-01 --shown photocard",
            "hire out H1 --by W --odometer 1000mi",
        ],
        ON,
    )
    report = questions.hireable(good, "V01", calls.Question(None, None, NO_BIKES, ON, "H2"))

    assert "walkaround" in {line.rule for line in report.at_handover}


def _digest(place: str) -> str:
    return questions.due(place, ON, None).rulebook[:8]
