"""What the desk writes down, keeps and says, on both engines where the store matters."""

from __future__ import annotations

import datetime as dt

import pytest
import sqlalchemy as sa

from fleetcare import chance, clock
from fleetcare.desk import calls, fleet, keep, questions
from fleetcare.desk.asking import asking
from fleetcare.errors import Refused
from fleetcare.rules.party import NO_BIKES
from fleetcare.store import tables
from tests.typed import typed, typed_all
from tests.vans import GOOD, TREAD

ON = dt.date(2026, 8, 1)
AT = dt.datetime(2026, 8, 1, 12, tzinfo=dt.UTC)
_GIVEN: dict[str, object] = {}


def test_both_engines_keep_the_same_leaves_and_give_the_same_answers(place: str) -> None:
    """Typed with the same clock and salts, SQLite and PostgreSQL hold leaf for leaf the same."""
    with chance.seeded("both"), clock.standing_at(AT):
        keep.init(place, "Test")
        typed_all(place, GOOD, ON)
        typed(place, f"record V01 walkaround --by Yard {TREAD}", ON)
        typed(place, 'correct 30 --on 2026-07-31 "read yesterday"', ON)
    with asking(place) as asked:
        leaves = list(
            asked.connection.execute(
                sa.select(tables.record.c.leaf).order_by(tables.record.c.number)
            ).scalars()
        )
    due = questions.due(place, ON, 600)
    hire = questions.hireable(
        place, "V01", calls.Question(ON, dt.date(2026, 8, 10), NO_BIKES, ON, None)
    )

    assert hire.hireable == "yes"
    assert len(leaves) == 32
    found = (leaves, due.items, due.known_at, hire, fleet.van(place, "V01", ON))
    assert _GIVEN.setdefault("first", found) == found


def test_a_fleet_paper_covers_the_vans_of_its_day(ready: str) -> None:
    """A van that comes later is not covered by it, and is named on a new record."""
    typed(ready, "van add V01 --jurisdiction gb --in-service-from 2026-01-01", ON)
    shown = typed(ready, "record fleet insurance --from 2026-04-01 --last-day 2027-03-31", ON)
    typed(ready, "van add V02 --jurisdiction gb --in-service-from 2026-01-01", ON)

    def standing(van: str) -> str:
        return questions.why_rule(ready, van, "insurance", ON)[0].standing

    assert "for every van on fleet today: V01. A van added later needs a paper of its own." in shown
    assert (standing("V01"), standing("V02")) == ("in date", "no record")


def test_a_policy_bought_before_it_begins_leaves_the_days_between(ready: str) -> None:
    """Bought 20 March, in force 1 April, the old one to 25 March: 26–31 March are not covered."""
    typed_all(
        ready,
        """
        van add V01 --jurisdiction gb --in-service-from 2025-01-01
        record V01 insurance --on 2025-03-26 --from 2025-03-26 --last-day 2026-03-25
        record V01 insurance --on 2026-03-20 --from 2026-04-01 --last-day 2027-03-31
    """,
        ON,
    )

    def on(day: str) -> str:
        return questions.why_rule(ready, "V01", "insurance", dt.date.fromisoformat(day))[0].standing

    assert [on(f"2026-03-{day}") for day in (25, 26, 30)] == ["in date", "overdue", "overdue"]
    assert on("2026-04-01") == "in date"


def test_two_inspectors_of_one_name_are_told_apart_by_number(ready: str) -> None:
    """A name that two have is refused with both numbers; a number says who is meant."""
    typed_all(
        ready,
        """
        van add V01 --jurisdiction gb --in-service-from 2025-01-01
        inspector add "J. Hill" --scope electrical --from 2020-01-01
        inspector add "J. Hill" --another --scope electrical --from 2021-01-01
    """,
        ON,
    )
    with pytest.raises(Refused) as refused:
        typed(ready, 'record V01 electrical --pass --by "J. Hill"', ON)

    assert str(refused.value) == (
        '--by: "J. Hill" is the name of 2 inspectors (#3, #5): type the number, like --by 3'
    )
    assert "Counts for electrical inspection" in typed(
        ready, "record V01 electrical --pass --by 5", ON
    )


@pytest.mark.parametrize(
    ("line", "message"),
    [
        (
            "record V01 gas-safety --pass --certificate G1 --by X",
            '--certificate: "G1" is already the certificate of V02 (#4)',
        ),
        (
            "odometer V01 40000mi --on 2026-07-01",
            "--odometer: 40000mi is less than 42310mi on 2026-06-01",
        ),
        (
            "record V01 chassis --pass --by X --on 2022-01-01",
            "--on: 2022-01-01 is over a year before the van was first registered (2024-05-01)",
        ),
    ],
)
def test_slips_are_caught_as_typed_and_recorded_even_so(
    ready: str, line: str, message: str
) -> None:
    """Each likely slip is refused with what is odd, and written down when it is said to be so."""
    typed_all(
        ready,
        """
        van add V01 --jurisdiction gb --first-registered 2024-05-01 --in-service-from 2024-05-10
        van add V02 --jurisdiction gb --in-service-from 2024-05-10
        record V02 gas-safety --pass --certificate G1 --by X
        odometer V01 42310mi --on 2026-06-01
    """,
        ON,
    )
    with pytest.raises(Refused) as refused:
        typed(ready, line, ON)

    assert str(refused.value) == f'{message}\nIf it is true, add: --even-so "why"'
    assert typed(ready, f'{line} --even-so "true all the same"', ON).startswith("#6 ")


def test_a_rule_fed_by_several_kinds_is_not_recorded_by_its_name(ready: str) -> None:
    """The kinds to choose from are named; `why` shows every rule that a kind feeds."""
    typed(ready, "van add V01 --jurisdiction gb --in-service-from 2024-05-10", ON)
    with pytest.raises(Refused) as refused:
        typed(ready, "record V01 extinguisher-service --pass --by X", ON)

    assert str(refused.value) == (
        'check: "extinguisher-service" is fed by several kinds of check: record one of '
        "extinguisher-basic, extinguisher-extended, extinguisher-overhaul"
    )
    fed = {w.rule for w in questions.why_rule(ready, "V01", "extinguisher-extended", ON)}
    assert fed == {"extinguisher-service", "extinguisher-extended-service"}


def test_a_kind_the_firm_drops_leaves_its_records_readable(ready: str, tmp_path) -> None:
    """Old records of a dropped kind are shown, and the due report says that no rule reads them."""
    firm = tmp_path / "firm.toml"
    firm.write_text('[check.awning]\ntitle = "awning look-over"\n')
    typed(ready, f"rules adopt {firm}", ON)
    typed(ready, "van add V01 --jurisdiction gb --in-service-from 2024-05-10", ON)
    typed(ready, "record V01 awning --pass --by X", ON)
    firm.write_text('[settings]\nfirm = "Ours"\n')
    shown = typed(ready, f"rules adopt {firm}", ON)

    assert "Dropped kind of check: awning; its records are kept." in shown
    assert (
        '1 records of the kind "awning" are kept, and no rule reads them any more'
        in questions.due(ready, ON, None).cautions
    )
    assert any(
        r["what"] == "awning (no rule reads it)" for r in fleet.van(ready, "V01", ON).records
    )


def test_a_changed_place_takes_the_old_component_off_and_it_comes_back_as_itself(
    ready: str,
) -> None:
    """Winter wheels keep number, age and readings: on again they are read as they were."""
    typed_all(
        ready,
        """
        van add V01 --jurisdiction gb --in-service-from 2020-05-10 --axles single --spare kit
        fit V01 tyre front-left --made 0124 --on 2024-03-01 --load-index 112
        record V01 tyres --on 2024-10-01 --by X --reading tread:front-left=2.0mm
    """,
        ON,
    )
    shown = typed(ready, "fit V01 tyre front-left --made 0122 --on 2024-11-01 --load-index 112", ON)
    typed(ready, "fit V01 tyre front-left --part 3 --on 2025-04-01", ON)

    def handover(day: str) -> str:
        found = questions.why_rule(ready, "V01", "tread-to-go-out", dt.date.fromisoformat(day))
        return next(w.standing for w in found if w.place == "front-left")

    assert "#5 took off the tyre (#3) that was at front-left, Fri 1 Nov 2024." in shown
    assert [handover(d) for d in ("2024-10-15", "2024-12-01", "2025-04-02")] == [
        "failed",
        "no record",
        "failed",
    ]


def test_a_plate_change_never_rewrites_last_year(ready: str) -> None:
    """The van bears the old plate on the old days and the new one from its day on."""
    typed_all(
        ready,
        """
        van add V01 --plate "QI24 QIQ" --jurisdiction gb --in-service-from 2020-05-10
        van change V01 --on 2026-03-01 --plate "QQ26 IQI"
    """,
        ON,
    )
    with asking(ready) as asked:
        judged = asked.judged("V01")

    assert judged.plate_on(dt.date(2026, 2, 28)) == "QI24 QIQ"
    assert judged.plate_on(dt.date(2026, 3, 1)) == "QQ26 IQI"


def test_a_new_package_book_is_adopted_by_the_first_write_and_said_before(
    ready: str, monkeypatch
) -> None:
    """Asking warns that the program ships other rules; the next write adopts them and says so."""
    import fleetcare.shipped as shipped

    files = dict(shipped.rulebook_files())
    files["gb/more.toml"] = {"fact": {"sauna": {"title": "sauna", "holds": "yes-no"}}}
    typed(ready, "van add V01 --jurisdiction gb --in-service-from 2020-05-10", ON)
    monkeypatch.setattr(shipped, "rulebook_files", lambda: files)
    before = questions.due(ready, ON, None).cautions
    shown = typed(ready, "odometer V01 10km", ON)

    assert before[0] == (
        "the rules in use differ from those this program ships; the next record "
        "written adopts the program's"
    )
    assert shown.startswith("Adopted the program's rules ")
    assert not any("differ" in caution for caution in questions.due(ready, ON, None).cautions)
