"""What the terminal says to type, a page says to press."""

from __future__ import annotations

import ast
import re
from pathlib import Path

import pytest

from fleetcare.cli.app import COMMANDS
from fleetcare.web.pressed import NO_PAGE, TERMINAL, WAYS, in_words_of_a_page, linked
from tests.web.conftest import Opened, words

ROOT = Path(__file__).parents[2] / "fleetcare"
_COMMAND = re.compile(rf"fleetcare\s+(?:{'|'.join(COMMANDS)})\b[^<]*")
PAGES = (
    "/counter", "/counter?from_on=2026-11-27&through_on=2026-12-05&people=4&bikes=2", "/hires",
    "/hire/H135", "/hire/H136", "/hire/H138", "/hire/H139", "/hire/H140", "/hire/H148", "/diary",
    "/yard", "/monday", "/monday?by=van", "/monday?by=trade", "/vans", "/van/V01", "/van/V07",
    "/van/V12", "/van/V07/defects", "/van/V08/defects", "/van/V12/missing", "/van/V07/missing",
    "/van/V01/record", "/van/V01/defect", "/walk/handover/V01/H141", "/people",
)  # fmt: skip


@pytest.mark.parametrize(
    ("typed", "said"),
    [
        (
            "Release it with: fleetcare hire out H1 --by NAME --odometer READING",
            'Release it with: "The key goes out" for H1',
        ),
        (
            "Record its return first, with: fleetcare hire back H1 --odometer …",
            'Record its return first, with: "It is back" for H1',
        ),
        (
            "No sheet asks for it: fleetcare record V01 stood --pass --by NAME",
            'No sheet asks for it: "Record a check" of V01',
        ),
        (
            "answered with: fleetcare hireable V01 --from DAY --through DAY and --bikes, --people, "
            "--licence or --abroad",
            'answered with: "Which van?"',
        ),
        (
            "how each stands is in fleetcare van list, and what now stops a hire heads fleetcare "
            "due.",
            'how each stands is in "Vans", and what now stops a hire heads "Monday".',
        ),
        (
            "Sheets: fleetcare return V06 H1 --by NAME; fleetcare handover V01 H1 --by NAME.",
            'Sheets: "Take it back" for H1; "Hand it over" for H1.',
        ),
        (
            "not said. Say it with: fleetcare van change V12 --gas-alarm (or --no-gas-alarm)",
            "not said. Say it with: fleetcare van change V12 --gas-alarm (or --no-gas-alarm)"
            f"{NO_PAGE}",
        ),
        (
            "Say it: fleetcare van change V12 --spare …. Then look.",
            f"Say it: fleetcare van change V12 --spare …{NO_PAGE}. Then look.",
        ),
        (
            'If it is true, add: --even-so "why"',
            'If it is true, add: "Why it stands all the same" "why"',
        ),
        ("fleetcare counts days and keeps evidence.", "fleetcare counts days and keeps evidence."),
    ],
)
def test_a_command_is_said_as_what_is_pressed(typed: str, said: str) -> None:
    """Where a page does it; what none does is left as it is typed, and says so."""
    assert in_words_of_a_page(typed) == said


def test_what_is_pressed_leads_there_and_is_text() -> None:
    """The check and its place are filled in; a reference that is no plain word harms nothing."""
    command = "fleetcare record V01 gas-alarm --on DAY --pass --place living-area."
    assert linked(command) == (
        '<a href="/van/V01/record?what=gas-alarm&amp;place=living-area">&#34;Record a check&#34; '
        "of V01</a>."
    )
    evil = 'fleetcare hire out "<b>A" --by NAME <script>'
    assert linked(evil) == (
        '<a href="/hire/~IjxiPkEi">&#34;The key goes out&#34; for &#34;&lt;b&gt;A&#34;</a> '
        "&lt;script&gt;"
    )


def test_what_is_pressed_stands_on_a_page() -> None:
    """Each thing to press is there under its name; each command is one of ours."""
    pages = " ".join(one.read_text("utf-8") for one in (ROOT / "web/templates").glob("*.html"))
    known = {name.split()[0] for name in WAYS}

    assert [way.press for way in WAYS.values() if way.press not in pages] == []
    assert known | TERMINAL == set(COMMANDS)


def test_every_command_that_a_sentence_names_is_known() -> None:
    """None of the sentences of the package is shown on a page as it is typed."""
    left = [
        text
        for folder in ("desk", "words", "faults", "reports")
        for path in sorted((ROOT / folder).glob("*.py"))
        for node in ast.walk(ast.parse(path.read_text("utf-8")))
        if isinstance(node, ast.Constant) and isinstance(node.value, str)
        for text in [node.value]
        if _COMMAND.search(text) and _commands_left(in_words_of_a_page(text))
    ]
    assert left == []


def _commands_left(text: str) -> list[str]:
    return [one for one in _COMMAND.findall(text) if NO_PAGE not in one]


def test_no_page_says_what_to_type(opened: Opened) -> None:
    """Apart from what has no page, which says so."""
    browser = opened("clerk", "yard", "workshop", "owner")
    for path in PAGES:
        page = browser.get(path)
        assert page.status_code == 200, path
        assert _commands_left(words(page.text)) == [], path
