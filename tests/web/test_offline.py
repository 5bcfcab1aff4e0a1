"""The yard's phone where the signal comes and goes, in Chromium: what is answered waits on the phone,
is sent once, and nothing is let go of in silence."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator
from typing import Any
from urllib.parse import quote

import pytest

from fleetcare.desk import diary, fleet, gate, scans, walks
from fleetcare.desk.questions import due
from fleetcare.store.people import beside
from tests.typed import typed
from tests.web.test_browser import CHROMIUM, at_work, chromium, served  # noqa: F401
from tests.web.test_stories import GOOD_ANSWERS, morning  # noqa: F401
from tests.web.test_uploads import JPEG

pytestmark = pytest.mark.skipif(CHROMIUM is None, reason="Chromium is not installed")
DAY = dt.date(2026, 11, 23)
_PATIENCE = 60_000  # milliseconds: some ninety forms are sent one after the other
PHOTO = {"name": "1.jpg", "mimeType": "image/jpeg", "buffer": JPEG}
WALK = walks.Walk("prepared", "V01", "H141", DAY)
ADDRESS = "/walk/prepared/V01/H141"


class Phone:
    """A phone in the yard, its sheet on it."""

    def __init__(self, browser: Any, place: str, address: str, name: str = "Yan Yard") -> None:
        self.place, self.address = place, address
        self.context = browser.new_context(viewport={"width": 390, "height": 844})
        self.context.set_default_timeout(_PATIENCE)
        self.page = self.context.new_page()
        self.come_in(name)

    def come_in(self, name: str) -> None:
        if name not in {one.name for one in gate.people(self.place)}:
            gate.person_add(self.place, name, ["yard"])
        link = gate.person_link(self.place, name, enters=True)
        self.page.goto(f"{self.address}/link/{link}")
        self.page.get_by_role("button", name="Come in").click()

    def open(self, path: str = ADDRESS) -> None:
        """The sheet opened, and all of it on the phone."""
        self.page.goto(f"{self.address}{path}")
        self.page.locator("#ready").filter(has_text="without a signal").wait_for()

    def signal(self, *, there: bool) -> None:
        self.context.set_offline(not there)

    def press(self, words: str) -> None:
        """Press what a line offers, and be on the next page."""
        before = self.page.url
        self.page.get_by_role("button", name=words, exact=True).first.click()
        self.page.wait_for_url(lambda url: url != before)

    @property
    def waits(self) -> str:
        return str(self.page.locator("#waiting").inner_text())

    def sent(self) -> None:
        """Until nothing waits: the page says what does once it has looked."""
        self.page.locator("#waiting").wait_for(state="attached")
        self.page.locator("#waiting:not(:has(p))").wait_for(state="attached")


@pytest.fixture
def phone(chromium: Any, served: tuple[str, str]) -> Iterator[Phone]:  # noqa: F811
    """A phone of somebody of the yard."""
    found = Phone(chromium, *served)
    yield found
    found.context.close()


def _answers(place: str, walk: walks.Walk = WALK) -> dict[str, str]:
    found = walks.begun(place, walk)
    return {name: row.answer for name, row in found.answers.items()}


def _quick(phone: Phone, many: int) -> list[str]:
    """Say sound to so many lines."""
    form = walks.begun(phone.place, WALK).form
    lines = [line.name for line in form.lines if line.kind.asks == "look"][:many]
    for line in lines:
        phone.page.goto(f"{phone.address}{ADDRESS}?line={quote(line)}")
        phone.press("Sound")
    return lines


def test_lines_answered_without_a_signal_are_sent_when_there_is_one(phone: Phone) -> None:
    """Three lines wait on the phone and go on one after the other; then they are in, once each."""
    phone.open()
    phone.signal(there=False)
    lines = _quick(phone, 3)
    assert len(set(lines)) == 3
    assert "3 not sent yet, kept on this phone." in phone.waits
    assert "No signal. This page is as of" in phone.waits
    assert _answers(phone.place) == {}
    phone.signal(there=True)
    phone.page.reload()
    phone.sent()
    assert _answers(phone.place) == dict.fromkeys(lines, "ok")
    with beside(phone.place) as connection:
        from fleetcare.store.people import taken

        assert len(connection.execute(taken.select()).fetchall()) == 3


def test_a_tab_that_was_killed_loses_nothing(phone: Phone) -> None:
    """What waited is on the phone when the browser opens the page again."""
    phone.open()
    phone.signal(there=False)
    lines = _quick(phone, 2)
    phone.page.close()
    phone.page = phone.context.new_page()
    phone.page.goto(f"{phone.address}{ADDRESS}")
    phone.page.locator("#waiting p").first.wait_for()
    assert "2 not sent yet" in phone.waits
    assert phone.page.locator("#count").inner_text().startswith("2 of ")
    phone.signal(there=True)
    phone.page.reload()
    phone.sent()
    assert _answers(phone.place) == dict.fromkeys(lines, "ok")


def test_what_another_tablet_answered_meanwhile_is_shown_and_asked(
    phone: Phone,
) -> None:
    """The phone's answer waits until somebody says which one holds; both ways are taken."""
    phone.open()
    phone.signal(there=False)
    first, second = _quick(phone, 2)
    for line in (first, second):
        walks.answer(phone.place, "Ty Tablet", WALK, walks.Said(line, "minor: a scratch"))
    phone.signal(there=True)
    phone.page.reload()
    phone.page.locator("#waiting section").nth(1).wait_for()
    assert f'{first} was answered "minor: a scratch" by Ty Tablet since' in phone.waits
    assert set(_answers(phone.place).values()) == {"minor: a scratch"}
    phone.page.get_by_role("button", name="Mine holds: send it").first.click()
    phone.page.locator("#waiting section").nth(1).wait_for(state="detached")
    phone.page.get_by_role("button", name="Let go of it").click()
    phone.page.locator("#waiting section").wait_for(state="detached")
    phone.sent()
    assert _answers(phone.place) == {first: "ok", second: "minor: a scratch"}


def test_what_the_server_does_not_take_stays_until_it_is_answered_anew(phone: Phone) -> None:
    """A figure that can't be read is told with its line, and leads back to it."""
    phone.open("/walk/handover/V01/H141")
    walk = WALK._replace(what="handover")
    phone.signal(there=False)
    phone.page.goto(f"{phone.address}/walk/handover/V01/H141?line=fuel")
    phone.page.locator("#answer").fill("half")
    phone.press("Keep")
    phone.signal(there=True)
    phone.page.reload()
    phone.page.locator("#waiting section").wait_for()
    assert 'eighths: "half" is not eighths: type it like 5/8, with 8/8 for full' in phone.waits
    assert _answers(phone.place, walk) == {}
    phone.page.get_by_role("link", name="Answer it anew").click()
    phone.page.locator("#answer").fill("4/8")
    phone.press("Keep")
    phone.sent()
    assert _answers(phone.place, walk) == {"fuel": "4/8"}


def test_somebody_else_does_not_send_what_was_filled_in_by_another(phone: Phone) -> None:
    """Answers wait for the one whose they are, across signing out."""
    phone.open()
    phone.signal(there=False)
    (line,) = _quick(phone, 1)
    gate.person_remove(phone.place, "Yan Yard")
    phone.signal(there=True)
    phone.page.reload()
    phone.come_in("Ty Tablet")
    phone.page.goto(f"{phone.address}{ADDRESS}")
    phone.page.locator("#waiting p").wait_for()
    assert phone.waits == "What Yan Yard filled in waits until Yan Yard signs in on this phone."
    assert _answers(phone.place) == {}
    phone.come_in("Yan Yard")
    phone.page.goto(f"{phone.address}{ADDRESS}")
    phone.sent()
    assert [row.by for row in walks.begun(phone.place, WALK).answers.values()] == ["Yan Yard"]
    assert _answers(phone.place) == {line: "ok"}


def test_a_whole_day_in_the_yard_without_a_signal(chromium: Any, morning: str) -> None:  # noqa: F811
    """Both sheets, line by line, both signatures and the release wait on the phone, in that order;
    with a signal they are taken in one after the other, and the van is released as it may go."""
    with at_work(morning, dt.datetime(2026, 8, 1, 12, 30, tzinfo=dt.UTC)) as address:
        phone = Phone(chromium, morning, address)
        for what in ("prepared", "handover"):
            phone.open(f"/walk/{what}/V01/H1")
        phone.page.goto(f"{address}/hire/H1")
        phone.signal(there=False)
        lines = sum(_walked(phone, what) for what in ("prepared", "handover"))
        phone.page.goto(f"{address}/hire/H1")
        phone.page.on("dialog", lambda one: one.accept())
        phone.page.get_by_text("The key goes out").click()
        phone.page.locator("#out-odometer").fill("42300mi")
        phone.page.get_by_role("button", name="Release it").click()
        phone.page.locator("#waiting p").filter(has_text=f"{lines + 3} not sent yet").wait_for()
        assert _outs(morning, "out as H1") == []
        phone.signal(there=True)
        phone.page.goto(f"{address}/yard")
        phone.sent()
        (out,) = _outs(morning, "out as H1")
        assert out["words"] == "odometer 42300mi, by Yan Yard"
        kept = [one.sort for of in scans.kept_of_van(morning, "V01").values() for one in of]
        assert sorted(kept) == ["jpeg", "jpeg", "png"]  # a photo of each walk, and the signature
        assert "and by the hirer" in str(fleet.van(morning, "V01", None).records)
        (one, _) = diary.booking(morning, "H1")
        assert one.away == "out"
        phone.context.close()


def _outs(place: str, what: str) -> list[dict[str, Any]]:
    """What is written down of a van's leaving."""
    return [one for one in fleet.van(place, "V01", None).records if one["what"] == what]


def _walked(phone: Phone, what: str) -> int:
    """Answer every line as the pages ask, and sign; gives how many lines there were."""
    phone.page.goto(f"{phone.address}/walk/{what}/V01/H1")
    lines = photos = 0
    while ".end" not in phone.page.url:
        lines += 1
        name = phone.page.locator("input[name=line]").first.get_attribute("value") or ""
        if lines == 1:  # a photo of the first line waits as well
            photos += 1
            phone.page.locator("#photo").set_input_files(PHOTO)
            phone.page.locator("#waiting p").filter(has_text="not sent yet").first.wait_for()
        quick = phone.page.locator("button[name=quick]")
        if quick.count():
            green = phone.page.locator("button[name=quick][value=green]")
            button = green.first if green.count() else quick.first
        else:
            typed_in = "42300" if name == "odometer" else GOOD_ANSWERS[name.partition(":")[0]]
            phone.page.locator("#answer").fill(typed_in)
            if name == "odometer":
                phone.page.locator("#unit").select_option("mi")
            button = phone.page.get_by_role("button", name="Keep", exact=True)
        before = phone.page.url
        button.click()
        phone.page.wait_for_url(lambda url, before=before: url != before)
    waiting = phone.page.locator("#waiting p").filter(has_text="not sent yet").inner_text()
    if what == "handover":  # the page stands still by now
        from playwright.sync_api import expect

        box = phone.page.locator("canvas").bounding_box() or {}
        phone.page.mouse.move(box["x"] + 20, box["y"] + 20)
        phone.page.mouse.down()
        phone.page.mouse.move(box["x"] + 120, box["y"] + 60, steps=4)
        phone.page.mouse.up()
        expect(phone.page.locator("#signature")).not_to_have_value("")
    phone.page.get_by_role("button", name="Sign it as").click()
    after = waiting.replace(waiting.split()[0], str(int(waiting.split()[0]) + 1))
    phone.page.locator("#waiting p").filter(has_text=after).wait_for()
    return lines + photos


def test_a_van_that_left_without_a_signal_is_judged_again_and_heads_the_report(
    phone: Phone,
) -> None:
    """The phone shows yes with its hour; meanwhile the van is held; the release is written down as
    what it was, and Monday begins with it."""
    van, ref = "V01", "X1"
    typed(phone.place, f"hire add {van} --from {DAY} --through 2026-11-25 --ref {ref}", DAY)
    phone.open(f"/walk/prepared/{van}/{ref}")
    phone.page.goto(f"{phone.address}/hire/{ref}")
    phone.signal(there=False)
    typed(phone.place, f"hold {van} --from 2026-11-23 'found at the office'", DAY)
    phone.page.goto(f"{phone.address}/hire/{ref}")
    size = phone.page.locator("form[data-left]").get_attribute("data-size")
    asked: list[str] = []
    phone.page.on("dialog", lambda one: (asked.append(one.message), one.accept()))
    phone.page.get_by_text("The key goes out").click()
    phone.page.locator("#out-odometer").fill("60000mi")
    phone.page.get_by_role("button", name="Release it").click()
    phone.page.locator("#waiting p").filter(has_text="1 not sent yet").wait_for()
    assert 'The last answer was "yes", at ' in asked[0]
    assert f"on {size} records. Write down that it leaves on that answer?" in asked[0]
    phone.signal(there=True)
    phone.page.goto(f"{phone.address}/yard")
    phone.sent()
    (row,) = _outs(phone.place, f"out as {ref}")
    assert 'with no signal, on the answer "yes" of' in row["words"]
    assert due(phone.place, DAY, None).items[0].group == "unreleased"


def test_a_photo_lies_on_the_phone_first(phone: Phone) -> None:
    """With a signal too: whoever goes on at once, or is at its end, loses none."""
    phone.open()
    phone.page.route("**/photo", lambda route: route.abort())  # a signal that carries no photo
    phone.page.locator("#photo").set_input_files(PHOTO)
    phone.page.locator("#waiting p").filter(has_text="1 not sent yet").wait_for()
    assert walks.begun(phone.place, WALK).photos == []
    phone.page.unroute("**/photo")
    phone.page.reload()
    phone.sent()
    assert len(walks.begun(phone.place, WALK).photos) == 1
