"""Wherever a tally is printed it carries 128 bits of the root, in groups of four."""

from __future__ import annotations

import datetime as dt
import io
import json
from pathlib import Path

import openpyxl
import pypdf
import pytest

from fleetcare.desk import pack, papers, pictures, trust
from fleetcare.store.ledger import short_of
from tests.typed import typed

DAY = dt.date(2026, 8, 1)


def test_a_root_is_printed_with_half_its_bits() -> None:
    """32 digits of 64, four bits each."""
    root = "0123456789abcdef" * 4

    assert short_of(root) == "0123-4567-89AB-CDEF-0123-4567-89AB-CDEF"


@pytest.fixture
def tally(good: str) -> str:
    """The tally of a book, made here from its root."""
    root = trust.status(good).root.upper()
    return "-".join(root[at : at + 4] for at in range(0, 32, 4))


def test_a_tally_on_screen_and_in_files_is_whole(good: str, tally: str, tmp_path: Path) -> None:
    """Due, status, verify, copies, dumps; the chart, the workbook and the pack."""
    copy, text = tmp_path / "copy.db", tmp_path / "book.jsonl"
    said = {
        "due": typed(good, "due", DAY).splitlines()[-1],
        "status": json.loads(typed(good, "status --json", DAY))["tally"],
        "verify": typed(good, "verify", DAY),
        "backup": typed(good, f"backup -o {copy}", DAY),
        "backup check": typed(good, f"backup check {copy}", DAY),
        "restore": typed(good, f"restore {copy} --into {tmp_path}/again.db", DAY),
        "dump": typed(good, f"dump -o {text}", DAY),
        "load": typed(str(tmp_path / "moved.db"), f"load {text}", DAY),
        "chart": pictures.draw(good, "V01", DAY),
        "fleet chart": pictures.draw(good, "fleet", DAY),
    }
    _, workbook = papers.insurers(good, DAY)
    about = openpyxl.load_workbook(io.BytesIO(workbook)).worksheets[0]
    said["workbook"] = str({row[0].value: row[1].value for row in about.iter_rows()}["Tally"])
    (first, *_) = pypdf.PdfReader(io.BytesIO(pack.evidence(good, "V01", DAY, DAY))).pages
    said["pack"] = first.extract_text()

    assert [name for name, words in said.items() if tally not in words] == []
    assert said["due"] == f"Tally 29 records {tally}"


def test_a_tally_is_taken_as_it_is_printed(good: str) -> None:
    """The last line of the due report, word for word."""
    last = typed(good, "due", DAY).splitlines()[-1]

    assert trust.verify(good, (last,)).held[1] == (
        f"The first 29 records are those of the tally '{last}': 128 bits of its root agree."
    )
