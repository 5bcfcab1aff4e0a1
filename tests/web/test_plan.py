"""The drawing of a van on its page: each place once, numbered as in the list beside it; what is empty
or stops the van stands out by shape and word, and no place is lost."""

from __future__ import annotations

import datetime as dt
import html
import itertools
import math
import re

import pytest

from fleetcare.desk import fleet
from fleetcare.render.plan import plan
from fleetcare.reports.placed import Part
from fleetcare.rules.read import read_book
from fleetcare.shipped import drawn_places, rulebook_files
from tests.typed import typed
from tests.web.conftest import Browser, Opened

ON = dt.date(2026, 8, 1)
_MARK = re.compile(
    r'<g><title>(\d+) ([^<]+)</title>\n<(circle|rect|path)(?: class="([^"]+)")?.*?'
    r'<text class="number" x="([0-9.]+)" y="([0-9.]+)">(\d+)</text>(.*?)</g>',
    re.DOTALL,
)
_WIDE = 26  # of a mark


def _drawn(page: str) -> dict[str, tuple[str, str, str, str]]:
    """Each mark by its place: number, shape, how it is marked, and the word under it."""
    drawing = page.partition('class="plan"')[2].partition("</svg>")[0]
    assert drawing.count("<g>") == len(_MARK.findall(drawing))
    found = {}
    for number, place, shape, kind, _, _, shown, rest in _MARK.findall(drawing):
        assert shown == number
        assert html.unescape(place) not in found, "a place stands twice"
        word = re.sub(r"<[^>]+>", "", rest).strip()
        found[html.unescape(place)] = (number, shape, kind, word)
    return found


def _listed(page: str) -> list[dict[str, str]]:
    """The list beside the drawing, row by row as it is headed."""
    body = page.partition('aria-label="Fitted"')[2].partition("</table>")[0]
    return [
        {head: html.unescape(said) for head, said in
         re.findall(r'<td data-head="([^"]+)">(.*?)</td>', row)}
        for row in re.findall(r"<tr>(.*?)</tr>", body.partition("<tbody>")[2])
    ]  # fmt: skip


def test_every_place_of_the_sample_stands_on_the_drawing_once(opened: Opened) -> None:
    """With the number it has in the list, inside the drawing, and no mark on another."""
    owner = opened("owner")
    for van in fleet.names(owner.place, ""):
        page = owner.get(f"/van/{van}").text
        drawn, listed = _drawn(page), _listed(page)
        numbers = {row["Where"]: row["Mark"] for row in listed if "Where" in row}
        assert {place: mark[0] for place, mark in drawn.items()} == numbers
        fitted = {row["place"] for row in fleet.van(owner.place, van, None).fitted}
        assert fitted <= numbers.keys()
        assert {row["Where"] for row in listed if "Fitted" in row} == fitted
        below = [place for place in drawn if place not in drawn_places()]
        assert below == (["front axle", "rear axle"] if van == "V12" else [])
        size = re.search(r'viewBox="0 0 (\d+) (\d+)" role="img"><title>(\w+) from above', page)
        assert size
        assert size[3] == van
        spots = [(float(x), float(y)) for *_, x, y, _, _ in _MARK.findall(page)]
        for x, y in spots:
            assert 13 <= x <= int(size[1]) - 13
            assert 13 <= y <= int(size[2]) - 25  # its word below it
        for one, other in itertools.combinations(spots, 2):
            assert math.dist(one, other) > _WIDE


def test_what_is_empty_and_what_stops_the_van_stand_out(opened: Opened) -> None:
    """By a shape and a word of their own, and the list says why; what nobody said is listed too."""
    page = opened("yard").get("/van/V12").text
    drawn = _drawn(page)
    assert drawn["living-area"] == ("7", "rect", "empty stops", "empty")
    assert drawn["door"] == ("8", "path", "stops", "stops")
    assert drawn["kitchen"] == ("9", "circle", "", "")
    assert [row for row in _listed(page) if "Not in order" in row and "Mark" not in row] == [
        {"What": "tyre", "Not in order": "spare not said"},
        {"What": "gas alarm", "Not in order": "gas alarm not said"},
        {"What": "gas hose", "Not in order": "where each gas hose is not said; gas hose: cannot say"},
        {"What": "gas appliance",
         "Not in order": "where each gas appliance is not said; gas appliance: cannot say"},
    ]  # fmt: skip
    assert [row for row in _listed(page) if row.get("Mark") in ("7", "8")] == [
        {"Mark": "7", "What": "smoke alarm", "Where": "living-area", "Fitted": "Thu 19 Nov 2026",
         "Replace by": "2036-06", "Record": "778"},
        {"Mark": "7", "What": "CO alarm", "Where": "living-area",
         "Not in order": "must be filled, and is empty; CO alarm living-area: no record"},
        {"Mark": "7", "What": "gas alarm", "Where": "living-area",
         "Not in order": "gas alarm living-area: cannot say"},
        {"Mark": "8", "What": "extinguisher", "Where": "door", "Fitted": "Thu 19 Nov 2026",
         "Not in order": "sealed extinguisher door: cannot say", "Made": "2026-05", "Record": "779"},
    ]  # fmt: skip


def test_a_place_is_empty_once_its_component_is_taken_off(opened: Opened) -> None:
    """A wheel off is seen at once; all that its rules say of it stands in the list."""
    yard = opened("yard")
    assert _drawn(yard.get("/van/V01").text)["front-left"] == ("1", "circle", "", "")
    typed(yard.place, "take-off V01 tyre front-left")
    page = yard.get("/van/V01").text
    assert _drawn(page)["front-left"] == ("1", "rect", "empty stops", "empty")
    assert _listed(page)[0] == {
        "Mark": "1", "What": "tyre", "Where": "front-left",
        "Not in order": "must be filled, and is empty; tyre age front-left: no record",
    }  # fmt: skip


def test_a_place_nobody_drew_stands_below_the_van(opened: Opened) -> None:
    """Many of them in rows, each with its number; what is typed as a place is text."""
    yard = opened("yard")
    for number in range(8):
        typed(yard.place, f"fit V01 sealant under-bed-{number} --replace-by 2030-01")
    page = yard.get("/van/V01").text
    assert {f"under-bed-{number}" for number in range(8)} <= _drawn(page).keys()
    assert ">elsewhere</text>" in page
    *_, x, y, _, _ = _MARK.findall(page)[-1]
    assert (x, float(y)) == ("24", 673)  # the eighth begins a second row
    assert ">elsewhere</text>" not in yard.get("/van/V02").text


def test_what_is_typed_is_text_in_the_drawing() -> None:
    """Marks of a page and what no page can hold, in a title and in the name of a place."""
    evil = '<b a="x">&\x00'
    drawn = plan(evil, [Part(1, evil, evil, False, True, evil)])
    assert '<title>&lt;b a="x"&gt;&amp;\ufffd</title>' in drawn
    assert '<title>1 &lt;b a="x"&gt;&amp;\ufffd</title>' in drawn
    assert "<b" not in drawn
    assert ">stops</text>" in drawn


def test_a_van_of_which_nothing_is_said(ready: str) -> None:
    """The drawing is bare but for what every van must have, and nothing of it breaks."""
    typed(ready, "van add V01 --jurisdiction gb", ON)
    drawn = _drawn(Browser(ready, "owner").get("/van/V01").text)
    assert {mark[1] for place, mark in drawn.items() if place in drawn_places()} == {"rect", "path"}


def _named() -> set[str]:
    """The places that the rulebook names."""
    found: set[str] = set()
    for kind in read_book(rulebook_files()).components.values():
        found |= set(kind.fixed)
        found |= {
            p for values in kind.by_fact.values() for places in values.values() for p in places
        }
    return found


def test_every_place_of_the_rulebook_is_drawn() -> None:
    """Each lies somewhere on the van, by two figures in per cent."""
    assert _named() - drawn_places().keys() == set()
    assert "rear-left-inner" in _named()


@pytest.mark.parametrize("place", drawn_places())
def test_a_place_lies_on_the_van(place: str) -> None:
    """Two whole numbers from 0 to 100."""
    along, across = drawn_places()[place]
    assert 0 <= along <= 100
    assert 0 <= across <= 100
