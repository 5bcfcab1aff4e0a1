"""Ways by which a van was once let out in doubt, or lost from sight, each held shut."""

from __future__ import annotations

import datetime as dt
from pathlib import Path

import pytest
from click import UsageError

from fleetcare.desk import calls, questions
from fleetcare.desk.asking import asking
from fleetcare.errors import Declined, Refused, UsageFault
from fleetcare.reports.hire import HireReport
from fleetcare.rules.party import NO_BIKES, Party
from tests.desk.test_sheets import fill
from tests.typed import typed, typed_all
from tests.vans import GOOD, TREAD, WAIVES

D = dt.date.fromisoformat
ON = D("2026-08-01")
WALK = f'record V01 walkaround --pass --by "W. Yard" {TREAD}'
H1 = "hire add V01 --from 2026-08-01 --through 2026-08-03 --ref H1"
KNOWN = " --even-so known"
H2 = "hire add V01 --from 2026-08-03 --through 2026-08-05 --ref H2"
OUT = "hire out H1 --by W --odometer 1000mi"


def _two(place: str) -> None:
    """A second van, as good as the first."""
    typed_all(
        place,
        [
            line.replace("V01", "V02").replace("QI24 QIQ", "QI25 QIQ").replace("certificate G1", "certificate G2")
            for line in GOOD.strip().splitlines()
            if "V01" in line
        ],
        ON,
    )  # fmt: skip


def _asked(
    place: str, start: str, through: str, on: str = "2026-08-01", ref: str | None = None,
    party: Party = NO_BIKES,
) -> HireReport:  # fmt: skip
    return questions.hireable(place, "V01", calls.Question(D(start), D(through), party, D(on), ref))


def _refused(place: str, line: str, day: str = "2026-08-01") -> str:
    with pytest.raises((Refused, UsageFault, UsageError)) as fault:
        typed(place, line, D(day))
    return str(fault.value)


def _declined(place: str, line: str, day: str = "2026-08-01") -> str:
    with pytest.raises(Declined) as no:
        typed(place, line, D(day))
    return no.value.answer


# --- waivers ---------------------------------------------------------------------------------------


def _waives(place: str, folder: Path) -> str:
    """The command that takes in a firm's file by which a scrape may be waived."""
    (folder / "firm.toml").write_text(WAIVES)
    return f"rules adopt {folder}/firm.toml"


def test_a_waiver_is_not_corrected_into_another(good: str, tmp_path: Path) -> None:
    """What was waived is waived; for something else somebody has to answer anew."""
    waive = 'hire waive H1 scrape "no time" --by "C. Jones"'
    typed_all(good, [_waives(good, tmp_path), H1, "event V01 scrape", waive], ON)

    assert _refused(good, 'correct 34 --rule gas-safety-check "typo"').startswith("No such option")
    assert (
        _refused(good, 'correct 34 --place "#57" "typo"')
        == "a waiver has no --place; it has: --on, --by, --words"
    )
    assert _refused(good, 'correct 34 --by "W. Yard" "typo"').startswith("--by: may not waive: ")


@pytest.mark.parametrize("after", ["event V01 fire", "event V01 scrape"])
def test_a_waiver_covers_what_stood_then_and_nothing_later(
    good: str, after: str, tmp_path: Path
) -> None:
    """A scrape waived is no fire waived, nor the next scrape."""
    waive = 'hire waive H1 scrape "scratch" --by "C. Jones"'
    typed_all(good, [_waives(good, tmp_path), H1, WALK, "event V01 scrape", waive], ON)
    covered = _asked(good, "2026-08-01", "2026-08-03", ref="H1").hireable
    typed(good, after, ON)

    assert covered == "yes"
    assert "Not released: H1 may not go." in _declined(good, OUT)


def test_nothing_is_waived_in_advance_nor_what_is_known_to_be_broken(
    good: str, tmp_path: Path
) -> None:
    """A waiver asks for something lacking, and a fail is put right."""
    typed_all(good, [_waives(good, tmp_path), H1, WALK], ON)

    assert _refused(good, 'hire waive H1 scrape "just in case" --by "C. Jones"') == (
        "rule: scrape lacks nothing for H1: there is nothing to waive"
    )
    typed(good, "record V01 habitation --fail --by X", ON)
    assert _refused(good, 'hire waive H1 habitation "it will do" --by "C. Jones"') == (
        "rule: habitation service is known to be broken: that is put right, not waived"
    )


# --- releases and returns --------------------------------------------------------------------------


def test_a_hire_that_came_back_is_not_sent_out_again(good: str) -> None:
    """Nor is it judged to the day of that return alone."""
    typed_all(
        good, [H1.replace("08-03", "08-12") + KNOWN, WALK, "hire back H1 --odometer 900mi"], ON
    )

    assert _refused(good, OUT) == (
        "H1 came back Sat 1 Aug 2026 (#33) already: withdraw that record if it is wrong"
    )


def test_a_return_sheet_of_one_van_takes_no_other_back(good: str, tmp_path: Path) -> None:
    """Paperwork filled in late for V01 leaves V02, which has the hire now, out."""
    _two(good)
    typed_all(good, [H1.replace("08-03", "08-09"), WALK, OUT, "hire back H1 --odometer 1100mi"], ON)
    typed(good, 'hire change H1 --van V02 "radiator"', ON)
    typed_all(good, [WALK.replace("V01", "V02"), OUT], ON)
    typed(good, f"return V01 H1 --sheet {tmp_path}/r.txt", ON)
    (tmp_path / "f.txt").write_text(fill((tmp_path / "r.txt").read_text(), odometer="1100mi"))
    said = typed(good, f"return V01 H1 --from-file {tmp_path}/f.txt --by W", ON)
    with asking(good) as asked:
        backs = {van: len(asked.facts(van).backs) for van in ("V01", "V02")}

    assert "back from" not in said
    assert backs == {"V01": 1, "V02": 0}


@pytest.mark.parametrize(
    "lines",
    [
        [f"{WALK} --at 08:00", OUT, "hire back H1 --odometer 1010mi"],
        [WALK, "hire back H1 --odometer 1010mi"],
        [WALK, OUT, "hire back H1 --odometer 1010mi"],
    ],
)
def test_one_walkaround_serves_one_hire(good: str, lines: list[str]) -> None:
    """A handover without a time, or a hire only presumed out, uses it up as well."""
    typed_all(
        good,
        [
            H1.replace("08-03", "08-01"),
            H2.replace("08-03", "08-02"),
            *lines,
        ],
        ON,
    )
    answer = _declined(good, "hire out H2 --by W --odometer 1020mi", "2026-08-02")

    assert "walkaround check" in answer.splitlines()[-1]


def test_a_walkaround_done_after_the_van_left_releases_nothing(good: str) -> None:
    """Out at eight, looked at at five: it left without."""
    typed_all(good, [H1, f"{WALK} --at 17:00"], ON)

    assert "walkaround check" in _declined(good, f"{OUT} --at 08:00").splitlines()[-1]
    assert "released to H1" in typed(good, f"{OUT} --at 17:30", ON)


def test_every_event_of_a_day_needs_its_check(good: str) -> None:
    """A flood without a time may have come after the inspection."""
    typed_all(
        good,
        [
            H1, WALK, "event V01 knock --at 14:00", "event V01 flood",
            "record V01 inspection --pass --by Z --at 15:00",
        ],
        ON,
    )  # fmt: skip

    assert "Flood" in _declined(good, OUT)


def test_the_used_extinguisher_put_back_replaces_nothing(good: str) -> None:
    """It is the same one, by its number in the book."""
    typed_all(
        good,
        [
            H1, WALK, "event V01 extinguisher-used", "take-off V01 extinguisher door",
            "fit V01 extinguisher door --part 13",
        ],
        ON,
    )  # fmt: skip

    assert "used extinguisher" in _declined(good, OUT)


def test_a_temporary_repair_made_for_one_hire_releases_no_other(good: str) -> None:
    """On the changeover day the next party's van is as broken as it was."""
    typed_all(good, [H1, H2, WALK, OUT], ON)
    typed_all(
        good,
        [
            'defect report V01 --grade dangerous "brakes"',
            'defect repair 36 --by AA --temporary "clamped"',
            "defect sign-off 36 --by C",
        ],
        D("2026-08-02"),
    )
    typed_all(
        good, ["hire back H1 --odometer 1100mi --at 10:00", f"{WALK} --at 12:00"], D("2026-08-03")
    )

    assert "defect #36" in _declined(
        good, "hire out H2 --by W --odometer 1100mi --at 13:00", "2026-08-03"
    )
    assert _refused(good, 'defect repair 36 --by AA --temporary "again"', "2026-08-03").startswith(
        "--temporary: V01 is not out"
    )


def test_a_signature_before_a_temporary_repair_of_one_day_closes_nothing(good: str) -> None:
    """Without times the repair is taken to come first, so the signature is under it."""
    typed_all(good, [H1, WALK, OUT], ON)
    typed_all(
        good,
        [
            'defect report V01 --grade major "lamp"',
            'defect sign-off 34 --by C "by phone"',
            'defect repair 34 --by AA --temporary "tape"',
        ],
        D("2026-08-02"),
    )

    assert _asked(good, "2026-08-03", "2026-08-05", "2026-08-02").hireable == "no"


# --- parties ---------------------------------------------------------------------------------------


def test_weights_belong_to_the_bikes_that_were_weighed(good: str) -> None:
    """Other bikes, other weights; and none is more than there are bikes, or less than nothing."""
    typed(good, f"{H1} --bikes 2 --bike-kg 10 --bike-kg 10", ON)
    typed(good, "hire change H1 --bikes 0 --electric-bikes 2", ON)
    with asking(good) as asked:
        (hire,) = asked.judged("V01").hires

    assert hire.bike_kg == ()
    assert (
        _refused(good, "hire change H1 --bike-kg 1 --bike-kg 1 --bike-kg 1")
        == "--bike-kg: 3 masses for 2 bikes"
    )
    assert (
        _refused(good, 'correct 32 --bike-kg=-500 "x"')
        == '--bike-kg: "-500" is not a mass in kg: type it like 24'
    )
    assert (
        _refused(good, 'correct 32 --bike-kg abc "x"')
        == '--bike-kg: "abc" is not a mass in kg: type it like 24'
    )


def test_a_licence_or_country_that_is_none_is_refused_on_correction_too(good: str) -> None:
    """What the command would not take, the correction does not."""
    typed(good, H1, ON)

    assert (
        _refused(good, 'correct 30 --licence zz "x"')
        == '--licence: "zz" is not one of B, C1, B-pre-1997, D1, visitor'
    )
    assert (
        _refused(good, 'correct 30 --abroad Narnia "x"')
        == '--abroad: "Narnia" is not a country: type its two letters, like DE'
    )


# --- corrections that lose a van -------------------------------------------------------------------


def test_a_lay_up_is_not_corrected_into_nothing(good: str) -> None:
    """Its day back lies after its first day."""
    typed(good, 'van lay-up V01 --from 2026-08-03 --back 2026-08-06 "w"', ON)

    assert (
        _refused(good, 'correct 30 --back 2026-07-01 "x"')
        == "--back: 2026-07-01 is not after its first day (2026-08-03)"
    )


def test_a_change_of_booking_is_not_corrected_into_a_move_or_a_cancellation(good: str) -> None:
    """A booking on no van, or on two, would be nobody's."""
    _two(good)
    typed_all(good, [H1, "hire change H1 --through 2026-08-04"], ON)
    with asking(good) as asked:
        number = asked.facts("V01").hire_changes[0].number

    for option in ("--moved-to V02", "--cancelled true"):
        assert _refused(good, f'correct {number} {option} "x"').startswith("No such option")


def test_a_booking_beneath_a_change_is_held_to_what_it_becomes(good: str) -> None:
    """It never runs from a day to an earlier one."""
    typed_all(good, [H1, "hire change H1 --through 2026-08-04"], ON)

    assert (
        _refused(good, 'correct 30 --from 2026-08-20 --through 2026-08-25 "x"')
        == "--through: 2026-08-04 is before 2026-08-20"
    )


def test_taking_back_a_corrected_change_is_held_to_clashes(good: str) -> None:
    """The longer booking comes back only where nobody was booked meanwhile."""
    typed_all(
        good,
        [
            H1.replace("08-03", "08-10"), "hire change H1 --through 2026-08-05",
            'correct 32 --through 2026-08-06 "x"',
            "hire add V01 --from 2026-08-07 --through 2026-08-09 --ref H2",
        ],
        ON,
    )  # fmt: skip

    assert _refused(good, 'withdraw 32 "not so"').startswith(
        "V01 is booked as H2 from Fri 7 Aug 2026"
    )


def test_left_without_release_is_not_erased(good: str) -> None:
    """The record stands as it was made, and whatever is asked of the van says so first."""
    typed_all(good, [H1, f'{OUT} --unreleased "gate was open"'], ON)
    report = _asked(good, "2026-08-05", "2026-08-06")

    assert (
        _refused(good, 'correct 32 --clear unreleased "typo"')
        == 'an out has no "unreleased" that may be left empty'
    )
    assert report.cautions[0] == "V01 LEFT WITHOUT RELEASE as H1 on Sat 1 Aug 2026 (#32)"


def test_a_booking_that_was_moved_here_is_not_withdrawn(good: str) -> None:
    """It would be on no van, and nobody would hear of it."""
    _two(good)
    typed_all(good, [H1, 'hire change H1 --van V02 "bed"'], ON)
    with asking(good) as asked:
        number = asked.facts("V02").hires[0].number

    assert _refused(good, f'withdraw {number} "x"') == (
        "H1 was moved here: cancel it, or move it with fleetcare hire change"
    )


def test_a_return_is_not_taken_back_under_a_hire_that_is_out_since(good: str) -> None:
    """A van is out on one hire at a time."""
    typed_all(good, [H1, H2, WALK, OUT], ON)
    typed_all(
        good,
        ["hire back H1 --odometer 1100mi", WALK, "hire out H2 --by W --odometer 1100mi"],
        D("2026-08-03"),
    )
    with asking(good) as asked:
        number = asked.facts("V01").backs[0].number
    wrong = "H2 went out Mon 3 Aug 2026, before H1 was back: a van is out on one hire at a time"

    assert _refused(good, f'withdraw {number} "x"', "2026-08-04") == wrong
    assert _refused(good, f'correct {number} --on 2026-08-04 "x"', "2026-08-04") == wrong


def test_a_booking_moved_away_and_back_answers_for_what_is_left(good: str, tmp_path: Path) -> None:
    """Not for the days it already was out, nor with the waivers given then."""
    _two(good)
    typed_all(
        good,
        [
            _waives(good, tmp_path),
            H1.replace("08-03", "08-09"),
            "event V01 scrape",
            WALK,
            'hire waive H1 scrape "ok" --by "C. Jones"',
            OUT,
        ],
        ON,
    )
    typed(good, "hire back H1 --odometer 1100mi", D("2026-08-03"))
    typed(good, "hire change H1 --van V02 --even-so", D("2026-08-03"))
    typed(good, "hire change H1 --van V01 --even-so", D("2026-08-03"))
    report = questions.hireable(
        good, "V01", calls.Question(None, None, NO_BIKES, D("2026-08-03"), "H1")
    )

    assert (report.start, report.through) == (D("2026-08-03"), D("2026-08-09"))
    assert [b.rule for b in report.blocking] == ["scrape"]


# --- loud enough -----------------------------------------------------------------------------------


def test_being_laid_up_or_gone_silences_no_van_that_is_out(good: str) -> None:
    """A dangerous defect of a van away is as loud as ever."""
    typed_all(good, [H1.replace("08-03", "08-05"), WALK, OUT], ON)
    typed(good, 'van lay-up V01 --from 2026-08-02 "winter"', D("2026-08-02"))
    typed(good, 'defect report V01 --grade dangerous "brakes"', D("2026-08-03"))
    laid_up = [i for i in questions.due(good, D("2026-08-03"), None).items if i.if_out]
    typed(good, 'van gone V01 --on 2026-08-03 "sold"', D("2026-08-03"))
    gone = [i for i in questions.due(good, D("2026-08-03"), None).items if i.if_out]

    assert {i.group for i in laid_up} == {i.group for i in gone} == {"out"}
    assert "open-defects" in {i.rule for i in laid_up}


def test_what_another_hire_does_to_one_is_named(good: str, tmp_path: Path) -> None:
    """Turnaround days taken in stop the next hire, and both due and echo say so."""
    typed_all(good, [H1, "hire add V01 --from 2026-08-04 --through 2026-08-06 --ref H2"], ON)
    (tmp_path / "firm.toml").write_text("[settings]\nturnaround_days = 2\n")
    said = typed(good, f"rules adopt {tmp_path}/firm.toml", ON)
    items = questions.due(good, ON, None).items

    assert "V01: Now stopped by hire H1: H2 from Tue 4 Aug 2026." in said
    assert ("H2 clashes with H1", "H2 from Tue 4 Aug 2026") in {(i.title, i.spoils) for i in items}


def test_a_hire_booked_this_week_heads_due_when_it_is_stopped(good: str) -> None:
    """What stopped it when it was booked was said then; what came since is news."""
    typed(good, "hire add V01 --from 2026-08-12 --through 2026-08-14 --ref H1", ON)
    calm = {i.group for i in questions.due(good, ON, None).items}
    typed(good, 'recall V01 R-1 --stop-use "belt"', D("2026-08-03"))
    items = [(i.group, i.rule) for i in questions.due(good, D("2026-08-04"), None).items]

    assert "changed" not in calm
    assert ("changed", "recall") in items
    assert ("changed", "gas-safety-check") not in items


# --- on the day it comes back ----------------------------------------------------------------------


def test_a_van_back_today_is_in_the_yard(good: str) -> None:
    """Nobody is told to park it, and the next hire is not presumed to have it."""
    typed_all(good, [H1, H2, WALK, OUT], ON)
    typed(good, "hire back H1 --odometer 1100mi", D("2026-08-03"))
    said = typed(good, 'defect report V01 --grade major "lamp"', D("2026-08-03"))

    assert "tell the hirer" not in said
    assert ", on H1" not in said


def test_a_walk_begun_on_another_day_is_not_todays(
    good: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Its treads were read then."""
    monkeypatch.chdir(tmp_path)
    typed(good, H1, ON)
    (tmp_path / "handover-V01-H1.txt").write_text(
        "HANDOVER SHEET  V01 (QI24 QIQ)  H1     page 1 of 3\n[full] fuel\n[2026-07-28] signed-on\n"
    )

    assert _refused(good, "handover V01 H1 --by W") == (
        "handover-V01-H1.txt: was begun on 2026-07-28: what was looked at then is not today's. Take "
        "it in as it is with --from-file handover-V01-H1.txt, or remove it and walk round again"
    )


def test_small_ways_of_being_misled(good: str, tmp_path: Path) -> None:
    """A swap names its own van; a lay-up that is over is not reopened; a number has an end."""
    typed_all(good, [H1, 'van lay-up V01 --from 2026-07-03 --back 2026-07-06 "w"'], ON)
    (tmp_path / "firm.toml").write_text("[settings]\nturnaround_days = 9999999\n")

    typed(good, "hire add V01 --from 2026-08-10 --through 2026-08-12 --ref H2", ON)
    assert _refused(good, "hire change H1 --swap H2 --van V09") == (
        "--swap: says by itself which van: leave --van out"
    )
    assert (
        _refused(good, 'van lay-up V01 --back 2026-09-01 "winter"')
        == "--from: say from which day V01 is laid up"
    )
    assert "turnaround_days: must be 36500 at most, not 9999999" in _refused(
        good, f"rules adopt {tmp_path}/firm.toml"
    )
