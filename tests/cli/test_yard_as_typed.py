"""The yard's commands from the wheel, as its people type them: answers, exit codes, both streams."""

from __future__ import annotations

from pathlib import Path

from fleetcare.errors import ExitCode
from tests.cli.conftest import Run
from tests.vans import GOOD, TREAD

DAY = "2026-08-01"
H1 = "hire add V01 --from 2026-08-01 --through 2026-08-05 --ref H1"
OUT = 'hire out H1 --by "W. Yard" --odometer 42310mi --at 10:30'


def _good(run: Run) -> None:
    run("init", today=DAY)
    for line in GOOD.strip().splitlines():
        assert run(line, today=DAY).code == ExitCode.DONE
    assert run(H1, today=DAY).code == ExitCode.DONE


def test_a_days_work_at_the_gate(run: Run, tmp_path: Path) -> None:
    """Refused with 3 and the answer on stdout; released after the walkaround; late; back."""
    _good(run)
    refused = run(OUT, today=DAY)
    run(f'record V01 walkaround --by "W. Yard" {TREAD}', today=DAY)
    dry = run(f"{OUT} --dry-run", today=DAY)
    out = run(OUT, today=DAY)
    again = run(OUT, today=DAY)
    longer = run("hire change H1 --through 2026-08-20", today="2026-08-03")
    late = run("hireable V01 --from 2026-08-06 --through 2026-08-08", today="2026-08-06")
    back = run("hire back H1 --odometer 42900mi", today="2026-08-06")
    after = run("hireable V01 --from 2026-08-06 --through 2026-08-08", today="2026-08-06")

    assert (refused.code, refused.err) == (ExitCode.NO, "")
    assert refused.out.splitlines()[-1].startswith("Not released: record these first")
    assert (dry.code, dry.out.splitlines()[-1]) == (ExitCode.DONE, "Dry run: nothing was written.")
    assert (out.code, out.out.splitlines()[0][:29]) == (
        ExitCode.DONE,
        "#32 V01 released to H1 by W. ",
    )
    assert (again.code, again.out) == (ExitCode.REFUSED, "")
    assert again.err == "Error: H1 is out since Sat 1 Aug 2026 already\n"
    assert (longer.code, longer.err) == (ExitCode.NO, "")
    assert late.code == ExitCode.NO
    assert "still out as H1: due back Wed 5 Aug 2026, no return recorded." in late.out
    assert (back.code, after.code) == (ExitCode.DONE, ExitCode.DONE)
    assert back.out.splitlines()[0] == "#33 V01 back from H1, Thu 6 Aug 2026, 1 day late."


def test_a_sheet_goes_to_paper_and_no_further(run: Run, tmp_path: Path) -> None:
    """Written to a new file, never over one that is there; without a person it is not walked."""
    _good(run)
    made = run("handover V01 H1 --sheet sheet.txt", today=DAY)
    twice = run("handover V01 H1 --sheet sheet.txt", today=DAY)
    both = run("handover V01 H1 --sheet a.txt --from-file sheet.txt", today=DAY)
    nobody = run("handover V01 H1", today=DAY)
    blank = run("handover V01 H1 --from-file sheet.txt --by W", today=DAY)
    none = run("return V01 H1 --from-file none.txt --by W", today=DAY)

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
    assert (blank.code, len(blank.err.splitlines())) == (ExitCode.REFUSED, 30)
    assert none.err == "Error: none.txt: cannot be read: No such file or directory\n"


def test_a_walk_broken_off_ends_with_130_and_keeps_its_answers(run: Run, tmp_path: Path) -> None:
    """Nobody at the keyboard: what was answered lies beside, and nothing is in the book."""
    _good(run)
    ran = run('handover V01 H1 --by "W. Yard"', today=DAY)

    assert ran.code == ExitCode.INTERRUPTED
    assert ran.out == ""
    assert ran.err.splitlines()[-1] == "Interrupted: nothing more was written."


def test_words_that_cannot_be_read_are_told_as_usage(run: Run) -> None:
    """A class of licence, a country, a day set for today: each names what is wrong."""
    _good(run)
    ask = "hireable V01 --from 2026-08-01 --through 2026-08-05"
    licence = run(f"{ask} --licence D", today=DAY)
    country = run(f"{ask} --abroad Germany", today=DAY)
    today = run("due", today="yesterday")

    assert {licence.code, country.code, today.code} == {ExitCode.USAGE}
    assert country.err.splitlines()[-1] == (
        "Error: Invalid value for '--abroad': \"Germany\" is not a country: type its two letters, "
        "like DE"
    )
    assert today.err.splitlines()[-1] == (
        'Error: FLEETCARE_TODAY is "yesterday": set it like 2026-03-02, or not at all'
    )
