"""The yard's commands from the wheel, as its people type them: answers, exit codes, both streams."""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest

from fleetcare.errors import ExitCode
from tests.cli.conftest import Run, runner
from tests.vans import GOOD, TREAD

DAY = "2026-08-01"
H1 = "hire add V01 --from 2026-08-01 --through 2026-08-05 --ref H1"
OUT = 'hire out H1 --by "W. Yard" --odometer 42310mi --at 10:30'


@pytest.fixture(scope="module")
def typed_book(wheel: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A folder with a book of one van in good order and a booking, typed once."""
    folder = tmp_path_factory.mktemp("typed")
    for line in ["init", *GOOD.strip().splitlines(), H1]:
        assert runner(wheel, folder)(line, today=DAY).code == ExitCode.DONE
    return folder


@pytest.fixture
def booked(typed_book: Path, run: Run, tmp_path: Path) -> Run:
    """Commands on a copy of that book."""
    shutil.copytree(typed_book, tmp_path, dirs_exist_ok=True)
    return run


def test_a_days_work_at_the_gate(booked: Run, tmp_path: Path) -> None:
    """Refused with 3 and the answer on stdout; released after the walkaround; late; back."""
    refused = booked(OUT, today=DAY)
    booked(f'record V01 walkaround --by "W. Yard" {TREAD}', today=DAY)
    dry = booked(f"{OUT} --dry-run", today=DAY)
    out = booked(OUT, today=DAY)
    again = booked(OUT, today=DAY)
    longer = booked("hire change H1 --through 2026-08-20", today="2026-08-03")
    late = booked("hireable V01 --from 2026-08-06 --through 2026-08-08", today="2026-08-06")
    back = booked("hire back H1 --odometer 42900mi", today="2026-08-06")
    after = booked("hireable V01 --from 2026-08-06 --through 2026-08-08", today="2026-08-06")

    assert (refused.code, refused.err) == (ExitCode.NO, "")
    assert refused.out.splitlines()[-1].startswith("Not released: record these first")
    assert (dry.code, dry.out.splitlines()[-1]) == (ExitCode.DONE, "Dry run: nothing was written.")
    assert (out.code, out.out.splitlines()[0][:29]) == (
        ExitCode.DONE,
        "#33 V01 released to H1 by W. ",
    )
    assert (again.code, again.out) == (ExitCode.REFUSED, "")
    assert again.err == "Error: H1 is out since Sat 1 Aug 2026 already\n"
    assert (longer.code, longer.err) == (ExitCode.NO, "")
    assert late.code == ExitCode.NO
    assert "still out as H1: due back Wed 5 Aug 2026, no return recorded." in late.out
    assert (back.code, after.code) == (ExitCode.DONE, ExitCode.DONE)
    assert back.out.splitlines()[0] == "#34 V01 back from H1, Thu 6 Aug 2026, 1 day late."


def test_a_sheet_goes_to_paper_and_no_further(booked: Run, tmp_path: Path) -> None:
    """Written to a new file, never over one that is there; without a person it is not walked."""
    made = booked("handover V01 H1 --sheet sheet.txt", today=DAY)
    twice = booked("handover V01 H1 --sheet sheet.txt", today=DAY)
    both = booked("handover V01 H1 --sheet a.txt --from-file sheet.txt", today=DAY)
    nobody = booked("handover V01 H1", today=DAY)
    blank = booked("handover V01 H1 --from-file sheet.txt --by W", today=DAY)
    none = booked("return V01 H1 --from-file none.txt --by W", today=DAY)

    assert (made.code, made.err) == (ExitCode.DONE, 'Wrote "sheet.txt".\n')
    assert (
        (tmp_path / "sheet.txt").read_text("utf-8").startswith("HANDOVER SHEET  V01 (QI24 QIQ)  H1")
    )
    assert (twice.code, twice.err) == (
        ExitCode.REFUSED,
        "Error: sheet.txt: is there already: name another file\n",
    )
    assert both.code == nobody.code == ExitCode.USAGE
    assert nobody.err.splitlines()[-1] == "Error: say who walks round and signs: add --by NAME"
    assert (blank.code, len(blank.err.splitlines())) == (ExitCode.REFUSED, 48)
    assert none.err == "Error: none.txt: cannot be read: No such file or directory\n"


def test_a_walk_broken_off_ends_with_130_and_keeps_its_answers(booked: Run, tmp_path: Path) -> None:
    """Nobody at the keyboard: what was answered lies beside, and nothing is in the book."""
    ran = booked('handover V01 H1 --by "W. Yard"', today=DAY)

    assert ran.code == ExitCode.INTERRUPTED
    assert ran.out == ""
    assert ran.err.splitlines()[-1] == "Interrupted: nothing more was written."


def test_words_that_cannot_be_read_are_told_as_usage(booked: Run) -> None:
    """A class of licence, a country, a day set for today: each names what is wrong."""
    ask = "hireable V01 --from 2026-08-01 --through 2026-08-05"
    licence = booked(f"{ask} --licence D", today=DAY)
    country = booked(f"{ask} --abroad Germany", today=DAY)
    today = booked("due", today="yesterday")

    assert {licence.code, country.code, today.code} == {ExitCode.USAGE}
    assert country.err.splitlines()[-1] == (
        "Error: Invalid value for '--abroad': \"Germany\" is not a country: type its two letters, "
        "like DE"
    )
    assert today.err.splitlines()[-1] == (
        'Error: FLEETCARE_TODAY is "yesterday": set it like 2026-03-02, or not at all'
    )
