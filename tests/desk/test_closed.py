"""Bank holidays in a firm's file: dates in the text that is adopted, a caution when they run out.

Held to dateutil's Easter, worked out apart from the library that writes them, and to the days the
government printed for England in 2026 (from memory of gov.uk/bank-holidays).
"""

from __future__ import annotations

import datetime as dt
from pathlib import Path

import pytest
from dateutil.easter import easter

from fleetcare.desk.asking import asking
from tests.typed import refused, typed

DAY = dt.date(2026, 8, 1)
PRINTED = (
    "2026-01-01", "2026-04-03", "2026-04-06", "2026-05-04", "2026-05-25", "2026-08-31",
    "2026-12-25", "2026-12-28",
)  # fmt: skip


@pytest.fixture
def firm(tmp_path: Path) -> Path:
    pytest.importorskip("holidays")
    file = tmp_path / "firm.toml"
    file.write_text(
        '[settings]\nclosed_days = [2026-08-03]\nbank_holidays = "GB-ENG"\nturnaround_days = 1\n'
    )
    return file


def test_its_days_are_closed_for_three_years(good: str, firm: Path) -> None:
    """Beside the firm's own, from the first of January of this year on."""
    typed(good, f"rules adopt {firm}", DAY)
    with asking(good) as asked:
        book = asked.book

    days = {day for day in book.closed_days if day.year == 2026 and day.weekday() < 5}
    assert days == {dt.date(2026, 8, 3), *map(dt.date.fromisoformat, PRINTED)}
    for year in (2026, 2027, 2028):
        assert easter(year) + dt.timedelta(1) in book.closed_days
        assert not book.working(easter(year) - dt.timedelta(2))
    assert {day.year for day in book.closed_days} == {2026, 2027, 2028}
    assert book.bank_holidays_through == dt.date(2028, 12, 31)


def test_work_is_planned_round_them(good: str, firm: Path) -> None:
    """31 August 2026 is a bank holiday: what must be done before a hire of the first of September
    is done by the Friday before."""
    before = typed(good, "hireable V01 --from 2026-09-01 --through 2026-09-05", DAY)
    typed(good, f"rules adopt {firm}", DAY)
    after = typed(good, "hireable V01 --from 2026-09-01 --through 2026-09-05", DAY)

    assert "by Mon 31 Aug 2026" in before
    assert "by Mon 31 Aug 2026" not in after
    assert "by Fri 28 Aug 2026" in after


def test_it_is_said_when_they_run_out(good: str, firm: Path) -> None:
    """Eight weeks before the last of them, and no sooner; taken in again they go on."""
    typed(good, f"rules adopt {firm}", DAY)
    words = (
        "the bank holidays of GB-ENG are known through Sun 31 Dec 2028: take the firm's file in "
        "again with fleetcare rules adopt FILE"
    )

    assert words not in " ".join(typed(good, "due", dt.date(2028, 11, 5)).split())
    assert words in " ".join(typed(good, "due", dt.date(2028, 11, 6)).split())
    typed(good, f"rules adopt {firm}", dt.date(2028, 11, 6))
    assert "bank holidays" not in typed(good, "due", dt.date(2028, 11, 6))


def test_a_place_nobody_knows_is_refused(good: str, firm: Path) -> None:
    """Nothing is adopted; what is no word at all is told as any other setting is."""
    firm.write_text('[settings]\nbank_holidays = "GB-XYZ"\n')
    assert refused(good, f"rules adopt {firm}", DAY) == (
        f'{firm}: settings.bank_holidays: "GB-XYZ" is no place whose bank holidays are known: like '
        "GB-ENG, GB-SCT, DE-BY"
    )
    firm.write_text("[settings]\nbank_holidays = 3\n")
    assert "settings.bank_holidays" in refused(good, f"rules adopt {firm}", DAY)
