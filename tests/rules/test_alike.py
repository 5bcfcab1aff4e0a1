"""Vans that are alike share what is judged once; vans that differ in anything a rule asks do not."""

from __future__ import annotations

import datetime as dt
from typing import Any

import pytest

from fleetcare.records.facts import Facts
from fleetcare.records.kinds import Fit, VanFacts
from fleetcare.rules.book import FIRM
from fleetcare.rules.judge import judge
from fleetcare.rules.outcome import AsOf
from fleetcare.rules.read import read_book
from fleetcare.shipped import rulebook_files

DAY = dt.date(2026, 8, 1)


def _asking(fact: str, over: str) -> Any:
    """A firm's rule for vans of which a fact is over an amount."""
    source = {"title": "ours", "clause": "", "grade": "firm", "seen": "read"}
    rule = {
        "title": "heavy", "kind": "recurring", "checks": ["inspection"], "blocks": "yes",
        "starts": "must exist", "needs_van": True, "by": {"who": "named"}, "if_out": "Ring us.",
        "when": [{"fact": fact, "over": over}], "remedy": {"sort": "check", "what": "inspection"},
        "version": [
            {"from": dt.date(2000, 1, 1), "old_checks": "keep", "months": 12, "ends": "eve",
             "source": source},
        ],
    }  # fmt: skip
    return read_book({**rulebook_files(), FIRM: {"rule": {"heavy": rule}}})


@pytest.mark.parametrize(
    ("fact", "over", "low", "high"),
    [
        ("front_axle_mass", "1800kg", "1700kg", "1900kg"),
        ("rear_axle_mass", "1800kg", "1700kg", "1900kg"),
        ("notice_height", "3000mm", "2900mm", "3100mm"),
        ("max_mass", "3500kg", "3500kg", "3850kg"),
    ],
)
def test_whatever_fact_a_rule_asks_tells_vans_apart(
    fact: str, over: str, low: str, high: str
) -> None:
    """Two vans judged one after another by one book in one process, in either order, each as if
    it were the only one."""
    for order in ((low, high), (high, low)):
        book = _asking(fact, over)
        stood = {}
        for value in order:
            stated: Any = {"jurisdiction": "gb", fact: value}
            found = judge(Facts("V01", [VanFacts(1, "V01", **stated)]), book, AsOf(1, ""))
            (outcome,) = [o for o in found.outcomes if o.rule.name == "heavy"]
            stood[value] = outcome.at(DAY).code

        assert stood == {low: "not applicable", high: "no record"}


def test_the_same_tyres_under_another_axle_mass() -> None:
    """Two vans with the same tyres and other axle masses, one book in one process."""
    book = read_book(rulebook_files())
    stood = []
    for mass in ("1850kg", "2300kg", "1850kg"):
        stated = VanFacts(
            1, "V01", jurisdiction="gb", axles="single", front_axle_mass=mass,
            rear_axle_mass="2000kg",
        )  # fmt: skip
        fits = [
            Fit(number, "V01", "tyre", place, DAY, load_index="112")
            for number, place in enumerate(("front-left", "front-right"), 2)
        ]
        found = judge(Facts("V01", [stated], fits), book, AsOf(1, ""))
        stood += [
            o.at(DAY).code
            for o in found.outcomes
            if (o.rule.name, o.place) == ("tyre-load", "front axle")
        ]

    assert stood == ["in date", "overloaded", "in date"]
