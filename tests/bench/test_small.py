"""The benchmark's fleets give the answers they should; their speed is printed, never asserted."""

from __future__ import annotations

import datetime as dt
import json
import shutil
import sqlite3
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from fleetcare.desk import questions
from fleetcare.rules.read import read_book
from fleetcare.shipped import rulebook_files
from tests.bench import busy, fleet, run, working
from tests.typed import typed

VANS = 8
ADDED = {  # records beyond the sleeping fleet's
    "tenth_touched": 2,
    "half_touched": 2 * 4,
    "inspector_added": 2,
    "rules_adopted": 1,
    "stated_again": VANS,
    "let_out": VANS * 30 * 3,
    "second_home": 1 + VANS // 2,
    "slips_withdrawn": VANS // 2,
}
STOPPING = (busy.tenth_touched, busy.half_touched, busy.rules_adopted)  # hires, since last week
STOPS = ("failed", "no record", "cannot say", "overdue")
Item = tuple[str, str, str | None]
Builder = Callable[[str], None]


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Where a tiny sleeping fleet lies, to be copied."""
    made = tmp_path_factory.mktemp("fleets")
    fleet.ready(made, VANS)
    return made


def _size(place: str) -> int:
    connection = sqlite3.connect(place)
    ((size,),) = connection.execute("SELECT size FROM ledger_head")
    connection.close()
    return int(size)


def _size_a_week_ago(place: str) -> int:
    week_ago = str(fleet.TODAY - dt.timedelta(weeks=1))
    connection = sqlite3.connect(place)
    query = "SELECT max(number) FROM record WHERE recorded_at < ?"
    ((size,),) = connection.execute(query, (week_ago,))
    connection.close()
    return int(size)


def _hireable(place: str, line: str) -> dict[str, Any]:
    found: dict[str, Any] = json.loads(typed(place, f"hireable {line} --on {fleet.TODAY} --json"))
    return found


def _blocking(place: str, van: str, line: str) -> set[Item]:
    asked = _hireable(place, f"{van} {line}")
    return {(van, line["rule"], line["place"]) for line in asked["blocking"]}


def _refs(place: str) -> list[tuple[str, str]]:
    connection = sqlite3.connect(place)
    query = "SELECT van, ref FROM hires WHERE through_on >= ? ORDER BY van, ref"
    found = connection.execute(query, (str(fleet.TODAY),)).fetchall()
    connection.close()
    return found


def newly_stopped(place: str) -> set[Item]:
    """Each booking still to come asked by itself, as known now and as known a week ago: what stops
    it now and did not then."""
    size = _size_a_week_ago(place)
    found: set[Item] = set()
    for van, ref in _refs(place):
        now = _blocking(place, van, f"--ref {ref}")
        if now:
            found |= now - _blocking(place, van, f"--ref {ref} --known-at @{size}")
    return found


def stopping_today(place: str) -> set[Item]:
    """Each van asked by itself for today; the hires that have it are no rule."""
    day = f"--from {fleet.TODAY} --through {fleet.TODAY}"
    asked = set().union(*(_blocking(place, f"V{n:05d}", day) for n in range(VANS)))
    return {item for item in asked if item[1] != "hire"}


def _everything(place: str) -> set[tuple[str, str, str | None, str, object]]:
    """Every item that ever ends, with how it stands and its last good day; the other home's rules
    by the names they have here."""
    items = questions.due(place, fleet.TODAY, 520).items
    return {
        (i.van, i.rule.removeprefix(f"{busy.HOME}-"), i.place, i.standing, i.last_good_day)
        for i in items
    }


@pytest.mark.parametrize("builder", [*busy.WORKING.values(), busy.slips_withdrawn])
def test_a_working_fleet_answers_as_its_vans_do(folder: Path, builder: Builder) -> None:
    """Each fleet holds the records it says, and its due report names what has newly stopped a hire
    and what stops a van today just as each booking and each van asked by itself does."""
    place = busy.worked(folder, VANS, builder)
    items = questions.due(place, fleet.TODAY, None).items
    changed = {(i.van, i.rule, i.place) for i in items if i.group == "changed"}
    out = {(i.van, i.rule, i.place) for i in items if i.group == "out"}  # heads the list as it is
    stopping = {(i.van, i.rule, i.place) for i in items if i.standing in STOPS}

    assert _size(place) == VANS * 53 + fleet.SHARED + ADDED[builder.__name__]
    assert changed == newly_stopped(place) - out
    assert bool(changed) == (builder in STOPPING)
    assert stopping == stopping_today(place)


@pytest.mark.parametrize("builder", [b for b in busy.WORKING.values() if b not in STOPPING])
def test_a_fleet_at_work_that_nothing_stops_stands_as_asleep(
    folder: Path, builder: Builder
) -> None:
    """A person, a statement, past hires and another home change no item and no last good day."""
    place = busy.worked(folder, VANS, builder)

    assert _everything(place) == _everything(fleet.ready(folder, VANS)) != set()


def test_half_of_the_vans_are_at_another_home(folder: Path) -> None:
    """Every other van is judged by the other home's rules, and by none of the first's."""
    place = busy.worked(folder, VANS, busy.second_home)
    items = questions.due(place, fleet.TODAY, 520).items
    elsewhere = {i.van for i in items if i.rule.startswith(f"{busy.HOME}-")}

    assert elsewhere == {f"V{n:05d}" for n in range(1, VANS, 2)}
    first = {name for home, name in read_book(rulebook_files()).rules if home == "gb"}
    assert elsewhere.isdisjoint(i.van for i in items if i.rule in first)


def test_rules_that_cannot_be_read_are_said_and_left_out(
    folder: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """A fleet whose rules this program can't read has no figure and a line that says why."""

    def unread_home(place: str) -> None:
        busy.second_home(place, json.dumps({"xx/things.toml": {"wrong": {}}}))

    monkeypatch.setattr(working, "WORKING", {"elsewhere": unread_home})
    rows = working.weeks(folder, VANS, 1)

    said = capsys.readouterr().out.splitlines()[-1]
    assert said.startswith("  left out, elsewhere: xx/things.toml: wrong: is not a section; ")
    assert [name for name, _, _ in rows] == [f"due, {VANS} vans asleep"]


def test_a_fleet_laid_down_again_is_that_fleet_so_often(folder: Path) -> None:
    """Each van's items stand once more for each turn, under the fleet numbers that follow."""
    once = _everything(fleet.ready(folder, VANS))
    thrice = fleet.repeated(folder, VANS, 3)
    turned = {
        (f"V{int(van[1:]) + VANS * turn:05d}", *rest) for van, *rest in once for turn in range(3)
    }

    assert _everything(thrice) == turned
    assert run.bare_read(thrice) == 3 * VANS * 55
    assert _size(thrice) == 3 * VANS * 53 + fleet.SHARED


def test_every_answer_kept_turns(folder: Path, tmp_path: Path) -> None:
    """The hold that came last makes each of the answers kept another one, and is named for it."""
    place = str(shutil.copy(fleet.ready(folder, VANS), tmp_path / "kept.db"))
    busy.answers_kept(place, 4)
    kept = json.loads(typed(place, "answers V00000 --json"))

    assert len(kept) == 4
    assert all(answer["since"][-1]["record"] == _size(place) for answer in kept)


def test_the_plan_measured_is_of_ten_things(folder: Path) -> None:
    """The van asked about needs ten things done by the day asked for, and nothing by the other."""
    asked = [_hireable(fleet.ready(folder, VANS), line) for line in working.ASKED]

    assert [(len(a["to_do"]), a["bookable"]) for a in asked] == [(0, "yes"), (10, "if done")]


def test_every_working_fleet_has_a_figure(folder: Path) -> None:
    """One row for the sleeping fleet and one for each working one, each with the goal."""
    rows = working.weeks(folder, VANS, 1)

    assert [name for name, _, _ in rows[1:]] == list(busy.WORKING)
    assert {goal for _, _, goal in rows[1:]} == {"1.3"}


def test_processor_time_counts_the_processes_started() -> None:
    """Work done by a process that was started and waited for counts as processor time."""
    script = "sum(range(3_000_000))"
    words = [sys.executable, "-c", script]
    took = run.spent(lambda: subprocess.run(words, check=True))

    assert took.cpu > 0
    assert run.middle([run.Spent(1, 5), run.Spent(3, 4), run.Spent(2, 9)]) == (2, 5)
    assert [run.rounds(first) for first in (1.0, 5.0, 13.0)] == [5, 3, 1]


def test_memory_is_that_of_the_report_alone(folder: Path) -> None:
    """What whoever starts it holds is no part of what a report is said to hold."""
    held = bytearray(b"x" * 200_000_000)
    found = run.weighed(fleet.ready(folder, VANS))

    assert len(held) / 1e6 > found.own_mb > 10
    assert found.spent.cpu > 0


def test_a_small_fleet_is_read_whole(folder: Path) -> None:
    """Fifty-three records a van, the same rows both ways, and the same list twice."""
    place = fleet.ready(folder, VANS)

    assert _size(place) == VANS * 53 + fleet.SHARED
    assert run.bare_read(place) == VANS * 55
    assert (
        run.due(place) == run.due(place) == len(questions.due(place, fleet.TODAY, None).items) > 0
    )
    assert run.every_days(place) > 0
