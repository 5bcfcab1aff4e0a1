"""An upgrade never refuses a write, and no old word changes its meaning."""

from __future__ import annotations

import copy
import datetime as dt
import json
from pathlib import Path
from typing import Any

import pytest

from fleetcare import shipped
from fleetcare.errors import DatabaseFault
from fleetcare.records.facts import Facts
from fleetcare.records.kinds import Check, Event, VanFacts
from fleetcare.rules.book import FIRM
from fleetcare.rules.formats import NEWEST, files_of, text_of
from fleetcare.rules.judge import judge
from fleetcare.rules.outcome import AsOf
from fleetcare.rules.read import read_book
from fleetcare.rules.visits import each_visit
from tests.typed import typed

ON = dt.date(2026, 8, 1)
FIRM_FILE = """
[[change]]
rule = "habitation-service"
from = 2026-06-01
old_checks = "keep"
why = "we look twice a year"
months = 6
"""
GOLDEN = Path(__file__).parent.parent / "golden" / "rulebooks"


def _package() -> dict[str, Any]:
    return copy.deepcopy(dict(shipped.rulebook_files()))


def test_writes_go_on_where_a_firms_file_does_not_go_with_newer_rules(
    ready: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The rules adopted stay in use, every answer and write says what is wrong and what to do, and
    what happened is written down."""
    file = tmp_path / "firm.toml"
    file.write_text(FIRM_FILE, "utf-8")
    typed(ready, "van add V01 --jurisdiction gb", ON)
    typed(ready, f"rules adopt {file}", ON)
    files = _package()
    del files["common/services.toml"]["rule"]["habitation-service"]
    monkeypatch.setattr(shipped, "rulebook_files", lambda: files)
    caution = (
        "the firm's own file does not go with the rules this program ships, so the rules adopted "
        'stay in use: firm: change[1].rule: names "habitation-service", which is no rule here. '
        "Put the file right and take it in with: fleetcare rules adopt FILE"
    )

    written = typed(ready, "odometer V01 42310mi", ON)

    assert "odometer 42310mi" in written
    assert f"Caution: {caution}" in written
    asked = typed(ready, "hireable V01 --from 2026-08-01 --through 2026-08-02 --json", ON)
    assert caution in json.loads(asked)["cautions"]
    assert "habitation service" in typed(ready, "due", ON)


def test_a_firms_change_is_laid_over_each_version_from_its_day_on() -> None:
    """A version that a newer package brings after the firm's day keeps the firm's terms, and takes
    the package's where the firm said nothing; a law is tightened in each."""
    files = _package()
    rule = files["common/services.toml"]["rule"]["habitation-service"]
    newer = copy.deepcopy(rule["version"][0]) | {"from": dt.date(2027, 1, 1), "ends": "month-end"}
    rule["version"].append(newer)
    change = {
        "rule": "habitation-service", "from": dt.date(2026, 6, 1), "old_checks": "keep",
        "why": "twice", "months": 6,
    }  # fmt: skip
    found = read_book({**files, FIRM: {"change": [change]}}).rules["common", "habitation-service"]

    assert [(v.from_on.year, v.terms["months"], v.terms["ends"]) for v in found.versions] == [
        (rule["version"][0]["from"].year, 12, rule["version"][0]["ends"]),
        (2026, 6, rule["version"][0]["ends"]),
        (2027, 6, "month-end"),
    ]


def test_a_text_of_a_format_to_come_is_refused() -> None:
    """A newer program wrote it: no answer at all is given by one that can't read it."""
    text = text_of({}).replace(f'"format": {NEWEST}', f'"format": {NEWEST + 1}')
    with pytest.raises(DatabaseFault) as refused:
        files_of(text)

    assert str(refused.value) == (
        f"the rules in use are written in format {NEWEST + 1}, and this program reads up to "
        f"{NEWEST}: use a newer program"
    )


def _names(files: Any) -> set[tuple[str, str]]:
    """Every name of a rule, check, event, line or component, and what each was before."""
    found = set()
    for tables in files.values():
        for section in ("rule", "check", "event", "line", "component"):
            for name, table in tables.get(section, {}).items():
                found |= {(section, word) for word in (name, *table.get("was", ()))}
    return found


@pytest.mark.parametrize("text", sorted(path.stem for path in GOLDEN.glob("*.json")))
def test_no_name_of_an_old_text_has_vanished(text: str) -> None:
    """What was named once is named today, or something says that it was called so."""
    old = files_of((GOLDEN / f"{text}.json").read_text("utf-8"))
    package = {name: tables for name, tables in old.items() if name != FIRM}

    assert len(_names(package)) > 60
    assert _names(package) - _names(each_visit(shipped.rulebook_files())) == set()


def test_what_was_renamed_or_split_keeps_its_records_and_its_day() -> None:
    """A check renamed counts, one split counts for both, an event under its old name still asks."""
    files = _package()
    checks = files["common/things.toml"]["check"]
    checks["hull"] = {**checks.pop("chassis"), "was": ["chassis"]}
    checks["axles"] = {"title": "axles looked at", "was": ["chassis"]}
    rules = files["common/services.toml"]["rule"]
    service = rules.pop("chassis-service")
    rules["hull-service"] = {
        **service, "was": ["chassis-service"], "checks": ["hull"],
        "remedy": {"sort": "check", "what": "hull"},
    }  # fmt: skip
    rules["chassis-by-distance"] |= {
        "checks": ["hull"], "remedy": {"sort": "check", "what": "hull"},
    }  # fmt: skip
    rules["axle-service"] = {**rules["hull-service"], "checks": ["axles"], "was": []}
    events = files["common/yard.toml"]["event"]
    events["bump"] = {**events.pop("knock"), "was": ["knock"]}
    asks = files["common/yard.toml"]["rule"]["event-inspection"]["version"][0]
    asks["events"] = ["bump", "flood", "fire", "alarm-sounded"]
    for line in files["common/sheets.toml"]["line"].values():
        line |= {"event": "bump"} if line.get("event") == "knock" else {}
        rules_fed = line.get("rules", [])
        line |= {"rules": ["hull-service" if r == "chassis-service" else r for r in rules_fed]}
    book = read_book(files)
    done = Check(2, "V01", "chassis", ON, outcome="pass", by="A. Fitter")
    facts = Facts(
        "V01", [VanFacts(1, "V01", jurisdiction="gb")], checks=[done],
        events=[Event(3, "V01", "knock", ON)],
    )  # fmt: skip
    stood = {o.rule.name: o.at(ON).code for o in judge(facts, book, AsOf(3, "")).outcomes}

    assert (stood["hull-service"], stood["axle-service"]) == ("in date", "in date")
    assert stood["event-inspection"] == "not done"
    assert book.rule("chassis-service", "gb") is book.rules["common", "hull-service"]
    assert {kind.name for kind in (book.find_check("chassis"),) if kind} <= {"hull", "axles"}
