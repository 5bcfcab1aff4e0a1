"""Each kind says what it reads, and reads no more: what is shared between vans rests on it."""

from __future__ import annotations

from collections import defaultdict
from typing import Any

import pytest

from fleetcare.desk.asking import asking
from fleetcare.rules import plan
from fleetcare.rules.judge import with_party
from fleetcare.rules.kinds import KINDS, kind_of
from fleetcare.rules.kinds.case import Case, Reads
from fleetcare.rules.party import Party
from fleetcare.van.said import FitOut
from fleetcare.van.van import Van

# What follows from what is declared: stamps and cards of checks, the fits behind places.
_ALWAYS = {"shared", "van", "corrected"}
_OF_FIELD = {
    "fits": "components", "take_offs": "components", "checks": "checks", "events": "events",
}  # fmt: skip
_WITH = {
    # A temporary repair lasts to the end of the hire the van was out on.
    "defects": {
        "defects",
        "repairs",
        "sign_offs",
        "rechecks",
        "checks",
        "outs",
        "backs",
        "hires",
        "hire_changes",
    },
    "holds": {"holds", "lifts"},
    "recalls": {"recalls", "recalls_done"},
    "trips": {"outs", "backs", "hires", "hire_changes", "asked_at"},
    "lay_ups": {"lay_ups"},
}


class _FactsSpy:
    """One van's facts that note which lists are looked at."""

    def __init__(self, facts: Any, seen: set[str]) -> None:
        self._facts, self._seen = facts, seen

    def __getattr__(self, name: str) -> Any:
        value = getattr(self._facts, name)
        if value and name not in _ALWAYS:  # an empty list tells nothing
            self._seen.add(name)
        return value


def _noted(kind: Any, seen: dict[str, set[str]]) -> Any:
    """A kind that notes what its judging looks at."""

    def judge(case: Case) -> Any:
        van = Van.__new__(Van)
        van.__dict__.update(case.van.__dict__)
        van.__dict__.pop("trips", None)
        van.facts = _FactsSpy(case.van.facts, seen[case.rule.name])  # type: ignore[assignment]
        facts = _FactsSpy(case.fit_out.facts, seen[f"{case.rule.name} said"])
        spied = FitOut(facts, case.fit_out.places, case.fit_out.own)  # type: ignore[arg-type]
        return kind.judge(case._replace(van=van, fit_out=spied))

    return judge


def test_no_kind_reads_what_it_does_not_declare(
    sample_file: Any, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Over the whole sample, with a party that brings every rule in: the lists of records and the
    facts each rule looks at are those it declares."""
    seen: dict[str, set[str]] = defaultdict(set)
    real = plan.kind_of
    noted = {k: kind._replace(judge=_noted(kind, seen)) for k, kind in KINDS.items()}
    monkeypatch.setattr(plan, "kind_of", lambda rule: noted[real(rule).name])
    rules = {}
    with asking(str(sample_file)) as asked:
        book = asked.book._replace(made={})
        for judged in asked._replace(book=book).fleet():
            found = with_party(judged, Party(2, 1, ("16",), "B", ("DE", "AT")))
            rules |= {o.rule.name: o.rule for o in found.outcomes}

    assert len(seen) > 60
    for name, rule in rules.items():
        reads = kind_of(rule).reads(rule)
        assert seen[name] <= _allowed(reads), name
        assert seen[f"{name} said"] - set(rule.rests_on) <= set(reads.facts), name


def _allowed(reads: Reads) -> set[str]:
    found = set()
    if reads.components:
        found |= {"fits", "take_offs"}
    if reads.checks or reads.readings:
        # Whether a check serves this handover rests on the trips; what closes a fail, on its items.
        found |= {"checks", "defects", "sign_offs", "repairs", *_WITH["trips"]}
    if reads.events:
        found |= {"events"}
    for name in reads.others:
        found |= _WITH.get(name, {name})
    if "scans" in reads.others:  # a paper is awaited for any record that stands
        return {"scans", "stated", *_WITH["trips"], *_WITH["defects"], *_OF_FIELD, "odometers",
                "holds", "lifts", "recalls", "sheets", "waivers"}  # fmt: skip
    return found
