"""The pages in a real browser, Debian's Chromium: nothing is scrolled sideways, what is pressed is
large enough for a glove, nothing breaks the policy, and a day goes by keyboard alone."""

from __future__ import annotations

import contextlib
import datetime as dt
import shutil
import threading
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from fleetcare import clock
from fleetcare.desk import diary, gate, sample
from fleetcare.web.app import made
from fleetcare.web.settings import Served

CHROMIUM = shutil.which("chromium")
pytestmark = pytest.mark.skipif(CHROMIUM is None, reason="Chromium is not installed")

PAGES = {
    "clerk": ("/counter", "/counter?from_on=2027-05-01&through_on=2027-05-08&people=4&bikes=2",
              "/counter?from_on=2027-05-08&through_on=2027-05-01", "/hires", "/hire/H148", "/diary",
              "/own", "/own/passkey"),
    "yard": ("/yard", "/hire/H141", "/walk/prepared/V01/H141", "/walk/return/V06/H136"),
    "workshop": ("/monday", "/vans", "/van/V01", "/van/V01/record", "/van/V01/defect", "/record/11/papers",
                 "/van/V07/defects", "/van/V07/missing"),
    "owner": ("/people", "/sheets", "/van/NONE", "/none", "/papers", "/papers/label.pdf", "/missing", "/rules",
              "/rules/mot?van=V07", "/answers?van=V01", "/tally", "/erase", "/record/1",
              "/record/762", "/hire/H143/waive", "/van/V02/known?known_at=400"),
}  # fmt: skip
SCREENS = ((320, "dark"), (390, "light"), (1280, "light"), (1280, "dark"))
# What may be pressed and is smaller than a fingertip; a link within words is as high as they are.
_SMALL = """() => [...document.querySelectorAll(
    'button, select, summary, nav a, .next, input:not([type=hidden])')]
  .filter(one => one.offsetParent && !one.closest('details:not([open]) > :not(summary)'))
  .filter(one => { const box = one.getBoundingClientRect();
    const least = one.matches('.big') ? 64
      : one.matches('[type=radio], [type=checkbox], summary') ? 24 : 44;
    return box.height < least - 0.5; })
  .map(one => one.outerHTML.slice(0, 80))"""


@pytest.fixture
def served(sample_book: str) -> Iterator[tuple[str, str]]:
    """A copy of the sample on its own day, and the address at which a thread of ours serves it."""
    with at_work(sample_book, dt.datetime.combine(sample.today(), dt.time(9, 30), dt.UTC)) as at:
        yield sample_book, at


@contextlib.contextmanager
def at_work(place: str, moment: dt.datetime, host: str = "127.0.0.1") -> Iterator[str]:
    """A thread of ours serves a book at a moment that stands; gives the address."""
    import uvicorn

    with clock.standing_at(moment):
        app = made(Served(place, (host,)))
        config = uvicorn.Config(app, port=0, log_level="error", ws="none")
        server = uvicorn.Server(config)
        thread = threading.Thread(target=server.run)
        thread.start()
        while not server.started:
            pass
        port = server.servers[0].sockets[0].getsockname()[1]
        yield f"http://{host}:{port}"
        server.should_exit = True
        thread.join()


@pytest.fixture
def chromium() -> Iterator[Any]:
    """The browser, without a screen."""
    from playwright.sync_api import sync_playwright

    with sync_playwright() as run:
        browser = run.chromium.launch(executable_path=CHROMIUM, args=["--no-sandbox"])
        yield browser
        browser.close()


def _come_in(page: Any, place: str, address: str, role: str) -> None:
    name = f"{role} person"
    known = {one.name for one in gate.people(place)}
    gate.person_add(place, name, [role]) if name not in known else None
    page.goto(f"{address}/link/{gate.person_link(place, name, enters=True)}")
    page.get_by_role("button", name="Come in").click()


@pytest.mark.parametrize("role", PAGES)
def test_every_page_fits_every_screen(
    role: str, served: tuple[str, str], chromium: Any, tmp_path: Path
) -> None:
    """From 320 pixels up, light and dark: no page is wider than its screen, nothing to press is
    smaller than a fingertip, nothing breaks the policy and nothing is an error of the page."""
    place, address = served
    for width, scheme in SCREENS:
        context = chromium.new_context(
            viewport={"width": width, "height": 844}, color_scheme=scheme
        )
        page = context.new_page()
        said: list[str] = []
        page.on("console", lambda message, said=said: said.append(message.text))
        page.on("pageerror", lambda fault, said=said: said.append(str(fault)))
        _come_in(page, place, address, role)
        for path in PAGES[role]:
            page.goto(f"{address}{path}")
            over = page.evaluate(
                "document.documentElement.scrollWidth - document.documentElement.clientWidth"
            )
            assert over <= 0, (path, width)
            assert page.evaluate(_SMALL) == [], (path, width)
            assert page.locator("h1").count() == 1
        assert [one for one in said if "status of 404" not in one and "422" not in one] == []
        context.close()


def test_a_booking_by_keyboard_alone(served: tuple[str, str], chromium: Any) -> None:
    """The clerk asks, chooses and books without a mouse; what is focused can be seen."""
    place, address = served
    page = chromium.new_context(locale="en-GB").new_page()
    _come_in(page, place, address, "clerk")
    page.goto(f"{address}/counter?from_on=2027-05-01&through_on=2027-05-08&people=2")
    page.keyboard.press("Tab")
    assert page.evaluate("document.activeElement.textContent") == "To the page"
    page.get_by_label("Reference of the booking").focus()
    page.keyboard.type("W9")
    for _ in range(12):
        page.keyboard.press("Tab")
        if page.evaluate("document.activeElement.textContent") == "Book it":
            break
    outline = page.evaluate("getComputedStyle(document.activeElement).outlineStyle")
    assert outline == "solid"
    page.keyboard.press("Enter")
    page.wait_for_url(f"{address}/hire/W9?since=802")
    assert page.locator("h1").inner_text().startswith("W9, V")
    page.reload()
    assert "W9" in [one.ref for one in diary.listed(place, None, None, None)]
    page.go_back()
    assert [one.ref for one in diary.listed(place, None, None, None)].count("W9") == 1


def test_a_photo_of_a_defect(served: tuple[str, str], chromium: Any, tmp_path: Path) -> None:
    """It is chosen, sent with what was typed, and seen beside the defect; where it is refused, what
    was typed stands again."""
    place, address = served
    page = chromium.new_context(locale="en-GB", viewport={"width": 390, "height": 844}).new_page()
    said: list[str] = []
    page.on("console", lambda message: said.append(message.text))
    _come_in(page, place, address, "workshop")
    page.goto(f"{address}/van/V01/defect")
    page.get_by_label("How bad").select_option("minor")
    page.get_by_label("In words").fill("blind torn")
    (tmp_path / "a.heic").write_bytes(b"\x00\x00\x00\x18ftypheic")
    page.get_by_label("Photo, from the camera").set_input_files(tmp_path / "a.heic")
    page.get_by_role("button", name="Write it down").click()
    assert "a.heic: is none of pdf, png, jpeg" in page.get_by_role("alert").inner_text()
    assert page.get_by_label("In words").input_value() == "blind torn"
    page.set_viewport_size({"width": 320, "height": 844})
    page.screenshot(path=tmp_path / "photo.png")
    page.get_by_label("Photo, from the camera").set_input_files(tmp_path / "photo.png")
    page.get_by_role("button", name="Write it down").click()
    page.goto(f"{address}/van/V01/defects")
    shown = page.locator("figure img")
    shown.scroll_into_view_if_needed()
    assert shown.evaluate("one => one.decode().then(() => one.naturalWidth)") == 320
    assert page.evaluate("document.documentElement.scrollWidth") <= 320
    with page.expect_download() as got:
        page.get_by_role("link", name="Download").click()
    assert Path(got.value.path()).read_bytes() == (tmp_path / "photo.png").read_bytes()
    assert got.value.suggested_filename.endswith(".png")
    assert [one for one in said if "status of 404" not in one and "422" not in one] == []
