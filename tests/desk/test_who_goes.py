"""Who goes: licences as they were shown, people and belts, the sheet of a handover, and records
that bear a name alone."""

from __future__ import annotations

import datetime as dt
import json
from pathlib import Path
from typing import Any

import pytest

from fleetcare.desk import calls, questions
from fleetcare.desk.asking import asking
from fleetcare.errors import Declined
from fleetcare.reports.hire import HireReport
from fleetcare.rules.party import Party
from tests.desk.test_sheets import fill
from tests.typed import refused, typed, typed_all
from tests.vans import TREAD

D = dt.date.fromisoformat
ON, LATER = D("2026-08-01"), D("2026-11-27")
H1 = "hire add V01 --from 2026-08-01 --through 2026-08-05 --ref H1"
HEAVY = "van change V01 --max-mass 3850kg --front-axle-mass 1900kg --rear-axle-mass 2240kg --even-so plate"


def _type(place: str, *lines: str, day: dt.date = ON) -> str:
    return typed_all(place, list(lines), day)


def _asked(
    place: str,
    ref: str | None = "H1",
    day: dt.date = ON,
    party: Party = Party(),  # noqa: B008
) -> HireReport:
    days = (None, None) if ref else (day, day + dt.timedelta(days=4))
    return questions.hireable(place, "V01", calls.Question(*days, party, day, ref))


def test_what_a_driver_showed_goes_before_what_was_said(good: str) -> None:
    """Each driver's class counts to its last day; the last word on a driver stands."""
    _type(good, HEAVY, f"{H1} --licence C1")
    assert _asked(good).hireable == "yes"

    said = _type(good, "hire driver H1 --licence C1 --until 2026-08-04 --shown photocard")
    assert said.splitlines()[0] == (
        "#33 H1: licence of driver 1 seen (photocard) Sat 1 Aug 2026: C1, to Tue 4 Aug 2026."
    )
    stopped = _asked(good)
    assert [(b.rule, b.reason) for b in stopped.blocking] == [
        (
            "licence",
            "licence C1 stands to Tue 4 Aug 2026, before the return: see a renewed one, or take drivers whose licences all last",
        )
    ]
    _type(good, "hire driver H1 --licence C1 --until 2031-08-04 --shown online")
    assert _asked(good).hireable == "yes"
    _type(good, "hire driver H1 --driver 2 --licence B --until 2040-01-01 --shown photocard")
    stopped = _asked(good)
    assert [(b.rule, b.reason) for b in stopped.blocking] == [
        (
            "licence",
            "licence B of driver 2 covers up to 3500kg, the van is plated 3850kg: take a van it "
            "covers, or drivers whose licences all cover this one",
        )
    ]


def test_a_licence_nobody_knows_is_refused(good: str) -> None:
    """Each field by its option."""
    _type(good, H1)

    assert refused(good, "hire driver H1 --licence C2 --until 2030-01-01 --shown photo") == (
        '--licence: "C2" is not one of B, C1, B-pre-1997, D1, visitor\n'
        '--shown: "photo" is not one of photocard, online, paper. Did you mean "photocard"?'
    )


def test_what_was_shown_moves_with_the_booking(good: str) -> None:
    """Moved to another van, the hire keeps its drivers, and the first van has none of it."""
    _type(good, HEAVY, H1, "hire driver H1 --licence C1 --until 2031-08-04 --shown online")
    _type(good, "van add V02 --jurisdiction gb --in-service-from 2020-01-01 --max-mass 3850kg")
    _type(good, "hire change H1 --van V02 --even-so")
    with asking(good) as asked:
        moved, left = asked.facts("V02"), asked.facts("V01")

    assert [(d.hire, d.licence) for d in moved.drivers] == [(moved.hires[0].number, "C1")]
    assert [d.hire for d in left.drivers] == [left.hires[0].number]
    report = questions.hireable(good, "V02", calls.Question(None, None, Party(), ON, "H1"))
    assert "licence" not in {b.rule for b in report.blocking}


def test_more_people_than_belts_is_a_no_and_children_are_told_of(good: str) -> None:
    """Asked for so many people: not said is cannot say, with what to say; asked for none, nothing."""
    assert _asked(good, None).hireable == "yes"
    unsaid = _asked(good, None, party=Party(people=4))
    assert (unsaid.hireable, unsaid.blocking[0].saying) == (
        "cannot say", "fleetcare van change V01 --belted-seats …",
    )  # fmt: skip
    _type(good, "van change V01 --seats 5 --berths 6 --belted-seats 4")

    assert _asked(good, None, party=Party(people=4)).hireable == "yes"
    five = _asked(good, None, party=Party(people=5))
    assert [(b.rule, b.reason) for b in five.blocking] == [
        ("belts", "5 people, 4 seats with belts")
    ]
    assert five.bookable == "no"  # to say another number of seats is no work
    children = _asked(good, None, party=Party(people=4, children=2))
    assert children.hireable == "yes"
    assert children.cautions[0].startswith(
        "seats with belts: 4 people, 4 seats with belts; 2 of them under 135 cm. A child under 3"
    )
    going = (
        f"{H1} --people 4 --children-under-135 2 --bikes 1 --licence B --abroad FR --even-so known"
    )
    assert (
        _type(good, going)
        .splitlines()[0]
        .endswith(
            "through Wed 5 Aug 2026, 4 people, 2 of them under 135 cm, 1 bike, licence B, to FR."
        )
    )


def test_a_booking_keeps_its_people_and_its_answer_too(good: str) -> None:
    """Booked for four; a belt taken out of use later turns the answer, and who asks sees it."""
    _type(good, "van change V01 --belted-seats 4", f"{H1} --people 4")
    _type(good, "van change V01 --on 2026-08-01 --belted-seats 3")
    shown = _type(good, "answers V01")

    assert _asked(good).hireable == "no"
    assert "belts" in shown
    _type(good, "hire change H1 --people 3")
    assert _asked(good).hireable == "yes"


def _in_order(place: str) -> None:
    """The van on a day after the sheet and licences were asked for."""
    gas = 'record V01 gas-safety --on 2026-08-05 --pass --by "A. Fitter" --certificate G2'
    typed_all(
        place,
        [
            gas,
            "hire add V01 --from 2026-11-27 --through 2026-11-30 --ref H1",
            'record V01 first-use --pass --by "B. Smith"',
            'record V01 flush --pass --by "B. Smith"',
            f'record V01 walkaround --pass --by "B. Smith" {TREAD}',
        ],
        LATER,
    )


OUT = "hire out H1 --by W --odometer 1000mi"


def test_no_key_without_licence_and_sheet(good: str, tmp_path: Path) -> None:
    """From 26 November 2026 on; the filled sheet holds both, and is not taken in twice."""
    _in_order(good)
    with pytest.raises(Declined) as held:
        typed(good, OUT, LATER)
    assert str(held.value).splitlines()[-1] == (
        "Not released: record these first, or waive those of practice: handover sheet, driving "
        "licences seen."
    )
    typed(good, f"handover V01 H1 --sheet {tmp_path}/h.txt", LATER)
    text = fill((tmp_path / "h.txt").read_text("utf-8"))
    (tmp_path / "f.txt").write_text(text, "utf-8")
    command = f"handover V01 H1 --from-file {tmp_path}/f.txt --by W"
    said = typed(good, command, LATER).splitlines()

    assert (
        "#38 H1: licence of driver 1 seen (photocard) Fri 27 Nov 2026: B, to Sun 1 Jan 2034."
        in said
    )
    assert refused(good, command, LATER) == "this handover sheet of H1 is in the book already (#39)"
    (tmp_path / "f.txt").write_text(text.replace("6.1", "5.9"), "utf-8")
    assert (
        "Caution: #39 is a handover sheet of H1 too, and both stand. If this one puts it right, take "
        "back that one, and each check and defect it wrote that is wrong, with: fleetcare withdraw "
        "39 WHY"
    ) in typed(good, command, LATER).splitlines()
    assert "released to H1" in typed(good, OUT, LATER)


def test_a_sheet_of_another_van_or_hire_is_refused(good: str, tmp_path: Path) -> None:
    """By its head; the plate in it may have changed."""
    _type(good, H1, f"handover V01 H1 --sheet {tmp_path}/h.txt")
    text = fill((tmp_path / "h.txt").read_text("utf-8"))
    file = tmp_path / "f.txt"
    command = f"handover V01 H1 --from-file {file} --by W"
    file.write_text(text.replace("H1  ", "H2  "), "utf-8")

    assert refused(good, command) == (
        'the sheet is headed "HANDOVER SHEET  V01 (QI24 QIQ)  H2", and asked for is "HANDOVER SHEET'
        '  V01 (QI24 QIQ)  H1"'
    )
    file.write_text(text.replace("(QI24 QIQ)", "(QI25 QIQ)"), "utf-8")
    assert "handover sheet of H1 kept" in _type(good, command)


def test_a_licence_on_the_sheet_is_class_day_and_how(good: str, tmp_path: Path) -> None:
    """Two drivers with a semicolon between; anything else says how it is typed."""
    _type(good, H1, f"handover V01 H1 --sheet {tmp_path}/h.txt")
    blank = (tmp_path / "h.txt").read_text("utf-8")
    file = tmp_path / "f.txt"
    file.write_text(fill(blank, licence="B 2034-13-01 photocard"), "utf-8")

    assert refused(good, f"handover V01 H1 --from-file {file} --by W") == (
        'licence: "B 2034-13-01 photocard" is not a class, its last day and how it was shown: type '
        "it like C1 2031-04-02 photocard, with B, C1, B-pre-1997, D1, visitor and photocard, "
        'online, paper, and ";" between drivers'
    )
    two = "B 2034-01-01 photocard; C1 2030-01-01 online"
    file.write_text(fill(blank, licence=two), "utf-8")
    _type(good, f"handover V01 H1 --from-file {file} --by W")
    with asking(good) as asked:
        shown = asked.facts("V01").drivers
    assert [(d.driver, d.licence, str(d.last_day), d.shown) for d in shown] == [
        (1, "B", "2034-01-01", "photocard"), (2, "C1", "2030-01-01", "online"),
    ]  # fmt: skip


def test_a_firm_that_asks_for_no_sheet_says_so(good: str, tmp_path: Path) -> None:
    """The firm's choice is taken and said to be looser than practice."""
    file = tmp_path / "firm.toml"
    file.write_text(
        '[[change]]\nrule = "handover-sheet"\nfrom = 2026-11-27\nold_checks = "keep"\nasked = false\n'
        'why = "we hand over by video"\n'
    )
    said = typed(good, f"rules adopt {file}", LATER)
    _in_order(good)
    typed(good, "hire driver H1 --licence B --until 2040-01-01 --shown photocard", LATER)

    assert "looser than common practice: no key without a sheet" in said
    assert "No handover sheet is kept for H1" in typed(good, OUT, LATER)


MAINS = "van change V01 --mains --even-so fitted"
SPARK = 'record V01 electrical --on 2026-07-01 --pass --by "E. Spark"'


def _electrical(place: str, known_at: int | None = None) -> str:
    from fleetcare.desk.asking import KnownAt

    size = None if known_at is None else KnownAt(size=known_at)
    rows = questions.why_rule(place, "V01", "electrical-inspection", ON, size)
    return rows[0].standing


def test_records_of_a_name_are_said_to_be_somebodys(good: str) -> None:
    """Without a card they are kept and don't count; linked, the card counts from its first day,
    nothing was corrected, and what was known before stays so."""
    said = _type(good, MAINS, SPARK)
    assert (
        "Kept, and does not count for electrical inspection: no inspector of the book is named.\n"
        "With a card in force it does: fleetcare inspector add NAME --scope electrical --from DAY "
        "--theirs"
    ) in said
    assert _electrical(good) == "no record"

    card = 'inspector add "E. Spark" --scope electrical --from 2026-01-01'
    assert (
        "1 record bears that name alone: #31 V01 Wed 1 Jul 2026. If they are this person's, say so "
        'with: fleetcare inspector add "E. Spark" --theirs'
    ) in _type(good, card)
    assert _electrical(good) == "no record"
    linked = _type(good, 'inspector add "E. Spark" --theirs')

    assert linked.splitlines()[0] == (
        "#34 1 record bears that name and is of E. Spark (#32): #31 V01 Wed 1 Jul 2026. A card "
        "counts from its first day."
    )
    assert (_electrical(good), _electrical(good, 33)) == ("in date", "no record")
    assert refused(good, 'inspector add "E. Spark" --theirs') == (
        '--theirs: no check and no sign-off bears the name "E. Spark" alone'
    )


def test_what_was_put_right_since_is_not_what_was_said_to_be_theirs(good: str) -> None:
    """A record whose name is corrected afterwards is no longer the inspector's; taken back, the
    link says nothing."""
    _type(
        good, MAINS, SPARK, 'inspector add "E. Spark" --scope electrical --from 2026-01-01 --theirs'
    )
    assert _electrical(good) == "in date"
    _type(good, 'correct 31 --by "P. Jones" "another did it"')
    assert _electrical(good) == "no record"
    _type(good, 'record V01 electrical --on 2026-07-02 --pass --by "T. Volt"')
    _type(good, 'inspector add "T. Volt" --scope electrical --from 2026-01-01 --theirs')
    assert _electrical(good) == "in date"
    with asking(good) as asked:
        link = asked.judged("V01").known.facts.shared.attributions[-1].number
    _type(good, f'withdraw {link} "not his"')
    assert _electrical(good) == "no record"


def test_the_due_report_hears_of_a_hire_that_a_link_frees(good: str) -> None:
    """The echo of the link names the hire that nothing stops any more."""
    _type(
        good,
        MAINS,
        SPARK,
        f"{H1} --even-so known",
        'inspector add "E. Spark" --scope electrical --from 2026-01-01',
    )

    assert "V01: No longer stopped by electrical inspection: H1 from Sat 1 Aug 2026." in _type(
        good, 'inspector add "E. Spark" --theirs'
    )


def test_slips_of_a_booking_and_a_plate(good: str) -> None:
    """A booking that is over, a plate another van bears, a reference too long."""
    over = "hire add V01 --from 2026-07-01 --through 2026-07-31 --ref H9"
    even_so = 'If it is true, add: --even-so "why"'

    assert refused(good, over) == f"--through: 2026-07-31 is over: today is 2026-08-01\n{even_so}"
    assert "#30 V01: hire H9" in _type(good, f'{over} --even-so "found in the diary"')
    assert refused(good, 'van add V02 --jurisdiction gb --plate "qi24qiq"') == (
        f'--plate: "qi24qiq" is the plate of V01 already\n{even_so}'
    )
    long = "H" * 41
    assert refused(good, H1.replace("H1", long)) == "--ref: has 41 characters: 40 are the most"


def test_a_partial_gas_check_says_when_what_it_leaves_out_was_looked_at(good: str) -> None:
    """By the record that looked at it last."""
    assert (
        "It names no result for heater (last Sun 10 Aug 2025, #21): what it leaves out it does not "
        "check."
    ) in _type(
        good,
        'record V01 gas-safety --on 2026-07-20 --pass --by "A. Fitter" --certificate G2 --result '
        "hob=pass",
    )


def test_damp_that_rises_is_told_of(good: str) -> None:
    """Five points at a place, whatever the band."""
    _type(good, "record V01 damp --on 2026-05-01 --reading damp:rear-left=8 --by B")
    _type(good, "record V01 damp --on 2026-07-01 --reading damp:rear-left=13 --by B")

    assert [c for c in _asked(good, None).cautions if c.startswith("damp")] == [
        "damp rear-left: noted, damp read 13: up by 5 from 8: look for the way in, read it again; "
        "Wed 1 Jul 2026 (#31, B)"
    ]


def test_a_pressure_off_the_placard_is_read_again_before_the_key(good: str) -> None:
    """It stops no booking; the release asks for it."""
    _type(good, H1)
    low = (
        f'record V01 walkaround --pass --by "B. Smith" {TREAD} --reading pressure:front-left=50psi'
    )
    _type(good, low)
    report = _asked(good)

    assert (report.hireable, [(a.rule, a.place) for a in report.at_handover]) == (
        "yes", [("tyre-pressure", "front-left")],
    )  # fmt: skip
    _type(
        good,
        low.replace("50psi", "63psi").replace("--pass", "--pass --on 2026-08-02"),
        day=D("2026-08-02"),
    )
    assert "tyre-pressure" not in {a.rule for a in _asked(good, None, D("2026-08-02")).at_handover}


def test_a_licence_that_ended_covers_no_van_however_light(good: str) -> None:
    """3,500 kg asks for no class; one that was shown and ends is a no all the same."""
    _type(good, H1, "hire driver H1 --licence B --until 2026-08-04 --shown photocard")

    assert [b.reason for b in _asked(good).blocking] == [
        "licence B stands to Tue 4 Aug 2026, before the return: see a renewed one, or take drivers whose licences all last"
    ]
    # Seen on an earlier day and written down later: the day it was seen decides.
    _type(good, "hire driver H1 --licence B --until 2040-01-01 --shown online --on 2026-07-30")
    assert _asked(good).hireable == "no"


def test_what_is_asked_about_is_answered_and_not_what_was_shown(good: str) -> None:
    """A question about another class of licence is about that class."""
    _type(good, HEAVY, H1, "hire driver H1 --licence C1 --until 2040-01-01 --shown online")

    assert _asked(good).hireable == "yes"
    assert _asked(good, party=Party(licence="B")).hireable == "no"


def test_a_driver_seen_only_after_the_van_left_counts_for_its_release(
    good: str, tmp_path: Path
) -> None:
    """Typed on the day after, for the day before: a second driver without the class is a no."""
    _type(good, HEAVY)
    _in_order(good)
    typed(good, f"handover V01 H1 --sheet {tmp_path}/h.txt", LATER)
    text = fill((tmp_path / "h.txt").read_text("utf-8"), licence="C1 2034-01-01 photocard")
    (tmp_path / "f.txt").write_text(text, "utf-8")
    typed(good, f"handover V01 H1 --from-file {tmp_path}/f.txt --by W", LATER)
    after = D("2026-11-28")
    second = "hire driver H1 --driver 2 --licence B --until 2034-01-01 --shown photocard"
    typed(good, second, after)

    with pytest.raises(Declined):
        typed(good, f"{OUT} --on 2026-11-27", after)


def test_a_sheet_serves_the_handover_it_was_filled_for(good: str, tmp_path: Path) -> None:
    """One of weeks before is asked for again; one that served stands to the return."""
    early = "hire add V01 --from 2026-11-27 --through 2026-11-30 --ref H1"
    typed(good, early, D("2026-11-10"))
    typed(good, f"handover V01 H1 --sheet {tmp_path}/h.txt", D("2026-11-10"))
    text = fill((tmp_path / "h.txt").read_text("utf-8"))
    (tmp_path / "f.txt").write_text(text, "utf-8")
    typed(good, f"handover V01 H1 --from-file {tmp_path}/f.txt --by W", D("2026-11-10"))

    assert "handover-sheet" in {a.rule for a in _asked(good, day=LATER).at_handover}


def test_a_sheet_says_whose_it_is(good: str, tmp_path: Path) -> None:
    """Of references that differ in brackets alone, and without a head."""
    for number, days in ((1, "--from 2026-08-01 --through 2026-08-03"),
                         (2, "--from 2026-08-03 --through 2026-08-05")):  # fmt: skip
        _type(good, f'hire add V01 {days} --ref "A ({number})"')
    _type(good, f'handover V01 "A (1)" --sheet {tmp_path}/h.txt')
    text = fill((tmp_path / "h.txt").read_text("utf-8"))
    file = tmp_path / "f.txt"
    file.write_text(text, "utf-8")

    assert refused(good, f'handover V01 "A (2)" --from-file {file} --by W').startswith(
        'the sheet is headed "HANDOVER SHEET  V01 (QI24 QIQ)  A (1)"'
    )
    file.write_text(text.replace(" page ", " p "), "utf-8")
    assert refused(good, f'handover V01 "A (1)" --from-file {file} --by W') == (
        'has no head that says which sheet it is: asked for is "HANDOVER SHEET  V01 (QI24 QIQ)  A '
        '(1)"'
    )


def test_of_two_of_one_name_the_number_says_whose(good: str) -> None:
    """Nothing is linked by guess; a name in other capitals is the same name."""
    _type(good, MAINS, SPARK, 'inspector add "e. spark"', 'inspector add "E. Spark" --another')
    with asking(good) as asked:
        first, second = sorted(asked.facts("V01").shared.inspectors)[-2:]
    _type(good, 'inspector add "E. Spark" --another')

    assert refused(good, 'inspector add "E. Spark" --theirs').startswith(
        'name: "E. Spark" is the name of 2 inspectors'
    )
    said = _type(good, f"inspector add {first} --scope electrical --from 2026-01-01 --theirs")
    assert f"1 record bears that name and is of e. spark (#{first})" in said
    assert _electrical(good) == "in date"
    assert second > first


def test_a_link_stands_while_the_name_does(good: str) -> None:
    """A certificate added afterwards is put right on the same person's check."""
    _type(
        good, MAINS, SPARK, 'inspector add "E. Spark" --scope electrical --from 2026-01-01 --theirs'
    )
    _type(good, 'correct 31 --certificate C9 "number added"')

    assert _electrical(good) == "in date"


def test_slips_of_belts_and_of_what_a_van_has_not(good: str) -> None:
    """More belts than seats; a gas tank in a van without LPG; nobody riding."""
    even_so = 'If it is true, add: --even-so "why"'

    assert refused(good, "van change V01 --seats 4 --belted-seats 6") == (
        f"--belted-seats: 6 of 4 seats\n{even_so}"
    )
    _type(good, "van change V01 --no-lpg --on 2026-07-01")
    assert refused(good, "fit V01 lpg-tank chassis --made 2024-01") == (
        f"component: V01 was said to have no place for a fixed LPG tank (LPG)\n{even_so}"
    )
    assert refused(good, f"{H1} --people 0") == (
        "--people: nobody rides: say how many, the driver among them"
    )


def test_more_people_than_seats_is_a_no_however_many_belts(good: str) -> None:
    """Where nobody said how many belts there are, there are no more than seats."""
    _type(good, "van change V01 --seats 4")

    five = _asked(good, None, party=Party(people=5))
    assert (five.hireable, five.bookable) == ("no", "no")
    assert [b.reason for b in five.blocking] == ["5 people, 4 seats"]
    assert _asked(good, None, party=Party(people=4)).hireable == "cannot say"


def test_another_of_a_name_is_not_given_records_in_the_same_breath(good: str) -> None:
    """Whose they are is said by number, once both are in the book."""
    _type(good, MAINS, SPARK, 'inspector add "E. Spark"')

    assert refused(good, 'inspector add "E. Spark" --another --theirs') == (
        '--theirs: "E. Spark" is the name of #32 too: add the other one first, then say whose the '
        "records are by number"
    )


def test_a_sheet_with_a_pressure_off_the_placard_says_so(good: str, tmp_path: Path) -> None:
    """With the figure, the placard and the command that records it again."""
    _type(good, H1, f"handover V01 H1 --sheet {tmp_path}/h.txt")
    text = fill((tmp_path / "h.txt").read_text("utf-8"), tyre_pressure__front_left="52psi")
    (tmp_path / "f.txt").write_text(text, "utf-8")

    said = _type(good, f"handover V01 H1 --from-file {tmp_path}/f.txt --by W --at 09:30")
    assert (
        "tyre pressure front-left: cold tyre pressure read 52psi, must be within 10 % of 65psi; "
    ) in said
    assert (
        "put it right and read it again. Record it with: fleetcare record V01 walkaround --pass --by "
        "NAME --at HH:MM --reading pressure:front-left=…"
    ) in said
    again = "record V01 walkaround --pass --by W --at 09:50 --reading pressure:front-left=65psi"
    _type(good, again)
    assert "tyre-pressure" not in {a.rule for a in _asked(good).at_handover}


def test_what_a_handover_saw_is_the_same_before_and_after_the_release(
    good: str, tmp_path: Path
) -> None:
    """Asked of the day as known before it was released, after, and once it came back: each item
    stands alike, on the same records."""
    _in_order(good)
    typed(good, f"handover V01 H1 --sheet {tmp_path}/h.txt", LATER)
    (tmp_path / "f.txt").write_text(
        fill((tmp_path / "h.txt").read_text("utf-8"), odometer="1000mi"), "utf-8"
    )
    typed(good, f"handover V01 H1 --from-file {tmp_path}/f.txt --by W --at 09:30", LATER)
    typed(good, f"{OUT} --at 10:00", LATER)
    typed(good, "hire back H1 --odometer 1200mi", D("2026-11-30"))

    def saw(size: int) -> Any:
        line = f"history V01 --on {LATER} --known-at @{size} --json"
        found = json.loads(typed(good, line, D("2026-12-01")))
        rules = [(r["rule"], r["place"], r["standing"], r["records"]) for r in found["rules"]]
        return found["hireable"], found["hire"], rules

    before, after, now = saw(39), saw(40), saw(41)
    assert before == after == now
    assert before[:2] == ("yes", "H1")
    assert {"walkaround", "handover-sheet", "licence-shown"} < {rule[0] for rule in before[2]}
