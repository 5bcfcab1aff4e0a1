"""The command line as users type it, from the built wheel: answers, refusals, exit codes."""

from __future__ import annotations

import json
import os
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

from fleetcare.errors import ExitCode
from tests.cli.conftest import Run, rows_of, runner, with_line

ADD = (
    'van add V01 --plate "QI24 QIQ" --jurisdiction gb --first-registered 2017-05-01 '
    "--in-service-from 2017-05-10 --lpg"
)
FITTER = (
    'inspector add "A. Fitter" --scope lpg-leisure-vehicle --register-no 12345 '
    "--from 2015-01-01 --through 2030-12-31"
)
# The lines a firm types in its first hour, each of which must work as it stands.
LINES = f"""
init
{ADD}
{FITTER}
record V01 gas-safety --on 2018-02-10 --pass --by "A. Fitter" --certificate C1
record V01 roadworthiness --on 2024-04-16 --pass --certificate T9 --last-day 2025-05-15
record V01 habitation --on 2024-04-16 --pass --by "B. Smith" --reading damp:rear-left=18 --reading damp:roof-front=12
fit V01 tyre front-left --made 2219 --on 2019-08-01 --load-index 112 --speed-symbol R --cold-pressure 65psi
fit V01 gas-hose locker --made 2020-06 --on 2020-07-01 --replace-by 2025-03-31
defect report V01 --on 2026-03-01 --grade dangerous "Gas smell at locker"
defect repair 10 --on 2026-03-02 --by "B. Smith" "new seal"
defect sign-off 10 --by "A. Fitter"
hold V01 --from 2026-03-01 --through 2026-03-05 "waiting for seal"
hold lift 13 --by "B. Smith" "seal in"
hire add V01 --from 2027-03-01 --through 2027-03-08 --ref H1 --bikes 2 --electric-bikes 1 --even-so tried
""".strip().splitlines()


@pytest.fixture(scope="module")
def typed_book(wheel: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A folder with the book those lines make, typed once."""
    folder = tmp_path_factory.mktemp("typed")
    for line in LINES:
        ran = runner(wheel, folder)(line)
        assert (ran.code, ran.err) == (0, ""), ran
    return folder


@pytest.fixture
def typed_in(typed_book: Path, run: Run, tmp_path: Path) -> Run:
    """Commands on a copy of that book."""
    shutil.copytree(typed_book, tmp_path, dirs_exist_ok=True)
    return run


def test_the_first_hour(typed_in: Run) -> None:
    """Every line is taken, and each of the three questions is answered."""
    due = typed_in("due")
    asked = typed_in("hireable V01 --from 2027-03-01 --through 2027-03-08 --ref H1 --on 2026-11-23")

    assert due.code == 0
    assert "OVERDUE" in due.out
    assert asked.code == ExitCode.NO
    assert asked.out.startswith(
        "V01 (QI24 QIQ), Mon 1 Mar 2027 to Mon 8 Mar 2027, judged for GB roads\nBook it? NO.\n"
    )
    assert typed_in("why V01 gas-safety-check").code == 0


def test_a_write_says_number_plate_and_what_changed(run: Run) -> None:
    """The echo of a record names its number, to when it counts, and how the van stands now."""
    run("init")
    run(ADD)
    run(FITTER)
    ran = run('record V01 gas-safety --on 2018-02-10 --pass --by "A. Fitter" --certificate C1')

    assert ran.out == (
        "#5 V01: gas safety check passed Sat 10 Feb 2018, certificate C1.\n"
        "Counts for gas safety check to Sun 10 Feb 2019.\n"
        "V01 (QI24 QIQ): not hireable today, unchanged. In the way: insurance for self-drive hire, "
        "vehicle tax, tyre age front-left and 32 more.\n"
    ) or ran.out.startswith(
        "#5 V01: gas safety check passed Sat 10 Feb 2018, certificate C1.\n"
        "Counts for gas safety check to Sun 10 Feb 2019.\n"
        "V01 (QI24 QIQ): not hireable today, unchanged. In the way: "
    )


def test_due_json_has_the_keys_programs_rely_on(typed_in: Run) -> None:
    """Wide enough, the list shows what is in date too; the text and the JSON are one answer."""
    found = json.loads(typed_in("due --weeks 600 --json").out)

    assert list(found) == ["on", "known_at", "rulebook", "items"]
    assert found["known_at"] == 16
    assert list(found["items"][0]) == [
        "van",
        "rule",
        "place",
        "standing",
        "last_good_day",
        "days_over",
        "do_from",
        "do_by",
        "blocks",
        "reason",
        "source",
        "booked_in",
    ]
    assert {i["rule"] for i in found["items"]} >= {
        "gas-safety-check",
        "roadworthiness-test",
        "tyre-age",
        "gas-hose-age",
    }


def test_hireable_json_has_the_keys_programs_rely_on(typed_in: Run) -> None:
    """Every key is there, whatever the answer; exit 0 only for a yes."""
    ran = typed_in("hireable V01 --from 2027-03-01 --through 2027-03-08 --json")
    found = json.loads(ran.out)

    assert ran.code == ExitCode.NO
    assert list(found) == [
        "van",
        "from",
        "through",
        "hireable",
        "hireable_through",
        "bookable",
        "to_do",
        "at_handover",
        "blocking",
        "cautions",
        "judged_for",
        "would_go",
        "could",
    ]
    assert (found["hireable"], found["bookable"]) == ("no", "no")
    assert list(found["blocking"][0]) == [
        "rule",
        "place",
        "standing",
        "last_good_day",
        "reason",
        "source",
    ]
    assert "hire" in {b["rule"] for b in found["blocking"]}


def test_calc_needs_no_book(run: Run) -> None:
    """The sums of the trade, as text and as JSON."""
    tyre = json.loads(run("calc tyre-date 3025 --json", db=None).out)
    vin = json.loads(run("calc vin 1G4AH59H45G118341 --json", db=None).out)

    assert (tyre["from"], tyre["through"]) == ("2025-07-21", "2025-08-02")
    assert [r["name"] for r in tyre["readings"]] == ["49 CFR 574.5", "ISO 8601"]
    rack = "--wheelbase-mm 3000 --load-kg 150 --behind-rear-axle-mm 1000 --json"
    beam = json.loads(run(f"calc axle-load --front-kg 1500 --rear-kg 2000 {rack}", db=None).out)
    # A worked example published for bike racks: 150 kg at 1 m behind a wheelbase of 3 m.
    assert beam == {"front_kg": 1450.0, "rear_kg": 2200.0}
    none = "calc axle-load --front-kg 1 --rear-kg 1 --wheelbase-mm 0 --load-kg 1"
    assert run(f"{none} --behind-rear-axle-mm 1", db=None).code == ExitCode.REFUSED
    assert run("calc load-index 121", db=None).out.startswith("121: 1450 kg a tyre")
    assert (vin["format_ok"], vin["check_digit_ok"]) == (True, True)
    assert run("calc tyre-date 5324", db=None).code == ExitCode.REFUSED


@pytest.fixture(scope="session")
def begun(tmp_path_factory: pytest.TempPathFactory, ready_template: bytes) -> bytes:
    """The bytes of a book of that van."""
    return with_line(ready_template, tmp_path_factory.mktemp("begun") / "fleet.db", ADD)


@pytest.mark.parametrize(
    ("line", "code", "err"),
    [
        (
            "record V09 mot --pass --certificate T1",
            4,
            'Error: "V09" is not in the fleet. Did you mean "V01"? Add it with: fleetcare van add V09\n',
        ),
        (
            "record V01 gas-saftey --pass",
            4,
            'Error: check: there is no kind of check "gas-saftey". Did you mean "gas-safety"?\n',
        ),
        (
            "record V01 mot --on 2026-11-24 --pass --certificate T1",
            4,
            "Error: --on: 2026-11-24 is after today (2026-11-23). Record it on the day it is done\n",
        ),
        (
            "record V01 mot --on 2026-04-16 --pass --certificate T1 --last-day 2027-05-16",
            4,
            "Error: --last-day: 2027-05-16 is more than a test of 2026-04-16 can give: 13 months less a "
            'day is 2027-05-15\n       If it is true, add: --even-so "why"\n',
        ),
        (
            "record V01 mot --on 2026-04-16",
            4,
            "Error: say how the MOT test ended: --pass or --fail\n",
        ),
        (
            "record V01 tyres --by X --reading tread:front-left=5.2",
            4,
            'Error: --reading "tread:front-left=5.2": "5.2" has no unit: type it as in 3050mm, 305cm, '
            "3.05m, 10ft1in, 10ft or 121in\n"
            '       --reading "tread": no tyre at "front-left" is in the book. Fit it first with: '
            "fleetcare fit V01 tyre front-left\n",
        ),
        (
            "record V01 insurance --on 2026-04-16",
            4,
            "Error: --from: say the first day it is in force, as printed\n"
            "       --last-day: say the last day it is in force, as printed\n",
        ),
        (
            'record V01 mot --pass --certificate T1 --plate "QI25 QIQ"',
            4,
            'Error: --plate: the paper says "QI25 QIQ", the van bore "QI24 QIQ" on 2026-11-23\n'
            '       If it is true, add: --even-so "why"\n',
        ),
        (
            "fit V01 tyre rear-middle --made 2219",
            4,
            'Error: place: a tyre has no place "rear-middle"; places are: front-left, front-right, '
            "rear-left, rear-right, rear-left-outer, rear-left-inner, rear-right-inner, "
            'rear-right-outer, tag-left, tag-right, spare. Did you mean "rear-left"?\n',
        ),
        ("fit V01 tyre front-left --made 5499", 4, None),
        (
            "fit V01 gas-hose locker --made 2026-12 --on 2026-11-20",
            4,
            "Error: --made: 2026-12 is after the day it was fitted (2026-11-20)\n"
            '       If it is true, add: --even-so "why"\n',
        ),
        ("odometer V01 42310", 4, None),
        (
            "hireable V01 --from 2027-03-09",
            4,
            "Error: say from when to when: --from D --through D, or --ref\n",
        ),
        ("hireable V01 --from 2026-W05-7 --through 2026-03-02", 2, None),
        ("defect sign-off 2 --by X", 4, "Error: #2 is not a defect\n"),
        ("withdraw 99 why", 4, "Error: there is no record #99\n"),
        ("correct 2 --bikes 3 why", 2, None),
        ("recrod V01", 2, None),
        ("van add V01 --jurisdiction gb", 4, None),
        (
            "van add V02 --jurisdiction xx",
            4,
            'Error: --jurisdiction: there are no rules for "xx"; there are: gb\n',
        ),
        (
            "rules adopt none.toml",
            4,
            "Error: none.toml: cannot be read: No such file or directory\n",
        ),
    ],
)
def test_bad_input_is_refused_clearly_and_loses_nothing(
    run: Run, begun: bytes, tmp_path: Path, line: str, code: int, err: str | None
) -> None:
    """What, where and what next on stderr; nothing on stdout; the book is as it was."""
    (tmp_path / "fleet.db").write_bytes(begun)
    before = rows_of(tmp_path)
    ran = run(line, today="2026-11-23")

    assert (ran.code, ran.out) == (code, "")
    assert ran.err
    if err is not None:
        assert ran.err == err
    assert rows_of(tmp_path) == before


def test_even_so_records_the_truth_and_shows_it(run: Run) -> None:
    """A likely slip is recorded with why; what counts is still the most the rule could give."""
    run("init")
    run(ADD)
    run(
        "record V01 mot --on 2026-04-16 --pass --certificate T1 --last-day 2028-05-16 "
        '--even-so "so printed"'
    )
    ran = run("why V01 mot --on 2026-05-01", today="2026-11-23")

    assert '#3 was recorded even so: "so printed"' in ran.out
    assert "in date, last day Sat 15 May 2027" in ran.out


def test_no_database_no_answer(run: Run, tmp_path: Path) -> None:
    """A missing, foreign or unnamed book gives no answer: exit 5, or 2, and nothing on stdout."""
    (tmp_path / "text.db").write_text("not a database " * 200)
    missing = run("due")
    foreign = run("hireable V01 --from 2026-12-01 --through 2026-12-02", db="text.db")
    unnamed = run("due", db=None)

    assert (missing.code, missing.out) == (5, "")
    assert missing.err == (
        'Error: there is no database at "fleet.db". Make one with: fleetcare --db "fleet.db" init\n'
    )
    assert (foreign.code, foreign.out) == (5, "")
    assert (unnamed.code, unnamed.out) == (2, "")
    assert not (tmp_path / "fleet.db").exists()


def test_a_dry_run_writes_nothing(run: Run, tmp_path: Path) -> None:
    """It says what would change, and the book answers as before."""
    run("init")
    run(ADD)
    before = run("van show V01 --json").out
    ran = run("record V01 mot --pass --certificate T1 --dry-run")

    assert ran.out.endswith("Dry run: nothing was written.\n")
    assert run("van show V01 --json").out == before


def test_help_names_every_command_with_an_example(run: Run) -> None:
    """Each command's help has an example line, and --help itself needs no book."""
    from fleetcare.cli.app import COMMANDS

    assert run("--help", db=None).code == 0
    assert run("", db=None).out.startswith("Usage: fleetcare")
    for name in COMMANDS:
        shown = run(f"{name} --help", db=None)
        assert shown.code == 0, shown
        if "COMMAND [ARGS]" not in shown.out:
            assert "Example: fleetcare" in shown.out, name


def test_help_ends_with_its_page_and_says_its_words(run: Run) -> None:
    """The page of whoever types the command, of a verb its own; and what the words there mean."""
    assert run("due --help", db=None).out.endswith("\n\n  More: fleetcare handbook monday\n")
    assert run("hire add --help", db=None).out.endswith("  More: fleetcare handbook clerk\n")
    assert run("hire out --help", db=None).out.endswith("  More: fleetcare handbook yard\n")
    assert run("inspector add --help", db=None).out.endswith(
        "\n\n  card: what shows that somebody is competent for a kind of work, from when to"
        "\n  when; a registered engineer's has a number."
        "\n\n  More: fleetcare handbook workshop\n"
    )


def test_the_handbook_needs_no_book(run: Run) -> None:
    """Its pages are in the wheel: listed with what they answer, shown whole, a near miss asked
    back."""
    listed = run("handbook", db=None)
    page = run("handbook yard", db=None)
    missed = run("handbook yrd", db=None)

    assert listed.out.splitlines()[0] == "page        what it answers"
    assert "\nyard        A hirer stands at the van." in listed.out
    assert page.out.startswith("# The yard: handing over and taking back\n\n**A hirer stands")
    assert page.out.endswith("before anybody lights anything |\n")
    assert (missed.code, missed.out, missed.err) == (
        2, "",
        'Error: there is no page "yrd". Did you mean "yard"? The pages are: first-week, monday, '
        "phone, clerk, pencilled, load, yard, roadside, workshop, visits, browser, serving, security, "
        "owner, keeper, trust, rules, programs, words\n",
    )  # fmt: skip


def test_what_went_wrong_with_us_is_said(run: Run, wheel: Path, tmp_path: Path) -> None:
    """A bug of ours exits 70 with what it was and what to do; a crash of Python would exit 1."""
    run("init")
    code = (
        "import fleetcare.desk.questions as a\n"
        "a.due = lambda *x: 1 / 0\n"
        "from fleetcare.cli.app import main\n"
        "main(['--db', 'fleet.db', 'due'])\n"
    )
    ran = subprocess.run(
        [sys.executable, "-c", code],
        cwd=tmp_path,
        capture_output=True,
        text=True,
        check=False,
        env={**os.environ, "PYTHONPATH": str(wheel)},
    )

    assert (ran.returncode, ran.stdout) == (ExitCode.BUG, "")
    assert ran.stderr == (
        "A bug of ours: ZeroDivisionError: division by zero\nNothing was written. Run it again "
        "with FLEETCARE_DEBUG=1 and send what it prints.\n"
    )


def test_an_export_never_overwrites(run: Run, tmp_path: Path) -> None:
    """The file that is there stays as it is."""
    run("init")
    run(ADD)
    first = run("export insurers -o book.xlsx")
    size = (tmp_path / "book.xlsx").stat().st_size
    second = run("export insurers -o book.xlsx")
    unnamed = run("export insurers --on 2026-08-01")

    assert (first.code, first.out) == (0, "book.xlsx\n")
    assert (second.code, second.out) == (4, "")
    assert second.err == "Error: book.xlsx: is there already: name another file\n"
    assert (tmp_path / "book.xlsx").stat().st_size == size
    assert unnamed.out == "insurers-2026-08-01.xlsx\n"
