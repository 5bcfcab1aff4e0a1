"""Which van: the caller's question over the whole fleet, and a booking of the best or of none."""

from __future__ import annotations

import datetime as dt
import itertools
import json
from pathlib import Path
from typing import Any

import pytest

from fleetcare.desk.asking import asking
from fleetcare.errors import Declined, Refused
from fleetcare.hire.answer import decision
from fleetcare.hire.ask import Ask
from fleetcare.rules.party import Party
from tests.typed import refused, typed, typed_all
from tests.vans import GOOD

ON = dt.date(2026, 8, 1)
DAYS = "--from 2026-08-04 --through 2026-08-08"
OWN = """
[fact.automatic]
title = "automatic"
holds = "yes-no"
[fact.dogs-ok]
title = "dogs allowed"
holds = "yes-no"
"""


def _another(van: str, *left_out: str) -> list[str]:
    """The lines of the good van under another number, but for some."""
    lines = [
        line.replace("V01", van).replace("QI24", f"QI{van[1:]}").replace("G1", f"G{van}")
        for line in GOOD.splitlines()
    ]
    added = [line for line in lines if line and not line.startswith("inspector")]
    return [line for line in added if not any(words in line for words in left_out)]


@pytest.fixture
def four(good: str) -> str:
    """V01 and V02 in order, V03 without its habitation service, V04 held."""
    for lines in (_another("V02"), _another("V03", " habitation "), _another("V04")):
        typed_all(good, lines, ON)
    typed(good, 'hold V04 "bent step" --from 2026-08-01', ON)
    return good


def _told(place: str, line: str) -> Any:
    return json.loads(typed(place, f"{line} --json", ON))


def test_the_vans_that_can_go_stand_first_and_best_first(four: str) -> None:
    """As it stands before if done first; the held one could but for its hold."""
    found = _told(four, f"which {DAYS}")

    assert [(row["van"], row["bookable"]) for row in found["can"]] == [
        ("V01", "yes"), ("V02", "yes"), ("V03", "if done"),
    ]  # fmt: skip
    assert [work["rule"] for work in found["can"][2]["to_do"]] == ["habitation-service"]
    assert [(row["van"], row["rule"]) for row in found["but_for"]] == [("V04", "hold")]
    assert found["else"] == []


def test_of_two_the_one_left_with_fewer_days_too_few_to_let_stands_first(four: str) -> None:
    """V01 is out from the 10th on: two nights between are too few, none between is best."""
    booked = "hire add V01 --from 2026-08-10 --through 2026-08-14 --ref H1"
    typed(four, booked, ON)
    assert [row["van"] for row in _told(four, f"which {DAYS}")["can"]][:2] == ["V02", "V01"]
    typed(four, "hire change H1 --from 2026-08-08", ON)
    assert [row["van"] for row in _told(four, f"which {DAYS}")["can"]][:2] == ["V01", "V02"]
    typed(four, "hire change H1 --from 2026-08-12 --through 2026-08-14", ON)  # four nights: let
    assert [row["van"] for row in _told(four, f"which {DAYS}")["can"]][:2] == ["V01", "V02"]


def test_what_is_told_is_what_each_van_is_told_alone(sample_book: str) -> None:
    """Over the sample fleet and parties of every sort: the same answer as hireable's, van by van."""
    day = dt.date(2026, 11, 23)
    parties = [
        Party(), Party(bikes=2), Party(electric_bikes=2, people=2), Party(licence="B"),
        Party(licence="C1", people=4, abroad=("FR",)),
    ]  # fmt: skip
    words = [
        "",
        "--bikes 2",
        "--electric-bikes 2 --people 2",
        "--licence B",
        "--licence C1 --people 4 --abroad FR",
    ]
    for start, (party, line) in itertools.product(
        (day, dt.date(2026, 12, 27), dt.date(2027, 7, 10)), zip(parties, words, strict=True)
    ):
        through = start + dt.timedelta(6)
        asked_line = f"which --from {start} --through {through} {line} --most 99 --json"
        found = json.loads(typed(sample_book, asked_line, day))
        with asking(sample_book) as asked:
            alone = {
                judged.van: decision(judged, Ask(start, through, day, party)).bookable
                for judged in asked.fleet()
            }
        assert {row["van"]: row["bookable"] for row in found["can"]} == {
            van: how for van, how in alone.items() if how != "no"
        }
        stopped = [row["van"] for row in (*found["but_for"], *found["else"])]
        assert sorted(stopped) == sorted(van for van, how in alone.items() if how == "no")


def test_what_one_thing_stops_goes_without_that_thing(four: str) -> None:
    """The rack bears two e-bikes: three are the one thing; with one less the van can go."""
    found = _told(four, f"which {DAYS} --electric-bikes 3")
    assert found["can"] == []
    assert [(row["van"], row["rule"], row["do"]) for row in found["but_for"]][:2] == [
        ("V01", "rack-rating", "with 2 e-bikes, or no bikes at all"), ("V02", "rack-rating", "with 2 e-bikes, or no bikes at all"),
    ]  # fmt: skip
    assert len(_told(four, f"which {DAYS} --electric-bikes 2")["can"]) == 3


def test_a_booking_in_the_way_is_named_with_its_days(four: str) -> None:
    """It may be moved; a van that is out with it may not."""
    typed(four, "hire add V01 --from 2026-08-05 --through 2026-08-12 --ref H1", ON)
    found = _told(four, f"which {DAYS}")

    assert found["but_for"][0] == {
        "van": "V01", "rule": "hire", "place": "H1",
        "do": "H1, Wed 5 Aug 2026 to Wed 12 Aug 2026, moved to another van or to other days",
        "do_by": "2026-08-03",
    }  # fmt: skip


def test_a_van_is_as_wished_only_where_somebody_said_so(four: str, tmp_path: Path) -> None:
    """A fact nobody said is no yes and no no; berths count alike."""
    (tmp_path / "firm.toml").write_text(OWN)
    typed_all(
        four,
        [
            f"rules adopt {tmp_path}/firm.toml",
            "van change V01 --has automatic --on 2026-08-01",
            "van change V02 --has-no automatic --on 2026-08-01",
            "van change V01 --berths 4 --on 2026-08-01",
        ],
        ON,
    )
    found = _told(four, f"which {DAYS} --with automatic --most 9")
    assert [row["van"] for row in found["can"]] == ["V01"]
    assert found["unsuited"] == [
        {"van": "V02", "for": "automatic: no"},
        {"van": "V03", "for": "automatic not said"},
        {"van": "V04", "for": "automatic not said"},
    ]
    assert [row["van"] for row in _told(four, f"which {DAYS} --without automatic")["can"]] == [
        "V02"
    ]
    assert [row["van"] for row in _told(four, f"which {DAYS} --berths 4")["can"]] == ["V01"]
    assert _told(four, f"which {DAYS} --berths 5")["can"] == []
    assert refused(four, f"which {DAYS} --with automatik", ON) == (
        '--with: "automatik" is no fact of the firm\'s own; they are: zero-emission, automatic, dogs-ok. '
        'Did you mean "automatic"?'
    )


def test_days_left_open_are_found(four: str) -> None:
    """Seven nights in August: the first day each van can go, past its booking."""
    typed(four, "hire add V01 --from 2026-08-01 --through 2026-08-06 --ref H1", ON)
    found = _told(four, "which --nights 3 --within 2026-08-03..2026-08-12 --most 9")

    assert [(row["van"], row["from"], row["through"]) for row in found["can"]] == [
        ("V01", "2026-08-06", "2026-08-09"),
        ("V02", "2026-08-03", "2026-08-06"),
        ("V03", "2026-08-04", "2026-08-07"),
    ]
    assert (
        refused(four, "which --nights 9 --within 2026-08-03..2026-08-08", ON)
        == "--within: 2026-08-03 to 2026-08-08 is shorter than 9 nights"
    )


def test_any_books_the_best(four: str) -> None:
    """The van that which tells first; where none can go nothing is written."""
    typed(four, "hire add V01 --from 2026-08-10 --through 2026-08-14 --ref H1", ON)
    said = typed(four, f"hire add --van any {DAYS} --ref H2", ON)
    assert said.splitlines()[0].endswith(
        " V02: hire H2 from Tue 4 Aug 2026 through Sat 8 Aug 2026."
    )
    with pytest.raises(Declined) as no:
        typed(four, f"hire add any {DAYS} --electric-bikes 3 --ref H3", ON)
    assert no.value.answer == (
        "No van can go. Nothing was written. See what stops each with: fleetcare which --from "
        "2026-08-04 --through 2026-08-08"
    )


def test_a_booking_that_cannot_go_is_refused_and_kept_only_with_a_reason(good: str) -> None:
    """Whatever is done first three e-bikes are too many; days that have begun are kept."""
    line = f"hire add V01 {DAYS} --electric-bikes 3 --ref H1"
    with pytest.raises(Declined) as no:
        typed(good, line, ON)
    assert no.value.answer.splitlines()[0].startswith("V01 (QI24 QIQ), Tue 4 Aug 2026")
    assert no.value.answer.splitlines()[-1] == (
        "Nothing was written: H1 cannot go as booked, whatever is done first. To write it down "
        'all the same, add: --even-so "why"'
    )
    with pytest.raises(Refused, match='there is no hire "H1"'):
        typed(good, 'hire cancel H1 "x"', ON)
    assert "hire H1 from" in typed(good, f'{line} --even-so "they bring a trailer"', ON)
    past = "hire add V01 --from 2026-07-30 --through 2026-08-02 --electric-bikes 3 --ref H2"
    assert "hire H2 from" in typed(good, past, ON)


@pytest.mark.parametrize(
    ("line", "words"),
    [
        ("which --people 2", "say from when to when: --from D --through D, or --ref"),
        (
            "which --from 2026-08-08 --through 2026-08-03",
            "--through: 2026-08-03 is before 2026-08-08",
        ),
        (
            "which --from 2026-07-03 --through 2026-07-31",
            "--through: 2026-07-31 is over: today is 2026-08-01",
        ),
        (
            "which --nights 3 --within 2026-07-30..2026-08-31",
            "--within: 2026-07-30 is over: today is 2026-08-01",
        ),
        ("which --ref H9", '--ref: there is no hire "H9".'),
    ],
)
def test_words_that_make_no_question_are_told(good: str, line: str, words: str) -> None:
    """Days or open days, not both and not neither; none that are over."""
    assert refused(good, line, ON) == words


def test_no_van_is_called_any(good: str) -> None:
    """It could never be booked by its number."""
    assert refused(good, "van add any --jurisdiction gb", ON).splitlines()[0] == (
        'fleet number: "any" stands for the van that goes best: choose another'
    )


def test_a_booking_is_not_changed_into_one_that_cannot_go(good: str) -> None:
    """More bikes than the rack bears, or a van that cannot go: exit 3, the booking stands as it
    was; said to stand all the same it is changed."""
    typed(good, "hire add V01 --from 2026-08-03 --through 2026-08-05 --ref H1", ON)
    for line in ("hire change H1 --bikes 5", "hire change H1 --bikes 5 --dry-run"):
        with pytest.raises(Declined) as fault:
            typed(good, line, ON)
        assert str(fault.value).splitlines()[-1] == (
            "Nothing was written: H1 cannot go as booked, whatever is done first. To write it down "
            "all the same, add: --even-so"
        )
    assert "5 bikes" not in typed(good, "hire list", ON)
    typed(good, "hire change H1 --bikes 5 --even-so", ON)
    assert "5 bikes" in typed(good, "hire list", ON)


def test_more_bikes_than_the_rack_bears_is_what_stands_in_the_way(sample_book: str) -> None:
    """And not the rack's inspection, which can be done in time: a clerk would have it inspected."""
    asked = "which --from 2027-05-03 --through 2027-05-10 --bikes 6 --json"
    found = json.loads(typed(sample_book, asked, dt.date(2026, 11, 23)))["but_for"]
    (first,) = [one for one in found if one["van"] == "V01"]
    assert (first["rule"], first["do"]) == (
        "rack-rating",
        "rack rating rear: the rack takes 4 bikes or 2 e-bikes (#28)",
    )
