"""Tallies and proofs as people type them: exit codes, and the words they come with."""

from __future__ import annotations

import datetime as dt
import json
import sqlite3
from pathlib import Path

import pytest

from fleetcare.errors import ExitCode
from tests.cli.conftest import ADD, READ, Ran, Run
from tests.typed import typed


@pytest.fixture
def begun(run: Run) -> tuple[Run, str]:
    """A book of three records, and its tally as the due report prints it."""
    for line in ("init", ADD, READ):
        run(line)
    return run, run("due").out.splitlines()[-1]


def _ended(ran: Ran) -> tuple[int, list[str]]:
    return ran.code, (ran.out + ran.err).splitlines()


def test_verify_says_how_much_a_tally_proves(begun: tuple[Run, str]) -> None:
    """As printed it proves, eight digits of it are a hint, another is refused, signs are no tally."""
    run, tally = begun
    root = json.loads(run("status --json").out)["root"]
    whole, short, middle = (
        run(f'verify --tally "{one}"') for one in (tally, f"3 {root[:8]}", f"3 {root[:20]}")
    )
    wrong, none = (run(f'verify --tally "{one}"') for one in ("3 0000-0000", "678 ---------"))

    assert len(tally) == len("Tally 3 records ") + 39
    assert (whole.code, whole.err) == (ExitCode.DONE, "")
    assert whole.out.splitlines()[1] == (
        f"The first 3 records are those of the tally '{tally}': 128 bits of its root agree."
    )
    assert middle.code == ExitCode.DONE
    assert middle.out.splitlines()[1].endswith("': 80 bits of its root agree.")
    assert short.code == ExitCode.NO
    assert short.out.splitlines()[1] == (
        f"A HINT: the first 3 records agree with the 32 bits of the tally '3 {root[:8]}', which is "
        "a hint and no proof: a book can be forged to agree with fewer than 64 bits. Give a tally "
        "with more of its root"
    )
    assert wrong.code == ExitCode.NO
    assert wrong.out.splitlines()[1] == (
        "AT FAULT: the first 3 records are not those of the tally '3 0000-0000'"
    )
    assert _ended(none) == (
        ExitCode.USAGE,
        [
            'Error: --tally: "678 ---------" is not a tally: type it as printed, like '
            '"4,812 7F3A-91C0-22D4-0B6E-5A17-C8F3-E049-6BD2"'
        ],
    )


def test_a_proof_is_checked_without_a_book(begun: tuple[Run, str], tmp_path: Path) -> None:
    """From its file and the tally alone: it holds, is a hint, is of another tally, was changed."""
    run, tally = begun
    run("prove 2 -o proof.json")
    run('odometer V01 42320mi --on 2026-11-22 --even-so "read twice"')
    (tmp_path / "fleet.db").unlink()
    made = json.loads((tmp_path / "proof.json").read_text("utf-8"))
    (tmp_path / "other.json").write_text(json.dumps(made | {"leaf": "{}"}))
    check = "prove --check proof.json --tally"
    whole = run(f'{check} "{tally}"', db=None)
    short = run(f'{check} "3 {made["root_hash"][:8]}"', db=None)
    later = run(f'{check} "4 0000-0000-0000-0000"', db=None)
    changed = run(f'prove --check other.json --tally "{tally}"', db=None)
    unread = run(f'{check} "3 "', db=None)

    lead = (
        "#2 is one of the 3 records under the root that the proof names, and was written down as: "
        f"{made['leaf']}"
    )
    held = f"The first 3 records are those of the tally '{tally}': 128 bits of its root agree."
    assert _ended(whole) == (ExitCode.DONE, [lead, held])
    assert _ended(short)[0] == ExitCode.NO
    assert short.out.splitlines()[1].startswith(
        f"A HINT: the first 3 records agree with the 32 bits of the tally '3 {made['root_hash'][:8]}'"
    )
    assert _ended(later) == (
        ExitCode.NO,
        [
            lead,
            "AT FAULT: the proof is of 3 records and the tally '4 0000-0000-0000-0000' of 4: ask "
            "whoever has the book for the proof of that size, made with fleetcare prove 2 --size 4",
        ],
    )
    assert _ended(changed) == (
        ExitCode.NO,
        ["AT FAULT: the text in the proof is not what #2 was written down as"],
    )
    assert unread.code == ExitCode.USAGE


@pytest.mark.parametrize(
    ("line", "words"),
    [
        (
            "prove",
            'name the record, or a proof to check: "fleetcare --db FILE prove NUMBER", or '
            '"fleetcare prove --check FILE --tally TALLY"',
        ),
        (
            'prove 2 --tally "3 7F3A"',
            'name the record, or a proof to check: "fleetcare --db FILE prove NUMBER", or '
            '"fleetcare prove --check FILE --tally TALLY"',
        ),
        (
            'prove 2 --check proof.json --tally "3 7F3A"',
            "--check is of a proof that is made: leave out NUMBER, --size, -o",
        ),
        (
            "prove --check proof.json",
            "say which tally the proof is held to: add --tally as it was printed on paper",
        ),
    ],
)
def test_half_a_question_is_no_question(begun: tuple[Run, str], line: str, words: str) -> None:
    """What is missing, or goes with something else, is said: exit code 2."""
    run, _ = begun
    ran = run(line)

    assert ran.code == ExitCode.USAGE
    assert ran.err.splitlines()[-1] == f"Error: {words}"


def test_a_proof_under_an_earlier_tally(begun: tuple[Run, str]) -> None:
    """A tally printed a record ago is met by the proof of its size."""
    run, tally = begun
    run('hold V01 --from 2026-11-24 "step being mended"')
    run("prove 2 --size 3 -o proof.json")

    assert run(f'prove --check proof.json --tally "{tally}"', db=None).code == ExitCode.DONE


def test_verify_names_what_was_dropped_and_added(begun: tuple[Run, str], tmp_path: Path) -> None:
    """A trigger, an index and a table, by somebody with a database program: exit code 3."""
    run, _ = begun
    book = sqlite3.connect(tmp_path / "fleet.db")
    book.execute("DROP TRIGGER said_no_update")
    book.execute("DROP INDEX ix_hires_ref")
    book.execute("CREATE TABLE mine (a)")
    book.commit()
    book.close()

    assert _ended(run("verify")) == (
        ExitCode.NO,
        [
            'AT FAULT: the index "ix_hires_ref" was dropped',
            'AT FAULT: the table "mine" is foreign: this program makes none of that name',
            'AT FAULT: the trigger "said_no_update" was dropped',
        ],
    )
    assert run("dump -o book.jsonl").code == ExitCode.DONE
    assert run("load book.jsonl", db="again.db").code == ExitCode.DONE
    assert run("verify", db="again.db").code == ExitCode.DONE


def test_a_clock_once_ahead_is_said(begun: tuple[Run, str], tmp_path: Path) -> None:
    """By verify, which is content, and beside or under every answer as known on a day."""
    run, _ = begun
    place = str(tmp_path / "fleet.db")
    typed(place, 'hold V01 --from 2099-01-01 "step being mended"', dt.date(2099, 1, 1))
    run('event V01 knock "gatepost"')
    verified, due, fleet, by_size = (
        run(line)
        for line in (
            "verify", "due --known-at 2098-12-31", "van list --known-at 2098-12-31",
            "van list --known-at @5",
        )
    )  # fmt: skip

    said = (
        "the clock was ahead when #4 was written down: #4 to #5 bear moments from Thu 1 Jan 2099 "
        "12:00 UTC on"
    )
    left_out = f"{said}, left out here whenever written down. Ask by a size, like --known-at @5"
    assert verified.code == ExitCode.DONE
    assert verified.out.splitlines()[1:] == [
        f"Caution: {said}. What was known then is asked by a size, like --known-at @5"
    ]
    assert f"Note: {left_out}" in " ".join(due.out.split())
    assert fleet.err == f"Caution: {left_out}\n"
    assert (by_size.err, by_size.code) == ("", ExitCode.DONE)


def test_a_witness_as_typed(begun: tuple[Run, str], tmp_path: Path) -> None:
    """Told, held to, remembered: 0. A copy put back: 3. A damaged file, another book: 4. None named:
    2."""
    run, tally = begun
    unsaid = run("witness")
    run("backup -o copy.db")
    run("restore copy.db --into old.db")
    first = run("witness --to w.jsonl")
    run('event V01 knock "gatepost"')
    second = run("witness")
    held, back = run("verify --against w.jsonl"), run("verify --against w.jsonl", db="old.db")
    added = run("witness --to w.jsonl", db="old.db")
    as_json = json.loads(run("verify --against w.jsonl --json", db="old.db").out)
    lines = (tmp_path / "w.jsonl").read_text().splitlines()
    (tmp_path / "w.jsonl").write_text("\n".join([lines[0], lines[1][:-1]]))
    damaged = run("verify --against w.jsonl")

    assert _ended(unsaid) == (
        ExitCode.USAGE,
        [
            "Error: say which file is the witness: add --to FILE, one that lies away from the book, "
            "on a share or a stick"
        ],
    )
    printed = tally.removeprefix("Tally 3 records ")
    assert _ended(first) == (
        ExitCode.DONE,
        [f'Line 1 of "w.jsonl": 3 records, tally {printed}.'],
    )
    assert second.code == ExitCode.DONE
    assert second.out.endswith(", grown from 3 by added records alone.\n")
    assert held.code == ExitCode.DONE
    assert held.out.splitlines()[1] == (
        '"w.jsonl" bears the book out line by line, from 3 records to 4: what it saw is there '
        "unchanged."
    )
    assert back.code == ExitCode.NO
    (fault,) = as_json["faults"]
    assert fault.startswith('"w.jsonl", line 2: the book held 4 records on ')
    assert fault.endswith(" and holds 3: an old copy was put in its place, or its end was cut off")
    assert back.out.splitlines()[1] == f"AT FAULT: {fault}"
    assert _ended(added) == (
        ExitCode.REFUSED,
        [
            f"Error: {fault}",
            "       nothing was added to it. Where it is of another book, name another with --to",
        ],
    )
    assert _ended(damaged) == (
        ExitCode.REFUSED,
        ["Error: w.jsonl:2: is no line of a witness: take a copy of it from where else one lies"],
    )


def test_a_time_stamp_is_asked_for_as_typed(begun: tuple[Run, str], tmp_path: Path) -> None:
    """The request is a new file: 0, or 4 where one is there; what is no reply is refused."""
    run, _ = begun
    before = run("witness --to w.jsonl --timestamp-request line.tsq")
    run("witness --to w.jsonl")
    asked, again = (run("witness --timestamp-request line.tsq") for _ in range(2))
    reply = run("witness --timestamp-reply line.tsq --ca fleet.db")

    assert _ended(before) == (
        ExitCode.REFUSED,
        ["Error: w.jsonl: cannot be read: No such file or directory"],
    )
    assert _ended(asked) == (ExitCode.DONE, ['Wrote "line.tsq".'])
    assert len((tmp_path / "line.tsq").read_bytes()) == 69
    assert _ended(again) == (
        ExitCode.REFUSED,
        ["Error: line.tsq: is there already: name another file"],
    )
    assert _ended(reply) == (ExitCode.REFUSED, ["Error: fleet.db: holds no certificate in PEM"])
