"""Handover and return sheets: printed, filled, read back; every fault at once, all or nothing."""

from __future__ import annotations

import datetime as dt
import re
from pathlib import Path

import pytest

from fleetcare.cli.app import cli
from fleetcare.desk import calls, questions, sheets, walked
from fleetcare.desk.asking import asking
from fleetcare.errors import Refused
from fleetcare.intake.sheet import Answered, read_answer, read_form
from fleetcare.records.kinds import Reading
from fleetcare.render.sheet import HEIGHT, WIDTH
from fleetcare.rules.party import NO_BIKES
from tests.typed import typed, typed_all

D = dt.date.fromisoformat
ON = D("2026-08-01")
BOOKED = "hire add V01 --from 2026-08-01 --through 2026-08-05 --ref H1"
GOOD_ANSWERS = {
    "tyre-tread": "6.1mm",
    "tyre-pressure": "65psi",
    "extinguisher": "green",
    "blanket": "sound",
    "kit": "complete",
    "flushed": "done",
    "fuel": "8/8",
    "keys": "two",
    "gas-bottles": "both full",
    "hirer-signed": "on the paper",
    "licence": "B 2034-01-01 photocard",
}
_NIL = ("damage", "defects")
_HAPPENED = (
    "knocked", "alarm-sounded", "extinguisher-used", "blanket-used", "tyre-changed", "gas-done",
)  # fmt: skip


def fill(sheet: str, **special: str) -> str:
    """The sheet with every bracket filled as in good order, but for what is named."""
    special = {name.replace("__", ":").replace("_", "-"): text for name, text in special.items()}

    def filled(match: re.Match[str]) -> str:
        name, hint = match[2], match[3]
        first = name.partition(":")[0]
        answer = special.get(name, GOOD_ANSWERS.get(first))
        if answer is None:
            answer = "nil" if name in _NIL else "no" if name in _HAPPENED else "ok"
            answer = "yes" if name.startswith("shown-") else answer
            answer = "" if name.startswith("signed-") else answer
        if first == "odometer" and "odometer" not in special:
            answer = "42600mi" if sheet.startswith("RETURN") else "42300mi"
        return f"[{answer}] {name}{hint}"

    return re.sub(r"\[( *)\] ([a-z0-9:-]+)(.*)", filled, sheet)


@pytest.fixture
def booked(good: str) -> str:
    """A van in good order with a hire that begins today."""
    typed(good, BOOKED, ON)
    return good


def _sheet(place: str, tmp_path: Path, what: str = "handover") -> str:
    path = tmp_path / f"{what}.txt"
    typed(place, f"{what} V01 H1 --sheet {path}", ON)
    return path.read_text("utf-8")


def _take_in(
    place: str, tmp_path: Path, text: str, what: str = "handover", day: dt.date = ON
) -> str:
    path = tmp_path / "filled.txt"
    path.write_text(text, "utf-8")
    return typed(place, f'{what} V01 H1 --from-file {path} --by "Wilf"', day)


def test_a_sheet_prints_on_a4_and_asks_for_what_the_van_has(booked: str, tmp_path: Path) -> None:
    """66 lines of 80 characters a page; gas and rack lines, no mains, no height notice."""
    text = _sheet(booked, tmp_path)
    pages = text.split("\f")
    names = re.findall(r"^\[ *\] ([a-z-]+)", text, re.MULTILINE)

    assert len(pages) == 3
    assert all(len(page.rstrip("\n").splitlines()) <= HEIGHT for page in pages)
    assert max(map(len, text.splitlines())) <= WIDTH
    assert [page.splitlines()[0].split()[-4:] for page in pages] == [
        ["page", "1", "of", "3"],
        ["page", "2", "of", "3"],
        ["page", "3", "of", "3"],
    ]
    assert {"gas-off", "gas-locker", "rack-locked", "shown-gas", "papers"} <= set(names)
    assert not {"hook-up", "rcd-button", "shown-lead", "height-notice", "rack-loaded"} & set(names)
    assert "! Have somebody outside watch you reverse: a camera sees little." in text


def test_with_bikes_the_rack_is_loaded_and_not_locked_off(good: str, tmp_path: Path) -> None:
    """The line follows the party."""
    typed(good, f"{BOOKED} --bikes 2", ON)
    text = _sheet(good, tmp_path)

    assert "] rack-loaded" in text
    assert "] rack-locked" not in text


def test_a_filled_handover_is_a_walkaround_and_the_van_may_be_released(
    booked: str, tmp_path: Path
) -> None:
    """Its readings and its signature are kept; nothing more is to be recorded."""
    said = _take_in(booked, tmp_path, fill(_sheet(booked, tmp_path))).splitlines()
    with asking(booked) as asked:
        facts = asked.facts("V01")

    assert said == [
        "#32 V01: walkaround check passed Sat 1 Aug 2026, 48 lines, 11 readings.",
        "#33 V01: water flushed.",
        "#34 H1: licence of driver 1 seen (photocard) Sat 1 Aug 2026: B, to Sun 1 Jan 2034.",
        "#35 handover sheet of H1 kept, signed by Wilf.",
        "Release it with: fleetcare hire out H1 --by NAME --odometer READING",
        "V01 (QI24 QIQ): hireable through Mon 10 Aug 2026, unchanged. First to lapse: gas safety check.",
    ]
    assert Reading("tread", "front-left", "6.1mm") in facts.checks[-2].readings
    assert "shown-gas=yes" in facts.sheets[0].lines
    assert "released to H1" in typed(booked, "hire out H1 --by Wilf --odometer 42310mi", ON)


def test_what_is_wrong_becomes_defects_and_a_serious_one_fails_the_walkaround(
    booked: str, tmp_path: Path
) -> None:
    """Two defects in one bracket, graded; the words stand with the defects, not on the sheet."""
    text = fill(_sheet(booked, tmp_path), bodywork="minor: skirt loose; major: step will not lock")
    said = _take_in(booked, tmp_path, text)
    with asking(booked) as asked:
        facts = asked.facts("V01")

    assert "walkaround check failed" in said
    assert [(d.grade, d.about, d.check) for d in facts.defects] == [
        ("minor", "bodywork", 32),
        ("major", "bodywork", 32),
    ]
    assert "bodywork=major" in facts.sheets[0].lines
    report = questions.hireable(booked, "V01", calls.Question(ON, ON, NO_BIKES, ON, "H1"))
    assert {b.rule for b in report.blocking} == {"walkaround", "open-defects"}


def test_what_the_hirer_was_not_shown_is_said(booked: str, tmp_path: Path) -> None:
    """It does not stop the van, and it is not passed over."""
    said = _take_in(booked, tmp_path, fill(_sheet(booked, tmp_path), shown_reverse="no"))

    assert (
        "Caution: the hirer was not shown: Shown: somebody outside watches you reverse; a camera "
        "sees little." in said
    )


def test_every_fault_of_a_sheet_is_told_at_once_and_nothing_is_kept(
    booked: str, tmp_path: Path
) -> None:
    """Blank, misspelt, without a unit, of another van: each by the name of its line."""
    text = fill(
        _sheet(booked, tmp_path),
        bodywork="fine",
        tyre_tread__front_left="6.1",
        extinguisher__door="red",
        shown_gas="perhaps",
        stowed="",
        flushed="yes",
        fuel="full",
        keys="x" * 41,
        hirer_signed="in the rain",
    )
    text += "\n[ok] mast\n"
    with pytest.raises(Refused) as fault:
        _take_in(booked, tmp_path, text)
    with asking(booked) as asked:
        size = asked.as_of.known_at

    assert size == 31
    assert [str(p) for p in fault.value.problems] == [
        "mast: is no line of this van's sheet: is it the sheet of another van or hire?",
        'fuel: "full" is not eighths: type it like 5/8, with 8/8 for full',
        "keys: is longer than 40 characters: say it shorter",
        'bodywork: "fine" is neither ok nor a grade and what is wrong: type it like minor: blind '
        "torn, with dangerous, major, minor, advisory",
        'tyre-tread:front-left: "6.1" has no unit: type it as in 3050mm, 305cm, 3.05m, 10ft1in, '
        "10ft or 121in",
        'extinguisher:door: "red" is not one of green, not-green, pin-missing',
        "stowed: is not filled in",
        'flushed: "yes" is not done or no',
        'shown-gas: "perhaps" is not yes or no',
        'hirer-signed: "in the rain" is not one of on the paper, on the screen, would not sign. '
        'Did you mean "on the screen"?',
    ]


def test_on_paper_nobody_signs_on_a_screen(booked: str, tmp_path: Path) -> None:
    """What is said of the hirer's signature is held to what is there; that they would not is taken
    with why."""
    text = _sheet(booked, tmp_path)
    with pytest.raises(Refused) as fault:
        _take_in(booked, tmp_path, fill(text, hirer_signed="on the screen"))
    assert [str(p) for p in fault.value.problems] == [
        'hirer-signed: says "on the screen", and nobody signed there: the hirer signs where the '
        "walk ends, or say how they did"
    ]
    with pytest.raises(Refused) as fault:
        _take_in(booked, tmp_path, fill(text, hirer_signed="on the paper: would not"))
    assert [str(p) for p in fault.value.problems] == [
        'hirer-signed: "on the paper: would not" is not one of on the paper, on the screen, would '
        'not sign. Did you mean "on the paper"?'
    ]
    assert _take_in(booked, tmp_path, fill(text, hirer_signed="Would not sign: in a hurry."))


def test_a_line_answered_twice_is_a_fault() -> None:
    """Which of the two is meant nobody can say."""
    answers, faults = read_form("[ok] stowed (ok, or what is wrong)\n[ok] stowed\nnot a line\n")

    assert answers == {"stowed": "ok"}
    assert [str(p) for p in faults] == ["stowed: stands on the sheet twice"]


def test_nobody_signing_is_a_fault(booked: str, tmp_path: Path) -> None:
    """A sheet is somebody's."""
    form, _ = sheets.form(booked, "V01", "H1", "handover")
    answers, _ = read_form(fill(sheets.printed(form, {})))
    with pytest.raises(Refused) as fault:
        sheets.take_in(booked, "Test", walked.Filled("handover", "V01", "H1", answers, on=ON))

    assert str(fault.value) == "signed-by: nobody signed: add --by NAME, or fill it in"


def test_a_filled_return_takes_the_van_back_with_all_that_happened(
    booked: str, tmp_path: Path
) -> None:
    """The return, a knock, the extinguisher used and a defect, in one transaction."""
    _take_in(booked, tmp_path, fill(_sheet(booked, tmp_path)))
    typed(booked, "hire out H1 --by Wilf --odometer 42310mi", ON)
    text = fill(
        _sheet(booked, tmp_path, "return"),
        knocked="yes: gatepost",
        extinguisher_used="yes",
        damage="minor: bumper cracked",
    )
    said = _take_in(booked, tmp_path, text, "return", D("2026-08-05"))
    with asking(booked) as asked:
        facts = asked.facts("V01")

    assert said.splitlines()[:6] == [
        "#37 V01 back from H1, Wed 5 Aug 2026.",
        "#38 V01: knock, Wed 5 Aug 2026.",
        "It asks for: inspection after an event. Caution: After a knock, flood or fire gas and mains "
        "stay off until somebody competent has looked at them.",
        "#39 V01: extinguisher used, Wed 5 Aug 2026.",
        "It asks for: used extinguisher.",
        '#40 V01: minor defect "bumper cracked", Wed 5 Aug 2026, on H1.',
    ]
    assert (facts.backs[0].odometer, facts.defects[0].odometer) == ("42600mi", "42600mi")
    assert [e.hire for e in facts.events] == [30, 30]


def test_a_nil_return_is_a_report(booked: str, tmp_path: Path) -> None:
    """Nothing wrong is written down as that, and kept."""
    _take_in(booked, tmp_path, fill(_sheet(booked, tmp_path)))
    typed(booked, "hire out H1 --by Wilf --odometer 42310mi", ON)
    said = _take_in(
        booked, tmp_path, fill(_sheet(booked, tmp_path, "return")), "return", D("2026-08-05")
    )
    with asking(booked) as asked:
        kept = asked.facts("V01").sheets[-1]

    assert "Nil report: nothing was found wrong." in said
    assert (kept.what, "damage=nil" in kept.lines) == ("return", True)


def test_the_walk_is_broken_off_and_gone_on_with(
    booked: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Each answer is kept at once; a wrong one is asked again; what is left is asked next time."""
    from click.testing import CliRunner

    from fleetcare import clock

    monkeypatch.chdir(tmp_path)
    words = ["--db", booked, "--as", "Test", "handover", "V01", "H1", "--by", "Wilf"]
    form, _ = sheets.form(booked, "V01", "H1", "handover")
    answers, _ = read_form(fill(sheets.printed(form, {})))
    order = [answers[line.name] for line in form.lines]
    with clock.standing_at(dt.datetime(2026, 8, 1, 12, tzinfo=dt.UTC)):
        broken = CliRunner().invoke(
            cli, words, input="\n".join([order[0], order[1], "half", order[2]]) + "\n"
        )
        draft = (tmp_path / "handover-V01-H1.txt").read_text("utf-8")
        done = CliRunner().invoke(cli, words, input="\n".join(order[3:]) + "\n")

    assert broken.exit_code != 0
    assert 'fuel: "half" is not eighths' in broken.output
    assert read_form(draft)[0] == {
        "licence": order[0],
        "odometer": order[1],
        "fuel": order[2],
        "signed-on": "2026-08-01",
    }
    assert "walkaround check passed" in done.output
    assert not (tmp_path / "handover-V01-H1.txt").exists()


@pytest.mark.parametrize(
    ("line", "text", "kept"),
    [
        ("bodywork", "ok", "bodywork=ok"),
        ("damage", "nil", "damage=nil"),
        ("knocked", "no", "knocked=no"),
        ("fuel", "3/8", "fuel=3/8"),
        ("keys", "two", "keys=two"),
    ],
)
def test_plain_answers_are_kept_as_they_are(booked: str, line: str, text: str, kept: str) -> None:
    """No free words about a person or a defect stand on the sheet itself."""
    with asking(booked) as asked:
        answer = read_answer(asked.book.lines[line], None, text, asked.book)

    assert isinstance(answer, Answered)
    assert (answer.kept, answer.found, answer.event) == (kept, (), None)


def test_the_sheet_of_another_vans_hire_is_refused(booked: str) -> None:
    """The refusal names the hires the van has."""
    with pytest.raises(Refused) as fault:
        typed_all(booked, ["handover V01 H7 --sheet x.txt"], ON)

    assert str(fault.value) == 'hire: V01 has no hire "H7"; it has: H1'
