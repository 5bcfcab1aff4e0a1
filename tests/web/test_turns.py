"""Two people who take turns by PIN on one tablet, in a real browser: what one filled in without a
signal waits for them, and the other goes on by their own name."""

from __future__ import annotations

import shutil
from collections.abc import Iterator
from typing import Any
from urllib.parse import quote

import pytest

from fleetcare.desk import gate, tablet, walks
from tests.web.conftest import PASSWORD
from tests.web.test_browser import chromium, served  # noqa: F401 (fixtures)
from tests.web.test_offline import ADDRESS, WALK, Phone, _quick

pytestmark = pytest.mark.skipif(
    shutil.which("chromium") is None, reason="Chromium is not installed"
)
PINS = {"Ada Yard": "274951", "Bo Yard": "860374"}


class Shared(Phone):
    """A tablet of the yard, at whose door two people have a PIN."""

    def come_in(self, name: str) -> None:
        """Paired by an owner; nobody is in yet."""
        for one, role in ((name, "owner"), *((who, "yard") for who in PINS)):
            link = gate.person_add(self.place, one, [role])
            assert gate.come_by_link(self.place, link, PASSWORD, PASSWORD)
        for who, pin in PINS.items():
            tablet.set_pin(self.place, who, tablet.Chosen(PASSWORD, pin, pin), "here")
        self.page.goto(f"{self.address}/enter")
        self.page.get_by_label("Name").fill(name)
        self.page.get_by_label("Password").fill(PASSWORD)
        self.page.get_by_role("button", name="Sign in").click()
        self.page.get_by_role("link", name="People").click()
        self.page.get_by_label("What the tablet is called").fill("the shed")
        self.page.get_by_role("button", name="Pair this device").click()
        self.page.get_by_role("heading", name="the shed: who is it?").wait_for()

    def turn(self, who: str) -> None:
        """Press a name, type the PIN."""
        self.page.wait_for_load_state()
        name = self.page.get_by_role("link", name=who, exact=True)
        box = name.bounding_box()
        assert box
        assert box["height"] >= 64
        name.click()
        self.page.get_by_label("PIN").fill(PINS[who])
        self.page.get_by_role("button", name="Come in").click()
        self.page.get_by_role("heading", name="The yard today").wait_for()

    def leave(self) -> None:
        """Sign out, and be at the names again."""
        self.page.get_by_role("button", name="Sign out").click()
        self.page.get_by_role("heading", name="the shed: who is it?").wait_for()


@pytest.fixture
def shared(chromium: Any, served: tuple[str, str]) -> Iterator[Shared]:  # noqa: F811
    """A tablet in the yard, at its names."""
    found = Shared(chromium, *served, name="O. Owner")
    yield found
    found.context.close()


def _by(place: str) -> dict[str, str]:
    """Who answered which line."""
    return {row.line: row.by for row in walks.begun(place, WALK).answers.values()}


def test_two_people_take_turns_without_a_signal(shared: Shared) -> None:
    """What Ada filled in waits while Bo is in, who is told so and answers by his own name; it is
    sent when Ada is in again, as Ada's."""
    shared.turn("Ada Yard")
    shared.open()
    shared.signal(there=False)
    first, second = _quick(shared, 2)
    gate.person_roles(shared.place, "Ada Yard", ["yard"])  # her turn ends while there is no signal
    shared.signal(there=True)
    shared.page.goto(f"{shared.address}/yard")
    shared.turn("Bo Yard")
    shared.page.goto(f"{shared.address}{ADDRESS}")
    shared.page.locator("#waiting p").wait_for()
    assert shared.waits == "What Ada Yard filled in waits until Ada Yard signs in on this phone."
    looked = [
        one.name for one in walks.begun(shared.place, WALK).form.lines if one.kind.asks == "look"
    ]
    shared.page.goto(f"{shared.address}{ADDRESS}?line={quote(looked[2])}")
    shared.press("Sound")
    shared.page.locator("#waiting p").wait_for()
    assert _by(shared.place) == {looked[2]: "Bo Yard"}
    shared.leave()
    shared.turn("Ada Yard")
    shared.page.goto(f"{shared.address}{ADDRESS}")
    shared.sent()
    assert _by(shared.place) == {first: "Ada Yard", second: "Ada Yard", looked[2]: "Bo Yard"}


def test_a_page_kept_for_one_is_not_shown_to_the_next(shared: Shared) -> None:
    """Ada's turn ends by itself, with her sheet on the tablet: without a signal Bo is not given her
    pages, on which he would answer under her name."""
    shared.turn("Ada Yard")
    shared.open()
    gate.person_roles(shared.place, "Ada Yard", ["yard"])
    shared.page.goto(f"{shared.address}/yard")
    shared.turn("Bo Yard")
    shared.signal(there=False)
    shared.page.goto(f"{shared.address}{ADDRESS}")
    assert "This page was not opened on this phone before." in shared.page.inner_text("main")
    shared.page.goto(f"{shared.address}/yard")
    assert shared.page.locator("body").get_attribute("data-who") == "Bo Yard"
