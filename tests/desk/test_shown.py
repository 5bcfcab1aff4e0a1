"""Nothing of a van is out of sight: what stands in the book stands in `van show`."""

from __future__ import annotations

from fleetcare.desk.asking import asking
from fleetcare.records.facts import numbers_of
from fleetcare.records.kinds import FIELD_OF
from fleetcare.reports.fleet import record_rows


def test_every_record_of_a_van_has_its_line(sample_file: str) -> None:
    """Each record that stands is listed with the number to correct or withdraw it by, whatever
    its kind; the sample holds some of most kinds."""
    kinds = set()
    with asking(str(sample_file)) as asked:
        for judged in asked.fleet():
            facts = judged.known.facts
            assert {row["record"] for row in record_rows(judged)} == numbers_of(facts)
            kinds |= {kind for kind, field in FIELD_OF.items() if getattr(facts, field)}

    assert len(kinds) >= 15
