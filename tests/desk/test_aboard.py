"""The sheet that stays in the van: one page of A5 that a hirer can read by the cab lamp."""

from __future__ import annotations

import datetime as dt
import io
from pathlib import Path

import pypdf
import pytest

from fleetcare.desk import pack
from tests.typed import typed

DAY = dt.date(2026, 11, 23)


def _text(data: bytes) -> tuple[str, int, tuple[int, int]]:
    read = pypdf.PdfReader(io.BytesIO(data))
    box = read.pages[0].mediabox
    text = " ".join(" ".join(page.extract_text() for page in read.pages).split())
    return text, len(read.pages), (round(box.width), round(box.height))


def test_it_is_one_page_of_a5_with_what_a_hirer_must_know(sample_book: str) -> None:
    """Whom to ring, height in feet too, the morning's look, speeds, gas and CO."""
    text, pages, size = _text(pack.aboard(sample_book, "V03", DAY))

    assert (pages, size) == (1, (420, 595))  # 148 by 210 mm
    assert "Ring us: 01632 960147, day and night" in text
    assert "travelling height 2760mm, 9 ft 1 in" in text  # 2,760 / 25.4 = 108.7 inches
    assert "maximum mass (MAM) 3500kg" in text
    assert "Gas shut at the bottles before you drive" in text
    assert "50 mph, 60 mph on dual carriageways, 70 mph on motorways" in text
    assert "CO alarm sounded Get everybody out into the air" in text


def test_what_a_van_has_not_is_not_on_it(good: str) -> None:
    """A van without a hook-up is told nothing of its lead; who is to be rung is written by hand."""
    text, pages, _ = _text(pack.aboard(good, "V01", DAY))

    assert pages == 1
    assert "Hook-up lead" not in text
    assert "Ring us:....." in text.replace(" .", ".")


@pytest.mark.parametrize("van", ["V01", "V06", "V08", "V12"])
def test_every_van_of_the_sample_has_room_on_one_page(sample_book: str, van: str) -> None:
    """Whatever is said of it."""
    assert _text(pack.aboard(sample_book, van, DAY))[1] == 1


def test_it_is_written_under_its_own_name(sample_book: str, tmp_path: Path) -> None:
    """`label` without the option writes the label still."""
    said = typed(sample_book, f"label V03 --sheet -o {tmp_path}/a.pdf", DAY)
    assert said.endswith("a.pdf\n")
    typed(sample_book, f"label V03 -o {tmp_path}/l.pdf", DAY)
    assert (tmp_path / "a.pdf").read_bytes() != (tmp_path / "l.pdf").read_bytes()
