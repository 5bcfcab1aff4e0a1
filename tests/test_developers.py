"""What DEVELOPERS.md says of adding a rule is true: TOML alone, and a van is judged by it."""

from __future__ import annotations

import ast
import datetime as dt
import re
import tomllib
from pathlib import Path
from typing import Any

import pytest

from fleetcare.records.facts import Facts
from fleetcare.records.kinds import TABLE, Check, Event, VanFacts
from fleetcare.rules.judge import judge, with_party
from fleetcare.rules.kinds import KINDS
from fleetcare.rules.kinds.case import ALWAYS, Found, Kind, Reads, Term
from fleetcare.rules.outcome import AsOf
from fleetcare.rules.party import NO_BIKES, Party
from fleetcare.rules.read import read_book
from fleetcare.shipped import rulebook_files
from fleetcare.timeline import Step, Timeline, Verdict
from fleetcare.windows import EVER

ROOT = Path(__file__).parent.parent / "fleetcare"
TEXT = (ROOT.parent / "DEVELOPERS.md").read_text("utf-8")


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


SOURCE = {"title": "invented", "clause": "", "grade": "practice", "seen": "no source"}
VERSION = {"from": dt.date(2000, 1, 1), "old_checks": "keep", "source": SOURCE}
EVENT = {
    "event": {"hail": {"title": "hail", "tell": "Photograph the roof."}},
    "check": {"roof": {"title": "roof inspection"}},
    "rule": {
        "hail": {
            "title": "roof after hail", "kind": "after", "checks": ["roof"], "blocks": "yes",
            "starts": "event", "needs_van": True, "by": {"who": "named"},
            "remedy": {"sort": "check", "what": "roof"}, "if_out": "Keep it dry.",
            "version": [{**VERSION, "events": ["hail"]}],
        }
    },
    "line": {
        "roof": {
            "title": "Roof", "sheets": ["return"], "asks": "look", "why": "it leaks",
            "feeds": "defects", "source": "common practice, no source",
        }
    },
}  # fmt: skip
FACT = {
    "fact": {"awning": {"title": "awning", "holds": "yes-no"}},
    "component": {"awning": {"title": "awning", "fixed": ["side"], "when": [{"fact": "awning", "is": True}]}},
    "check": {"awning": {"title": "awning inspection"}},
    "rule": {
        "awning": {
            "title": "awning", "kind": "recurring", "checks": ["awning"], "blocks": "no",
            "when": [{"fact": "awning", "is": True}], "starts": "registration", "needs_van": True,
            "by": {"who": "named"}, "remedy": {"sort": "check", "what": "awning"},
            "if_out": "Wind it in.", "version": [{**VERSION, "months": 12, "ends": "eve"}],
        }
    },
}  # fmt: skip
COUNTRY = {
    "jurisdiction": {
        "title": "an island, visiting", "reviewed_on": dt.date(2026, 8, 1), "caution": "Invented."
    },
    "check": {"ferry": {"title": "ferry paper", "paper": True}},
    "rule": {
        "ferry": {
            "title": "ferry paper", "kind": "dated", "checks": ["ferry"], "blocks": "yes",
            "starts": "must exist", "needs_van": False, "by": {"who": "paper"},
            "remedy": {"sort": "check", "what": "ferry"}, "if_out": "Ring us.",
            "version": [VERSION],
        }
    },
}  # fmt: skip


def _outcomes(file: str, tables: dict[str, Any], party: Party = NO_BIKES, **records: Any) -> Any:
    """How a van stands under the rulebook with one file more."""
    files = {**rulebook_files(), file: tables}
    stated = VanFacts(
        1,
        "V01",
        jurisdiction="gb",
        first_registered_on=dt.date(2020, 1, 1),
        has=records.pop("has", None),
    )
    judged = judge(Facts("V01", [stated], **records), read_book(files), AsOf(2, ""))
    return {o.rule.name: o.at(dt.date(2026, 8, 1)).code for o in with_party(judged, party).outcomes}


def test_what_is_said_to_need_no_python_needs_none() -> None:
    """An event and its rule, a line of a sheet, a fact with its component and rule, and a country
    to visit: each a file more, and vans are judged by it."""
    event = Event(2, "V01", "hail", dt.date(2026, 7, 1))

    assert _outcomes("common/hail.toml", EVENT, events=[event])["hail"] == "not done"
    assert _outcomes("common/hail.toml", EVENT)["hail"] == "not applicable"
    assert _outcomes("common/awning.toml", FACT, has=("awning:yes",))["awning"] == "no record"
    assert _outcomes("common/awning.toml", FACT, has=("awning:no",))["awning"] == "not applicable"
    assert _outcomes("visiting/xi.toml", COUNTRY, Party(abroad=("XI",)))["ferry"] == "no record"
    assert "ferry" not in _outcomes("visiting/xi.toml", COUNTRY)
    assert "roof" in read_book({**rulebook_files(), "common/hail.toml": EVENT}).lines


def test_a_kind_of_rule_is_one_module(monkeypatch: pytest.MonkeyPatch) -> None:
    """A kind of rule made here, entered in the table: the reader takes its terms, vans are judged
    by it, and no other module has to know of it."""
    kind = Kind(
        "moonlit",
        {"months": Term("count", "less")},
        lambda case: [Found(None, Timeline((Step(EVER, Verdict.LACKS, "dark"),)))],
        ALWAYS | {"dark": "failed"},
        lambda rule: Reads(),
    )
    monkeypatch.setitem(KINDS, "moonlit", kind)
    rule = {**EVENT["rule"]["hail"], "kind": "moonlit", "checks": [], "starts": "must exist"}
    tables = {**EVENT, "rule": {"moon": {**rule, "version": [{**VERSION, "months": 2}]}}}

    assert _outcomes("common/moon.toml", tables)["moon"] == "dark"


def test_a_kind_of_record_is_named_where_it_is_said() -> None:
    """No module but the table, a van's facts, the faults and the words of records lists kinds: one more is not
    to be entered anywhere else."""
    lists = {"records/kinds.py", "records/facts.py", "faults/__init__.py", "words/records.py"}
    found = set()
    for path in ROOT.rglob("*.py"):
        names = {
            n.id for n in ast.walk(ast.parse(path.read_text("utf-8"))) if isinstance(n, ast.Name)
        }
        if len(names & {kind.record.__name__ for kind in TABLE}) > 12:
            found.add(path.relative_to(ROOT).as_posix())

    assert found == lists


def test_every_file_that_is_named_is_there() -> None:
    """What the guide tells to touch or to read exists."""
    named = set(re.findall(r"`((?:\w+/)+\w+\.(?:py|toml))`", TEXT))
    places = (ROOT, ROOT.parent, ROOT / "rulebook")

    assert len(named) > 20
    assert [name for name in sorted(named) if not any((p / name).exists() for p in places)] == [
        "reports/x.py"  # stands for one to come
    ]


def test_every_folder_is_named() -> None:
    """Each part of the package stands in the layout."""
    parts = [p.name for p in ROOT.iterdir() if p.is_dir() and p.name != "__pycache__"]

    assert [name for name in parts if f"{name}/" not in TEXT] == []
