"""What the owner looks up on pages is what the commands print; a witness is told by a form alone."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from fleetcare.desk import missing as missing_desk
from fleetcare.desk import rulebook
from tests.typed import typed
from tests.web.conftest import Opened, faults_of, records, words


def _flat(text: str) -> str:
    return " ".join(text.split())


def test_what_is_missing_of_the_fleet(opened: Opened) -> None:
    """Every item of every van stands on both pages, under its van and under who can do it."""
    clerk = opened("clerk")
    found = missing_desk.missing(clerk.place, None, None)
    by_van, by_who = clerk.text("/missing"), clerk.text("/missing?grouped=who")
    wanted = sorted(item.command for one in found for item in one.items)
    assert wanted
    for path in ("/missing", "/missing?grouped=who"):
        listed = re.findall(r"<code>([^<]*)</code>", clerk.get(path).text)
        assert sorted(listed) == wanted
    for one in found:
        for stop in one.stops:
            assert stop in by_van
            assert stop in by_who
    assert "V01 QI22 QIQ Nothing is missing." in by_van
    assert by_who.startswith("What is missing by van by who can do it Say what the van is and has")


def test_the_rules_in_words(opened: Opened) -> None:
    """Each with its grade and terms, and a page of its own with versions and sources."""
    yard = opened("yard")
    listed = yard.get("/rules").text
    assert 'href="/rules/roadworthiness-test"' in listed
    assert "MOT law yes from Fri 1 Nov 1991: months 12" in words(listed)
    assert len(re.findall(r'href="/rules/', listed)) > 100
    page = yard.text("/rules/roadworthiness-test")
    [shown] = rulebook.shown(yard.place, "roadworthiness-test")
    for terms, source, old in shown.versions:
        assert f"{terms} {source}; {old}" in page
    assert f"If out {shown.if_out}" in page
    assert "Road Traffic Act 1988" in page
    assert yard.get("/rules/nosuchrule").status_code == 404


def test_why_a_rule_stands_as_it_does(opened: Opened) -> None:
    """On the rule's page, of the van that is chosen; a van that is none is said."""
    yard = opened("yard")
    why = _flat(typed(yard.place, "why V01 roadworthiness-test")).partition(" in date means")[0]
    assert why[:60] in yard.text("/rules/roadworthiness-test?van=V01")
    page = yard.get("/rules/roadworthiness-test?van=V99")
    assert page.status_code == 404
    assert faults_of(page.text) == [
        '"V99" is not in the fleet. Did you mean "V09"? Add it with: fleetcare van add V99 (on '
        "the terminal: it has no page)"
    ]


def test_the_answers_given(opened: Opened) -> None:
    """Of the van that is chosen, each with what the book says now."""
    clerk = opened("clerk")
    said = _flat(typed(clerk.place, "answers V01"))
    assert "since" in said or "answered alike now" in said
    assert said in clerk.text("/answers?van=V01")
    assert clerk.get("/answers?van=V99").status_code == 404
    assert "answered" not in clerk.text("/answers")


def test_the_tally_and_reading_through(opened: Opened) -> None:
    """The page has the tally; a right one holds, a wrong one is told as a fault, and none changes
    the book."""
    owner = opened("owner")
    before = records(owner.place)
    status = typed(owner.place, "status")
    tally = re.findall(r"^tally +(.+)$", status, re.MULTILINE)[0]
    size = re.findall(r"^records +(\d+)$", status, re.MULTILINE)[0]
    assert tally in owner.text("/tally")
    read = owner.send("/tally", read="yes")
    assert f"All {int(size):,} records are as they were written down." in words(read.text)
    assert faults_of(owner.send("/tally").text) == ["Tally, as printed: is not filled in"]
    held = owner.send("/tally", tally=f"{size} {tally}")
    assert held.status_code == 200
    assert "bits of its root agree." in words(held.text)
    turned = tally[:-1] + ("0" if tally[-1] != "0" else "1")
    wrong = owner.send("/tally", tally=f"{size} {turned}")
    assert wrong.status_code == 409
    assert f"the first {int(size):,} records are not those of the tally" in words(wrong.text)
    slip = owner.send("/tally", tally="what")
    assert faults_of(slip.text) == [
        '"Tally, as printed": "what" is not a tally: type it as printed, like '
        '"4,812 7F3A-91C0-22D4-0B6E-5A17-C8F3-E049-6BD2"'
    ]
    assert records(owner.place) == before


def test_the_witness_is_told(opened: Opened, tmp_path: Path) -> None:
    """Only the file that was told on the terminal before, and no other can be named."""
    owner = opened("owner")
    assert "None is known of." in owner.text("/tally")
    assert owner.send("/witness").status_code == 422
    assert owner.send("/witness", to=str(tmp_path / "x")).status_code == 400
    file = tmp_path / "witness.jsonl"
    typed(owner.place, f"witness --to {file}")
    seen = file.read_bytes()
    assert str(file) in owner.text("/tally")
    assert file.read_bytes() == seen
    sent = owner.send("/witness")
    assert sent.status_code == 200
    assert f'Line 2 of "{file}"' in words(sent.text)
    assert len(file.read_bytes().splitlines()) == 2


@pytest.mark.parametrize("role", ["clerk", "yard", "workshop"])
def test_the_tally_is_the_owners(role: str, opened: Opened) -> None:
    """Nobody else has the book read through, which takes a while, or tells its witness."""
    one = opened(role)
    assert one.get("/tally").status_code == 403
    assert one.send("/witness").status_code == 403
