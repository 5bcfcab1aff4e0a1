"""A day of each of the four persons in Chromium, on SQLite and on PostgreSQL, by what they press and
type; and the book looked at afterwards: what it says, and that it is whole."""

from __future__ import annotations

import datetime as dt
import re
import shutil
import uuid
from collections.abc import Iterator
from pathlib import Path
from typing import Any, NamedTuple

import pytest
from openpyxl import load_workbook

from fleetcare.desk import diary, fleet, gate, scans, trust, walks
from tests import served
from tests.conftest import ENGINES
from tests.desk.test_sheets import fill
from tests.typed import typed, typed_all
from tests.vans import GOOD
from tests.web.conftest import PASSWORD
from tests.web.test_browser import CHROMIUM, at_work, chromium  # noqa: F401

pytestmark = pytest.mark.skipif(CHROMIUM is None, reason="Chromium is not installed")
ON = dt.date(2026, 8, 1)
MORNING = dt.datetime.combine(ON, dt.time(12, 30), dt.UTC)
_SCREEN, _PHONE = {"width": 1280, "height": 844}, {"width": 390, "height": 844}


class Firm(NamedTuple):
    """A book served, and the browser that comes to it."""

    place: str
    address: str
    chromium: Any

    def person(self, name: str, role: str, screen: dict[str, int] = _SCREEN) -> Any:
        """Somebody who has come in by a link and looks at their first page."""
        gate.person_add(self.place, name, [role])
        page = self.chromium.new_context(viewport=screen, locale="en-GB").new_page()
        page.goto(f"{self.address}/link/{gate.person_link(self.place, name, enters=True)}")
        page.get_by_role("button", name="Come in").click()
        return page

    def go(self, page: Any, path: str) -> None:
        page.goto(f"{self.address}{path}")

    def whole(self) -> bool:
        """Whether every record of the book is as it was written."""
        return trust.verify(self.place).faults == []


@pytest.fixture(scope="session")
def good_database(postgres: str) -> str:
    """The name of a database with the van in good order, to copy from."""
    name = "good_fleet"
    served.told(postgres, f'CREATE DATABASE "{name}" TEMPLATE template_fleet')
    typed(served.named(postgres, name), "init", ON)
    typed_all(served.named(postgres, name), GOOD, ON)
    return name


@pytest.fixture(params=ENGINES)
def firm(
    request: pytest.FixtureRequest,
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
    chromium: Any,  # noqa: F811
) -> Iterator[Firm]:
    """A van in good order that is collected today as H1, served on each engine."""
    monkeypatch.setenv("FLEETCARE_PAPERS", str(tmp_path / "papers"))
    if request.param == "sqlite":
        place = str(shutil.copy(request.getfixturevalue("good_file"), tmp_path / "fleet.db"))
    else:
        server, copied = map(request.getfixturevalue, ("postgres", "good_database"))
        name = f"t{uuid.uuid4().hex}"
        served.told(server, f'CREATE DATABASE "{name}" TEMPLATE "{copied}"')
        place = served.named(server, name)
    typed(place, f"hire add V01 --from {ON} --through 2026-08-05 --ref H1", ON)
    with at_work(place, MORNING) as address:
        yield Firm(place, address, chromium)
    if request.param != "sqlite":
        served.told(server, f'DROP DATABASE "{name}" WITH (FORCE)')


def test_the_clerk(firm: Firm) -> None:
    """Asks which van can go, pencils it in, makes it firm, gives it another day, and cancels it."""
    page = firm.person("C. Clerk", "clerk")
    page.get_by_label("First day").fill("2026-08-07")
    page.get_by_label("Last day").fill("2026-08-09")
    page.get_by_label("People, the driver").fill("2")
    page.get_by_role("button", name="Ask").click()
    assert "2 people: 1 van can go" in page.get_by_role("region", name="The answer").inner_text()
    page.get_by_label("Reference of the booking").fill("W1")
    page.get_by_label("Pencilled").check()
    page.get_by_role("button", name="Book it").click()
    assert "hire W1, Fri 7 Aug 2026" in page.get_by_role("status").inner_text()
    page.get_by_role("button", name="Make it firm").click()
    page.get_by_role("link", name="Go on").click()
    page.get_by_text("Other days, party or van").click()
    page.locator("#change-through_on").fill("2026-08-08")
    page.get_by_role("button", name="Change it").click()
    assert "through Sat 8 Aug 2026, was Sun 9 Aug 2026" in page.get_by_role("status").inner_text()
    one, _ = diary.booking(firm.place, "W1")
    assert (one.through, one.party, one.stands) == (dt.date(2026, 8, 8), "2 people", "booked")
    page.get_by_role("link", name="Go on").click()
    page.get_by_text("Cancel it").first.click()
    page.locator("#cancel-why").fill("not coming")
    page.get_by_role("button", name="Cancel it").click()
    one, _ = diary.booking(firm.place, "W1")
    assert one.stands == "cancelled Sat 1 Aug 2026"
    assert set(fleet.van_page(firm.place, "V01").writers.values()) == {"Test", "C. Clerk"}
    assert firm.whole()


def test_the_yard(firm: Firm) -> None:
    """Goes on with a sheet that a colleague began, signs both, gives the key out, and writes down
    what it is back with."""
    page = firm.person("W. Yard", "yard", _PHONE)
    assert "V01 QI24 QIQ: H1" in page.locator("main").inner_text()
    for what in ("prepared", "handover"):
        left = _begun(firm.place, what)
        firm.go(page, f"/walk/{what}/V01/H1")
        for _ in left:
            _answer(page)
        page.get_by_role("button", name="Sign it as W. Yard").click()
        page.wait_for_url(f"**/walk/{what}/V01/H1/sign")
        assert page.locator("main .wrote").count() == 1
    firm.go(page, "/hire/H1")
    page.get_by_text("The key goes out").click()
    page.locator("#out-odometer").fill("42300mi")
    page.get_by_role("button", name="Release it").click()
    page.wait_for_url("**/hire/H1/out")
    assert "V01 released to H1 by W. Yard" in page.locator("main .wrote").inner_text()
    one, _ = diary.booking(firm.place, "H1")
    assert one.away == "out"
    firm.go(page, "/hire/H1")
    page.locator("summary", has_text="It is back").click()
    page.locator("#back-odometer").fill("42350mi")
    page.get_by_role("button", name="It is back").click()
    page.wait_for_url("**/hire/H1/back")
    assert "V01 back from H1, Sat 1 Aug 2026" in page.locator("main .wrote").inner_text()
    one, _ = diary.booking(firm.place, "H1")
    assert one.away == ""  # neither to go nor out
    assert firm.whole()


def test_the_workshop(firm: Firm, tmp_path: Path) -> None:
    """Reads Monday, records a check from there, reports a defect with its photo; what is mended by
    one is signed off by another, and the van may go again."""
    page = firm.person("L. Lead", "workshop")
    firm.go(page, "/monday")
    page.get_by_role("link", name="V01").first.click()
    page.get_by_role("link", name="Record a check").click()
    page.get_by_label("Check").select_option("chassis")
    page.get_by_label("How it ended").select_option("pass")
    page.get_by_label("Who did it").fill("B. Smith")
    page.get_by_label("Odometer").fill("42300mi")
    page.get_by_role("button", name="Write it down").click()
    assert "chassis service passed" in page.get_by_role("status").inner_text()
    page.get_by_role("link", name="Go on").click()
    page.get_by_role("link", name="Report a defect").click()
    page.get_by_label("How bad").select_option("major")
    page.get_by_label("In words").fill("blind torn off")
    page.screenshot(path=tmp_path / "photo.png")
    page.get_by_label("Photo, from the camera").set_input_files(tmp_path / "photo.png")
    page.get_by_role("button", name="Write it down").click()
    assert "not hireable today" in page.get_by_role("status").inner_text()
    for by, does in (("B. Smith", "It was rectified"), ("L. Lead", "Sign it off")):
        firm.go(page, "/van/V01/defects")
        form = page.locator("details").filter(has=page.locator("summary", has_text=does))
        form.locator("summary").click()
        form.get_by_label("Who did it").fill(by)
        form.get_by_role("button", name=does).click()
    assert "hireable through" in page.get_by_role("status").inner_text()
    assert fleet.open_defects(firm.place, "V01") == []
    ((kept,),) = scans.kept_of_van(firm.place, "V01").values()
    assert scans.original(firm.place, kept.number)[2] == (tmp_path / "photo.png").read_bytes()
    assert firm.whole()


def test_the_owner(firm: Firm, tmp_path: Path) -> None:
    """Lets somebody in, who chooses a password and comes in; reads the book through, and takes the
    workbook for the insurers out."""
    page = firm.person("O. Owner", "owner")
    firm.go(page, "/people")
    page.locator("#name").fill("N. New")
    page.locator("#clerk").check()
    page.get_by_role("button", name="Make a link").click()
    link = page.locator(".link").first.inner_text()
    new = firm.chromium.new_context(viewport=_PHONE).new_page()
    new.goto(link)
    new.get_by_label("Password").fill(PASSWORD)
    new.get_by_label("The same again").fill(PASSWORD)
    new.get_by_role("button").first.click()
    assert new.get_by_role("heading", level=1).inner_text() == "Which van?"
    (one,) = [one for one in gate.people(firm.place) if one.name == "N. New"]
    assert (one.roles, one.may_sign_in) == (("clerk",), True)
    firm.go(page, "/tally")
    page.get_by_role("button", name="Read it through").click()
    assert "All 31 records are as they were written down." in page.locator("main").inner_text()
    firm.go(page, "/papers")
    with page.expect_download() as got:
        page.get_by_role("button", name="Workbook").click()
    got.value.save_as(tmp_path / "insurers.xlsx")
    book = load_workbook(tmp_path / "insurers.xlsx", read_only=True)
    assert book.sheetnames[:2] == ["About", "Fleet"]
    book.close()
    assert firm.whole()


def _begun(place: str, what: str) -> list[str]:
    """All of a sheet but three lines answered by a colleague; gives those."""
    walk = walks.Walk(what, "V01", "H1", ON)
    lines = walks.begun(place, walk).form.lines
    left = [line.name for line in lines if line.kind.asks == "look"][:3]
    for line in lines:
        (said,) = re.findall(r"\[(.*)\]", fill(f"[ ] {line.name}"))
        if line.name not in left:
            walks.answer(place, "Ty Tablet", walk, walks.Said(line.name, said))
    return left


def _answer(page: Any) -> None:
    """Say sound to the line that is shown, and be on the next page."""
    before = page.url
    page.get_by_role("button", name="Sound", exact=True).click()
    page.wait_for_url(lambda url: url != before)
