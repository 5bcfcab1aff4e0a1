"""Properties of what recurs: how far apart on-time checks can be, what an early one keeps."""

from __future__ import annotations

import datetime as dt

from dateutil.relativedelta import relativedelta
from hypothesis import given
from hypothesis import strategies as st

from fleetcare.records.facts import Facts, Shared
from fleetcare.records.kinds import Check, Competence, Inspector, VanFacts
from fleetcare.rules.judge import judge
from fleetcare.rules.outcome import AsOf
from fleetcare.rules.read import read_book
from fleetcare.shipped import rulebook_files
from fleetcare.timeline import Timeline

BOOK = read_book(rulebook_files())
SHARED = Shared(
    {1: Inspector(1, "a")},
    {1: (Competence(2, 1, "lpg-leisure-vehicle", dt.date(2000, 1, 1), None, "r"),)},
)
FIRST = st.dates(dt.date(2019, 1, 1), dt.date(2023, 12, 31))


def _line(what: str, rule: str, days: list[dt.date]) -> Timeline:
    """A rule's timeline for passes on some days."""
    checks = [
        Check(n, "V01", what, day, outcome="pass", inspector=1, certificate=f"C{n}")
        for n, day in enumerate(days, 10)
    ]
    said = VanFacts(3, "V01", jurisdiction="gb", lpg=True, places=("appliance:", "gas-hose:"))
    judged = judge(Facts("V01", [said], checks=checks, shared=SHARED), BOOK, AsOf(9, ""))
    return next(o.timeline for o in judged.outcomes if o.rule.name == rule)


@given(FIRST, st.lists(st.integers(0, 70), min_size=1, max_size=6))
def test_on_time_gas_checks_are_never_over_fourteen_months_apart(first, early) -> None:
    """Each check up to seventy days before the deadline: the next deadline never lies more than
    fourteen months after the check itself (GSIUR 36A: twelve months and the two-month window)."""
    days = [first]
    for before in early:
        last = _line("gas-safety", "gas-safety-check", days).last_good(days[-1])
        assert last is not None
        assert last <= days[-1] + relativedelta(months=14)
        days.append(max(last - dt.timedelta(days=before), days[-1] + dt.timedelta(days=1)))


@given(FIRST, st.integers(0, 27))
def test_an_mot_passed_early_keeps_its_anniversary(first, before) -> None:
    """Within the month before its last day a pass ends twelve months after that last day, not
    after the test (RTA 1988 s.48(2))."""
    last = _line("roadworthiness", "roadworthiness-test", [first]).last_good(first)
    assert last is not None
    again = last - dt.timedelta(days=before)

    assert _line("roadworthiness", "roadworthiness-test", [first, again]).last_good(again) == (
        last + relativedelta(months=12)
    )


@given(FIRST, st.integers(62, 300))
def test_a_check_before_the_window_restarts_the_clock(first, before) -> None:
    """The stricter reading: twelve months from the check itself, and the old paper stays good."""
    last = _line("gas-safety", "gas-safety-check", [first]).last_good(first)
    assert last is not None
    again = max(last - dt.timedelta(days=before), first + dt.timedelta(days=1))
    line = _line("gas-safety", "gas-safety-check", [first, again])

    assert line.last_good(again) == max(last, again + relativedelta(months=12))


@given(st.lists(FIRST, min_size=1, max_size=6), FIRST)
def test_one_more_pass_never_takes_a_good_day_away(days, more) -> None:
    """A paper takes nothing from an older paper, whenever it was done."""
    whole = _line("habitation", "habitation-service", sorted(days)).days()
    added = _line("habitation", "habitation-service", sorted([*days, more])).days()

    assert (whole - added).empty
    assert more in added
