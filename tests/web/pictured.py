"""Pictures of the pages for `docs/pages.md`, taken of the sample on its own day:
`python -m tests.web.pictured`. Look at each before it is kept."""

from __future__ import annotations

import datetime as dt
import io
import tempfile
from pathlib import Path
from typing import Any, NamedTuple

from PIL import Image

from fleetcare.cli.demo import run
from fleetcare.desk import gate, sample
from tests.web.test_browser import CHROMIUM, at_work

FOLDER = Path(__file__).parent.parent.parent / "docs" / "pictures"
EACH, ALL = 60_000, 350_000  # bytes, at most
SCREEN, PHONE = (1000, 860), (390, 844)
PEOPLE = {
    "clerk": "Anstice Marrable", "yard": "Wilf Tansley", "workshop": "Jory Pellwick",
    "owner": "O. Owner",
}  # fmt: skip
_COLOURS = 32  # a page has few


class Picture(NamedTuple):
    """A page as somebody sees it: from its head, or of one part of it."""

    name: str
    role: str
    path: str
    size: tuple[int, int] = SCREEN
    part: str = ""  # a heading that is opened first, and begun from


PICTURES = (
    Picture("counter", "clerk",
            "/counter?from_on=2026-12-12&through_on=2026-12-16&bikes=2&licence=B", (1000, 1160)),
    Picture("diary", "clerk", "/diary"),
    Picture("hire", "clerk", "/hire/H141"),
    Picture("yard", "yard", "/yard", PHONE),
    Picture("walk", "yard", "/walk/prepared/V01/H141?line=tyre-tread:front-left", PHONE),
    Picture("monday", "workshop", "/monday"),
    Picture("plan", "workshop", "/van/V12", (1280, 860), "Fitted"),
    Picture("papers", "owner", "/papers"),
)  # fmt: skip


def _made_small(png: bytes) -> bytes:
    """The same in a few colours."""
    made = io.BytesIO()
    with Image.open(io.BytesIO(png)) as whole:
        few = whole.convert("RGB").quantize(_COLOURS, dither=Image.Dither.NONE)
        few.save(made, "PNG", optimize=True)
    return made.getvalue()


def _taken(page: Any, address: str, picture: Picture) -> bytes:
    page.set_viewport_size(dict(zip(("width", "height"), picture.size, strict=True)))
    page.goto(f"{address}{picture.path}")
    top = 0.0
    if picture.part:
        part = page.locator("summary").filter(has_text=picture.part)
        part.click()
        page.locator("h1").click()  # nothing is left in the focus
        top = part.bounding_box()["y"]
    clip = {"x": 0, "y": top, "width": picture.size[0], "height": picture.size[1]}
    return bytes(page.screenshot(full_page=True, clip=clip))


def main() -> None:
    """Take every picture anew."""
    from playwright.sync_api import sync_playwright

    FOLDER.mkdir(parents=True, exist_ok=True)
    morning = dt.datetime.combine(sample.today(), dt.time(9, 30), dt.UTC)
    with tempfile.TemporaryDirectory() as kept, sync_playwright() as started:
        place = Path(kept) / "sample.db"
        sample.build(place, run)
        browser = started.chromium.launch(executable_path=CHROMIUM, args=["--no-sandbox"])
        with at_work(str(place), morning) as address:
            for role, name in PEOPLE.items():
                gate.person_add(str(place), name, [role])
                page = browser.new_context(color_scheme="light").new_page()
                page.goto(f"{address}/link/{gate.person_link(str(place), name, enters=True)}")
                page.get_by_role("button", name="Come in").click()
                for picture in [one for one in PICTURES if one.role == role]:
                    octets = _made_small(_taken(page, address, picture))
                    (FOLDER / f"{picture.name}.png").write_bytes(octets)
                    print(f"{picture.name}: {len(octets):,} bytes")
        browser.close()


if __name__ == "__main__":
    main()
