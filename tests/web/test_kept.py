"""Papers that were kept, looked at and downloaded: the original as it came, a copy that tells no more
than is seen."""

from __future__ import annotations

import io
import re
import struct
import zlib
from pathlib import Path
from typing import Any

import pytest
from PIL import Image, PngImagePlugin

from fleetcare.desk import scans
from fleetcare.render import photo
from tests.typed import typed
from tests.web.conftest import Browser, Opened, faults_of, records, words
from tests.web.test_uploads import JPEG, _send

SECRET = b"51-deg-30-north"


def _picture(form: str = "JPEG", size: tuple[int, int] = (64, 32), **more: Any) -> bytes:
    """A picture: its left half red, its right half blue."""
    made = Image.new("RGB", size, "red")
    made.paste("blue", (size[0] // 2, 0, size[0], size[1]))
    out = io.BytesIO()
    made.save(out, form, **more)
    return out.getvalue()


def _telling() -> bytes:
    """A photo that tells where and when it was taken, in every place that a JPEG has for it."""
    exif = Image.Exif()
    exif[0x0112] = 6  # held upright: a quarter turn to the right
    exif[0x010E] = SECRET.decode()
    exif.get_ifd(0x8825)[29] = SECRET.decode()  # GPSDateStamp
    exif.get_ifd(0x8769)[0x9003] = SECRET.decode()  # DateTimeOriginal
    made = _picture(exif=exif, comment=SECRET, xmp=SECRET, icc_profile=SECRET * 9, quality=95)
    iptc = b"\xff\xed" + struct.pack(">H", 2 + len(SECRET)) + SECRET
    return made[:2] + iptc + made[2:] + SECRET


def _defect_with(lead: Browser, data: bytes) -> tuple[int, int]:
    """A defect reported with a photo: the numbers of its record and of what keeps it."""
    said = words(
        _send(lead, "/van/V01/defect", {"photo": ("a", data)}, grade="minor", words="torn").text
    )
    found = re.search(r"#(\d+) keeps the paper of #(\d+)", said)
    assert found, said
    return int(found[2]), int(found[1])


def test_a_copy_tells_no_more_than_is_seen(opened: Opened) -> None:
    """Where and when it was taken is gone from the copy, which stands upright, and is in the
    original still, to the last byte."""
    lead, data = opened("workshop"), _telling()
    assert data.count(SECRET) >= 7
    number, paper = _defect_with(lead, data)
    page = lead.get(f"/record/{number}/papers")
    assert words(page.text).startswith(
        f"Papers of #{number} V01: minor defect, Mon 23 Nov 2026, torn "
        f"Download #{paper}, jpeg, {len(data):,} bytes"
    )
    assert f'<img src="/paper/{paper}/small"' in page.text

    copy = lead.get(f"/paper/{paper}/small")
    assert copy.headers["content-type"] == "image/jpeg"
    assert SECRET not in copy.content
    with Image.open(io.BytesIO(copy.content)) as seen:
        assert seen.size == (32, 64)
        assert not seen.getexif()
        assert set(seen.info) == {"jfif", "jfif_version", "jfif_unit", "jfif_density"}
        top: Any = seen.getpixel((16, 4))
        assert top[0] > 200 > 60 > top[2]

    came = lead.get(f"/paper/{paper}")
    assert came.content == data
    assert came.headers["content-type"] == "image/jpeg"
    assert came.headers["content-disposition"] == f'attachment; filename="paper-{paper}.jpg"'
    assert came.headers["cache-control"] == "no-store"


def test_a_copy_is_small() -> None:
    """Whatever the photo: no longer side over 1,200 dots, and white where nothing is."""
    copy = photo.small(_picture(size=(4000, 3000)), "jpeg")
    assert copy
    assert Image.open(io.BytesIO(copy)).size == (1200, 900)
    clear = io.BytesIO()
    told = PngImagePlugin.PngInfo()
    told.add_text("where", SECRET.decode())
    Image.new("RGBA", (9, 9), (0, 0, 0, 0)).save(clear, "PNG", pnginfo=told)
    assert SECRET in clear.getvalue()
    copy = photo.small(clear.getvalue(), "png")
    assert copy
    assert SECRET not in copy
    assert Image.open(io.BytesIO(copy)).getpixel((4, 4)) == (255, 255, 255)


def _bomb(wide: int, high: int) -> bytes:
    """A PNG of a few bytes that says it is so wide and high."""

    def chunk(name: bytes, held: bytes) -> bytes:
        return (
            struct.pack(">I", len(held)) + name + held + struct.pack(">I", zlib.crc32(name + held))
        )

    head = struct.pack(">IIBBBBB", wide, high, 8, 2, 0, 0, 0)
    return (
        b"\x89PNG\r\n\x1a\n"
        + chunk(b"IHDR", head)
        + chunk(b"IDAT", zlib.compress(b""))
        + chunk(b"IEND", b"")
    )


@pytest.mark.parametrize(
    ("data", "sort"),
    [
        (_bomb(9_999, 9_999), "png"),
        (_bomb(60_000, 60_000), "png"),
        (_bomb(50, 50), "png"),
        (JPEG, "jpeg"),
        (_picture()[:-60], "jpeg"),
        (_picture("PNG"), "jpeg"),
        (_picture("GIF"), "png"),
        (b"\x00\x00\x00\x18ftypheic", "jpeg"),
        (b"%PDF-1.7", "pdf"),
        (b"", "png"),
    ],
    ids=["large", "bomb", "empty", "noise", "cut", "other", "gif", "heic", "pdf", "none"],
)  # fmt: skip
def test_what_cannot_be_made_small_is_none(data: bytes, sort: str) -> None:
    """It breaks nothing, and its dots are counted before they are unpacked."""
    assert photo.small(data, sort) is None


def test_what_is_no_picture_is_downloaded(opened: Opened, tmp_path: Path) -> None:
    """A PDF, and a photo whose dots cannot be read."""
    lead = opened("workshop")
    number, paper = _defect_with(lead, JPEG)
    assert lead.get(f"/paper/{paper}/small").status_code == 404
    assert lead.get(f"/paper/{paper}").content == JPEG
    (tmp_path / "a.pdf").write_bytes(b"%PDF-1.7 a scan")
    typed(lead.place, f"attach {number} {tmp_path}/a.pdf")
    page = lead.get(f"/record/{number}/papers").text
    assert page.count("/small") == 1
    assert 'href="/paper/' in page.partition("pdf, 15 bytes")[0]
    came = lead.get(f"/paper/{scans.behind(lead.place, number).kept[-1].number}")
    assert (came.content, came.headers["content-type"]) == (b"%PDF-1.7 a scan", "application/pdf")


def test_who_sees_a_paper_and_who_keeps_one(opened: Opened) -> None:
    """All look, the workshop keeps another; it is found from the van, its defects, and by its own
    number; looking writes nothing."""
    lead, clerk = opened("workshop", name="Jory Pellwick"), opened("clerk")
    number, paper = _defect_with(lead, _picture())
    sent = _send(lead, f"/record/{number}/papers", {"paper": ("b.png", _picture("PNG"))})
    assert f"keeps the paper of #{number}: png" in words(sent.text)
    assert faults_of(lead.send(f"/record/{number}/papers").text) == [
        "Photo, from the camera: no file was chosen"
    ]
    before = records(clerk.place)
    assert clerk.get(f"/paper/{paper}/small").status_code == 200
    assert "Keep another" not in clerk.text(f"/record/{number}/papers")
    assert f'href="/record/{number}/papers"' in clerk.get("/van/V01").text
    assert "torn 2 kept" in clerk.text("/van/V01")
    assert f'src="/paper/{paper}/small"' in clerk.get("/van/V01/defects").text
    assert clerk.text(f"/record/{paper}/papers").startswith(f"Papers of #{number} V01")
    assert records(clerk.place) == before


@pytest.mark.parametrize(
    ("path", "says"),
    [
        ("/record/1/papers", "#1 (adoption) has no paper behind it"),
        ("/record/99999/papers", "there is no record #99999"),
        ("/record/x/papers", 'there is no record "x"'),
        ("/paper/2", "#2 keeps no paper"),
        ("/paper/2/small", "#2 keeps no paper"),
        ("/paper/..%2F..%2Fetc%2Fpasswd", None),
        ("/paper/-1", 'there is no record "-1"'),
        ("/paper/²", 'there is no record "²"'),
    ],
)  # fmt: skip
def test_an_address_of_no_paper_leads_nowhere(path: str, says: str | None, opened: Opened) -> None:
    """It says that it is not here."""
    answer = opened("owner").get(path)
    assert answer.status_code == 404
    if says is not None:
        assert faults_of(answer.text) == [says]


def test_a_paper_that_was_changed_is_not_handed_out(opened: Opened) -> None:
    """What lies there is no longer what was kept."""
    lead = opened("workshop")
    number, paper = _defect_with(lead, _picture())
    (file,) = Path(f"{lead.place}.papers").glob("*/*")
    file.write_bytes(_picture() + b"!")
    for path in (f"/paper/{paper}", f"/paper/{paper}/small"):
        answer = lead.get(path)
        assert answer.status_code == 404
        assert f"#{paper}: the paper of #{number} was changed" in faults_of(answer.text)[0]
