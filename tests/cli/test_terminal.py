"""Shells and terminals: completion, pipes that close, other letters, a home that can't be written."""

from __future__ import annotations

import json
import os
import re
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

from fleetcare.cli.app import COMMANDS
from tests.cli.conftest import Run, runner

ADD = "van add {} --jurisdiction gb --in-service-from 2024-01-01"


@pytest.fixture(scope="module")
def typed_book(wheel: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A folder with a book of three vans, typed once."""
    folder = tmp_path_factory.mktemp("typed")
    for line in ["init", *(ADD.format(van) for van in ("V01", "V02", "W01"))]:
        assert runner(wheel, folder)(line).code == 0
    return folder


@pytest.fixture
def fleet(typed_book: Path, run: Run, tmp_path: Path) -> Run:
    """Commands on a copy of that book."""
    shutil.copytree(typed_book, tmp_path, dirs_exist_ok=True)
    return run


def _completed(run: Run, line: str, book: str = "fleet.db") -> list[str]:
    words = line.split(" ")
    ran = run(
        "", db=None, FLEETCARE_DB=book, _FLEETCARE_COMPLETE="bash_complete", COMP_WORDS=line,
        COMP_CWORD=str(len(words) - 1),
    )  # fmt: skip
    return [one.partition(",")[2] for one in ran.out.splitlines() if one]


def test_a_shell_finishes_commands_and_fleet_numbers(fleet: Run, tmp_path: Path) -> None:
    """Commands from the table, vans from the book; the book is not written to, and one that can't
    be read offers none."""
    before = (tmp_path / "fleet.db").read_bytes()

    assert _completed(fleet, "fleetcare hist") == ["history"]
    assert _completed(fleet, "fleetcare hireable V") == ["V01", "V02"]
    assert _completed(fleet, "fleetcare van show ") == ["V01", "V02", "W01"]
    assert _completed(fleet, "fleetcare hireable V", "none.db") == []
    assert (tmp_path / "fleet.db").read_bytes() == before
    assert not (tmp_path / "none.db").exists()


@pytest.mark.parametrize("shell", ["bash", "zsh", "fish"])
def test_the_script_of_each_shell_is_one_it_takes(fleet: Run, shell: str) -> None:
    """Printed whole; bash, and the others where they are installed, read it without a word."""
    script = fleet(f"completion {shell}", db=None)

    assert script.code == 0
    assert "_FLEETCARE_COMPLETE" in script.out
    assert "%(" not in script.out
    if shutil.which(shell):
        done = subprocess.run(
            [shell, "-n"], input=script.out, capture_output=True, text=True, check=False
        )
        assert (done.returncode, done.stderr) == (0, "")


def test_a_reader_that_goes_away_ends_it_quietly(fleet: Run, wheel: Path, tmp_path: Path) -> None:
    """`| head -n 1` prints one line, no trace and no error."""
    command = f"'{sys.executable}' -m fleetcare --db fleet.db why V01 gas-safety | head -n 1; echo ${{PIPESTATUS[0]}}"
    done = subprocess.run(
        ["bash", "-c", command], cwd=tmp_path, capture_output=True, text=True, check=False,
        env={"PATH": os.environ["PATH"], "PYTHONPATH": str(wheel), "LC_ALL": "C"},
    )  # fmt: skip

    assert done.stderr == ""
    assert done.stdout.splitlines()[-1] in ("0", "141")
    assert len(done.stdout.splitlines()) == 2


def test_nothing_is_coloured_or_cut_in_a_pipe(fleet: Run) -> None:
    """At forty columns as at two hundred, with every setting about colour there is."""
    plain = fleet("due").out
    for setting in ({"COLUMNS": "40"}, {"COLUMNS": "200"}, {"NO_COLOR": "1"}, {"TERM": "dumb"},
                    {"FORCE_COLOR": "1"}):  # fmt: skip
        assert fleet("due", **setting).out == plain
    assert "\x1b" not in plain


def test_every_command_that_asks_gives_json(fleet: Run) -> None:
    """Whole and readable, also where there is nothing to list; faults go to stderr alone."""
    for line in ("due", "van list", "van show V01", "history V01", "answers V01", "status",
                 "hireable V01 --from 2027-01-01 --through 2027-01-02", "why V01 gas-safety",
                 "verify"):  # fmt: skip
        ran = fleet(f"{line} --json")
        json.loads(ran.out)
        assert ran.err == ""
    wrong = fleet("why V01 gas-saftey --json")
    assert (wrong.out, wrong.err[:6]) == ("", "Error:")


def test_near_misses_of_a_van_a_rule_and_a_command_are_named(fleet: Run) -> None:
    """What was probably meant is said each time."""
    for line, hint in (
        ("hireable V1 --from 2027-01-01 --through 2027-01-02", 'Did you mean "V01"?'),
        ("why V01 gas-saftey", 'Did you mean "gas-safety"?'),
        ("histroy V01", 'Did you mean "history"?'),
    ):
        assert hint in fleet(line).err


def test_every_help_has_an_example_that_names_its_command() -> None:
    """Each command's own page shows one line to type."""
    import importlib

    for name, (module, *_) in COMMANDS.items():
        command = importlib.import_module(f"fleetcare.cli.{module}").COMMANDS[name]
        listed = getattr(command, "commands", None) or {name: command}
        for verb, one in listed.items():
            text = re.sub(r"\s+", " ", one.help or "")
            assert "Example: fleetcare" in text, (name, verb)


def test_a_path_with_spaces_and_umlauts(fleet: Run, tmp_path: Path) -> None:
    """A book may lie where people put it."""
    (tmp_path / "Büro und Hof").mkdir()
    shutil.copy(tmp_path / "fleet.db", tmp_path / "Büro und Hof" / "flotte.db")
    ran = fleet("van list --csv", db="Büro und Hof/flotte.db")

    assert (ran.code, len(ran.out.splitlines())) == (0, 4)


def test_facts_are_taken_from_a_pipe(fleet: Run, wheel: Path, tmp_path: Path) -> None:
    """`-` is standard input."""
    line = '{"kind":"odometer","van":"V01","on":"2026-11-20","shown":"5000mi"}'
    done = subprocess.run(
        [sys.executable, "-m", "fleetcare", "--db", "fleet.db", "--as", "T", "load", "-"],
        cwd=tmp_path, input=line, capture_output=True, text=True, check=False,
        env={"PATH": os.environ["PATH"], "PYTHONPATH": str(wheel),
             "FLEETCARE_TODAY": "2026-11-23"},
    )  # fmt: skip

    assert (done.returncode, done.stderr) == (0, "")
    assert "1 × odometer" in done.stdout


def test_status_says_which_book_it_is(fleet: Run) -> None:
    """Its address, its schema, how much it holds; a password in an address is not shown."""
    found = json.loads(fleet("status --json").out)

    assert (found["database"], found["schema"], found["records"]) == ("fleet.db", "0007", 4)


def test_a_question_without_an_answerer_names_the_option(fleet: Run) -> None:
    """Nobody at the keyboard: usage, and which option says it."""
    ran = fleet("mail due --to a@b.c")

    assert ran.code == 2
    assert "--smtp" in ran.err
