"""A van that came back late was not away with the hire that was to follow it."""

from __future__ import annotations

import datetime as dt

from fleetcare.desk import questions
from tests.typed import typed, typed_all
from tests.vans import TREAD

D = dt.date.fromisoformat


def test_a_van_back_late_is_in_the_yard_though_the_next_hire_began_the_day_before(
    good: str,
) -> None:
    """On the day of a return it is in the yard until the next hire is written down as out: nobody is
    sent after a hirer who never had it."""
    typed_all(
        good,
        [
            "hire add V01 --from 2026-08-01 --through 2026-08-03 --ref H1",
            "hire add V01 --from 2026-08-04 --through 2026-08-08 --ref H2",
            f'record V01 walkaround --pass --by "W. Yard" {TREAD}',
            "hire driver H1 --licence B --until 2040-01-01 --shown photocard",
            "hire out H1 --by W --odometer 1000mi",
        ],
        D("2026-08-01"),
    )
    back = D("2026-08-05")
    typed(good, "hire back H1 --odometer 1100mi", back)
    said = typed(good, 'defect report V01 --grade major "lamp"', back)
    (item,) = [i for i in questions.due(good, back, None).items if i.rule == "open-defects"]

    assert said.splitlines()[0].endswith('V01: major defect "lamp", Wed 5 Aug 2026.')
    assert "tell the hirer" not in said
    assert (item.group == "out", item.if_out) == (False, None)
