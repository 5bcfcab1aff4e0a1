"""What DEVELOPERS.md says of adding a rule is true: TOML alone, and a van is judged by it."""

from __future__ import annotations

import datetime as dt
import re
import tomllib
from pathlib import Path

from fleetcare.records.facts import Facts
from fleetcare.records.kinds import Check, VanFacts
from fleetcare.rules.judge import judge
from fleetcare.rules.outcome import AsOf
from fleetcare.rules.read import read_book
from fleetcare.shipped import rulebook_files

TEXT = (Path(__file__).parent.parent / "DEVELOPERS.md").read_text("utf-8")


def test_the_rule_shown_is_a_rule() -> None:
    """The TOML of the text, read with the rulebook, counts 24 months and stops at 27."""
    (shown,) = re.findall(r"```toml\n(.*?)```", TEXT, re.DOTALL)
    files = dict(rulebook_files())
    files["gb/more.toml"] = {
        **tomllib.loads(shown),
        "check": {"bearings": {"title": "wheel bearing check"}},
    }
    day = dt.date(2026, 3, 2)
    facts = Facts(
        "V01",
        [VanFacts(1, "V01", jurisdiction="gb", first_registered_on=dt.date(2020, 1, 1))],
        checks=[Check(2, "V01", "bearings", day, outcome="pass", by="x" * 64)],
    )
    judged = judge(facts, read_book(files), AsOf(2, ""))
    (line,) = [o.timeline for o in judged.outcomes if o.rule.name == "wheel-bearings"]

    assert line.last_good(day) == dt.date(2028, 3, 2)
    assert [s.code for s in line.steps[-2:]] == ["late", "overdue"]
    assert line.steps[-1].start == dt.date(2028, 6, 3)


def test_every_folder_is_named() -> None:
    """Each part of the package stands in the layout."""
    root = Path(__file__).parent.parent / "fleetcare"
    parts = [p.name for p in root.iterdir() if p.is_dir() and p.name != "__pycache__"]

    assert [name for name in parts if f"{name}/" not in TEXT] == []
