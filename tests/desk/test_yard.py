"""The yard, as it is typed: released, extended, late, swapped, laid up, gone; and what may not be."""

from __future__ import annotations

import datetime as dt
from pathlib import Path

import pytest

from fleetcare.desk import calls, fleet, questions
from fleetcare.desk.asking import asking
from fleetcare.errors import Declined, Refused
from fleetcare.reports.hire import HireReport
from fleetcare.rules.party import NO_BIKES, Party
from tests.typed import typed, typed_all
from tests.vans import GOOD, TREAD, WAIVES

D = dt.date.fromisoformat
ON = D("2026-08-01")
READY = [f'record V01 walkaround --by "Yard" {TREAD}']
BOOKED = "hire add V01 --from 2026-08-01 --through 2026-08-05 --ref H1"
OUT = 'hire out H1 --by "Yard" --odometer 42310mi --at 10:00'


@pytest.fixture
def out(good: str) -> str:
    """A van in good order, released to H1 on 1 August until the 5th."""
    typed_all(good, [BOOKED, *READY, OUT], ON)
    return good


def _asked(place: str, start: str, through: str, on: str, party: Party = NO_BIKES) -> HireReport:
    return questions.hireable(
        place, "V01", calls.Question(D(start), D(through), party, D(on), None)
    )


def _said(place: str, line: str, day: str) -> list[str]:
    return typed(place, line, D(day)).splitlines()


def _refusal(place: str, line: str, day: str) -> str:
    with pytest.raises(Refused) as fault:
        typed(place, line, D(day))
    return str(fault.value)


def _records(place: str) -> int:
    with asking(place) as asked:
        return asked.as_of.known_at


# --- the release ---------------------------------------------------------------------------------


def test_a_release_asks_for_the_walkaround_and_keeps_its_judgement(good: str) -> None:
    """Refused with the answer until the treads are read; then kept with size and rules."""
    typed(good, BOOKED, ON)
    before = _records(good)
    with pytest.raises(Declined) as no:
        typed(good, OUT, ON)

    assert _records(good) == before
    assert no.value.answer.splitlines()[-1] == (
        "Not released: record these first, or waive those of practice: tread to go out front-left, "
        "tread to go out front-right, tread to go out rear-left, tread to go out rear-right, "
        "walkaround check."
    )
    typed_all(good, READY, ON)
    said = _said(good, OUT, "2026-08-01")
    with asking(good) as asked:
        (kept,) = asked.facts("V01").outs
        digest = asked.book.digest

    assert said[0] == (
        "#33 V01 released to H1 by Yard, Sat 1 Aug 2026 10:00, until Wed 5 Aug 2026; judged on 32 "
        f"records under rules {digest[:8]}."
    )
    assert (kept.hireable, kept.known_at, kept.rulebook) == ("yes", 32, digest)
    assert (kept.blocking, kept.waived, kept.unreleased) == (None, None, None)


def test_a_walkaround_counts_for_its_day_and_the_next_with_no_hire_between(good: str) -> None:
    """Yesterday's does; that of the day before, or from before another handover, does not."""
    typed_all(good, [BOOKED, *READY], ON)
    second = _asked(good, "2026-08-02", "2026-08-02", "2026-08-02")
    third = _asked(good, "2026-08-03", "2026-08-03", "2026-08-03")
    typed(good, OUT, ON)
    typed(good, "hire back H1 --odometer 42320mi --at 17:00", ON)
    after = _asked(good, "2026-08-02", "2026-08-02", "2026-08-02")

    assert second.at_handover == ()
    wanted = {"tread-to-go-out", "walkaround"}
    assert {line.rule for line in third.at_handover} == wanted
    assert {line.rule for line in after.at_handover} == wanted


def test_a_release_is_a_no_for_what_lapses_on_the_return_day(good: str) -> None:
    """The gas check ends on 10 August: a hire through the 10th goes, one through the 11th does not."""
    typed_all(good, [BOOKED.replace("08-05", "08-11") + " --even-so known", *READY], ON)
    with pytest.raises(Declined) as no:
        typed(good, OUT, ON)
    assert "gas safety check: overdue, last day Mon 10 Aug 2026." in no.value.answer
    assert no.value.answer.splitlines()[-1] == (
        "Not released: H1 may not go. If it left all the same, write that down with: --unreleased "
        '"why"'
    )
    typed(good, "hire change H1 --through 2026-08-10", ON)

    assert "released to H1" in typed(good, OUT, ON)


def test_what_left_all_the_same_is_written_down_and_heads_every_report(good: str) -> None:
    """Due, the fleet list and the record say so, until the van is back."""
    typed(good, BOOKED, ON)
    said = typed(good, f'{OUT} --unreleased "nobody at the desk"', ON)
    with asking(good) as asked:
        (kept,) = asked.facts("V01").outs

    assert "V01 LEFT WITHOUT RELEASE as H1, Sat 1 Aug 2026 10:00" in said
    assert kept.blocking == (
        "tread-to-go-out:front-left",
        "tread-to-go-out:front-right",
        "tread-to-go-out:rear-left",
        "tread-to-go-out:rear-right",
        "walkaround",
    )
    first = questions.due(good, ON, None).items[0]
    assert (first.group, first.title, first.standing) == (
        "unreleased",
        "left without release",
        "failed",
    )
    assert fleet.fleet(good, ON)[0].out_as == "H1 (without release)"
    typed(good, "hire back H1 --odometer 42400mi", D("2026-08-05"))
    assert "unreleased" not in {i.group for i in questions.due(good, D("2026-08-05"), None).items}


@pytest.mark.parametrize(
    ("line", "refusal"),
    [
        (
            "hire out H11 --by Y --odometer 1mi",
            'there is no hire "H11". Did you mean "H1"? Bookings stand with their van: fleetcare '
            "van show VAN",
        ),
        (
            "hire back H1 --odometer 42309mi --on 2026-08-01",
            "--odometer: 42309mi is less than the 42310mi it went out with\n"
            'If it is true, add: --even-so "why"',
        ),
        (
            "hire out H1 --by Y --odometer 1mi",
            "H1 is out since Sat 1 Aug 2026 already",
        ),
        (
            "hire out H2 --by Y --odometer 42400mi",
            "V01 is out as H1: record its return first, with: fleetcare hire back H1 --odometer …",
        ),
        (
            "hire back H1 --odometer 42000mi",
            "--odometer: 42000mi is less than 42310mi on 2026-08-01\n"
            'If it is true, add: --even-so "why"',
        ),
        ("hire back H1 --odometer 42400", '--odometer: "42400" has no unit: type it like 42310mi'),
        (
            "hire back H1 --odometer 42400mi --on 2026-07-30",
            "--on: 2026-07-30 is before it went out (2026-08-01)",
        ),
        (
            'hire cancel H1 "changed their mind"',
            "H1 went out Sat 1 Aug 2026: what happened is not cancelled. Record its return, or "
            "withdraw the release if it is wrong",
        ),
        (
            "hire change H1 --van V02",
            "H1 is out with V01: record its return first, with: fleetcare hire back H1 --odometer …",
        ),
        ("hire change H1 --bikes 0", "H1 stands so already: say what changes"),
        ('withdraw 30 "typed twice"', "H1 went out (#33): withdraw that first"),
    ],
)
def test_what_cannot_be_is_refused_and_nothing_is_lost(out: str, line: str, refusal: str) -> None:
    """Each refusal says what, where and what next, and the book is as it was."""
    typed_all(
        out,
        [
            "hire add V01 --from 2026-08-05 --through 2026-08-09 --ref H2",
            "van add V02 --jurisdiction gb --in-service-from 2026-01-01",
        ],
        ON,
    )
    before = _records(out)

    found = _refusal(out, line, "2026-08-05")
    assert found == refusal or (line.endswith("42400") and found.startswith('--odometer: "42400"'))
    assert _records(out) == before


# --- extension, return, the next hire ------------------------------------------------------------


def test_an_extension_while_out_is_asked_of_the_book_first(out: str) -> None:
    """To the 8th it may stay; to the 12th it may not, unless that is what happened."""
    said = _said(out, 'hire change H1 --through 2026-08-08 "two days more"', "2026-08-03")
    before = _records(out)
    with pytest.raises(Declined) as no:
        typed(out, "hire change H1 --through 2026-08-12", D("2026-08-03"))
    kept = _records(out)
    typed(out, "hire change H1 --through 2026-08-12 --even-so", D("2026-08-03"))

    assert said[0] == "#34 H1 of V01: through Sat 8 Aug 2026, was Wed 5 Aug 2026."
    assert "It is out. May it stay out? Yes." in said
    assert kept == before
    assert no.value.answer.splitlines()[-1] == (
        "Nothing was written: H1 is out and may not stay out so long. If it stays all the same, "
        "add: --even-so"
    )
    item = next(i for i in questions.due(out, D("2026-08-04"), None).items if i.group == "out")
    assert item.if_out == (
        "out as H1 until Wed 12 Aug 2026. The gas check ends while the van is out. Tell the hirer "
        "to shut the bottles and use no gas until a registered engineer has checked it."
    )


def test_a_late_return_stands_in_the_way_of_the_next_hire(out: str) -> None:
    """Past its last day a hire sent out is still out: today is a no, later is if it is back first."""
    today = _asked(out, "2026-08-06", "2026-08-09", "2026-08-06")
    later = _asked(out, "2026-08-08", "2026-08-10", "2026-08-06")
    item = questions.due(out, D("2026-08-06"), None).items[0]
    typed(out, "hire back H1 --odometer 43000mi", D("2026-08-06"))
    after = _asked(out, "2026-08-06", "2026-08-09", "2026-08-06")

    still = (
        "still out as H1: due back Wed 5 Aug 2026, no return recorded. Record it with: fleetcare "
        "hire back H1 --odometer …"
    )
    assert (today.hireable, today.bookable) == ("no", "no")
    assert [b.reason for b in today.blocking] == [still]
    assert (later.hireable, later.bookable) == ("no", "if done")
    assert [(w.rule, w.do, w.do_from, w.do_by) for w in later.to_do] == [
        ("hire", "H1 back, and its return recorded", D("2026-08-06"), D("2026-08-07"))
    ]
    assert (item.group, item.title) == ("late", "still out as H1")
    assert after.hireable == "yes"


def test_a_van_back_early_is_free_again(out: str) -> None:
    """Back on the 3rd, it may be booked from the 3rd although the plan said the 5th."""
    clash = _asked(out, "2026-08-04", "2026-08-06", "2026-08-03")
    said = _said(out, "hire back H1 --odometer 42600mi", "2026-08-03")
    after = _asked(out, "2026-08-04", "2026-08-06", "2026-08-03")

    assert (clash.hireable, after.hireable) == ("no", "yes")
    assert said[0] == "#34 V01 back from H1, Mon 3 Aug 2026."


def test_a_booking_nobody_sent_out_is_only_presumed_out(good: str) -> None:
    """Reports say presumed; once its days are over it stands in nobody's way, and one who never
    came is cancelled afterwards."""
    typed(good, BOOKED, ON)
    row = fleet.fleet(good, D("2026-08-03"))[0]
    after = _asked(good, "2026-08-06", "2026-08-09", "2026-08-06")
    said = _said(good, 'hire cancel H1 "did not come"', "2026-08-03")
    free = _asked(good, "2026-08-03", "2026-08-05", "2026-08-03")

    assert row.out_as == "H1 (presumed)"
    assert after.hireable == "yes"
    assert said[0] == ('#32 cancelled H1 of V01, Sat 1 Aug 2026 to Wed 5 Aug 2026: "did not come".')
    assert free.hireable == "yes"
    assert _refusal(good, "hire out H1 --by Y --odometer 1mi", "2026-08-03") == (
        "H1 of V01 was cancelled"
    )


@pytest.mark.parametrize(
    ("days", "start", "answer"),
    [
        (0, "2026-08-05", "yes"),
        (1, "2026-08-06", "no"),
        (1, "2026-08-07", "yes"),
        (2, "2026-08-07", "no"),
    ],
)
def test_turnaround_days_lie_between_two_hires(
    good: str, tmp_path, days: int, start: str, answer: str
) -> None:
    """With none a changeover day may be shared; with one a whole day lies between."""
    if days:
        firm = tmp_path / "firm.toml"
        firm.write_text(f"[settings]\nturnaround_days = {days}\n")
        typed(good, f"rules adopt {firm}", ON)
    typed(good, BOOKED, ON)
    report = _asked(good, start, "2026-08-09", "2026-08-01")
    if answer == "no":
        found = _refusal(
            good, f"hire add V01 --from {start} --through 2026-08-09 --ref H2", "2026-08-01"
        )
        plural = "day" if days == 1 else "days"
        assert found.endswith(f"{days} {plural} must lie between")

    assert report.hireable == answer


def test_two_bookings_change_vans_and_each_keeps_its_reference(good: str) -> None:
    """Neither van is free for the other's party alone; swapped, both stand, and come back is asked
    of the new van."""
    typed_all(
        good,
        [
            *[line.replace("V01", "V02").replace("QI24 QIQ", "QI25 QIQ").replace("certificate G1", "certificate G2")
              for line in GOOD.strip().splitlines() if "V01" in line],
            "hire add V01 --from 2026-08-03 --through 2026-08-05 --ref H1",
            "hire add V02 --from 2026-08-04 --through 2026-08-07 --ref H2",
        ],
        ON,
    )  # fmt: skip
    refusal = _refusal(good, "hire change H1 --van V02", "2026-08-01")
    said = _said(good, 'hire change H1 --swap H2 "V01 has the bigger bed"', "2026-08-01")
    with asking(good) as asked:
        stands = {v: [h.ref for h in asked.judged(v).hires] for v in ("V01", "V02")}

    assert refusal.startswith("V02 is booked as H2 from Tue 4 Aug 2026 through Fri 7 Aug 2026")
    assert [line.partition(" ")[2] for line in said[:4] if "answer" not in line] == [
        "H1 moved from V01 to V02, from Mon 3 Aug 2026 through Wed 5 Aug 2026.",
        "H2 moved from V02 to V01, from Tue 4 Aug 2026 through Fri 7 Aug 2026.",
    ]
    assert stands == {"V01": ["H2"], "V02": ["H1"]}
    assert _refusal(good, f'withdraw {_number(said[0])} "no"', "2026-08-01")


def _number(line: str) -> int:
    return int(line.split()[0].lstrip("#")) - 2  # the change stands before the two new bookings


# --- waivers -------------------------------------------------------------------------------------


def test_an_item_of_practice_may_be_waived_for_one_hire_and_one_of_law_never(
    good: str, tmp_path: Path
) -> None:
    """The waiver names who and why, holds for that hire alone, and is shown with the answer."""
    (tmp_path / "firm.toml").write_text(WAIVES)
    typed_all(
        good,
        [
            f"rules adopt {tmp_path}/firm.toml",
            BOOKED,
            f'record V01 walkaround --pass --by "Yard" {TREAD}',
            "event V01 scrape",
        ],
        ON,
    )
    typed(good, 'hire waive H1 scrape "done, sheet lost in the rain" --by "C. Jones"', ON)
    said = typed(good, OUT, ON)
    with asking(good) as asked:
        (kept,) = asked.facts("V01").outs

    assert "released to H1" in said
    assert kept.waived == ("scrape",)
    assert 'waived for H1 by C. Jones: scrape, "done, sheet lost in the rain"' in said
    assert "scrape" in {
        line.rule for line in _asked(good, "2026-08-05", "2026-08-06", "2026-08-05").blocking
    }
    assert _refusal(good, 'hire waive H1 gas-safety-check "it will do" --by X', "2026-08-01") == (
        "rule: gas safety check is not waived by anybody: Gas Safety (Installation and Use) "
        "Regulations 1998 as amended by SI 2018/139, regs 2(5)(a)(i), 36(3)(a), 36A(1), (4): a check "
        "that is or was completed in the two months to its deadline; reg 36(1) binds landlords and is "
        "read as reaching hire vans (law)"
    )


def test_a_defect_a_hold_or_a_recall_is_never_waived(good: str) -> None:
    """Each has its own way to end, and that is what the refusal says."""
    typed_all(good, [BOOKED, 'defect report V01 --grade major "Wiper torn"'], ON)

    assert _refusal(good, 'hire waive H1 open-defects "dry week" --by X', "2026-08-01") == (
        "rule: a defect is never waived: a defect is signed off, a hold lifted, a recall closed by "
        "the dealer's paper, a paper awaited comes in"
    )


# --- what happens on the road --------------------------------------------------------------------


def _stay(place: str, on: str) -> str:
    """Whether H1 may stay out from a day to its end."""
    return questions.hireable(
        place, "V01", calls.Question(D(on), D("2026-08-05"), NO_BIKES, D(on), "H1")
    ).hireable


def test_a_temporary_repair_lasts_to_the_end_of_that_hire(out: str) -> None:
    """Plugged on the 3rd it runs to the 5th; every other hire is stopped until it is signed off
    for good, and a signature under the plug does not do that."""
    typed(out, 'defect report V01 --grade major --about tyre-walls "Nail in tyre"', D("2026-08-03"))
    before = _stay(out, "2026-08-03")
    said = _said(out, 'defect repair 34 --by "AA" --temporary "plugged"', "2026-08-03")
    typed(out, 'defect sign-off 34 --by "C. Jones"', D("2026-08-03"))
    during, other = _stay(out, "2026-08-03"), _asked(out, "2026-08-05", "2026-08-07", "2026-08-03")
    loud = {i.group for i in questions.due(out, D("2026-08-04"), None).items}
    typed(out, "hire back H1 --odometer 42900mi", D("2026-08-05"))
    back = _asked(out, "2026-08-05", "2026-08-07", "2026-08-05")
    typed(out, 'defect repair 34 --by "B. Smith" "new tyre"', D("2026-08-06"))
    typed(out, 'defect sign-off 34 --by "C. Jones"', D("2026-08-06"))

    assert said[0] == (
        "#35 defect #34 mended by AA, for this hire only: to the end of H1, Wed 5 Aug 2026."
    )
    assert (before, during) == ("no", "yes")
    assert {b.place for b in other.blocking} == {"#34"}
    assert back.hireable == "no"
    assert "out" not in loud
    assert (
        questions.why_rule(out, "V01", "open-defects", D("2026-08-06"))[0].standing
        == "not applicable"
    )


def test_a_dangerous_defect_mended_on_the_road_also_wants_a_signature(out: str) -> None:
    """One from before it was found is none; until somebody signs for it the van stays put."""
    typed_all(
        out,
        [
            'defect report V01 --grade dangerous --at 14:00 "Brake pipe leaks"',
            'defect sign-off 34 --by "C. Jones" --at 09:00 "looked at the day before"',
            'defect repair 34 --by "AA" --temporary "clamped"',
        ],
        D("2026-08-03"),
    )
    unsigned = _stay(out, "2026-08-03")
    typed(out, 'defect sign-off 34 --by "C. Jones"', D("2026-08-04"))

    assert unsigned == "no"
    assert _stay(out, "2026-08-04") == "yes"
    assert _asked(out, "2026-08-05", "2026-08-06", "2026-08-04").hireable == "no"


def test_a_temporary_repair_of_a_van_at_home_is_refused(good: str) -> None:
    """There is no hire for it to last to the end of."""
    typed(good, 'defect report V01 --grade major "Wiper torn"', ON)

    assert _refusal(good, "defect repair 30 --by X --temporary", "2026-08-01") == (
        "--temporary: V01 is not out on a hire: a temporary repair lasts to the end of one. Repair "
        "it, and have it signed off"
    )


def test_repeat_defects_of_a_van_are_shown(good: str) -> None:
    """The same line within a year is named when it is found and when it is explained."""
    typed(good, 'defect report V01 --on 2025-09-01 --grade minor --about lights "Bulb"', ON)
    typed(good, 'defect report V01 --on 2025-07-01 --grade minor --about lights "Bulb"', ON)
    said = _said(
        good, 'defect report V01 --grade major --about lights "Both tail lamps"', "2026-08-01"
    )

    assert said[1] == "It comes again: lights within a year before in #30 (Mon 1 Sep 2025)."
    reason = questions.why_rule(good, "V01", "open-defects", ON)[-1].reason
    assert reason.endswith("again within a year: #30")


@pytest.mark.parametrize(
    ("line", "tell"),
    [
        ('hold V01 --from 2026-08-03 "stolen plates"', "The van was taken off hire while it is out."),
        ('recall V01 R-1 --stop-use "steering"', "The maker has recalled the van while it is out."),
        ('defect report V01 --grade dangerous "Brakes"', "A defect is open on a van that is out."),
        ("event V01 fire", "Something happened to the van and nobody has looked at it."),
    ],
)  # fmt: skip
def test_what_is_raised_while_out_is_as_loud_as_a_lapse(out: str, line: str, tell: str) -> None:
    """It says so at once with what to tell the hirer, and stands in the first group of due."""
    said = typed(out, line, D("2026-08-03"))
    item = next(i for i in questions.due(out, D("2026-08-03"), None).items if i.group == "out")

    assert f"V01: out as H1 until Wed 5 Aug 2026, tell the hirer: {tell}" in said
    assert "Now stopped by" in said
    assert item.if_out is not None
    assert item.if_out.startswith(f"out as H1 until Wed 5 Aug 2026. {tell}")


def test_a_card_that_had_lapsed_names_the_hires_it_touches_and_heads_due(good: str) -> None:
    """Put right, the fitter's card ends before the gas check: the hire booked is named at once,
    and heads the next report although nothing else of it changed."""
    typed(good, 'record V01 gas-safety --pass --by "A. Fitter" --certificate G2', ON)
    typed(good, "hire add V01 --from 2026-09-03 --through 2026-09-07 --ref H1", ON)
    calm = {i.group for i in questions.due(good, D("2026-08-20"), None).items}
    said = _said(good, 'correct 3 --through 2026-07-31 "card seen again"', "2026-08-20")
    first = questions.due(good, D("2026-08-20"), None).items[0]
    week_after = {i.group for i in questions.due(good, D("2026-08-28"), None).items}

    assert "V01: Now stopped by gas safety check: H1 from Thu 3 Sep 2026." in said
    assert (first.group, first.rule, first.spoils) == (
        "changed",
        "gas-safety-check",
        "H1 from Thu 3 Sep 2026",
    )
    assert "changed" not in calm | week_after


def test_a_rule_change_names_the_hires_it_stops(good: str, tmp_path) -> None:
    """A firm that halves the life of its hoses hears which hires that stops."""
    typed(good, BOOKED, ON)
    firm = tmp_path / "firm.toml"
    firm.write_text(
        '[[change]]\nrule = "gas-hose-age"\nfrom = 2026-01-01\nold_checks = "cut"\nmonths = 24\n'
        'why = "perished hoses"\n'
    )

    assert "V01: Now stopped by gas hose locker: H1 from Sat 1 Aug 2026." in _said(
        good, f"rules adopt {firm}", "2026-08-01"
    )


# --- a van's life --------------------------------------------------------------------------------


def test_a_van_laid_up_alarms_nothing_and_is_listed_against_its_day_back(good: str) -> None:
    """Hires after the day back are if done, within the lay-up no; without such a day no as well."""
    typed(good, 'van lay-up V01 --from 2026-08-02 "SORN"', D("2026-08-01"))
    without = _asked(good, "2027-03-10", "2027-03-12", "2026-08-10")
    typed(good, 'van lay-up V01 --back 2027-03-01 "wanted for Easter"', D("2026-08-10"))
    within = _asked(good, "2026-12-01", "2026-12-05", "2026-08-10")
    after = _asked(good, "2027-03-10", "2027-03-12", "2026-08-10")
    items = questions.due(good, D("2026-12-01"), None).items

    assert (without.hireable, without.bookable) == ("no", "no")
    assert (within.hireable, within.bookable) == ("no", "no")
    assert (after.hireable, after.bookable) == ("no", "if done")
    assert {"first-use", "gas-safety-check"} <= {w.rule for w in after.to_do}
    assert {(i.group, i.days_over) for i in items} == {("laid up", 0)}
    assert {i.spoils for i in items} == {"wanted back Mon 1 Mar 2027"}
    assert fleet.fleet(good, D("2026-12-01"))[0].first_to_lapse == "laid up"


def test_a_van_gone_is_off_every_list_and_its_bookings_are_named(good: str) -> None:
    """The hire left on it is named at once and heads due; the records stay to be seen."""
    typed(good, "hire add V01 --from 2026-09-03 --through 2026-09-07 --ref H1", ON)
    said = _said(good, 'van gone V01 --on 2026-08-10 "sold"', "2026-08-01")
    items = questions.due(good, D("2026-08-11"), None).items

    assert said[:2] == [
        '#32 V01 is gone from Mon 10 Aug 2026: "sold". Its records stay.',
        "Left on V01: H1 from Thu 3 Sep 2026 through Mon 7 Sep 2026. Move each with: fleetcare hire "
        "change REF --van VAN, or cancel it.",
    ]
    assert [row.van for row in fleet.fleet(good, D("2026-08-09"))] == ["V01"]
    assert fleet.fleet(good, D("2026-08-10")) == []
    assert [(i.rule, i.group) for i in items] == [("service", "spoils")]
    assert len(fleet.van(good, "V01", D("2026-08-11")).records) > 20


def test_work_is_done_in_a_workshop_hold_and_not_in_another(good: str) -> None:
    """Held by the police to the 7th no work can be done before the hire on the 8th; in the
    workshop it can."""
    typed(good, 'defect report V01 --grade major "Wiper torn"', ON)
    typed(good, 'hold V01 --from 2026-08-03 --through 2026-08-07 "with the police"', ON)
    police = _asked(good, "2026-08-08", "2026-08-09", "2026-08-03")
    typed(good, 'withdraw 31 "wrong"', ON)
    typed(good, 'hold V01 --from 2026-08-03 --through 2026-08-07 --workshop "windscreen"', ON)
    workshop = _asked(good, "2026-08-08", "2026-08-09", "2026-08-03")

    assert (police.bookable, workshop.bookable) == ("no", "if done")


# --- by use --------------------------------------------------------------------------------------


def test_an_e_bike_party_is_refused_and_told_what_would_go(good: str) -> None:
    """Three e-bikes do not go on a rack for two; without bikes the rack is nobody's matter."""
    no = _asked(good, "2026-08-01", "2026-08-05", "2026-08-01", Party(1, 3))
    rackless = _asked(good, "2026-08-01", "2026-08-05", "2026-08-01")

    assert no.hireable == "no"
    assert no.would_go == ("1 bike and 1 e-bike", "2 e-bikes", "no bikes at all")
    assert (rackless.hireable, rackless.would_go) == ("yes", ())


@pytest.mark.parametrize(
    ("mass", "licence", "hireable", "bookable"),
    [
        ("3500kg", None, "yes", "yes"),
        ("4250kg", None, "cannot say", "if done"),
        ("4250kg", "B", "no", "no"),
        ("4250kg", "C1", "yes", "yes"),
        ("4250kg", "B-pre-1997", "yes", "yes"),
        ("4250kg", "visitor", "no", "no"),
    ],
)
def test_over_3500_kg_the_licence_must_be_said(
    good: str, mass: str, licence: str | None, hireable: str, bookable: str
) -> None:
    """Not said is cannot say, and one look at the licence settles it; class B is a no, and so is what
    a visitor shows; whoever may take it hears what to see on the licence."""
    typed(good, f"van change V01 --max-mass {mass} --even-so plated", ON)
    report = _asked(good, "2026-08-03", "2026-08-05", "2026-08-01", Party(licence=licence))

    assert (report.hireable, report.bookable) == (hireable, bookable)
    shown = [c for c in report.cautions if "which ends at 70 unless renewed" in c]
    assert len(shown) == (mass == "4250kg")
    assert [w.do for w in report.to_do] == (
        ["the hirer's licence seen, and its class said with --licence"]
        if bookable == "if done"
        else []
    )


def test_of_the_licence_only_class_and_day_are_kept(good: str) -> None:
    """The booking holds two values, and no more of its hirer."""
    typed(good, f"{BOOKED} --licence C1", ON)
    with asking(good) as asked:
        (hire,) = asked.facts("V01").hires

    assert (hire.licence, hire.licence_seen_on) == ("C1", ON)


def test_every_answer_says_for_which_roads_and_an_unknown_country_is_doubt(good: str) -> None:
    """At home it is judged for GB roads; for a country without a file nobody can say."""
    home = _asked(good, "2026-08-01", "2026-08-05", "2026-08-01")
    greece = _asked(good, "2026-08-01", "2026-08-05", "2026-08-01", Party(abroad=("GR",)))

    assert home.judged_for == "GB roads"
    assert (greece.judged_for, greece.hireable, greece.bookable) == (
        "GB roads and GR",
        "cannot say",
        "no",
    )
    assert [b.reason for b in greece.blocking] == [
        "the rulebook has no file of what binds a visiting van in GR"
    ]


def test_germany_at_christmas_on_summer_tyres(good: str) -> None:
    """Papers apart it may go in summer and not at Christmas; with winter tyres on it may."""
    places = ("front-left", "front-right", "rear-left", "rear-right")
    numbers = (7, 8, 9, 10)
    typed_all(
        good,
        [
            *[f'correct {n} --type summer "read off the wall"' for n in numbers],
            "record V01 insurance-de --from 2026-08-01 --last-day 2027-07-31",
            "record V01 hire-certificate --pass --certificate VE-1",
            'record V01 gas-safety --pass --by "A. Fitter" --certificate G9',
        ],
        ON,
    )
    germany = Party(abroad=("DE",))
    summer = _asked(good, "2026-08-03", "2026-08-09", "2026-08-01", germany)
    winter = _asked(good, "2026-12-20", "2026-12-28", "2026-08-01", germany)
    typed_all(
        good,
        [f"fit V01 tyre {p} --made 3026 --type alpine --load-index 112 --cold-pressure 65psi" for p in places]
        + ['record V01 wheel-nuts --pass --by "B. Smith"'],
        ON,
    )  # fmt: skip
    after = _asked(good, "2026-12-20", "2026-12-28", "2026-08-01", germany)

    assert summer.hireable == "yes"
    assert (winter.hireable, winter.bookable) == ("no", "if done")
    assert {b.rule for b in winter.blocking} == {"winter-tyres-de"}
    assert "winter-tyres-de" not in {b.rule for b in after.blocking}


# --- recalls -------------------------------------------------------------------------------------


def test_a_recall_is_closed_by_the_dealers_paper_of_that_recall(good: str) -> None:
    """Stop-use stops at once; the paper of one closes no other."""
    typed(good, 'recall V01 R-1 --stop-use "seat belt anchor"', ON)
    typed(good, 'recall V01 R-2 --stop-use "airbag"', ON)
    report = _asked(good, "2026-08-05", "2026-08-06", "2026-08-01")
    typed(good, 'recall done 30 --by "Dealer" --certificate W1', ON)

    assert (report.hireable, report.bookable) == ("no", "if done")
    assert [b.place for b in _asked(good, "2026-08-05", "2026-08-06", "2026-08-01").blocking] == [
        "#31"
    ]
    assert _refusal(good, 'recall V01 R-3 "x"', "2026-08-01") == (
        "say --stop-use, or the last day with --do-by"
    )
    assert _refusal(good, "recall done 1 --by D --certificate W", "2026-08-01") == (
        "#1 is not a recall"
    )


def test_the_judgement_of_a_release_cannot_be_corrected_afterwards(out: str) -> None:
    """What was answered then is what was answered; odometer and day may be put right."""
    from fleetcare.desk.correct import correctable

    typed(out, 'correct 33 --odometer 42301mi "read again"', ON)
    with asking(out) as asked:
        (kept,) = asked.facts("V01").outs

    assert kept.odometer == "42301mi"
    assert not {"hireable", "known_at", "rulebook", "blocking", "waived"} & set(correctable())
