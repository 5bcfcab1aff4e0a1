"""A museum of bad rule files: every fault of a file is reported at once, with file and key."""

from __future__ import annotations

import copy
import datetime as dt
import json
import tomllib
from pathlib import Path
from typing import Any

import pytest

from fleetcare.errors import Refused
from fleetcare.records.kinds import Check
from fleetcare.rules.book import FIRM
from fleetcare.rules.formats import files_of, text_of
from fleetcare.rules.read import digest_of, read_book, try_book
from fleetcare.rules.rule import Rule, Source, Version
from fleetcare.rules.spliced import terms_for
from fleetcare.shipped import rulebook_files

BAD = Path(__file__).parent / "bad"
FILES = sorted(BAD.glob("*.toml"))


def _faults(path: Path) -> str:
    files = dict(rulebook_files())
    name = FIRM if path.stem.startswith("firm-") else f"gb/{path.name}"
    files[name] = tomllib.loads(path.read_text("utf-8"))
    return "\n".join(str(p) for p in try_book(files)[1]) + "\n"


@pytest.mark.parametrize("path", FILES, ids=lambda p: p.stem)
def test_a_bad_file_is_reported_whole(path: Path) -> None:
    """The report is the whole text beside the file, word for word."""
    assert _faults(path) == path.with_suffix(".txt").read_text("utf-8")


def test_the_museum_is_whole() -> None:
    """Every bad file has its report, no report lacks its file, and some hold three faults."""
    texts = sorted(BAD.glob("*.txt"))

    assert [p.stem for p in FILES] == [p.stem for p in texts]
    assert len(FILES) >= 8
    assert sum(len(p.read_text("utf-8").splitlines()) >= 3 for p in texts) >= 4


def test_the_shipped_rules_have_no_fault() -> None:
    """The program's own rules read clean, and the text kept gives the same book back."""
    files = rulebook_files()
    text = text_of(files)

    assert try_book(files)[1] == []
    assert files_of(text) == json.loads(json.dumps(files, default=str)) or files_of(text) == files
    assert read_book(files_of(text), digest_of(text)).rules == read_book(files).rules


def test_every_shipped_version_names_its_source_and_grade() -> None:
    """A figure without a source says that it is common practice."""
    for rule in read_book(rulebook_files()).rules.values():
        assert rule.if_out
        for version in rule.versions:
            assert version.source.title
            if version.source.seen == "no source":
                assert version.source.grade in ("practice", "maker"), rule.name


def _firm(change: dict[str, Any]) -> dict[str, Any]:
    files: dict[str, Any] = copy.deepcopy(dict(rulebook_files()))
    files[FIRM] = {"change": [change]}
    return files


def test_a_firm_may_tighten_a_law() -> None:
    """Ten months for the gas check become a further version that keeps older records."""
    book = read_book(
        _firm(
            {
                "rule": "gas-safety-check",
                "from": dt.date(2026, 1, 1),
                "old_checks": "keep",
                "why": "our insurer asks",
                "months": 10,
            }
        )
    )
    version = book.rules["gb", "gas-safety-check"].versions[-1]

    assert (version.terms["months"], version.terms["early_months"]) == (10, 2)
    assert version.source == Source("the firm's own rule: our insurer asks", "", "firm", "read")


@pytest.mark.parametrize(
    ("rule", "term", "value", "message"),
    [
        ("gas-safety-check", "months", 14, "14 is looser than the law's 12"),
        ("gas-safety-check", "early_months", 3, "3 is looser than the law's 2"),
        ("roadworthiness-test", "first_months", 48, "48 is looser than the law's 36"),
        ("height-notice", "at_most_over", "200mm", '"200mm" is looser than the law\'s "150mm"'),
        ("gas-safety-check", "stop_months", 13, "13 is looser than the law's None"),
    ],
)
def test_a_firm_may_not_loosen_a_law(rule: str, term: str, value: Any, message: str) -> None:
    """Each kind says which way is stricter; the refusal names both values."""
    with pytest.raises(Refused) as refused:
        read_book(
            _firm(
                {
                    "rule": rule,
                    "from": dt.date(2026, 1, 1),
                    "old_checks": "keep",
                    "why": "easier",
                    term: value,
                }
            )
        )

    (problem,) = refused.value.problems
    title = read_book(rulebook_files()).rules["gb", rule].versions[-1].source.title
    assert str(problem) == (
        f'firm: change[1].{term}: {message} for "{rule}" ({title}); a firm may only tighten it'
    )


def test_a_firm_may_not_lower_the_legal_tread() -> None:
    """A limit left out or lowered is a loosening too."""
    with pytest.raises(Refused) as refused:
        read_book(
            _firm(
                {
                    "rule": "tyre-tread",
                    "from": dt.date(2026, 1, 1),
                    "old_checks": "cut",
                    "why": "x",
                    "limits": [{"reading": "tread", "dimension": "length", "at_least": "1.5mm"}],
                }
            )
        )

    assert "is looser than the law's" in str(refused.value)


def test_old_records_keep_their_terms_or_are_cut() -> None:
    """Under `keep` a record is judged by the version of its own day, and a `cut` in between stays
    cut for all that came before it."""
    source = Source("s", "", "practice", "no source")
    versions = tuple(
        Version(dt.date(year, 1, 1), {"months": months}, source, cut)
        for year, months, cut in ((2000, 12, False), (2010, 24, True), (2020, 6, False))
    )
    rule = Rule("r", "r", "recurring", "gb", versions)

    def months(index: int, year: int) -> int:
        return int(terms_for(rule, index)(Check(1, "V", "x", dt.date(year, 6, 1)))["months"])

    assert [months(0, y) for y in (2005, 2015)] == [12, 12]
    assert [months(1, y) for y in (2005, 2015)] == [24, 24]
    assert [months(2, y) for y in (2005, 2015, 2025)] == [24, 24, 6]


def test_three_shipped_rules_have_two_versions() -> None:
    """At least one keeps older records and one judges them anew."""
    rules = [r for r in read_book(rulebook_files()).rules.values() if len(r.versions) > 1]

    assert len(rules) >= 3
    assert {v.cut for r in rules for v in r.versions[1:]} == {True, False}
