"""Books of every schema there was, made by the code of their day: brought up, they answer as ever.

`tests/golden/books/000N.db.gz` is the sample as typed through the last code whose newest schema was
000N (0001: 0.1.0 before the yard, 0002: 0.2.0, 0003: 0.3.0, 0004: 0.5.0, 0005: 0.9.0, 0006: 0.12.0,
0007: 0.13.0):
the whole file after a checkpoint, its rules those of that version with the firm's own file laid on.

Asking adopts no newer rules, the first write does. So each book is asked twice: as it was brought
up, and after an odometer reading typed on its own day, when the program's rules of now judge it.
What is answered then changes with the rulebook, and with it the tally, for the text is in the tree.

Beside each book lie `….txt` (the tally, `van list`, `due`, `hireable` for each van over a fortnight),
`…-todo.txt` (the days on which work can be done) and `…-words.txt` (reasons, sources, cautions).
`python -m tests.store.test_old_books` writes these anew: look at the difference. Books are never
written anew.
"""

from __future__ import annotations

import datetime as dt
import gzip
import json
import sqlite3
import tempfile
from contextlib import closing
from pathlib import Path
from typing import Any

import pytest

from fleetcare import chance
from fleetcare.store import migrate
from fleetcare.store.tables import SCHEMA
from tests.typed import typed

BOOKS = Path(__file__).parent.parent / "golden" / "books"
SCHEMAS = ("0001", "0002", "0003", "0004", "0005", "0006", "0007")
TODAY = dt.date(2026, 11, 23)  # the day of each book's last record
READING = "odometer V02 46500mi"
FORTNIGHT = "--from 2026-12-14 --through 2026-12-27"
DAYS = ("do_from", "do_by")
NAMES = ("van", "rule", "place")  # named before a line is said
WORDS = ("reason", "source", "cautions", "do", "judged_for", "first_to_lapse")

Parts = dict[str, list[str]]  # lines of answers, of days and of words


def unpacked(schema: str, folder: Path) -> str:
    """A copy of a book in a folder, as it was left."""
    place = folder / f"{schema}.db"
    place.write_bytes(gzip.decompress((BOOKS / f"{schema}.db.gz").read_bytes()))
    return str(place)


def answers(place: str) -> Parts:
    """What a book says as it was brought up, and what it says after a write."""
    found: Parts = {"": [], "-todo": [], "-words": []}
    _asked(place, "brought up", found)
    with chance.seeded("a reading"):
        said = typed(place, READING, TODAY)
    found["-words"] += [f"written | {line}" for line in said.splitlines()]
    _asked(place, "written to", found)
    return found


def _asked(place: str, when: str, found: Parts) -> None:
    """Every answer of a book, as lines added to those found."""
    tally = _json(place, "status")
    verified = _json(place, "verify")
    found[""] += [
        f"{when} | {tally['records']} records | {tally['root']}",
        f"{when} | verified | {_line(verified)}",
        f"{when} | rules | {tally['rulebook']}",
    ]
    fleet = _json(place, "van list")
    for van in fleet:
        _put(f"{when} | {van['van']} | in the list", van, found)
    for item in _json(place, f"due --on {TODAY}")["items"]:
        _put(f"{when} | {item['van']} | due | {_rule(item)}", item, found)
    for van in fleet:
        hire = _json(place, f"hireable {van['van']} {FORTNIGHT} --on {TODAY}")
        named = f"{when} | {van['van']} | fortnight"
        for key in ("to_do", "at_handover", "blocking"):
            for item in hire.pop(key):
                _put(f"{named} | {key} | {_rule(item)}", item, found)
        _put(named, hire, found)


def _rule(item: dict[str, Any]) -> str:
    return f"{item['rule']} {item['place'] or '-'}"


def _put(named: str, row: dict[str, Any], found: Parts) -> None:
    """A row's answers, days and words, each among their own; what is empty is left out."""
    parts: dict[str, dict[str, Any]] = {part: {} for part in found}
    for key, value in row.items():
        if key not in NAMES and value not in (None, []):
            part = "-todo" if key in DAYS else "-words" if key in WORDS else ""
            parts[part][key] = value
    for part, said in parts.items():
        if said or not part:
            found[part].append(f"{named} | {_line(said)}")


def _line(row: dict[str, Any]) -> str:
    return json.dumps(row, ensure_ascii=False)


def _json(place: str, line: str) -> Any:
    return json.loads(typed(place, f"{line} --json", TODAY))


def differences(schema: str, kept: list[str], made: list[str]) -> list[str]:
    """Each line that came or went, and where only their order is another, that."""
    was, now = set(kept), set(made)
    found = [f"{schema}, was: {line}" for line in kept if line not in now]
    found += [f"{schema}, is:  {line}" for line in made if line not in was]
    if not found and kept != made:
        found = [f"{schema}: the same lines, otherwise often or in another order"]
    return found


def _kept(schema: str, part: str) -> list[str]:
    return (BOOKS / f"{schema}{part}.txt").read_text("utf-8").splitlines()


@pytest.fixture(scope="module", params=SCHEMAS)
def said(request: pytest.FixtureRequest, tmp_path_factory: pytest.TempPathFactory) -> Any:
    """The schema of an old book, and all that it says once brought up."""
    place = unpacked(request.param, tmp_path_factory.mktemp("old"))
    migrate.upgrade(place)
    return request.param, answers(place)


def test_there_is_a_book_of_every_schema(tmp_path: Path) -> None:
    """Each is whole in its one file, is of the schema it is named after, and is brought up."""
    migrations = Path(__file__).parent.parent.parent / "migrations" / "versions"

    assert [p.name[:4] for p in sorted(migrations.glob("0*.py"))] == list(SCHEMAS)
    assert [p.name for p in sorted(BOOKS.glob("*.gz"))] == [f"{s}.db.gz" for s in SCHEMAS]
    for schema in SCHEMAS:
        place = unpacked(schema, tmp_path)
        assert _version(place) == schema
        assert migrate.upgrade(place) is (schema != SCHEMA)
        assert _version(place) == SCHEMA


def _version(place: str) -> str:
    with closing(sqlite3.connect(place)) as book:
        assert book.execute("PRAGMA integrity_check").fetchall() == [("ok",)]
        found: str = book.execute("SELECT version_num FROM alembic_version").fetchone()[0]
    return found


def test_an_old_book_gives_the_answers_it_gave(said: Any) -> None:
    """The tally, the list of vans, what is due, and each van's fortnight, before a write and after."""
    schema, made = said

    assert differences(schema, _kept(schema, ""), made[""]) == []


def test_an_old_book_has_its_work_done_on_the_days_it_had(said: Any) -> None:
    """The first and last day for the work of each item due and of each hire."""
    schema, made = said

    assert differences(schema, _kept(schema, "-todo"), made["-todo"]) == []


def test_an_old_book_says_why_in_the_words_it_had(said: Any) -> None:
    """Reasons, sources and cautions, and what the first write says that it changed."""
    schema, made = said

    assert differences(schema, _kept(schema, "-words"), made["-words"]) == []


def test_a_figure_changed_in_an_old_book_is_seen(tmp_path: Path) -> None:
    """The day of a gas check moved by three months behind the program's back: the book says that it was
    touched, and what falls due of that van is no more what it was."""
    place = unpacked("0001", tmp_path)
    with closing(sqlite3.connect(place)) as book, book:
        trigger, made = book.execute(
            "SELECT name, sql FROM sqlite_master WHERE type = 'trigger'"
            " AND tbl_name = 'checks' AND sql LIKE '%UPDATE%'"
        ).fetchone()
        book.execute(f"DROP TRIGGER {trigger}")
        book.execute("""UPDATE checks SET "on" = '2025-08-03' WHERE number = 489""")
        book.execute(made)
    migrate.upgrade(place)
    found: Parts = {"": [], "-todo": [], "-words": []}
    _asked(place, "brought up", found)

    before = [line for line in _kept("0001", "") if line.startswith("brought up")]
    changed = differences("0001", before, found[""])
    assert any("#489" in line for line in changed if "| verified |" in line)
    assert any("| V05 | due | gas-safety-check - |" in line for line in changed)
    assert {line.split(" | ")[1] for line in changed} == {"verified", "V05"}


def test_one_answer_turned_is_seen() -> None:
    """A no that became a yes is named with its schema, van and question."""
    kept = _kept("0002", "")
    line = next(x for x in kept if "| fortnight |" in x and '"hireable": "no"' in x)
    other = line.replace('"hireable": "no"', '"hireable": "yes"')
    made = [other if x == line else x for x in kept]

    assert differences("0002", kept, kept) == []
    assert differences("0002", kept, made) == [f"0002, was: {line}", f"0002, is:  {other}"]
    assert differences("0002", kept, kept[::-1]) == [
        "0002: the same lines, otherwise often or in another order"
    ]


def main() -> None:
    """Write the answers anew, by the books as they are frozen."""
    with tempfile.TemporaryDirectory() as folder:
        for schema in SCHEMAS:
            place = unpacked(schema, Path(folder))
            migrate.upgrade(place)
            for part, lines in answers(place).items():
                (BOOKS / f"{schema}{part}.txt").write_bytes(("\n".join(lines) + "\n").encode())


if __name__ == "__main__":
    main()
