"""The paper behind a record: kept under its digest, looked after, awaited."""

from __future__ import annotations

import datetime as dt
import hashlib
import io
import json
import zlib
from pathlib import Path

import pytest

from fleetcare.desk import calls, questions, trust
from fleetcare.errors import DatabaseFault, Refused
from fleetcare.intake import pdf
from fleetcare.intake.paper import MOST_OCTETS, PaperFile, read_paper
from fleetcare.rules.party import NO_BIKES
from fleetcare.store import papers
from tests.typed import typed

DAY = dt.date(2026, 8, 1)
PDF = b"%PDF-1.7\n" + b"x" * 50
PNG = b"\x89PNG\r\n\x1a\nrest"
JPEG = b"\xff\xd8\xff\xe0rest"


@pytest.fixture
def files(tmp_path: Path) -> Path:
    """A folder with a paper of each sort and what is none."""
    folder = tmp_path / "scans"
    folder.mkdir()
    for name, data in {
        "a.pdf": PDF, "b.png": PNG, "c.jpg": JPEG, "odd.exe": PDF, "word.doc": b"\xd0\xcf\x11\xe0",
        "empty.pdf": b"", "late.pdf": b" %PDF-1.7",
    }.items():  # fmt: skip
        (folder / name).write_bytes(data)
    return folder


def test_the_sort_is_read_from_the_bytes_and_the_size_is_held(files: Path) -> None:
    """What a file is called says nothing; empty, strange and huge ones are refused."""
    read = {path.name: read_paper(str(path)) for path in files.iterdir()}
    big = files / "big.pdf"
    with big.open("wb") as file:
        file.write(PDF)
        file.truncate(MOST_OCTETS + 1)

    assert read["a.pdf"] == PaperFile(PDF, "pdf")
    assert read["b.png"] == PaperFile(PNG, "png")
    assert read["c.jpg"] == PaperFile(JPEG, "jpeg")
    assert read["odd.exe"] == PaperFile(PDF, "pdf")
    for name, words in (
        ("word.doc", "is none of pdf, png, jpeg: scan or photograph it anew"),
        ("late.pdf", "is none of pdf, png, jpeg: scan or photograph it anew"),
        ("empty.pdf", "is empty: scan it again"),
    ):
        assert read[name][:2] == (str(files / name), words)
    assert read_paper(str(big))[:2] == (
        str(big), "is larger than 20 MB: scan it with fewer dots an inch",
    )  # fmt: skip
    assert read_paper(str(files / "none"))[1] == "cannot be read: No such file or directory"


def _jpeg(wide: int, high: int) -> bytes:
    """The segments of a JPEG to its frame: an application's, bytes that fill, tables, the frame."""
    app = b"\xff\xe1\x00\x08\xff\xc0\x00\x11\x08\x00"  # what looks like a frame inside is none
    tables = b"\xff\xff\xff\xc4\x00\x04\x00\x00"
    frame = (
        b"\xff\xc2\x00\x11\x08" + high.to_bytes(2, "big") + wide.to_bytes(2, "big") + b"\x03" * 9
    )
    return b"\xff\xd8" + app + tables + frame


@pytest.mark.parametrize(("wide", "high", "taken"), [
    (65535, 65535, False), (10000, 10001, False), (10000, 10000, True), (7016, 9921, True),
])  # fmt: skip
@pytest.mark.parametrize("sort", ["png", "jpeg"])
def test_a_picture_too_large_to_unpack_is_refused(
    tmp_path: Path, sort: str, wide: int, high: int, taken: bool
) -> None:
    """By the dots it says it has, however few bytes it is packed in."""
    sizes = wide.to_bytes(4, "big") + high.to_bytes(4, "big")
    png = b"\x89PNG\r\n\x1a\n\x00\x00\x00\rIHDR" + sizes + b"\x08\x02\x00\x00\x00"
    file = tmp_path / "a"
    file.write_bytes(png if sort == "png" else _jpeg(wide, high))
    read = read_paper(str(file))

    if taken:
        assert isinstance(read, PaperFile)
    else:
        assert read[:2] == (
            str(file), f"is {wide:,} by {high:,} dots, over 100,000,000: scan it with fewer dots an inch",
        )  # fmt: skip


def _pdf(*parts: bytes) -> bytes:
    """A PDF of the parts given, from number 3 on, after a catalogue and a tree of one page."""
    pages = b"<</Type/Pages/Count 1/Kids[3 0 R]>>"
    out, places = io.BytesIO(), []
    out.write(b"%PDF-1.7\n")
    for number, part in enumerate((b"<</Type/Catalog/Pages 2 0 R>>", pages, *parts), 1):
        places.append(out.tell())
        out.write(b"%d 0 obj\n%b\nendobj\n" % (number, part))
    start = out.tell()
    out.write(b"xref\n0 %d\n0000000000 65535 f \n" % (len(places) + 1))
    out.writelines(b"%010d 00000 n \n" % place for place in places)
    out.write(b"trailer\n<</Size %d/Root 1 0 R>>\n" % (len(places) + 1))
    out.write(b"startxref\n%d\n%%%%EOF\n" % start)
    return out.getvalue()


def _stream(data: bytes, keys: bytes) -> bytes:
    return b"<</Length %d%b>>\nstream\n%b\nendstream" % (len(data), keys, data)


PAGE = b"<</Type/Page/Parent 2 0 R/MediaBox[0 0 595 842]/Contents 4 0 R>>"
BLANKS = zlib.compress(b" " * 60_000_000, 9)
TOO_MUCH = (
    "unpacks to over 50 MB, or to more parts than a paper has: print it to a new PDF, or scan it"
)
# A drawing that names another: none is large, and together they are.
FORM = b"/Type/XObject/Subtype/Form/BBox[0 0 9 9]/Filter/FlateDecode/Resources<</XObject<</F %d 0 R>>>>"


def _folded(data: bytes) -> bytes:
    return zlib.compress(zlib.compress(data, 9), 9)


@pytest.mark.parametrize(
    ("data", "words"),
    [
        (_pdf(PAGE, _stream(BLANKS, b"/Filter/FlateDecode")), TOO_MUCH),
        (_pdf(PAGE, _stream(_folded(b" " * 60_000_000), b"/Filter[/FlateDecode/FlateDecode]")), TOO_MUCH),
        (
            _pdf(
                PAGE[:-2] + b"/Resources<</XObject<</F 5 0 R>>>>>>",
                _stream(b"/F Do", b""),
                *(_stream(zlib.compress(b" " * 20_000_000, 9), FORM % (n + 1)) for n in range(5, 8)),
                _stream(b" ", FORM.replace(b"/Filter/FlateDecode", b"") % 8),
            ),
            TOO_MUCH,
        ),
        (
            _pdf(
                PAGE[:-2] + b"/Resources<</XObject<</I 5 0 R>>>>>>",
                _stream(b"/I Do", b""),
                _stream(b"x", b"/Type/XObject/Subtype/Image/Width 20000/Height 10000"),
            ),
            "is 20,000 by 10,000 dots, over 100,000,000: scan it with fewer dots an inch",
        ),
    ],
    ids=["a stream", "folded twice", "drawings in drawings", "a picture"],
)  # fmt: skip
def test_a_pdf_that_unpacks_too_far_is_refused(data: bytes, words: str, tmp_path: Path) -> None:
    """A few thousand octets that would fill a machine; refused when attached, and one that was kept
    before it was looked through is not shown."""
    (tmp_path / "a.pdf").write_bytes(data)

    assert len(data) < 200_000
    assert read_paper(str(tmp_path / "a.pdf"))[1] == words
    assert pdf.first_pages(data, 40) == words


@pytest.mark.parametrize(
    ("pages", "words"),
    [(201, "has 201 pages, over 200: attach those that matter"), (10_001, TOO_MUCH)],
)
def test_a_pdf_of_too_many_pages_is_refused(pages: int, words: str, tmp_path: Path) -> None:
    """Two hundred are taken, and the first forty are shown."""
    kids = b" ".join(b"%d 0 R" % number for number in range(3, pages + 3))
    tree = b"<</Type/Pages/Count %d/Kids[%b]>>"
    one = PAGE.replace(b"/Contents 4 0 R", b"")
    data = _pdf(*[one] * pages).replace(tree % (1, b"3 0 R"), tree % (pages, kids))
    (tmp_path / "a.pdf").write_bytes(data)

    assert read_paper(str(tmp_path / "a.pdf"))[1] == words
    fewer = data.replace(tree % (pages, kids), tree % (200, kids[: kids.index(b" 203 0 R")]))
    found = pdf.first_pages(fewer, 40)
    assert isinstance(found, pdf.Pages)
    assert (found.shown, found.pages) == (40, 200)


def test_a_paper_is_kept_with_its_record_and_verified(good: str, files: Path) -> None:
    """The digest is in the leaf, the file beside the book under a name of ours alone."""
    printed = typed(good, f"record V01 chassis --pass --by C --paper {files}/a.pdf", DAY)
    digest = hashlib.sha256(PDF).hexdigest()
    kept = Path(f"{good}.papers") / digest[:2] / f"{digest}.pdf"

    assert kept.read_bytes() == PDF
    assert f"SHA-256 {digest[:16]}" in printed
    assert trust.verify(good).faults == []
    assert [p.name for p in Path(f"{good}.papers").rglob("*") if p.is_file()] == [kept.name]


@pytest.mark.parametrize("harm", ["missing", "changed"])
def test_a_paper_missing_or_changed_is_named(good: str, files: Path, harm: str) -> None:
    """`verify` names the record, and neither copy nor dump is made of a book that lacks it."""
    typed(good, f"record V01 chassis --pass --by C --paper {files}/a.pdf", DAY)
    (kept,) = [p for p in Path(f"{good}.papers").rglob("*") if p.is_file()]
    kept.unlink() if harm == "missing" else kept.write_bytes(PDF[:-1])
    (fault,) = trust.verify(good).faults
    number = fault.partition(":")[0]

    words = "cannot be read" if harm == "missing" else "was changed"
    assert fault.startswith(f"{number}: the paper of #{int(number[1:]) - 1} {words}")
    for line in (f"backup -o {files}/copy.db", f"dump -o {files}/book.jsonl"):
        with pytest.raises(Refused) as refused:
            typed(good, line, DAY)
        assert fault in str(refused.value)
    assert not (files / "copy.db").exists()
    assert not (files / "book.jsonl").exists()
    typed(good, f'withdraw {number[1:]} "scan lost"', DAY)
    assert trust.verify(good).faults == []


def test_copy_dump_and_restore_take_the_papers_along(good: str, files: Path) -> None:
    """After a copy brought back, and after a dump loaded, the paper is there to the byte."""
    typed(
        good, f"record V01 chassis --pass --by C --paper {files}/a.pdf --paper {files}/b.png", DAY
    )
    typed(good, f"backup -o {files}/copy.db", DAY)
    typed(good, f"restore {files}/copy.db --into {files}/again.db", DAY)
    typed(good, f"dump -o {files}/book.jsonl", DAY)
    typed(str(files / "loaded.db"), f"load {files}/book.jsonl", DAY)
    made = json.loads((files / "copy.db.manifest.json").read_text())

    assert made["papers"] == 2
    for name in ("copy.db", "again.db", "loaded.db"):
        found = {p.read_bytes() for p in (files / f"{name}.papers").rglob("*") if p.is_file()}
        assert found == {PDF, PNG}
        assert trust.verify(str(files / name)).faults == []


def test_a_paper_awaited_is_due_and_stops_hire_after_28_days(good: str, files: Path) -> None:
    """Written down on 3 July with its paper to come: due meanwhile, from 1 August in the way."""
    july = dt.date(2026, 7, 3)
    printed = typed(good, "record V01 chassis --pass --by C --on 2026-07-03 --paper-awaited", DAY)
    number = int(printed.split()[0][1:])
    before = questions.hireable(
        good,
        "V01",
        calls.Question(dt.date(2026, 7, 31), dt.date(2026, 7, 31), NO_BIKES, july, None),
    )
    after = questions.hireable(
        good,
        "V01",
        calls.Question(dt.date(2026, 8, 1), dt.date(2026, 8, 2), NO_BIKES, DAY, None),
    )
    (item,) = [i for i in questions.due(good, july, None).items if i.rule == "paper-awaited"]
    typed(good, f"attach {number} {files}/a.pdf", DAY)
    kept = questions.hireable(
        good,
        "V01",
        calls.Question(dt.date(2026, 8, 1), dt.date(2026, 8, 2), NO_BIKES, DAY, None),
    )

    assert f"awaits the paper of #{number}, by Fri 31 Jul 2026" in printed
    assert (item.place, item.last_good_day) == (f"#{number}", dt.date(2026, 7, 31))
    assert before.hireable == "yes"
    assert any("is awaited" in caution for caution in before.cautions)
    assert (after.hireable, [line.rule for line in after.blocking]) == ("no", ["paper-awaited"])
    assert kept.hireable == "yes"


def test_a_booking_may_be_made_when_the_paper_can_still_come(good: str) -> None:
    """In August a hire of September is "if done": the paper is what is to be kept first."""
    typed(good, "record V01 chassis --pass --by C --on 2026-08-01 --paper-awaited", DAY)
    start, through = dt.date(2026, 9, 7), dt.date(2026, 9, 9)
    # The gas check falls due before then too; what matters here is the paper.
    report = questions.hireable(good, "V01", calls.Question(start, through, NO_BIKES, DAY, None))
    work = [w for w in report.to_do if w.rule == "paper-awaited"]

    assert report.bookable == "if done"
    assert [w.do.split(" kept")[0] for w in work] == [f"the paper of {work[0].place}"]
    assert not work[0].needs_van


def test_a_withdrawn_record_awaits_nothing_and_a_waiver_spares_no_paper(good: str) -> None:
    """What was taken back is in no need of a paper; a paper awaited is never waived."""
    typed(good, "hire add V01 --from 2026-08-01 --through 2026-08-02 --ref H1", DAY)
    printed = typed(good, "record V01 chassis --pass --by C --on 2026-07-01 --paper-awaited", DAY)
    number = int(printed.split()[0][1:])
    with pytest.raises(Refused, match="never waived"):
        typed(good, f'hire waive H1 paper-awaited "trust me" --by C --place "#{number}"', DAY)
    typed(good, f'withdraw {number} "typed twice"', DAY)
    items = questions.due(good, DAY, None).items

    assert [i for i in items if i.rule == "paper-awaited"] == []
    with pytest.raises(Refused) as refused:
        typed(good, f"attach {number} x", DAY)
    assert "x: cannot be read" in str(refused.value)


def test_a_paper_of_the_whole_fleet_and_of_a_person_is_kept_too(good: str, files: Path) -> None:
    """An insurance certificate and a gas card are of no single van."""
    printed = typed(
        good,
        f"record fleet insurance --from 2026-08-01 --last-day 2027-07-31 --paper {files}/a.pdf",
        DAY,
    )
    typed(good, f"attach 3 {files}/c.jpg", DAY)

    assert "keeps the paper of #" in printed
    assert trust.verify(good).faults == []
    with pytest.raises(Refused, match=r"^#1 \(adoption\) has no paper behind it$"):
        typed(good, f"attach 1 {files}/c.jpg", DAY)
    with pytest.raises(Refused, match=r"^there is no record #999$"):
        typed(good, f"attach 999 {files}/c.jpg", DAY)


def test_wrong_papers_write_nothing(good: str, files: Path) -> None:
    """Every fault of every file at once, and neither record nor file is kept."""
    before = trust.status(good).records
    with pytest.raises(Refused) as refused:
        typed(
            good,
            f"record V01 chassis --pass --by C --paper {files}/empty.pdf --paper {files}/word.doc",
            DAY,
        )

    assert len(refused.value.problems) == 2
    assert trust.status(good).records == before
    assert not Path(f"{good}.papers").exists()


def test_a_dry_run_keeps_no_paper(good: str, files: Path) -> None:
    """What would be kept is said; no file is made."""
    printed = typed(good, f"record V01 chassis --pass --by C --paper {files}/a.pdf --dry-run", DAY)

    assert "Dry run: nothing was written." in printed
    assert not Path(f"{good}.papers").exists()


def test_a_book_opened_through_a_link_is_the_book_it_points_to(
    good: str, files: Path, tmp_path: Path
) -> None:
    """Its papers, its copies' note and its log are those beside the book."""
    link = tmp_path / "elsewhere" / "link.db"
    link.parent.mkdir()
    link.symlink_to(good)
    typed(str(link), f"attach 21 {files}/a.pdf", DAY)
    typed(str(link), f"backup -o {tmp_path}/copy.db", DAY)

    assert [p.name for p in link.parent.iterdir()] == ["link.db"]
    assert Path(f"{good}.papers").is_dir()
    assert Path(f"{good}.last-copy.json").is_file()
    assert "as they were written down" in typed(str(link), "verify", DAY)


def test_a_postgresql_book_names_its_folder_of_papers(monkeypatch: pytest.MonkeyPatch) -> None:
    """It has no "beside": FLEETCARE_PAPERS says where, and nothing is guessed."""
    monkeypatch.delenv("FLEETCARE_PAPERS", raising=False)
    with pytest.raises(DatabaseFault) as fault:
        papers.folder_of("postgresql+psycopg://host/fleet")
    monkeypatch.setenv("FLEETCARE_PAPERS", "kept")

    assert str(fault.value) == (
        "a PostgreSQL book keeps its papers in a folder of their own: set FLEETCARE_PAPERS"
    )
    assert papers.folder_of("postgresql+psycopg://host/fleet") == Path("kept")
