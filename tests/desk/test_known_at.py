"""As known then: asked at an earlier size, a book answers as the book that ended there did."""

from __future__ import annotations

import datetime as dt
import shutil
from collections import Counter
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from fleetcare import clock
from fleetcare.desk import calls, fleet, keep, questions
from fleetcare.desk.asking import KnownAt, asking
from fleetcare.errors import Refused
from fleetcare.rules.party import NO_BIKES
from tests.typed import NOON, typed, typed_all
from tests.vans import GOOD, TREAD

D = dt.date.fromisoformat
ON = D("2026-08-01")
# What may happen to a book, in any order and number; what is refused writes nothing.
LINES = (
    'record V01 gas-safety --pass --by "A. Fitter" --certificate G2',
    "record V01 gas-safety --fail --by X",
    'defect report V01 --grade major "Wiper torn"',
    'defect sign-off 30 --by "C. Jones"',
    'withdraw 30 "not so"',
    'withdraw 21 "another van\'s"',
    'correct 21 --on 2025-07-10 "read again"',
    'correct 3 --through 2025-01-31 "card seen again"',
    "hire add V01 --from 2026-08-03 --through 2026-08-08 --ref H1 --even-so known",
    "hire change H1 --through 2026-08-12 --even-so",
    'hire cancel H1 "rang off"',
    f'record V01 walkaround --by "Yard" {TREAD}',
    'event V01 knock "gatepost"',
    "fit V01 gas-hose locker --made 2026-06",
    'van lay-up V01 --from 2026-08-20 --back 2026-10-01 "SORN"',
    'van change V01 --on 2026-07-01 --plate "QQ1 QIQ"',
    'hold V01 --from 2026-08-04 "windscreen"',
    "hire add V01 --from 2026-08-20 --through 2026-08-22 --ref H2 --pencilled 1 --even-so known",
    "hire change H2 --firm --even-so",
    'work book V01 --from 2026-08-05 --where "Fell Motors" --for gas-safety --even-so "H1 moves"',
    "expect V01 habitation --due 2027-02-22",
)


def _answers(place: str, known_at: KnownAt | None = None) -> Any:
    """All that is asked of a book, without the word of when it was known; at the hour at which it
    was typed, for a pencilled booking lapses by the hour."""
    with clock.standing_at(dt.datetime.combine(ON, NOON, dt.UTC)):
        return _asked(place, known_at)


def _asked(place: str, known_at: KnownAt | None) -> Any:
    due = questions.due(place, ON, 60, known_at)
    why = [
        questions.why_rule(place, "V01", rule, ON, known_at)
        for rule in ("gas-safety-check", "open-defects", "event-inspection")
    ]
    hire = questions.hireable(
        place,
        "V01",
        calls.Question(D("2026-08-03"), D("2026-08-08"), NO_BIKES, ON, None),
        known_at,
    )
    return (
        due.items, due.known_at, due.rulebook, why, hire._replace(cautions=hire.cautions[1:] if known_at else hire.cautions),
        fleet.van(place, "V01", ON, known_at), fleet.fleet(place, ON, known_at),
    )  # fmt: skip


def _size(place: str) -> int:
    with asking(place) as asked:
        return asked.as_of.known_at


def _told(place: str, lines: list[str]) -> tuple[dict[int, Any], list[str]]:
    """Type lines one after another; the answers after each, by the size the book then had, and the
    lines that were refused."""
    found, refused = {_size(place): _answers(place)}, []
    for line in lines:
        try:
            typed(place, line, ON)
        except Refused:
            refused.append(line)
            continue
        found[_size(place)] = _answers(place)
    assert len(found) == 1 + len(lines) - len(refused)
    return found, refused


def test_every_prefix_of_a_book_answers_as_the_book_that_ended_there(
    good: str, tmp_path_factory: pytest.TempPathFactory
) -> None:
    """Corrections, withdrawals and cards put right included: none changes an earlier answer."""
    asked: Counter[str] = Counter()

    @settings(max_examples=12)
    @given(lines=st.lists(st.sampled_from(LINES), min_size=2, max_size=6, unique=True))
    def holds(lines: list[str]) -> None:
        copy = str(shutil.copy(good, tmp_path_factory.mktemp("prefix") / "book.db"))
        found, refused = _told(copy, lines)
        for size, told in found.items():
            assert _answers(copy, KnownAt(size=size)) == told, (size, lines)
        asked.update(books=1, prefixes=len(found), refused=len(refused))

    holds()
    assert asked["books"] >= 12
    assert asked["prefixes"] >= 3 * asked["books"], asked
    assert asked["refused"] < asked["prefixes"] / 2, asked


def test_both_engines_know_the_same_at_every_size(place: str) -> None:
    """One book with everything in it, told again at each size it ever had."""
    with clock.standing_at(dt.datetime(2026, 7, 1, tzinfo=dt.UTC)):
        keep.init(place, "Test")
    typed_all(place, GOOD, ON)
    found, refused = _told(place, list(LINES))

    # The fail was #31, the sign-off is of what is no defect; a check that was taken back stays so.
    assert refused == [LINES[3], LINES[6]]
    assert len(found) == 1 + len(LINES) - 2
    for size, told in found.items():
        assert _answers(place, KnownAt(size=size)) == told, size


def test_a_moment_is_resolved_to_the_size_the_ledger_had(good: str) -> None:
    """Before the defect was written down nobody knew of it; the answer says how much was known."""
    size = _size(good)
    typed(good, 'defect report V01 --on 2026-07-20 --grade major "Wiper torn"', D("2026-08-05"))
    then = KnownAt(moment=dt.datetime(2026, 8, 5, 11, tzinfo=dt.UTC))
    report = questions.hireable(good, "V01", calls.Question(ON, ON, NO_BIKES, ON, None), then)
    now = questions.hireable(good, "V01", calls.Question(ON, ON, NO_BIKES, ON, None))

    assert (report.hireable, now.hireable) == ("yes", "no")
    assert report.cautions[0] == f"as known with the first {size} of {size + 1} records"


@pytest.mark.parametrize(
    ("known_at", "refusal"),
    [
        (KnownAt(size=999), "--known-at: the book holds 29 records: @999 is a size it never had"),
        (
            KnownAt(size=0),
            "--known-at: the book knew nothing yet at @0: its first record is of 2026-08-01",
        ),
        (KnownAt(size=3), '"V01" was not in the book yet when it held 3 records'),
    ],
)
def test_what_the_book_never_knew_is_refused(good: str, known_at: KnownAt, refusal: str) -> None:
    """A size too large, before the rules, or before the van."""
    with pytest.raises(Refused) as fault:
        questions.why_rule(good, "V01", "mot", ON, known_at)

    assert str(fault.value) == refusal


def _stated(place: str, fact: str, on: str, known: str) -> Any:
    """A fact of V01 on a day, as known at the end of another; None where it was not known."""
    moment = dt.datetime.combine(D(known), dt.time.max, dt.UTC)
    try:
        shown = fleet.van(place, "V01", D(on), KnownAt(moment=moment))
    except Refused:
        return None
    return next((f["value"] for f in shown.facts if f["fact"] == fact), None)


def test_a_raise_reported_late_as_published(ready: str) -> None:
    """Fowler, "Bitemporal History": 6000; on 15 March a raise to 6500 from 15 February comes in.
    What was known on 25 February stays 6000."""
    with clock.standing_at(dt.datetime(2021, 1, 1, tzinfo=dt.UTC)):
        keep.init(f"{ready}.2021", "Test")
    place = f"{ready}.2021"
    typed(
        place,
        "van add V01 --jurisdiction gb --max-mass 6000kg --in-service-from 2020-01-01",
        D("2021-01-02"),
    )
    typed(place, "van change V01 --on 2021-02-15 --max-mass 6500kg", D("2021-03-15"))
    mass = "maximum mass (MAM)"

    assert [
        [_stated(place, mass, on, known) for on in ("2021-01-25", "2021-02-25", "2021-03-25")]
        for known in ("2021-01-25", "2021-02-25", "2021-03-25")
    ] == [
        ["6000kg", "6000kg", "6000kg"],
        ["6000kg", "6000kg", "6000kg"],
        ["6000kg", "6500kg", "6500kg"],
    ]


def test_where_somebody_lived_as_published(tmp_path) -> None:
    """Wikipedia, "Temporal database": the five answers of its worked example. Who died is gone."""
    place = str(tmp_path / "doe.db")
    with clock.standing_at(dt.datetime(1975, 4, 3, tzinfo=dt.UTC)):
        keep.init(place, "Test")
    for day, line in (
        (
            "1975-04-04",
            "van add V01 --jurisdiction gb --plate Smallville --in-service-from 1975-04-03",
        ),
        ("1994-12-27", "van change V01 --on 1994-08-26 --plate Bigtown"),
        ("2001-02-02", "van change V01 --on 1995-06-01 --plate Beachy"),
        ("2001-02-02", "van change V01 --on 2000-09-03 --plate Bigtown"),
        ("2001-04-01", 'van gone V01 --on 2001-04-01 "died"'),
    ):
        typed(place, line, D(day))

    assert [
        _stated(place, "plate", on, known)
        for known, on in (
            ("1994-12-26", "1994-12-01"),
            ("1994-12-28", "1994-12-01"),
            ("2001-01-01", "1998-01-01"),
            ("2001-02-03", "1998-01-01"),
        )
    ] == ["Smallville", "Bigtown", "Bigtown", "Beachy"]
    known = KnownAt(moment=dt.datetime(2001, 4, 2, tzinfo=dt.UTC))
    assert fleet.fleet(place, D("2001-05-01"), known) == []
