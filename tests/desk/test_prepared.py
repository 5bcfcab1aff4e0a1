"""Two sheets: the yard prepares a van, and what is left is walked with the hirer."""

from __future__ import annotations

import datetime as dt
from pathlib import Path

import pytest
from click.testing import CliRunner

from fleetcare import clock
from fleetcare.cli.app import cli
from fleetcare.desk import sheets
from fleetcare.desk.asking import asking
from fleetcare.errors import Declined
from fleetcare.intake.sheet import read_form
from tests.desk.test_sheets import BOOKED, fill
from tests.typed import typed

ON = dt.date(2026, 8, 1)
NEXT = dt.date(2026, 8, 2)


@pytest.fixture
def booked(good: str) -> str:
    """A van in good order with a hire that begins today."""
    typed(good, BOOKED, ON)
    return good


def _taken(place: str, folder: Path, what: str, day: dt.date = ON, **special: str) -> str:
    blank, filled = folder / f"{what}.txt", folder / f"{what}-filled.txt"
    blank.unlink(missing_ok=True)
    typed(place, f"{what} V01 H1 --sheet {blank}", day)
    filled.write_text(fill(blank.read_text("utf-8"), **special), "utf-8")
    return typed(place, f'{what} V01 H1 --from-file {filled} --by "Wilf"', day)


def _lines(place: str, day: dt.date) -> list[str]:
    with clock.standing_at(dt.datetime.combine(day, dt.time(12), dt.UTC)):
        form, _ = sheets.form(place, "V01", "H1", "handover")
    return [line.name for line in form.lines]


def test_a_prepared_van_is_handed_over_by_what_is_left(booked: str, tmp_path: Path) -> None:
    """The yard's sheet is the walkaround check with its readings; with the hirer nobody walks the
    tyres again, and the van is released on both."""
    every = len(_lines(booked, ON))
    said = _taken(booked, tmp_path, "prepare").splitlines()
    assert said[0].endswith("V01: walkaround check passed Sat 1 Aug 2026, 34 lines, 11 readings.")
    assert (
        "It stands until something is written down of the van, to the end of the day after. With "
        "the hirer: fleetcare handover V01 H1 --by NAME"
    ) in said

    left = _lines(booked, ON)
    assert (every, len(left)) == (48, 15)
    assert not [name for name in left if name.startswith(("tyre", "gas-off", "brakes"))]
    assert {"licence", "odometer", "fuel", "keys", "gas-bottles", "hirer-signed"} < set(left)
    typed(booked, f"handover V01 H1 --sheet {tmp_path}/left.txt", ON)
    assert "The yard prepared the van (#" in (tmp_path / "left.txt").read_text("utf-8")

    said = _taken(booked, tmp_path, "handover").splitlines()
    assert not [line for line in said if "walkaround" in line]
    assert "released to H1 by Wilf" in typed(
        booked, "hire out H1 --by Wilf --odometer 42310mi --at 13:00", ON
    )


@pytest.mark.parametrize(
    ("line", "day"),
    [
        ("odometer V01 42350mi", ON),
        ("event V01 fetched", ON),
        ("event V01 knock gatepost", NEXT),
    ],
)
def test_it_is_void_once_the_van_moved(
    booked: str, tmp_path: Path, line: str, day: dt.date
) -> None:
    """A figure of the odometer or anything that happened since: all of it is asked anew."""
    _taken(booked, tmp_path, "prepare")
    assert len(_lines(booked, day)) == 15
    typed(booked, line, day)
    assert len(_lines(booked, day)) == 48


def test_it_is_void_after_the_next_day(booked: str, tmp_path: Path) -> None:
    """Prepared on the eve it serves; two days before it does not."""
    _taken(booked, tmp_path, "prepare")

    assert len(_lines(booked, NEXT)) == 15
    assert len(_lines(booked, dt.date(2026, 8, 3))) == 48


def test_what_is_found_with_the_hirer_is_a_defect(booked: str, tmp_path: Path) -> None:
    """A bumper seen scratched beside the hirer; what is known already stands on the sheet."""
    _taken(booked, tmp_path, "prepare", lights="minor: rear fog lamp dim")
    typed(booked, f"handover V01 H1 --sheet {tmp_path}/h.txt", ON)
    assert "Known already: minor: rear fog lamp dim" in (tmp_path / "h.txt").read_text("utf-8")

    said = _taken(booked, tmp_path, "handover", bodywork="advisory: scratch by the step")
    assert 'advisory defect "scratch by the step"' in said
    with asking(booked) as asked:
        facts = asked.facts("V01")
    assert [one.what for one in facts.sheets] == ["prepared", "handover"]
    walked = [check for check in facts.checks if check.what == "walkaround"]
    assert [check.odometer for check in walked] == ["42300mi"]


def test_a_reading_shows_its_limit_its_placard_and_its_last_value(
    booked: str, tmp_path: Path
) -> None:
    """On paper and on the screen alike."""
    _taken(booked, tmp_path, "prepare")
    typed(booked, "odometer V01 42301mi", ON)
    typed(booked, f"prepare V01 H1 --sheet {tmp_path}/again.txt", ON)
    text = (tmp_path / "again.txt").read_text("utf-8")

    assert "tyre-tread:front-left  (with its unit, at least 3.0mm, last 6.1mm)" in text
    assert "tyre-pressure:rear-left  (with its unit, placard 65psi, last 65psi)" in text


def _walk(place: str, keys: list[str]) -> str:
    words = ["--db", place, "--as", "Test", "prepare", "V01", "H1", "--by", "Wilf"]
    with clock.standing_at(dt.datetime(2026, 8, 1, 12, tzinfo=dt.UTC)):
        return CliRunner().invoke(cli, words, input="\n".join(keys) + "\n").output


def test_enter_is_sound_where_nobody_can_be_hurt(
    booked: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The lights want s or w; number plates take Enter; b goes back, ? says why, w asks what."""
    monkeypatch.chdir(tmp_path)
    shown = _walk(
        booked, ["42300mi", "", "?", "s", "", "w", "minor: washer dry", "b", "", "b", "w", "odd"]
    )
    assert "lights (ok, or what is wrong): \n    somebody may be hurt by it: look, then type s" in (
        shown
    )
    assert "    why: a van nobody sees is run into. Source: Road Traffic Act 1988" in shown
    assert "what is wrong (like minor: blind torn)" in shown
    assert 'wipers: "odd" is neither ok nor a grade' in " ".join(shown.split())
    draft = (tmp_path / "prepared-V01-H1.txt").read_text("utf-8")
    assert {k: v for k, v in read_form(draft)[0].items() if k != "signed-on"} == {
        "odometer": "42300mi", "lights": "ok", "plates": "ok", "wipers": "ok",
    }  # fmt: skip


def test_the_time_a_walk_took_is_kept(
    booked: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Beside its lines; a walk taken from paper has none."""
    monkeypatch.chdir(tmp_path)
    with clock.standing_at(dt.datetime(2026, 8, 1, 12, tzinfo=dt.UTC)):
        form, _ = sheets.form(booked, "V01", "H1", "prepared")
    answers, _ = read_form(fill(sheets.printed(form, {})))
    _walk(booked, [answers[line.name] for line in form.lines])
    with asking(booked) as asked:
        kept = asked.facts("V01").sheets[0]

    assert "took=0min" in kept.lines


def _released(place: str, day: dt.date = ON) -> bool:
    try:
        typed(place, "hire out H1 --by Wilf --odometer 42310mi --at 19:00 --dry-run", day)
    except Declined:
        return False
    return True


LATE = dt.date(2026, 11, 30)  # the sheet of a handover is asked for since 26 November 2026


@pytest.fixture
def late(good: str) -> str:
    """A van in good order on a day on which no key goes without its sheet."""
    for line in (
        'record V01 gas-safety --pass --by "A. Fitter" --certificate G2',
        'record V01 inspection --pass --by "B. Smith"',
        "hire add V01 --from 2026-11-30 --through 2026-12-03 --ref H1 --licence B",
    ):
        typed(good, line, LATE)
    return good


def test_what_a_sheet_rests_on_taken_back_lets_no_key_go(late: str, tmp_path: Path) -> None:
    """The prepared sheet, or the walkaround that it is, withdrawn after the short handover."""
    said = _taken(late, tmp_path, "prepare", LATE)
    check, sheet = said.split("#")[1].split()[0], said.split("prepared sheet")[0].split("#")[-1]
    _taken(late, tmp_path, "handover", LATE)
    assert _released(late, LATE)
    typed(late, f'withdraw {sheet.strip()} "another van"', LATE)
    assert not _released(late, LATE)

    assert len(_lines(late, LATE)) > 30
    (tmp_path / "h").mkdir()
    _taken(late, tmp_path / "h", "handover", LATE)
    assert _released(late, LATE)
    del check


def test_a_walkaround_taken_back_voids_what_was_prepared(late: str, tmp_path: Path) -> None:
    """Its lines are nobody's any more: the handover asks them all."""
    said = _taken(late, tmp_path, "prepare", LATE)
    number = said.split("#")[1].split()[0]
    typed(late, f'withdraw {number} "wrong van"', LATE)

    assert len(_lines(late, LATE)) > 30


@pytest.mark.parametrize(
    "line",
    [
        "fit V01 extinguisher door --made 2026-01 --type powder",
        "van change V01 --no-rack --on 2026-11-30",
        'defect report V01 --grade minor "wiper torn"',
    ],
)
def test_whatever_is_written_of_the_van_voids_it(late: str, tmp_path: Path, line: str) -> None:
    """A part nobody read, a fact, a defect: the sheet was filled of another van than this."""
    _taken(late, tmp_path, "prepare", LATE)
    typed(late, line, LATE)

    assert len(_lines(late, LATE)) > 30


def test_no_answer_is_dropped_because_somebody_prepared_meanwhile(
    late: str, tmp_path: Path
) -> None:
    """A whole handover filled before the yard prepared the van is taken in whole: the brakes that
    one of them found are a defect, and no key goes."""
    blank, filled = tmp_path / "long.txt", tmp_path / "long-filled.txt"
    typed(late, f"handover V01 H1 --sheet {blank}", LATE)
    text = fill(blank.read_text("utf-8"), brakes="dangerous: pedal to the floor")
    filled.write_text(text, "utf-8")
    _taken(late, tmp_path, "prepare", LATE)
    said = typed(late, f'handover V01 H1 --from-file {filled} --by "Ted"', LATE)

    assert 'dangerous defect "pedal to the floor"' in said
    assert "What it found stops the van: put it right, sign it off, and walk round again." in said
    assert not _released(late, LATE)


def test_a_short_sheet_is_taken_in_late_as_of_its_day(late: str, tmp_path: Path) -> None:
    """Filled on Monday with the hirer, typed in on Wednesday."""
    _taken(late, tmp_path, "prepare", LATE)
    blank, filled = tmp_path / "s.txt", tmp_path / "sf.txt"
    typed(late, f"handover V01 H1 --sheet {blank}", LATE)
    filled.write_text(fill(blank.read_text("utf-8")), "utf-8")
    line = f'handover V01 H1 --from-file {filled} --by "Ted" --on 2026-11-30'

    assert "handover sheet of H1 kept" in typed(late, line, dt.date(2026, 12, 2))
