"""Every page in every state, looked at by outside readers: axe-core 4.14.1 in Debian's Chromium
(which finds about a half of what keeps somebody out, so a clean run is no promise), and the checker
of HTML that the standard's own editors keep."""

from __future__ import annotations

import datetime as dt
import json
import os
import shutil
import subprocess
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from fleetcare import clock
from fleetcare.desk import keep, sample
from fleetcare.web.door import style
from tests.web.states import of_an_empty_book, of_the_sample

NODE = Path(os.environ.get("FLEETCARE_NODE", "node_modules")).absolute()
AXE, VNU = NODE / "axe-core" / "axe.min.js", NODE / "vnu-jar" / "build" / "dist" / "vnu.jar"
CHROMIUM, JAVA = shutil.which("chromium"), shutil.which("java")
WIDTHS = (320, 390, 1280)
# All rules in the light; in the dark those that look at colours, for nothing else is another.
SCHEMES = {"light": None, "dark": ["color-contrast", "link-in-text-block"]}
PLACE = "http://pages.example/"
_FOUND = """rules => axe.run(document, {resultTypes: ['violations'],
  ...(rules && {runOnly: rules})}).then(found =>
  found.violations.map(one => one.id + ': ' + one.nodes.map(node => node.html.slice(0, 90))[0]))"""
_OVER = "document.documentElement.scrollWidth - document.documentElement.clientWidth"
BROKEN = """<!DOCTYPE html><html lang="en"><head><title>x</title></head><body><main><h1>x</h1>
<form><input name="a"><p style="color: #999; background: #fff">pale</p></form></main></body></html>"""


@pytest.fixture(scope="module")
def states(
    sample_file: Path, sqlite_template: bytes, tmp_path_factory: pytest.TempPathFactory
) -> dict[str, str]:
    """The pages, by name, on the sample's own day."""
    folder = tmp_path_factory.mktemp("states")
    empty = folder / "empty.db"
    empty.write_bytes(sqlite_template)
    sampled = str(shutil.copy(sample_file, folder / "sample.db"))
    morning = dt.datetime.combine(sample.today(), dt.time(9, 30), dt.UTC)
    with clock.standing_at(morning):
        keep.init(str(empty), "Test")
        return {**of_the_sample(sampled), **of_an_empty_book(str(empty))}


@pytest.fixture
def chromium() -> Iterator[Any]:
    """The browser, without a screen."""
    if CHROMIUM is None or not AXE.is_file():
        pytest.skip("Chromium or axe-core is not installed: FLEETCARE_NODE names its folder")
    from playwright.sync_api import sync_playwright

    with sync_playwright() as run:
        browser = run.chromium.launch(executable_path=CHROMIUM, args=["--no-sandbox"])
        yield browser
        browser.close()


def _shown(page: Any, html: str) -> None:
    """Let a page be shown with its style, as the server gave it."""
    css = style(None).body  # type: ignore[arg-type]  # it looks at no visit

    def answer(route: Any) -> None:
        if route.request.url == PLACE:
            route.fulfill(body=html, content_type="text/html; charset=utf-8")
        elif route.request.url.endswith("/style.css"):
            route.fulfill(body=css, content_type="text/css; charset=utf-8")
        else:
            route.abort()

    page.unroute("**/*")
    page.route("**/*", answer)
    page.goto(PLACE)
    page.evaluate(AXE.read_text("utf-8"))


@pytest.mark.parametrize("third", range(3))
def test_nobody_is_kept_out(states: dict[str, str], chromium: Any, third: int) -> None:
    """No page breaks a rule of axe or is wider than its screen, at three widths, light and dark;
    and a page that does is found. A third of the pages each, for two to look at."""
    page = chromium.new_context(bypass_csp=True).new_page()
    _shown(page, BROKEN)
    assert [one.partition(":")[0] for one in page.evaluate(_FOUND)] == ["color-contrast", "label"]
    wrong = []
    for name, html in list(states.items())[third::3]:
        _shown(page, html)
        for width in WIDTHS:
            page.set_viewport_size({"width": width, "height": 844})
            if page.evaluate(_OVER) > 0:
                wrong.append(f"{name} at {width}: wider than the screen")
            for scheme, rules in SCHEMES.items():
                page.emulate_media(color_scheme=scheme)
                said = page.evaluate(_FOUND, rules)
                wrong += [f"{name} at {width}, {scheme}: {one}" for one in said]
    assert wrong == []


def test_every_page_is_html(states: dict[str, str], tmp_path: Path) -> None:
    """The checker has nothing to say against any page; it has against one that is broken."""
    if JAVA is None or not VNU.is_file():
        pytest.skip("Java or the checker is not installed: FLEETCARE_NODE names its folder")
    names = {}
    for number, (name, html) in enumerate({"broken": "<p id=a><p id=a>", **states}.items()):
        names[f"{number}.html"] = name
        (tmp_path / f"{number}.html").write_text(html, "utf-8")
    line = [JAVA, "-Xss4m", "-jar", str(VNU), "--format", "json", "--exit-zero-always"]
    ran = subprocess.run([*line, str(tmp_path)], capture_output=True, text=True, check=True)
    said = json.loads(ran.stderr)["messages"]
    told = [
        (names[Path(one["url"]).name], f"{one['message']} {one.get('extract', '')[:100]!r}")
        for one in said
        if one["type"] != "info" or one.get("subType") == "warning"
    ]
    assert [words for name, words in told if name == "broken"] != []
    assert [one for one in told if one[0] != "broken"] == []
