"""Charts along the months: what is drawn where, in words, and as an outside reader sees it."""

from __future__ import annotations

import datetime as dt
from itertools import pairwise
from pathlib import Path
from xml.etree import ElementTree as ET

import click
import pytest

from fleetcare.desk import pictures
from fleetcare.desk.asking import asking
from fleetcare.reports.picture import frame, months, of_van
from tests.typed import typed
from tests.vans import TREAD

DAY = dt.date(2026, 8, 1)
SVG = "{http://www.w3.org/2000/svg}"


def _texts(svg: str) -> list[str]:
    return [e.text or "" for e in ET.fromstring(svg).iter(f"{SVG}text")]


def test_a_chart_is_whole_months_around_the_day() -> None:
    """Two months before, twelve after, on 29 February too."""
    assert frame(dt.date(2026, 8, 1)) == (dt.date(2026, 6, 1), dt.date(2027, 9, 1))
    assert frame(dt.date(2028, 2, 29)) == (dt.date(2027, 12, 1), dt.date(2029, 3, 1))


def test_every_rule_that_applies_is_a_row_with_its_words(good: str) -> None:
    """The gas check in date to 10 August and overdue after; what does not apply is no row."""
    with asking(good) as asked:
        picture = of_van(asked.judged("V01"), DAY, "note")
    bars = {bar.name: bar for bar in picture.bars}

    assert [(s.word, s.start, s.until) for s in bars["gas safety check"].spans] == [
        ("in date", dt.date(2026, 6, 1), dt.date(2026, 8, 11)),
        ("overdue", dt.date(2026, 8, 11), dt.date(2027, 9, 1)),
    ]
    assert "electrical inspection" not in bars
    assert len(months(picture)) == 15


def test_words_are_on_the_chart_and_in_its_description(good: str) -> None:
    """Nothing rests on colour: each stretch is named where there is room, and all in words."""
    typed(good, "hire add V01 --from 2026-08-03 --through 2026-08-09 --ref H1", DAY)
    svg = pictures.draw(good, "V01", DAY)
    root = ET.fromstring(svg)
    described = root.findtext(f"{SVG}desc") or ""

    assert {"in date", "overdue", "today", "H1", "Aug"} <= set(_texts(svg))
    assert "gas safety check: in date from 2026-06-01 until 2026-08-11" in described
    assert "hires: hire H1 from 2026-08-03 until 2026-08-10." in described
    assert root.findtext(f"{SVG}title") == "V01 (QI24 QIQ)"


def test_the_fleet_is_a_row_a_van(sample_book: str) -> None:
    """Twelve vans with the days they may go; a van gone is not drawn; nothing lies outside."""
    svg = pictures.draw(sample_book, "fleet", dt.date(2026, 11, 23))
    root = ET.fromstring(svg)
    width, height = int(root.get("width", "0")), int(root.get("height", "0"))
    names = [text for text in _texts(svg) if text[:1] == "V" and text[1:3].isdigit()]
    typed(sample_book, 'van gone V12 --on 2026-11-23 "sold"', dt.date(2026, 11, 23))

    assert len(names) == 12
    assert {"may go", "stopped"} <= set(_texts(svg))
    for box in root.iter(f"{SVG}rect"):
        left, top = float(box.get("x", "0")), float(box.get("y", "0"))
        if box.get("width", "").replace(".", "").isdigit():
            assert 0 <= left <= left + float(box.get("width", "0")) <= width + 40
            assert 0 <= top <= height
    again = pictures.draw(sample_book, "fleet", dt.date(2026, 11, 23))
    assert "V12" not in " ".join(_texts(again))


def test_what_anybody_typed_is_text_in_a_picture(good: str) -> None:
    """A reference or plate with a tag in it stays what it is."""
    typed(
        good,
        "hire add V01 --from 2026-08-03 --through 2026-08-30 --ref '<b>&\"x' --even-so known",
        DAY,
    )
    svg = pictures.draw(good, "V01", DAY)

    assert "<b>" not in svg
    assert '<b>&"x' in _texts(svg)


def test_the_same_book_draws_the_same_picture(good: str) -> None:
    """Byte for byte, and as dots too."""
    assert pictures.draw(good, "V01", DAY) == pictures.draw(good, "V01", DAY)
    dots = pictures.drawn(good, "V01", DAY, dots=True)
    assert dots.startswith(b"\x89PNG\r\n\x1a\n")
    assert len(dots) > 20_000


def test_a_picture_is_written_by_its_name(good: str, tmp_path: Path) -> None:
    """SVG, or PNG where the name says so; a file that is there stays."""
    typed(good, f"picture fleet -o {tmp_path}/fleet.svg", DAY)
    typed(good, f"picture V01 -o {tmp_path}/v.png", DAY)

    assert ET.parse(tmp_path / "fleet.svg").getroot().tag == f"{SVG}svg"
    assert (tmp_path / "v.png").read_bytes()[:4] == b"\x89PNG"
    with pytest.raises(Exception, match="is there already"):
        typed(good, f"picture fleet -o {tmp_path}/fleet.svg", DAY)


def test_a_van_shows_first_what_lapses_first_and_folds_what_never_changes(good: str) -> None:
    """What is asked at each handover is drawn on the days of a hire that has begun, and on none of
    one to come; what is in date on every day is named below."""
    for line in (
        "hire add V01 --from 2026-08-01 --through 2026-08-04 --ref H1",
        "hire add V01 --from 2026-09-01 --through 2026-09-04 --ref H2",
        f'record V01 walkaround --pass --by "B. Smith" {TREAD}',
    ):
        typed(good, line, DAY)
    with asking(good) as asked:
        picture = of_van(asked.judged("V01"), DAY, "note")
    rows = [bar.name for bar in picture.bars]
    walked = next(bar for bar in picture.bars if bar.name == "walkaround check")
    svg = pictures.draw(good, "V01", DAY)

    assert rows[:2] == ["hires", "tread to go out front-left"]  # used up on the day it is due back
    assert rows.index("gas safety check") < rows.index("chassis service")
    assert {(s.start, s.until) for s in walked.spans} <= {
        (dt.date(2026, 8, 1), dt.date(2026, 8, 3)), (dt.date(2026, 8, 3), dt.date(2026, 8, 5)),
    }  # fmt: skip
    assert {"smoke alarm living-area", "tyre age front-left"} <= set(picture.throughout)
    assert not set(rows) & set(picture.throughout)
    assert "In date throughout: " in svg


def test_no_name_in_a_picture_runs_into_another(sample_book: str) -> None:
    """In each row of the fleet the words, as wide as they are taken to be, stand apart."""
    root = ET.fromstring(pictures.draw(sample_book, "fleet", dt.date(2026, 11, 23)))
    rows: dict[str, list[tuple[float, float]]] = {}
    for one in root.iter(f"{SVG}text"):
        x, words = float(one.get("x", "0")), one.text or ""
        if float(one.get("y", "0")) > 90 and not words.startswith("Tally"):
            rows.setdefault(one.get("y", ""), []).append((x, x + 6.1 * len(words)))

    assert sum(map(len, rows.values())) > 40
    for places in rows.values():
        ordered = sorted(places)
        assert all(a[1] <= b[0] for a, b in pairwise(ordered)), ordered


def test_an_ending_nobody_draws_is_refused(good: str, tmp_path: Path) -> None:
    """Said before anything is drawn."""
    with pytest.raises(click.BadParameter, match='"x.pdf" is drawn as .svg or .png: say which$'):  # noqa: RUF043
        typed(good, "picture V01 -o x.pdf", DAY)
