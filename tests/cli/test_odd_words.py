"""Letters, words, keyboards and folders that are not as they should be end with a message."""

from __future__ import annotations

import re
import sys
from pathlib import Path

import pytest

from fleetcare.errors import ExitCode
from tests.cli.conftest import HIRE, READ, Typed, records


@pytest.mark.parametrize("letters", ["latin-1", "ascii", "latin-1:strict"])
def test_letters_a_terminal_lacks_are_escaped(small: Typed, tmp_path: Path, letters: str) -> None:
    """On both streams, in answers, echoes and errors; the record holds what was typed."""
    wrote = small.shell('defect report V01 --grade minor "blind → stuck"', PYTHONIOENCODING=letters)
    asked = small.shell("van show V01", PYTHONIOENCODING=letters)
    wrong = small.shell("van show V→", PYTHONIOENCODING=letters)

    assert (wrote.code, wrote.err) == (ExitCode.DONE, "")
    assert wrote.out.startswith("#3 V01: minor defect")
    assert (asked.code, asked.err) == (ExitCode.DONE, "")
    assert r"blind \u2192 stuck" in asked.out
    assert (wrong.code, wrong.out) == (ExitCode.REFUSED, "")
    assert r'"V\u2192"' in wrong.err
    assert "blind → stuck" in small.shell("van show V01").out


NO_TEXT = "\udcff"  # how a byte that is no UTF-8 comes in
NOT_UTF8 = r'Error: "{}" is not UTF-8 text: type it again, or rename the file it names' "\n"


@pytest.mark.parametrize(
    ("line", "word"),
    [
        (f"van show V{NO_TEXT}", r"V\xff"),
        (f"odometer V{NO_TEXT} 42310mi", r"V\xff"),
        (f"defect report V01 --grade minor blind{NO_TEXT}", r"blind\xff"),
        (f"defect report V01 --grade minor blind --by {NO_TEXT}", r"\xff"),
        (f"--db {NO_TEXT}.db due", r"\xff.db"),
        (f"--as A{NO_TEXT} odometer V01 42310mi", r"A\xff"),
        (f"due -o {NO_TEXT}.txt", r"\xff.txt"),
        (f"load {NO_TEXT}.jsonl", r"\xff.jsonl"),
        (f"hire add V01 --from 2027-08-02 --through 2027-08-09 --ref {NO_TEXT}", r"\xff"),
        (f"no-{NO_TEXT}", r"no-\xff"),
        (f"calc vin {'A' * 70}{NO_TEXT}", f"{'A' * 60}…"),
    ],
)
def test_bytes_that_are_no_text_are_refused(
    small: Typed, tmp_path: Path, line: str, word: str
) -> None:
    """A van, words, a path, the book, who is writing: each with 2, and nothing is written."""
    assert small.shell(line) == (ExitCode.USAGE, "", NOT_UTF8.format(word))
    assert records(tmp_path) == 2


def test_a_setting_that_is_no_text_is_refused(small: Typed) -> None:
    """Named, with 2."""
    ran = small.shell(READ, FLEETCARE_AS=f"J{NO_TEXT}")

    assert ran == (
        ExitCode.USAGE, "",
        'Error: FLEETCARE_AS is "J\\xff", which is not UTF-8 text: set it again\n',
    )  # fmt: skip


def test_a_fault_in_a_file_whose_name_has_blanks_and_colons(small: Typed, tmp_path: Path) -> None:
    """Every fault in the order of its lines, each with its place."""
    known = '{"kind":"odometer","van":"V01","on":"2026-11-20","shown":"5000mi","a: 1":2}'
    strange = '{"kind":"odometer","van":"V99","on":"2026-11-20","shown":"5000mi"}'
    (tmp_path / "yard: week 3.jsonl").write_text(f"{strange}\n{known}\n" + "x\n" * 9)
    ran = small.shell('load "yard: week 3.jsonl"')

    assert (ran.code, ran.out) == (ExitCode.REFUSED, "")
    assert re.findall(r"yard: week 3\.jsonl:(\d+)", ran.err) == [str(n) for n in range(1, 12)]


# ---- nobody at the keyboard

CLOSED_IN = (
    "Error: standard input is closed, and this asks line by line: run it at a terminal, or give "
    "what it asks for by options or files (see --help)"
)


@pytest.mark.parametrize("what", ["handover", "return"])
def test_a_walk_without_a_keyboard_is_refused(small: Typed, tmp_path: Path, what: str) -> None:
    """Closed standard input is told as usage, with what to do instead; nothing is written."""
    small.shell(HIRE)
    before = records(tmp_path)
    ran = small.shell(f"{what} V01 H1 --by W", "<&-")

    assert (ran.code, ran.out) == (ExitCode.USAGE, "")
    assert ran.err.splitlines()[-1] == CLOSED_IN
    assert records(tmp_path) == before


def test_facts_from_a_closed_input_are_refused(small: Typed) -> None:
    """No fact could be read: not taken for an empty file."""
    assert small.shell("load -", "<&-") == (
        ExitCode.REFUSED, "", "Error: -: cannot be read: Bad file descriptor\n",
    )  # fmt: skip


def test_an_answer_that_is_no_text_is_asked_for_again(small: Typed, tmp_path: Path) -> None:
    """What was answered before it stays in the draft, and what follows can be typed."""
    small.shell(HIRE)
    (tmp_path / "keys").write_bytes(b"B 2040-01-01 photocard\n42310mi\n4/8\ntw\xfco\ntwo\n")
    ran = small.shell("handover V01 H1 --by W", "<keys")
    draft = (tmp_path / "handover-V01-H1.txt").read_text("utf-8")

    assert (ran.code, ran.out) == (ExitCode.INTERRUPTED, "")
    assert "keys: has a line break or a control character: type it on one line" in ran.err
    assert "[4/8  " in draft
    assert "[two  " in draft


# ---- the rest of what a machine may do


@pytest.mark.parametrize(
    ("line", "code", "err"),
    [
        ("backup -o .", 4, "Error: .: is there already: name another file\n"),
        ("backup check .", 4, "Error: ..manifest.json: cannot be read: No such file or directory\n"),
        ("due -o .", 4, "Error: .: is there already: name another file\n"),
        ("due -o no/due.txt", 4, "Error: no/due.txt: cannot be written: No such file or directory\n"),
        ("due -o /proc/due.txt", 4,
         "Error: /proc/due.txt: cannot be written: No such file or directory\n"),
        ("load .", 4, "Error: .: cannot be read: Is a directory\n"),
        (f"--db {'y' * 300} due", 4,
         f"Error: {'y' * 60}…: File name too long\nNothing was written.\n"),
        (f"record V01 gas-safety --pass --certificate C --by {'9' * 5000}", 4,
         f"Error: --by: #{'9' * 5000} is not an inspector\n"),
    ],
)  # fmt: skip
def test_odd_words_end_with_a_message(small: Typed, line: str, code: int, err: str) -> None:
    """Folders for files, places that can't be written, numbers and names past all measure."""
    assert small.shell(line) == (code, "", err)


def test_digits_that_are_no_number_are_a_name(small: Typed, tmp_path: Path) -> None:
    """A raised two counts nothing: as typed it is taken for who did a check, and for a reference."""
    (tmp_path / "facts.jsonl").write_text(
        '{"kind":"repair","van":"V01","on":"2026-11-20","by":"W","defect":"#²"}\n', "utf-8"
    )
    named = small.shell("record V01 habitation --pass --by ²")
    loaded = small.shell("load facts.jsonl")

    assert (named.code, named.err) == (ExitCode.DONE, "")
    assert "by ²" in small.shell("van show V01").out
    assert (loaded.code, loaded.out) == (ExitCode.REFUSED, "")
    assert loaded.err.startswith("Error: facts.jsonl:1 defect: ")


def test_a_folder_that_is_gone(typed: Typed, wheel: Path, tmp_path: Path) -> None:
    """Said so, with 4; a book named from the root is still asked."""
    (tmp_path / "gone").mkdir()
    command = f"cd gone && rmdir ../gone && '{sys.executable}' -m fleetcare --db new.db init"

    assert typed.run(["bash", "-c", command]) == (
        ExitCode.REFUSED, "",
        "Error: the folder you are in is gone: change to another one and run it again\n"
        "Nothing was written.\n",
    )  # fmt: skip


@pytest.mark.parametrize("width", ["0", "-5", "wide"])
def test_no_width_of_a_terminal_breaks_help(typed: Typed, width: str) -> None:
    """Help is printed at any width that is claimed, on a terminal that can do nothing."""
    ran = typed.shell("due --help", COLUMNS=width, TERM="dumb")

    assert (ran.code, ran.err) == (ExitCode.DONE, "")
    assert ran.out.startswith("Usage: fleetcare due [OPTIONS]\n")


def test_a_shell_that_asks_wrongly_gets_2(typed: Typed) -> None:
    """What no shell of ours sends ends as a misspelt command does, and never with 1."""
    ran = typed.shell("", _FLEETCARE_COMPLETE="none_complete")

    assert (ran.code, ran.out) == (ExitCode.USAGE, "")


def test_main_gives_the_streams_back(small: Typed) -> None:
    """Who runs a command in his own program has his own streams afterwards."""
    code = (
        "import sys\nfrom fleetcare.cli import app\nbefore = sys.stdin, sys.stdout, sys.stderr\n"
        "try:\n    app.main(['--version'])\nexcept SystemExit as ended:\n    assert ended.code == 0\n"
        "assert (sys.stdin, sys.stdout, sys.stderr) == before\n"
    )
    ran = small.run([sys.executable, "-c", code])

    assert (ran.code, ran.err, ran.out[:10]) == (0, "", "fleetcare ")
