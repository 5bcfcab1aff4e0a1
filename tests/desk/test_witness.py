"""The witness: what it is told, and what it shows of a book that was rewritten, cut or put back."""

from __future__ import annotations

import datetime as dt
import json
import shutil
import sqlite3
from contextlib import closing
from pathlib import Path

import click
import pytest

from fleetcare import clock
from fleetcare.desk import trust, witness
from fleetcare.errors import UsageFault
from tests.typed import refused, typed, typed_all
from tests.vans import GOOD

ON = dt.date(2026, 8, 1)
LATER = dt.date(2026, 8, 3)
AGAIN = dt.date(2026, 8, 10)


@pytest.fixture
def old(good: str, tmp_path: Path) -> str:
    """A copy of the book, of 29 records."""
    return str(shutil.copy(good, tmp_path / "old.db"))


@pytest.fixture
def told(good: str, old: str, tmp_path: Path) -> tuple[str, Path]:
    """A book and its witness of three lines: at 29, 30 and 32 records."""
    file = tmp_path / "stick" / "witness.jsonl"
    file.parent.mkdir()
    typed(good, f"witness --to {file}", ON)
    typed_all(good, ["odometer V01 42400mi", "witness"], LATER)
    typed_all(good, ['event V01 knock "gate"', "hold V01 --from 2026-09-01 why", "witness"], AGAIN)
    return good, file


def _held(place: str, file: Path) -> tuple[list[str], list[str]]:
    found = trust.verify(place, (), (str(file),))
    return found.held[1:], found.faults


def test_a_witness_is_told_and_bears_the_book_out(good: str, tmp_path: Path) -> None:
    """Each line says how many records, their root, and how they grew from the line before; the file
    is remembered, and the book is held to every line of it."""
    file = tmp_path / "w.jsonl"
    tallies = []
    said = []
    for day, line in ((ON, f"witness --to {file}"), (LATER, "witness"), (AGAIN, "witness")):
        said.append(typed(good, line, day))
        found = trust.status(good)
        tallies.append((found.records, found.root, found.tally))
        typed(good, "odometer V01 42400mi", day)
    lines = [json.loads(line) for line in file.read_text().splitlines()]

    assert said == [
        f'Line 1 of "{file}": 29 records, tally {tallies[0][2]}.\n',
        f'Line 2 of "{file}": 30 records, tally {tallies[1][2]}, grown from 29 by added records '
        "alone.\n",
        f'Line 3 of "{file}": 31 records, tally {tallies[2][2]}, grown from 30 by added records '
        "alone.\n",
    ]
    assert [list(line) for line in lines] == [["at", "size", "root", "consistency"]] * 3
    assert [(line["size"], line["root"]) for line in lines] == [tally[:2] for tally in tallies]
    assert lines[1]["at"] == "2026-08-03T12:00:00+00:00"
    assert [bool(line["consistency"]) for line in lines] == [False, True, True]
    assert _held(good, file) == (
        [
            f'"{file}" bears the book out line by line, from 29 records to 31: what it saw is '
            "there unchanged."
        ],
        [],
    )


def test_told_twice_of_the_same_book_it_holds(good: str, tmp_path: Path) -> None:
    """A week in which nothing was written down is a line too."""
    file = tmp_path / "w.jsonl"
    typed_all(good, [f"witness --to {file}", "witness"], ON)

    assert len(file.read_text().splitlines()) == 2
    assert _held(good, file)[1] == []


def test_an_old_copy_put_back_is_found(told: tuple[str, Path], old: str) -> None:
    """Shorter than a line says, or written on from the copy: the line is named and where to look."""
    _, file = told
    short = _held(old, file)
    typed_all(old, [f'event V01 knock "post {n}"' for n in range(3)], AGAIN)
    grown = _held(old, file)

    assert short == (
        [],
        [
            f'"{file}", line 2: the book held 30 records on Mon 3 Aug 2026 and holds 29: an old '
            "copy was put in its place, or its end was cut off"
        ],
    )
    assert grown == (
        [],
        [
            f'"{file}", line 2: the first 30 records are not those it saw on Mon 3 Aug 2026. Line '
            "1 holds, so what was changed stands among #30 to #30"
        ],
    )


def test_nothing_is_added_for_another_book(
    told: tuple[str, Path], old: str, tmp_path: Path
) -> None:
    """Neither for an old copy nor for one in which the same was typed; its lines stay as they are."""
    _, file = told
    other = str(tmp_path / "other.db")
    typed_all(other, f"init\n{GOOD}", ON)
    before = file.read_text()
    strange = refused(other, f"witness --to {file}")
    rewritten = refused(old, f"witness --to {file}")

    what_next = "nothing was added to it. Where it is of another book, name another with --to"
    assert strange == (
        f'"{file}", line 1: the first 29 records are not those it saw on Sat 1 Aug 2026: it is '
        f"the witness of another book, or this one was written anew from its beginning\n{what_next}"
    )
    assert rewritten == (
        f'"{file}", line 2: the book held 30 records on Mon 3 Aug 2026 and holds 29: an old copy '
        f"was put in its place, or its end was cut off\n{what_next}"
    )
    assert file.read_text() == before
    assert witness.wanted(other) == []


def test_a_damaged_file_is_refused_with_its_line(told: tuple[str, Path]) -> None:
    """Every character of the later lines changed, one after another; a line cut out, put in twice or
    cut short; other files."""
    place, file = told
    whole = file.read_text()
    first, second, third = whole.splitlines()
    moments = {at for at in range(len(second)) if at < second.index('", "size')}
    for at in range(0, len(second), 3):
        other = "7" if second[at] != "7" else "8"
        file.write_text("\n".join([first, second[:at] + other + second[at + 1 :], third]))
        if at in moments and json_reads(second[:at] + other + second[at + 1 :]):
            continue  # its moment is vouched for by a time-stamp alone
        said = refused(place, f"verify --against {file}", AGAIN)
        assert said.startswith((f"{file}:2: ", f"{file}:3: ")), (at, said)
    none = f"{file}:2: is no line of a witness: take a copy of it from where else one lies"
    leap = "does not follow from those before it, so one was changed: take a copy of it from"
    for lines, words in (
        ([first, second[:-1], third], none),
        ([first, "", second], none),
        ([first, third], f"{file}:2: {leap} where else one lies"),
        ([second, third], f"{file}:1: {leap} where else one lies"),
        ([first, third, second], f"{file}:2: {leap} where else one lies"),
        ([], f'{file}: holds no line: give what "fleetcare witness" wrote'),
    ):
        file.write_text("\n".join(lines))
        assert refused(place, f"verify --against {file}", AGAIN) == words
    assert refused(place, f"witness --to {place}", AGAIN) == (
        f"{place}:1: is no line of a witness: take a copy of it from where else one lies"
    )


def json_reads(line: str) -> bool:
    """Whether a line is JSON still, with a moment that can be read."""
    try:
        return dt.datetime.fromisoformat(json.loads(line)["at"]).tzinfo is not None
    except (ValueError, KeyError):
        return False


def test_line_ends_and_an_empty_file_are_no_damage(told: tuple[str, Path], tmp_path: Path) -> None:
    """A share that writes other line ends; a file somebody touched first."""
    place, file = told
    file.write_bytes(file.read_bytes().replace(b"\n", b"\r\n"))
    (tmp_path / "new.jsonl").touch()

    assert _held(place, file)[1] == []
    assert typed(place, f"witness --to {tmp_path}/new.jsonl", AGAIN).startswith("Line 1 of ")


def test_a_status_warns(told: tuple[str, Path]) -> None:
    """When the newest line is more than eight days old, the file is gone or it is damaged; nothing
    is said of a book that has no witness."""
    place, file = told
    at = dt.datetime.combine(AGAIN, dt.time(12), dt.UTC)
    said = {}
    for name, later in (("eight", dt.timedelta(8)), ("more", dt.timedelta(8, 60))):
        with clock.standing_at(at + later):
            said[name] = witness.wanted(place)
    shown = typed(place, "status", dt.date(2026, 8, 20)).splitlines()[-1]
    file.rename(file.with_suffix(".away"))
    gone, anew = witness.wanted(place), refused(place, "witness", AGAIN)
    file.write_text("{}\n")
    damaged = witness.wanted(place)

    old = (
        f'the newest line of the witness "{file}" is more than 8 days old: add one with fleetcare '
        "witness"
    )
    lost = "bring it back, or begin another with fleetcare witness --to FILE"
    assert said == {"eight": [], "more": [old]}
    assert shown == f"Caution: {old}"
    assert gone == [f'the witness "{file}" is not found: {lost}']
    assert anew == f"{file}: is gone since it was told last: {lost}"
    assert damaged == [
        f"the witness {file}:1: is no line of a witness: take a copy of it from where else one lies"
    ]


def test_what_cannot_be_told_is_refused(good: str, empty_place: str, tmp_path: Path) -> None:
    """No file named, a folder, a folder that is not there; a book that is empty or not sound."""
    with pytest.raises(UsageFault) as unsaid:
        witness.add(good, None)
    assert str(unsaid.value) == (
        "say which file is the witness: add --to FILE, one that lies away from the book, on a share "
        "or a stick"
    )
    with pytest.raises(click.UsageError) as address:
        typed(good, "witness --to owner@example.org", ON)
    assert address.value.message == (
        '--to "owner@example.org" is an address: name a file, and "fleetcare mail due" takes it along'
    )
    assert (
        refused(good, f"witness --to {tmp_path}") == f"{tmp_path}: cannot be read: Is a directory"
    )
    assert refused(good, f"witness --to {tmp_path}/no/w") == (
        f"{tmp_path}/no/w: cannot be written: No such file or directory"
    )
    assert refused(empty_place, f"witness --to {tmp_path}/w") == (
        "--db: the book holds no records: there is nothing to witness"
    )
    for leaf in ("0" * 64, "no hash"):
        with closing(sqlite3.connect(good)) as book:
            book.execute("DROP TRIGGER IF EXISTS record_no_update")
            book.execute("UPDATE record SET leaf = ? WHERE number = 21", (leaf,))
            book.commit()
        assert refused(good, f"witness --to {tmp_path}/w") == (
            "--db: the book is not sound: see what is at fault with fleetcare verify"
        )
    assert not (tmp_path / "w").exists()


def test_on_a_server_the_setting_names_it(
    place: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A PostgreSQL book has nothing beside it; either engine's book is borne out."""
    typed(place, "init", ON)
    monkeypatch.setenv("FLEETCARE_WITNESS", str(tmp_path / "w.jsonl"))
    typed(place, f"witness --to {tmp_path}/w.jsonl", ON)
    typed(place, "witness", LATER)

    assert _held(place, tmp_path / "w.jsonl")[1] == []
    assert [p.name for p in tmp_path.iterdir() if "last-witness" in p.name] == (
        [] if "://" in place else ["book.db.last-witness.json"]
    )
