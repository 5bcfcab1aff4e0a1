"""What was recorded of the only part of its kind stays with that part when a second one is fitted."""

from __future__ import annotations

import datetime as dt

import pytest

from fleetcare.desk import calls, questions
from fleetcare.rules.kinds.case import NO_BIKES
from tests.typed import typed, typed_all

ON = dt.date(2026, 8, 1)
PASSED = 'record V01 extinguisher-basic --pass --by "E. Tester" --place door --on 2026-06-01'
SECOND = "fit V01 extinguisher boot --made 2026-07 --type powder"


def _against(place: str) -> tuple[str, list[tuple[str, str | None, str]]]:
    report = questions.hireable(place, "V01", calls.Question(ON, ON, NO_BIKES, ON, None))
    return report.hireable, [(b.rule, b.place, b.standing) for b in report.blocking]


@pytest.mark.parametrize(
    ("line", "rule"),
    [
        ('extinguisher-basic --fail --by "E. Tester"', "extinguisher-service"),
        ('walkaround --pass --by "W. Yard" --reading gauge=not-green', "extinguisher-gauge"),
    ],
)
def test_what_is_wrong_with_the_only_one_is_not_lost_when_a_second_is_fitted(
    good: str, line: str, rule: str
) -> None:
    """Nobody needed to say which one failed while there was one; it is no less broken for company."""
    typed_all(good, [PASSED, f"record V01 {line} --on 2026-07-20"], ON)
    no = ("no", [(rule, "door", "failed")])

    assert _against(good) == no
    typed(good, SECOND, ON)
    assert _against(good) == no


def test_what_was_done_to_the_only_one_is_not_undone_by_a_second(good: str) -> None:
    """A service written down without a place counts on, with the second one there and gone again,
    and the days before are not told otherwise."""
    then = dt.date(2026, 7, 1)
    typed(good, SECOND, ON)
    stood = questions.why_rule(good, "V01", "extinguisher-service", then)[0].standing

    assert (_against(good), stood) == (("yes", []), "in date")
    typed(good, "take-off V01 extinguisher boot", ON)
    assert _against(good) == ("yes", [])
