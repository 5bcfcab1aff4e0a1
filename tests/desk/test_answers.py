"""Answers that count are kept, can be asked again, and what changed them since is named."""

from __future__ import annotations

import datetime as dt
import json
from pathlib import Path

import pytest

from fleetcare.desk import answers as desk
from fleetcare.desk.asking import asking
from fleetcare.records.kept import Answer
from fleetcare.reports.answered import ask_of, said_in
from fleetcare.reports.hire import hire_report
from fleetcare.store import facts as stored
from fleetcare.store import lookup
from tests.typed import typed, typed_all

DAY = dt.date(2026, 8, 1)
HIRE = "hire add V01 --from 2026-08-03 --through 2026-08-08 --ref H1"


def _said(place: str) -> list[dict[str, object]]:
    found: list[dict[str, object]] = json.loads(typed(place, "answers V01 --json", DAY))
    return found


def test_a_booking_keeps_the_answer_the_clerk_heard(good: str) -> None:
    """Question, answer, what stood against it, the size of the book, the rules, who asked."""
    printed = typed(good, HIRE, DAY)
    (kept,) = _said(good)
    with asking(good) as asked:
        size, digest = asked.as_of

    assert f"#{kept['record']} keeps the answer." in printed
    assert {name: kept[name] for name in ("asked", "ref", "from", "through", "by")} == {
        "asked": "hire add", "ref": "H1", "from": "2026-08-03", "through": "2026-08-08",
        "by": "Test",
    }  # fmt: skip
    assert (kept["hireable"], kept["blocking"]) == ("yes", [])
    assert kept["known_at"] == size - 1
    assert kept["rulebook"] == digest
    assert kept["since"] == []


def test_every_kind_of_answer_that_counts_is_kept(good: str) -> None:
    """Added, changed, swapped to another van, asked with --keep, released: each is listed."""
    typed_all(
        good,
        [
            HIRE,
            "hire change H1 --through 2026-08-07",
            "hireable V01 --from 2026-09-01 --through 2026-09-05 --keep",
            "record V01 walkaround --by C --reading tread:front-left=6mm "
            "--reading tread:front-right=6mm --reading tread:rear-left=6mm "
            "--reading tread:rear-right=6mm --reading gauge:door=green",
        ],
        DAY,
    )
    typed(good, 'hire out H1 --by C --odometer 100mi --unreleased "key lent"', dt.date(2026, 8, 3))

    assert [kept["asked"] for kept in _said(good)] == [
        "hire add", "hire change", "hireable", "hire out",
    ]  # fmt: skip


def test_plain_asking_writes_nothing(good: str) -> None:
    """Not a byte of the book changes by asking, however often."""
    before = Path(good).read_bytes()
    lines = (
        "due",
        "hireable V01 --from 2026-08-02 --through 2026-08-05",
        "hireable V01 --from 2026-09-01 --through 2026-09-05",
        "history V01",
        "why V01 gas-safety",
        "answers V01",
        "status",
    )
    shown = [typed(good, line, DAY) for line in lines]

    assert [line for line, said in zip(lines, shown, strict=True) if not said] == []
    assert Path(good).read_bytes() == before
    wal = Path(f"{good}-wal")
    assert not wal.exists() or wal.stat().st_size == 0


@pytest.mark.parametrize(
    ("lines", "what"),
    [
        (['hold V01 --from 2026-08-04 "screen"'], "hold, Tue 4 Aug 2026"),
        (["correct 18 --on 2024-09-01 --last-day 2025-08-31 why"], "corrects #18"),
        (["withdraw 18 why"], "withdrew #18"),
    ],
)
def test_a_later_difference_is_explained(good: str, lines: list[str], what: str) -> None:
    """The record after which it would be answered otherwise is named: new, corrected, withdrawn."""
    gas = next(
        number for number in range(1, 60)
        if (found := _record(good, number)) and found[0] == "check" and found[2].what == "gas-safety"
    )  # fmt: skip
    typed(good, HIRE, DAY)
    typed_all(good, [line.replace("18", str(gas)) for line in lines], DAY)
    (kept,) = _said(good)
    turns = kept["since"]
    assert isinstance(turns, list)

    assert kept["hireable"] == "yes"
    assert kept["now"]["hireable"] == "no"  # type: ignore[index]
    assert len(turns) == 1
    assert what.replace("18", str(gas)) in turns[0]["what"]
    assert turns[0]["hireable"] == "no"


def _record(place: str, number: int) -> object:
    with asking(place) as asked:
        return stored.find_record(asked.connection, number)


def test_a_changed_rule_is_named_as_what_changed_an_answer(good: str, tmp_path: Path) -> None:
    """A firm that tightens the water rule afterwards sees that the rules did it, not a record."""
    typed(good, HIRE, DAY)
    firm = tmp_path / "firm.toml"
    firm.write_text(
        '[[change]]\nrule = "water-disinfection"\nfrom = 2026-01-01\nold_checks = "cut"\nmonths = 1\n'
        'stop_months = 1\nwhy = "hard water"\n'
    )
    printed = typed(good, f"rules adopt {firm}", DAY)
    (kept,) = _said(good)

    assert "Adopted" in printed
    (turn,) = kept["since"]  # type: ignore[misc]
    assert turn["what"].split(" rules ")[0].endswith("adopted")
    assert turn["blocking"] == ["water-disinfection"]


def test_every_answer_kept_is_the_one_its_own_records_give(sample_book: str) -> None:
    """Asked again by the records and rules it names, each gives what was kept: 54 bookings over
    three years of the sample."""
    with asking(sample_book) as asked:
        checked = 0
        for van in stored.vans_of(asked.connection):
            for kept, _, _ in lookup.written(asked.connection, Answer, van):
                then = asked.at(kept.known_at)
                assert then is not None
                assert then.book.digest == kept.rulebook
                judged = then.judged(van)
                said = said_in(hire_report(judged, ask_of(kept, judged.known)))
                assert said == (kept.hireable, kept.bookable, kept.blocking or ()), kept
                checked += 1

    assert checked >= 54


def test_an_answer_is_not_taken_back(good: str) -> None:
    """What was answered stays answered."""
    typed(good, HIRE, DAY)
    (kept,) = _said(good)

    with pytest.raises(Exception) as refused:
        typed(good, f"withdraw {kept['record']} why", DAY)
    assert str(refused.value) == (
        f"#{kept['record']} is an answer: it is not taken back. Record what is true instead"
    )


def test_an_answer_is_kept_by_what_is_known_now_only(good: str) -> None:
    """--keep with --known-at is refused as a wrong use."""
    import click

    with pytest.raises(click.UsageError, match="leave --known-at out"):
        typed(good, "hireable V01 --from 2026-09-01 --through 2026-09-02 --keep --known-at @5", DAY)


def test_a_van_without_answers_says_so(good: str) -> None:
    """Nothing kept is said, not shown as nothing."""
    assert typed(good, "answers V01", DAY) == "No answer is kept for V01.\n"
    assert desk.answers(good, "V01") == []


def test_a_release_is_asked_again_as_it_left(good: str) -> None:
    """It left without its walkaround in the morning; what was found good at three changes nothing
    of that, and that it left without release is said as loudly as then."""
    typed(good, HIRE, DAY)
    left = dt.date(2026, 8, 3)
    typed(good, 'hire out H1 --by C --odometer 100mi --at 09:00 --unreleased "key lent"', left)
    typed(good, "record V01 walkaround --by C --at 15:00 --reading tread:front-left=6mm", left)
    kept = _said(good)[-1]
    text = typed(good, "answers V01", left)

    assert (kept["asked"], kept["bookable"]) == ("hire out", "left without release")
    assert "walkaround" in kept["blocking"]  # type: ignore[operator]
    assert kept["now"] == {name: kept[name] for name in ("hireable", "bookable", "blocking")}
    assert "LEFT WITHOUT RELEASE" in text


def test_alike_is_only_said_where_it_is(good: str) -> None:
    """What was kept is set against what is answered now, not against what it would have been."""
    typed(good, HIRE, DAY)
    typed(good, 'hold V01 --from 2026-08-04 "screen"', DAY)
    (kept,) = _said(good)
    typed(good, 'hold lift 32 --by C --on 2026-08-01 "fitted"', DAY)
    (again,) = _said(good)

    assert kept["now"] != {name: kept[name] for name in ("hireable", "bookable", "blocking")}
    assert "answered alike now" in typed(good, "answers V01", DAY)
    assert again["now"]["hireable"] == "yes"  # type: ignore[index]


def test_what_was_done_later_changes_no_answer_about_days_before(
    sample_book: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Records of later days are passed over where they say nothing of the days asked about: every
    one looked at gives the same turns."""
    vans = ("V03", "V05", "V09")
    quick = [desk.answers(sample_book, van) for van in vans]
    monkeypatch.setattr(desk, "_OF_THEIR_DAY", frozenset())

    assert [desk.answers(sample_book, van) for van in vans] == quick
    assert sum(len(row.since) for rows in quick for row in rows) > 5
