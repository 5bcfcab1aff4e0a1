"""Files that never end: no more of them is read than a file of their sort may hold."""

from __future__ import annotations

import datetime as dt
from pathlib import Path

import pytest

from tests.typed import refused, typed

ZERO = "/dev/zero"
pytestmark = pytest.mark.skipif(not Path(ZERO).exists(), reason="no device gives zeros here")


@pytest.mark.parametrize(
    ("line", "message"),
    [
        (f"sheet read {ZERO}", "is larger than 50 MB: no sheet of ours is"),
        (f"rules check {ZERO}", "is larger than 1,000,000 octets: look what it is"),
        (f"rules adopt {ZERO}", "is larger than 1,000,000 octets: look what it is"),
        (f"handover V01 H1 --from-file {ZERO} --by W",
         "is larger than 1,000,000 octets: look what it is"),
        (f"attach 21 {ZERO}", "is larger than 20 MB: scan it with fewer dots an inch"),
    ],
)  # fmt: skip
def test_what_never_ends_is_refused(good: str, line: str, message: str) -> None:
    """By whichever way it comes in."""
    typed(good, "hire add V01 --from 2026-08-01 --through 2026-08-03 --ref H1", dt.date(2026, 8, 1))

    assert refused(good, line) == f"{ZERO}: {message}"


def test_a_line_that_never_ends_is_refused(good: str, tmp_path: Path) -> None:
    """At its number; a long first line is told with the others."""
    file = tmp_path / "facts.jsonl"
    file.write_text('{"kind":"inspector","name":"A"}\n' + "x" * 3_000_000)

    assert refused(good, f"load {ZERO}") == (
        f"{ZERO}:2: is longer than 1,000,000 characters: no record is"
    )
    assert refused(good, f"load {file}") == (
        f"{file}:2: is longer than 1,000,000 characters: no record is"
    )


def test_of_a_thousand_faults_the_first_fifty_are_told(good: str, tmp_path: Path) -> None:
    """In a firm's file and in facts loaded alike; how many there are is said."""
    firm, facts = tmp_path / "firm.toml", tmp_path / "facts.jsonl"
    firm.write_text("".join(f"key{number} = 1\n" for number in range(1000)))
    facts.write_text("".join(f'{{"kind":"no-{number}"}}\n' for number in range(1000)))

    for line in (f"rules check {firm}", f"load {facts}"):
        told = refused(good, line).splitlines()
        assert len(told) == 51
        assert told[-1] == "and 950 more: put these right first"
