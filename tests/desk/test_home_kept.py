"""A van keeps a home: it is not left open by a correction or a withdrawal, and one typed by mistake
goes whole."""

from __future__ import annotations

import datetime as dt

import pytest

from fleetcare.errors import Refused
from tests.typed import typed, typed_all

ON = dt.date(2026, 8, 1)
OPEN = (
    "--jurisdiction: whose rules a van is under can't be left open: state another with: "
    "fleetcare van change VAN --jurisdiction …"
)


def test_a_home_is_not_cleared_by_a_correction(good: str) -> None:
    """`correct --clear jurisdiction` is refused, and nothing of the van changes."""
    before = typed(good, "hireable V01 --from 2026-08-01 --through 2026-08-05", ON)
    with pytest.raises(Refused) as refused:
        typed(good, "correct 6 --clear jurisdiction slip", ON)

    assert [str(p) for p in refused.value.problems] == [OPEN]
    assert typed(good, "hireable V01 --from 2026-08-01 --through 2026-08-05", ON) == before


def test_a_home_is_not_withdrawn_with_the_statement_that_said_it(good: str) -> None:
    """The statement that said it stays while it is the only one that does, others or not."""
    typed(good, "van change V01 --height 2910mm --even-so measured", ON)
    with pytest.raises(Refused) as refused:
        typed(good, "withdraw 6 slip", ON)

    (problem,) = refused.value.problems
    assert problem.message == OPEN.removeprefix("--jurisdiction: ")


def test_a_van_typed_by_mistake_goes_whole(good: str) -> None:
    """With no other record of it, it may be withdrawn, leaves every list and may come again."""
    added = typed(good, "van add V99 --jurisdiction gb", ON)
    number = added[1 : added.index(" added V99")]
    line = typed(good, f"withdraw {number} typo", ON)

    assert "V99 was all a slip: it is in no list any more, and may be added anew." in line
    assert "V99" not in typed(good, "van list", ON) + typed(good, "due", ON)
    with pytest.raises(Refused) as refused:
        typed(good, "van show V99", ON)
    assert '"V99" is not in the fleet.' in str(refused.value)
    assert "added V99" in typed(good, "van add V99 --jurisdiction gb", ON)


def test_a_van_with_a_history_does_not_go(good: str) -> None:
    """Whatever else is of it is named, and the statement is corrected instead."""
    with pytest.raises(Refused) as refused:
        typed(good, "withdraw 6 typo", ON)

    assert str(refused.value).startswith("#6 is all that is said of V01, and #7, #8, #9 and ")
    assert str(refused.value).endswith(" are of it: correct it instead")


def test_a_correction_is_held_to_the_firms_own_facts(ready: str) -> None:
    """What typing refuses a correction refuses: a fact's value is yes or no, in small letters."""
    typed(ready, "van add V01 --jurisdiction gb", ON)
    for word, message in (
        ("child-seat:Yes", 'the rules know no fact of that name: "child-seat"'),
        ("child-seat", 'the rules know no fact of that name: "child-seat"'),
    ):
        with pytest.raises(Refused) as refused:
            typed(ready, f'correct 2 --has {word} "as told"', ON)
        assert str(refused.value) == f"--has: {message}"


def test_a_correction_is_held_to_yes_or_no(ready: str, tmp_path: object) -> None:
    """A firm's fact that is there takes yes or no and nothing else."""
    from pathlib import Path

    file = Path(str(tmp_path)) / "firm.toml"
    file.write_text('[fact.child-seat]\ntitle = "child seat"\nholds = "yes-no"\n', "utf-8")
    typed_all(ready, [f"rules adopt {file}", "van add V01 --jurisdiction gb --has child-seat"], ON)
    with pytest.raises(Refused) as refused:
        typed(ready, 'correct 3 --has child-seat:Yes "as told"', ON)

    assert str(refused.value) == (
        '--has: "child-seat:Yes" says neither child-seat:yes nor child-seat:no'
    )
