"""The evidence pack and the label, read back by programs that are not ours."""

from __future__ import annotations

import datetime as dt
import io
import re
import shutil
import subprocess
from pathlib import Path

import pypdf
import pytest

from fleetcare.desk import pack
from fleetcare.errors import Refused
from fleetcare.reports.label import label_of
from tests.desk.test_sheets import fill
from tests.typed import typed, typed_all

DAY = dt.date(2026, 8, 1)
LAST = dt.date(2026, 8, 14)


@pytest.fixture
def proved(good: str, tmp_path: Path) -> str:
    """A van with a hire, a defect signed off, and the gas certificate scanned."""
    (tmp_path / "cert.png").write_bytes(_png())
    typed_all(
        good,
        [
            "hire add V01 --from 2026-08-03 --through 2026-08-08 --ref H1",
            'defect report V01 --grade minor "#image(\\"x\\") *blind* sticks"',
            f"attach 21 {tmp_path}/cert.png",
        ],
        DAY,
    )
    return good


def _png() -> bytes:
    import struct
    import zlib

    def chunk(kind: bytes, data: bytes) -> bytes:
        check = struct.pack(">I", zlib.crc32(kind + data))
        return struct.pack(">I", len(data)) + kind + data + check

    rows = b"".join(b"\x00" + b"\xff\x00\x00" * 8 for _ in range(8))
    head = struct.pack(">IIBBBBB", 8, 8, 8, 2, 0, 0, 0)
    return (
        b"\x89PNG\r\n\x1a\n" + chunk(b"IHDR", head) + chunk(b"IDAT", zlib.compress(rows))
        + chunk(b"IEND", b"")
    )  # fmt: skip


def _text(data: bytes) -> str:
    pages = pypdf.PdfReader(io.BytesIO(data)).pages
    return re.sub(r"\s+", " ", " ".join(page.extract_text() for page in pages))


def test_the_pack_says_what_was_asked_and_what_met_it(proved: str) -> None:
    """Rule, source, record, certificate, register number, answer, defect, tally, the scan."""
    data = pack.evidence(proved, "V01", DAY, LAST)
    text, reader = _text(data), pypdf.PdfReader(io.BytesIO(data))
    shown = [page["/Resources"].get("/XObject", {}) for page in reader.pages]
    images = [x for one in shown for x in one.values() if x.get_object()["/Subtype"] == "/Image"]

    for words in (
        "Evidence for V01 (QI24 QIQ), Sat 1 Aug 2026 to Fri 14 Aug 2026", "gas safety check",
        "Gas Safety (Installation and Use) Regulations 1998", "G1", "12345", "A. Fitter",
        "hire add H1", "hireable yes", "tyre age front-left", "0524", "1850kg", "Tally 33 records",
        "Paper of record #21",
    ):  # fmt: skip
        assert words in text, words
    assert "in date" in text
    assert "overdue" in text  # the gas check lapses on the 11th
    assert len(images) >= 1
    assert reader.metadata is not None
    assert reader.metadata.title == "Evidence for V01 (QI24 QIQ), Sat 1 Aug 2026 to Fri 14 Aug 2026"


def test_it_is_tagged_and_in_english(proved: str) -> None:
    """A reader for the blind finds a structure, a language and a title; held to PDF/UA-1."""
    reader = pypdf.PdfReader(io.BytesIO(pack.evidence(proved, "V01", DAY, LAST)))
    root = reader.trailer["/Root"].get_object()

    assert root["/MarkInfo"]["/Marked"]
    assert "/StructTreeRoot" in root
    assert root["/Lang"] == "en"
    assert b"pdfuaid" in reader.trailer["/Root"]["/Metadata"].get_object().get_data()


def test_what_anybody_typed_is_text_and_never_markup(proved: str) -> None:
    """A defect whose words are commands of the typesetter is printed as it was typed."""
    assert '#image("x") *blind* sticks' in _text(pack.evidence(proved, "V01", DAY, LAST))


def test_the_same_book_gives_the_same_pages(proved: str) -> None:
    """Nothing of the clock is in it."""
    first, again = (_text(pack.evidence(proved, "V01", DAY, LAST)) for _ in range(2))

    assert first == again


def test_what_cannot_be_packed_is_refused(proved: str, tmp_path: Path) -> None:
    """Days turned round, a van nobody knows, a paper that was changed."""
    with pytest.raises(Refused, match=r"^--through: 2026-08-01 is before 2026-08-14$"):
        pack.evidence(proved, "V01", LAST, DAY)
    with pytest.raises(Refused, match='^"V02" is not in the fleet.'):  # noqa: RUF043
        pack.evidence(proved, "V02", DAY, LAST)
    (scan,) = [p for p in Path(f"{proved}.papers").rglob("*") if p.is_file()]
    scan.write_bytes(b"other")
    with pytest.raises(Refused, match="was changed"):
        typed(proved, f"pack V01 --from 2026-08-01 --through 2026-08-14 -o {tmp_path}/p.pdf", DAY)
    assert not (tmp_path / "p.pdf").exists()


def test_the_label_has_the_last_days_and_a_code_a_reader_takes(good: str) -> None:
    """To 10 August for gas; what does not apply is not on it; the code says the van's reference."""
    from fleetcare.desk.asking import asking

    with asking(good) as asked:
        made = label_of(asked.judged("V01"), DAY)
    data = pack.label(good, "V01", DAY)
    text = _text(data)

    assert dict(made.items)["gas safety check"] == "Mon 10 Aug 2026"
    assert "electrical inspection" not in dict(made.items)
    assert made.reference == "VAN V01"
    for words in ("V01", "QI24 QIQ", "Mon 10 Aug 2026", "VAN V01", "Ask the book"):
        assert words in text
    assert len(pypdf.PdfReader(io.BytesIO(data)).pages) == 1


def test_the_code_leads_to_the_van_where_the_firm_says_its_address(
    good: str, tmp_path: Path
) -> None:
    """What a camera reads is the page; an address with anything after the name is refused."""
    from fleetcare.desk.asking import asking

    firm = tmp_path / "firm.toml"
    firm.write_text('[settings]\naddress = "https://fleet.example:8443"\n')
    typed(good, f"rules adopt {firm}", DAY)
    with asking(good) as asked:
        made = label_of(asked.judged("V01"), DAY)
    assert (made.code, made.reference) == ("https://fleet.example:8443/van/V01", "VAN V01")
    assert "VAN V01" in _text(pack.label(good, "V01", DAY))

    for wrong in ("fleet.example", "https://fleet.example/", "https://fleet.example/van"):
        firm.write_text(f'[settings]\naddress = "{wrong}"\n')
        with pytest.raises(Refused) as refused:
            typed(good, f"rules check {firm}", DAY)
        assert [str(one) for one in refused.value.problems] == [
            f'{firm}: settings.address: "{wrong}" is not like https://fleet.example, with nothing '
            "after it"
        ]


@pytest.mark.skipif(shutil.which("pdftoppm") is None, reason="poppler-utils is not installed")
def test_an_independent_reader_draws_the_pages(proved: str, tmp_path: Path) -> None:
    """Poppler renders every page, none of them blank."""
    (tmp_path / "p.pdf").write_bytes(pack.evidence(proved, "V01", DAY, LAST))
    subprocess.run(
        ["pdftoppm", "-r", "40", "-gray", tmp_path / "p.pdf", tmp_path / "page"],
        check=True, capture_output=True,
    )  # fmt: skip
    pages = sorted(tmp_path.glob("page*.pgm"))

    assert len(pages) >= 3
    for page in pages:
        assert sum(dot < 128 for dot in page.read_bytes().split(b"\n", 3)[3]) > 20


def test_a_scan_that_is_no_picture_further_on_is_named_and_not_shown(
    good: str, tmp_path: Path
) -> None:
    """It begins like a PDF and is none: the pack says so where the page would be."""
    (tmp_path / "a.pdf").write_bytes(b"%PDF-1.7 and nothing more")
    typed(good, f"attach 21 {tmp_path}/a.pdf", DAY)
    text = _text(pack.evidence(good, "V01", DAY, LAST))

    assert "Paper of record #21" in text
    assert "This file cannot be set on a page" in text


def _pdf_of(pages: int) -> bytes:
    writer = pypdf.PdfWriter()
    for _ in range(pages):
        writer.add_blank_page(width=200, height=200)
    out = io.BytesIO()
    writer.write(out)
    return out.getvalue()


def test_every_page_of_a_scan_is_set(good: str, tmp_path: Path) -> None:
    """A certificate of three sheets takes two pages more than one of one sheet."""
    other = str(shutil.copy(good, tmp_path / "other.db"))
    for book, pages in ((good, 1), (other, 3)):
        (tmp_path / f"{pages}.pdf").write_bytes(_pdf_of(pages))
        typed(book, f"attach 21 {tmp_path}/{pages}.pdf", DAY)
    one, three = (
        len(pypdf.PdfReader(io.BytesIO(pack.evidence(book, "V01", DAY, LAST))).pages)
        for book in (good, other)
    )

    assert three == one + 2


def test_a_record_put_right_is_in_it_with_its_scan(proved: str) -> None:
    """Rows and scans go by the number it had first, what stands by the one it has now."""
    typed(proved, 'correct 21 --certificate G2 "read again"', DAY)
    text = _text(pack.evidence(proved, "V01", DAY, LAST))

    assert "G2" in text
    assert "Paper of record #21" in text


def test_what_came_off_during_the_days_is_in_it_and_so_is_what_went_on(good: str) -> None:
    """A tyre changed on the fifth: both were on the van on these days, also once it is sold."""
    typed_all(
        good,
        [
            "fit V01 tyre front-left --made 1026 --on 2026-08-05 --load-index 112 "
            "--speed-symbol R --cold-pressure 65psi",
            'van gone V01 --on 2026-08-20 "sold"',
        ],
        dt.date(2026, 8, 20),
    )
    text = _text(pack.evidence(good, "V01", DAY, LAST))
    later = _text(pack.evidence(good, "V01", dt.date(2026, 8, 6), LAST))

    assert "tyre front-left Wed 1 May 2024 Wed 5 Aug 2026 0524" in text
    assert "tyre front-left Wed 5 Aug 2026 1026" in text
    assert "tyre front-left Wed 1 May 2024" not in later


def test_words_no_font_of_ours_can_set_do_not_stop_the_pack(good: str) -> None:
    """Held to no standard for the blind then, but there."""
    typed(good, 'hold V01 --from 2026-08-01 "\u0e01\U0001f600"', DAY)

    assert "Defects, holds and recalls" in _text(pack.evidence(good, "V01", DAY, LAST))


def test_the_label_of_a_van_that_may_not_go_says_so(good: str) -> None:
    """Whatever its dates say."""
    assert "NOT TO GO OUT" not in _text(pack.label(good, "V01", DAY))
    typed(good, 'hold V01 --from 2026-08-01 "knock"', DAY)

    assert "NOT TO GO OUT" in _text(pack.label(good, "V01", DAY))


def test_a_scan_is_shown_to_its_last_page_or_says_that_there_are_more(
    good: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Forty pages of one paper at most; of one that is too much, kept before papers were looked
    through, none."""
    from fleetcare.intake import pdf
    from fleetcare.render import typeset

    monkeypatch.setattr(pack, "MOST_PAGES", 3)
    more = "There are or may be more pages"
    for pages in (3, 5):
        (tmp_path / f"{pages}.pdf").write_bytes(_pdf_of(pages))
    typed(good, f"attach 21 {tmp_path}/3.pdf", DAY)
    assert more not in _text(pack.evidence(good, "V01", DAY, LAST))
    typed(good, f"attach 21 {tmp_path}/5.pdf", DAY)
    assert more in _text(pack.evidence(good, "V01", DAY, LAST))

    monkeypatch.setattr(pdf, "MOST_PAGES", 4)
    assert "This file cannot be set on a page" in _text(pack.evidence(good, "V01", DAY, LAST))
    assert typeset.settable("a.pdf", _pdf_of(2), 4) == 2
    assert typeset.settable("a.png", _png(), 1) == 1
    assert typeset.settable("a.png", b"\x89PNG\r\n\x1a\n", 1) == 0


def test_the_pack_holds_what_was_handed_over_and_what_happened(good: str, tmp_path: Path) -> None:
    """Licences, each sheet line by line with what the hirer was shown, and the words of an event."""
    for line in (
        "hire add V01 --from 2026-08-01 --through 2026-08-05 --ref H1",
        f"handover V01 H1 --sheet {tmp_path}/h.txt",
    ):
        typed(good, line, DAY)
    (tmp_path / "f.txt").write_text(fill((tmp_path / "h.txt").read_text("utf-8")), "utf-8")
    for line in (
        f"handover V01 H1 --from-file {tmp_path}/f.txt --by Wilf --at 09:30",
        "hire out H1 --by Wilf --odometer 1000mi --at 10:00",
        'event V01 knock "bollard at the ferry" --by Wilf',
    ):
        typed(good, line, DAY)
    text = _text(pack.evidence(good, "V01", DAY, LAST))

    for words in (
        "Handover sheet of H1, Sat 1 Aug 2026 09:30, signed by Wilf (#35)",
        "Shown: height and mass of this van, and where both are written yes",
        "Tread, lowest in the central three-quarters, in mm front-left 6.1mm",
        "Licences seen", "B Sun 1 Jan 2034 photocard Sat 1 Aug 2026 #34",
        "knock Sat 1 Aug 2026", "bollard at the ferry",
    ):  # fmt: skip
        assert words in text, words
