"""The proof of one record: what it shows, and what it is checked by without the book."""

from __future__ import annotations

import datetime as dt
import hashlib
import json
import sqlite3
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from fleetcare.desk import handbook, proof, trust
from fleetcare.errors import Refused, UsageFault
from tests.blocks import blocks
from tests.oracle.proofs import holds
from tests.typed import typed

ON = dt.date(2026, 8, 1)
OTHER = hashlib.sha256(b"other").hexdigest()


@pytest.fixture
def file(good: str, tmp_path: Path) -> Path:
    """The proof of the gas check, in a file."""
    made = tmp_path / "proof.json"
    typed(good, f"prove 21 -o {made}", ON)
    return made


def test_each_record_is_proved_to_be_in_the_book(good: str) -> None:
    """Somebody else's library finds every record under the root, at every size of the book from the
    record on, and under no other root, index or text."""
    size = trust.status(good).records
    for number in range(1, size + 1):
        for upto in (number, (number + size) // 2, size):
            made = proof.prove(good, number, upto)
            root = made["root_hash"]
            assert (made["record"], made["tree_size"]) == (number, upto)
            assert holds(made, root)
            assert not holds(made, OTHER)
            assert not holds(made | {"leaf": made["leaf"].replace(":", ": ", 1)}, root)
            assert not holds(made | {"leaf_index": number, "record": number + 1}, root)
            assert json.loads(made["leaf"])["number"] == number
        assert root == trust.status(good).root


def test_a_proof_is_checked_from_its_file_alone(good: str, file: Path) -> None:
    """It says what stands in the record, and holds the tally to as many bits as were given."""
    found = trust.status(good)
    Path(good).unlink()
    made = json.loads(file.read_text("utf-8"))
    full = f"{found.records} {found.tally}"
    whole = proof.check(str(file), (full,))
    piece = proof.check(str(file), (f"{found.records} {found.root[:8]}",))
    other = proof.check(str(file), (f"{found.records} 0000-0000-0000-0000",))
    earlier = proof.check(str(file), ("28 0000-0000-0000-0000",))

    leads = (
        "#21 is one of the 29 records under the root that the proof names, and was written down "
        f"as: {made['leaf']}"
    )
    assert '"kind":"check/1","number":21' in made["leaf"]
    assert whole.sound
    assert whole.held == [
        leads,
        f"The first 29 records are those of the tally '{full}': 128 bits of its root agree.",
    ]
    assert (piece.held, piece.faults, piece.sound) == ([leads], [], False)
    assert piece.hints == [
        f"the first 29 records agree with the 32 bits of the tally '29 {found.root[:8]}', which is "
        "a hint and no proof: a book can be forged to agree with fewer than 64 bits. Give a tally "
        "with more of its root"
    ]
    assert other.faults == [
        "the first 29 records are not those of the tally '29 0000-0000-0000-0000'"
    ]
    assert earlier.faults == [
        "the proof is of 29 records and the tally '28 0000-0000-0000-0000' of 28: ask whoever has "
        "the book for the proof of that size, made with fleetcare prove 21 --size 28"
    ]


def _by_the_page(proof_file: Path) -> str:
    """What the lines on the owner's page say of a proof, run as they stand there."""
    shown = [s.command for block in blocks(handbook.page("owner").text) for s in block]
    (command,) = [one for one in shown if one.startswith("cat > check.py")]
    program = proof_file.with_name("check.py")
    program.write_text(command.partition("\n")[2].removesuffix("END"), "utf-8")
    done = subprocess.run(
        [sys.executable, "-I", str(program), str(proof_file)],
        capture_output=True, text=True, check=False, cwd=proof_file.parent,
    )  # fmt: skip
    return done.stdout + done.stderr


def test_the_lines_on_the_page_check_a_proof(good: str, tmp_path: Path) -> None:
    """They come to the tally as the due report prints it, for a first record, a last and one
    between; and to another where a word, a hash or a number was changed."""
    file = tmp_path / "proof.json"
    tally = typed(good, "due", ON).splitlines()[-1].removeprefix("Tally ") + "\n"
    for number in (1, 21, 29):
        made = proof.prove(good, number)
        file.write_text(json.dumps(made), "utf-8")
        assert _by_the_page(file) == tally
        for change in (
            {"leaf": made["leaf"] + " "},
            {"inclusion_path": [OTHER, *made["inclusion_path"][1:]]},
            {"inclusion_path": made["inclusion_path"][1:]},
            {"inclusion_path": [*made["inclusion_path"], OTHER]},
            {"leaf_index": made["leaf_index"] ^ 1},
        ):
            file.write_text(json.dumps(made | change), "utf-8")
            assert _by_the_page(file) != tally


UNLED = "the proof does not lead from #{} to the root it names"
UNSAID = "the text in the proof is not what #{} was written down as"


@pytest.mark.parametrize(
    ("change", "faults"),
    [
        (lambda p: {"leaf": p["leaf"].replace("pass", "fail")}, [UNSAID.format(21)]),
        (lambda _: {"leaf": "[]", "leaf_hash": hashlib.sha256(b"\0[]").hexdigest()},
         [UNLED.format(21), UNSAID.format(21)]),
        (lambda p: {"record": 22}, [UNLED.format(22), UNSAID.format(22)]),
        (lambda p: {"record": 22, "leaf_index": 21}, [UNLED.format(22), UNSAID.format(22)]),
        (lambda p: {"tree_size": 20}, [UNLED.format(21)]),
        (lambda p: {"root_hash": OTHER}, [UNLED.format(21)]),
        (lambda p: {"inclusion_path": p["inclusion_path"][1:]}, [UNLED.format(21)]),
        (lambda p: {"inclusion_path": [*p["inclusion_path"], OTHER]}, [UNLED.format(21)]),
    ],
)  # fmt: skip
def test_a_proof_that_was_changed_does_not_hold(
    file: Path, change: Callable[[Any], dict[str, Any]], faults: list[str]
) -> None:
    """One word of the record, another number, another root, a hash too few or too many."""
    made = json.loads(file.read_text("utf-8"))
    file.write_text(json.dumps(made | change(made)), "utf-8")
    found = proof.check(str(file), (f"29 {made['root_hash']}",))

    assert (found.faults, found.held, found.sound) == (faults, [], False)


@pytest.mark.parametrize(
    "change",
    [
        {"record": True}, {"leaf": None}, {"leaf": "\x1b[2J"}, {"leaf": "\ud800"},
        {"leaf_hash": "ab"}, {"root_hash": 7}, {"inclusion_path": "ab"}, {"inclusion_path": [None]},
        {"tree_size": "30"}, None, [], "x",
    ],
)  # fmt: skip
def test_a_file_that_is_no_proof_is_refused(file: Path, change: Any) -> None:
    """A field of another sort, a text that no terminal may be given, no object at all."""
    made = json.loads(file.read_text("utf-8"))
    file.write_text(json.dumps(made | change if isinstance(change, dict) else change), "utf-8")
    with pytest.raises(Refused) as fault:
        proof.check(str(file), ("29 7F3A",))

    assert (
        str(fault.value) == f'{file}: is no proof: give what "fleetcare prove NUMBER -o FILE" wrote'
    )


def test_what_cannot_be_proved_or_read_is_said(good: str, file: Path, tmp_path: Path) -> None:
    """A record or size that is not there, a file that is not, a tally that is none, a record that
    somebody changed."""
    for words, told in (
        ((30, None), "there is no record #30"),
        ((21, 20), "there is no record #21 among the first 20"),
        ((21, 99), "--size: the book holds 29 records: 99 is a size it never had"),
    ):
        with pytest.raises(Refused) as fault:
            proof.prove(good, *words)
        assert str(fault.value) == told
    with pytest.raises(Refused) as fault:
        proof.check(str(tmp_path / "none.json"), ("29 7F3A",))
    assert str(fault.value) == f"{tmp_path}/none.json: cannot be read: No such file or directory"
    with pytest.raises(UsageFault):
        proof.check(str(file), ("29 ---",))
    connection = sqlite3.connect(good)
    connection.execute("DROP TRIGGER checks_no_update")
    connection.execute("UPDATE checks SET certificate = 'G9' WHERE number = 21")
    connection.commit()
    connection.close()
    with pytest.raises(Refused) as fault:
        proof.prove(good, 21)
    assert str(fault.value) == (
        "#21 is not as it was written down. See what else is not with: fleetcare verify"
    )
