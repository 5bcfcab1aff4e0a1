"""When a fact may be said is told alike by the report of the week and at the counter."""

from __future__ import annotations

import datetime as dt

from fleetcare.desk import calls, questions
from fleetcare.rules.kinds.case import NO_BIKES
from tests.typed import typed_all
from tests.vans import GOOD

D = dt.date.fromisoformat
ON = D("2026-08-01")


def test_a_fact_may_be_said_while_the_van_is_on_hire(ready: str) -> None:
    """Saying it needs papers and no van: the next hire is not past saving."""
    typed_all(ready, GOOD.replace(" --no-mains", ""), ON)
    typed_all(
        ready,
        [
            "hire add V01 --from 2026-08-02 --through 2026-08-09 --ref H1 --even-so known",
            "hire add V01 --from 2026-08-10 --through 2026-08-10 --ref H2",
        ],
        ON,
    )
    day = D("2026-08-02")  # a Sunday; H1 has the van
    (work,) = questions.hireable(
        ready, "V01", calls.Question(None, None, NO_BIKES, day, "H2")
    ).to_do
    (item,) = [
        i for i in questions.due(ready, day, None).items if i.rule == "electrical-inspection"
    ]

    assert (work.do_from, work.do_by) == (D("2026-08-03"), D("2026-08-07"))
    assert item.spoils == "H2 from Mon 10 Aug 2026"
    assert (item.do_from, item.do_by) == (work.do_from, work.do_by)
