"""What may be done to the pages to hurt somebody, by malice or by a slip, and what comes of it."""

from __future__ import annotations

import datetime as dt
import re
from collections.abc import Iterator
from contextlib import AbstractContextManager
from pathlib import Path

import pytest

from fleetcare import clock, secret
from fleetcare.desk import fleet, gate, keep, sheets, walked, walks
from fleetcare.desk.questions import due
from fleetcare.errors import DatabaseFault, Refused
from fleetcare.web.visit import part, unpart
from tests.typed import typed
from tests.web.conftest import PASSWORD, Browser, Opened, faults_of, words
from tests.web.test_stories import _shown, _signed, _state, _walked

ON = dt.date(2026, 8, 1)
PATH = "/walk/prepared/V01/H1"


def at(hour: int, minute: int = 0, day: dt.date = ON) -> AbstractContextManager[None]:
    """The clock standing at an hour."""
    return clock.standing_at(dt.datetime.combine(day, dt.time(hour, minute), dt.UTC))


@pytest.fixture
def morning(good: str) -> Iterator[str]:
    """A van in good order on the day it is collected."""
    typed(good, "hire add V01 --from 2026-08-01 --through 2026-08-05 --ref H1", ON)
    with at(9):
        yield good


def test_a_press_does_not_swallow_what_was_typed(morning: str) -> None:
    """Words beside a pressed "sound" are refused, and no form of a page holds both."""
    yard = Browser(morning, "yard")
    for more in ({"words": "brake pipe leaks", "grade": "dangerous"}, {"answer": "hit a kerb"}):
        sent = yard.send(PATH, line="lights", quick="ok", **more)
        assert sent.status_code == 422
        assert faults_of(sent.text) == ["Answer: one thing was pressed and another typed"]
    page = yard.get(f"{PATH}?line=lights").text.partition('<section class="line"')[2]
    forms = page.split("<form ")[1:]
    assert not [form for form in forms if 'name="quick"' in form and 'name="words"' in form]


def test_there_is_no_sheet_of_another_name(morning: str) -> None:
    """Nothing is signed, answered or shown under a word that is no sheet."""
    yard = Browser(morning, "yard")
    before = fleet.size(morning)
    for what in ("foo", "Prepared", "foo%20bar"):
        assert yard.get(f"/walk/{what}/V01/H1").status_code == 404
        for more in ("", "/sign", "/anew"):
            sent = yard.send(f"/walk/{what}/V01/H1{more}", **({} if more else {"line": "x"}))
            assert sent.status_code in (303, 404), (what, more)
    with pytest.raises(Refused) as fault:
        sheets.take_in(morning, "X", walked.Filled("foo", "V01", "H1", {}, "X"))
    assert fault.value.lines == ["the sheets are prepared, handover, return"]
    assert fleet.size(morning) == before


def test_a_sheet_is_as_old_as_its_oldest_answer(morning: str) -> None:
    """Answered at seven, signed at ten: what happened at nine came after it, is read before the
    name is put, and voids it."""
    with at(7):
        yard = Browser(morning, "yard", name="W. Yard")
        _walked(yard, "prepared")
    typed(morning, 'event V01 knock --at 09:00 "gatepost"', ON)
    with at(10):
        assert "Written down of V01 since the first answer:" in yard.text(PATH)
        assert "gatepost" in yard.text(PATH)
        assert _signed(yard, "prepared").status_code == 200
        form, _ = sheets.form(morning, "V01", "H1", "handover")
        assert form.prepared is None
        assert len(form.lines) > 40  # all of it with the hirer


def test_two_tablets_at_one_line(morning: str) -> None:
    """The second is shown what the first said before anything is kept; the same answer twice is
    one, and answers to different lines stand beside each other."""
    first = Browser(morning, "yard", name="First")
    second = Browser(morning, "yard", name="Second")
    first.send(PATH, line="lights", grade="dangerous", words="headlamp hangs out")
    sent = second.send(PATH, line="lights", quick="ok", was="")
    assert sent.status_code == 409
    assert (
        'lights was answered "dangerous: headlamp hangs out" by First since you were shown it'
        in words(sent.text)
    )
    assert second.send(PATH, line="wipers", quick="ok").status_code in (303, 422)
    said = "dangerous: headlamp hangs out"
    sent = second.send(PATH, line="lights", grade="dangerous", words="headlamp hangs out")
    assert sent.status_code == 303
    assert second.send(PATH, line="lights", quick="ok", was=said).status_code == 303


def test_who_signs_is_held_to_what_they_saw(morning: str) -> None:
    """An answer changed since is shown first; one that comes after the name is refused."""
    first = Browser(morning, "yard", name="First")
    second = Browser(morning, "yard", name="Second")
    _walked(first, "prepared")
    seen, size = _state(first, "prepared"), str(fleet.size(morning))
    second.send(PATH, line="lights", grade="major", words="one dim", was="ok")
    sent = first.send(f"{PATH}/sign", state=seen, shown=size)
    assert sent.status_code == 409
    assert "An answer was given or changed since you were shown them" in words(sent.text)
    assert _signed(first, "prepared").status_code == 200
    late = second.send(PATH, line="lights", grade="dangerous", words="falls off")
    assert faults_of(late.text) == [
        "this sheet is signed already, by First: report what you found as a defect, or begin it "
        "anew"
    ]


def test_a_crash_after_the_book_was_written(morning: str, monkeypatch: pytest.MonkeyPatch) -> None:
    """The page says what may be written, and signing again writes nothing twice, at whatever
    minute."""
    yard = Browser(morning, "yard", name="W. Yard")
    _walked(yard, "prepared")
    state = _state(yard, "prepared")
    fields = {"state": state, "shown": str(fleet.size(morning))}

    def locked(*_: object) -> None:
        raise DatabaseFault("locked")

    with monkeypatch.context() as broken:
        broken.setattr(walks.doors, "drop_answer", locked)
        sent = yard.send(f"{PATH}/sign", **fields)
    assert sent.status_code == 503
    assert "This may be written down: look before you do it again." in words(sent.text)
    assert "walkaround check passed" in words(sent.text)
    size = fleet.size(morning)
    with at(9, 20):
        again = _signed(yard, "prepared")
    assert again.status_code == 422
    assert "this prepared sheet of H1 is in the book already" in words(again.text)
    assert fleet.size(morning) == size


def test_answers_of_yesterday_do_not_vanish(morning: str) -> None:
    """At midnight a walk is another day's: what was answered stands to be read, is never signed as
    today's, and is let go of by hand alone."""
    yard = Browser(morning, "yard", name="W. Yard")
    yard.send(PATH, line="lights", grade="dangerous", words="hangs out")
    with at(0, 1, dt.date(2026, 8, 2)):
        yard = Browser(morning, "yard", name="Night Shift")
        said = yard.text(PATH)
        assert "lights: dangerous: hangs out (W. Yard, 2026-08-01)" in said
        _walked(yard, "prepared")
        assert faults_of(_signed(yard, "prepared").text) == [
            'Lights, indicators, brake lights and reflectors: says "dangerous: hangs out", Sat 1 '
            "Aug 2026, and was never signed: report what still holds, and begin anew"
        ]
        assert yard.send(f"{PATH}/anew").status_code == 303
        assert "hangs out" not in yard.text(PATH)


def test_an_answer_to_a_line_still_asked_is_not_left_out(morning: str) -> None:
    """By the button for lines that fell away."""
    yard = Browser(morning, "yard")
    yard.send(PATH, line="lights", grade="dangerous", words="hangs out")
    assert yard.send(f"{PATH}/leave-out", line="lights").status_code == 422
    assert "1 of 34" in yard.text(PATH)


def test_a_typo_does_not_hide_what_was_written_since(opened: Opened) -> None:
    """A form refused for a slip is still held to what it was shown at."""
    lead = opened("workshop")
    shown = _shown(lead.get("/van/V01/defect").text)
    typed(lead.place, 'defect report V01 --grade dangerous --about wheels "wheel loose"')
    sent = lead.send("/van/V01/defect", shown=shown, grade="minor")
    assert (sent.status_code, _shown(sent.text)) == (422, shown)
    sent = lead.send("/van/V01/defect", shown=_shown(sent.text), grade="minor", words="blind torn")
    assert sent.status_code == 409
    assert "wheel loose" in words(sent.text)
    sent = lead.send("/van/V01/defect", shown=_shown(sent.text), grade="minor", words="blind torn")
    assert sent.status_code == 200


@pytest.mark.parametrize(
    "ref", ["A/B", "a%2Fb", "..", ".", "x/../H141", "H141?line=x", "a#b", "~x", "Ä 1", "H141"]
)
def test_a_reference_leads_to_its_own_page(ref: str, opened: Opened) -> None:
    """Whatever signs it has, and never to another's."""
    clerk = opened("clerk")
    if ref != "H141":
        typed(clerk.place, f'hire add V01 --from 2027-05-01 --through 2027-05-04 --ref "{ref}"')
    page = clerk.get(f"/hire/{part(ref)}")

    assert page.status_code == 200
    assert words(page.text).startswith(f"{ref}, V01")
    assert f'href="/hire/{part(ref)}"' in clerk.get("/hires").text
    assert unpart(part(ref)) == ref


def test_a_hire_that_moved_is_found_where_it_stands(opened: Opened) -> None:
    """On its new van, whichever number that has."""
    clerk = opened("clerk")
    typed(clerk.place, "hire add V08 --from 2027-08-01 --through 2027-08-04 --ref M1")
    typed(clerk.place, "hire change M1 --van V02 --even-so")
    assert words(clerk.get("/hire/M1").text).startswith("M1, V02")
    assert "May it go?" in clerk.text("/hire/M1")


def test_a_booking_taken_back_as_wrong_is_none(opened: Opened) -> None:
    """Its record was withdrawn: the page says that there is no such hire."""
    clerk = opened("clerk")
    added = typed(clerk.place, "hire add V01 --from 2027-05-01 --through 2027-05-04 --ref T1")
    number = re.findall(r"#(\d+) V01: hire T1", added)[0]
    typed(clerk.place, f"withdraw {number} wrong")
    page = clerk.get("/hire/T1")
    assert (page.status_code, faults_of(page.text)) == (404, ['there is no hire "T1"'])


def test_what_goes_out_and_what_comes_back_are_two_forms(opened: Opened) -> None:
    """Neither button stands in the other's form; where it was left can be said."""
    yard = opened("yard")
    page = yard.get("/hire/H136").text
    assert "/hire/H136/out" not in page
    assert 'name="where"' in page.partition("/hire/H136/back")[2].partition("</form>")[0]
    page = yard.get("/hire/H141").text
    assert "/hire/H141/back" not in page
    sent = yard.send("/hire/H136/back", odometer="69500mi", where="services, A66")
    assert sent.status_code in (200, 422)


def test_the_owner_presses_what_stands_on_the_page(opened: Opened) -> None:
    """Every form of the page is sent with exactly the fields that stand in it."""
    owner = opened("owner", name="O. Owner")
    owner.send("/people", name="N. Ewer", yard="yes")
    page = owner.get("/people").text
    for address, left in (("/people/link", True), ("/people/remove", False)):
        form = next(
            one for one in page.split("<form ")
            if f'action="{address}"' in one and 'value="N. Ewer"' in one
        ).partition("</form>")[0]  # fmt: skip
        fields = dict(re.findall(r'name="([^"]+)" value="([^"]*)"', form))
        assert owner.client.post(address, data=fields).status_code in (200, 303)
        assert ("N. Ewer" in [one.name for one in gate.people(owner.place)]) is left


def test_a_result_of_each_appliance(good: str) -> None:
    """The form names the van's appliances and takes a result of each."""
    with at(9):
        lead = Browser(good, "workshop")
        assert "Of this van: hob, heater." in lead.text("/van/V01/record")
        form = {"what": "gas-safety", "outcome": "pass", "by": "A. Fitter", "certificate": "G9"}
        sent = lead.send("/van/V01/record", **form, results="hob=pass\nheater=maybe")
        assert sent.status_code == 422
        sent = lead.send("/van/V01/record", **form, results="hob=pass\nheater=pass")
        assert sent.status_code == 200, faults_of(sent.text)
        assert "V01: gas safety check passed Sat 1 Aug 2026" in words(sent.text)


def test_a_smell_is_of_gas_or_of_something_else(opened: Opened) -> None:
    """Where words sound like a topic the form offers it, and "something else" too."""
    yard = opened("yard")
    form = {"grade": "minor", "words": "smell of gas at the hob"}
    assert "about gas" in words(yard.send("/van/V02/defect", **form).text)
    assert yard.send("/van/V02/defect", **form, about="other").status_code == 200


def test_people_are_told_apart(empty_place: str) -> None:
    """No two names differ by what nobody sees; a new link ends the old password; who was reset
    while they signed in does not come in."""
    keep.init(empty_place, "Test")
    with at(9):
        gate.person_add(empty_place, "W. Yard", ["owner"])
        for name in (" W. Yard", "W.  Yard", "W.\u00a0Yard", "W. Yard\u200b", "\uff37. Yard"):
            with pytest.raises(Refused):
                gate.person_add(empty_place, name, ["yard"])
        with pytest.raises(Refused) as fault:
            gate.person_add(empty_place, "w. yard", ["yard"])
        assert "may come in already" in fault.value.lines[0]
        link = gate.person_link(empty_place, "W. Yard")
        assert gate.come_by_link(empty_place, link, PASSWORD, PASSWORD)
        for _ in range(35):  # right ones are no tries
            assert gate.sign_in(empty_place, "W. Yard", PASSWORD, "here")
        gate.person_link(empty_place, "W. Yard")
        assert gate.sign_in(empty_place, "W. Yard", PASSWORD, "here") is None


def test_a_reset_during_the_hash(empty_place: str, monkeypatch: pytest.MonkeyPatch) -> None:
    """The password that was looked at is no longer theirs when the door opens."""
    keep.init(empty_place, "Test")
    with at(9):
        link = gate.person_add(empty_place, "A. B", ["owner"])
        gate.come_by_link(empty_place, link, PASSWORD, PASSWORD)
        really = secret.verified

        def slow(kept: str | None, password: str) -> bool:
            gate.person_link(empty_place, "A. B")
            return really(kept, password)

        monkeypatch.setattr(secret, "verified", slow)
        assert gate.sign_in(empty_place, "A. B", PASSWORD, "here") is None


def test_a_list_of_people_that_was_lost_is_not_made_anew(opened: Opened) -> None:
    """By looking at a page: everybody would seem signed out, and nothing wrong."""
    clerk = opened("clerk")
    for end in ("", "-wal", "-shm"):
        Path(f"{clerk.place}.people{end}").unlink(missing_ok=True)
    assert clerk.get("/vans").status_code == 503
    assert not Path(f"{clerk.place}.people").exists()


@pytest.mark.parametrize("host", ["[::1", "[x]", "evil.example@testserver", "testserver:x", ""])
def test_a_host_that_is_none(host: str, opened: Opened) -> None:
    """Turned away with all that any answer carries."""
    answer = opened().client.get("/enter", headers={"host": host})
    assert answer.status_code == 421
    assert "content-security-policy" in answer.headers


@pytest.mark.parametrize("shown", ["²", "-1", "9" * 40, "x"])
def test_a_size_that_is_none(shown: str, opened: Opened) -> None:
    """It is as if none was said."""
    lead = opened("workshop")
    sent = lead.send("/van/V01/defect", shown=shown, grade="minor", words="blind torn")
    assert sent.status_code == 200


@pytest.mark.parametrize("password", ["123456789012", "qwertyuiop12", "passwordabcdef"])
def test_what_is_tried_first_is_no_password(password: str) -> None:
    """Runs along the keyboard, with the usual word before or after."""
    assert secret.weakness(password, "A. Clerk")


def test_what_is_sent_later_is_of_its_own_day(morning: str) -> None:
    """Nobody dates today's answer by yesterday's sheet, or lets one wait longer than half a day; what
    was said before midnight and sent after it is of that day; a key is taken once."""
    yard = Browser(morning, "yard", name="W. Yard")
    key = "0f8fad5b-d9cb-469f-a165-70867728950e"
    before = {"line": "lights", "answer": "ok", "key": key, "day": "2026-07-31"}
    assert faults_of(yard.send(PATH, **before, ago="60").text) == [
        "Lights, indicators, brake lights and reflectors: was answered on Sat 1 Aug 2026, and the "
        "sheet is of Fri 31 Jul 2026: look again, and answer anew"
    ]
    assert faults_of(yard.send(PATH, **before, ago="46800").text) == [
        "Lights, indicators, brake lights and reflectors: was answered more than 12 hours ago: look "
        "again, and answer anew"
    ]
    strange = yard.send(PATH, **{**before, "day": "2026-07-29"}, ago="60")
    assert "2026-07-29 is over: look again, and answer anew" in words(strange.text)
    for wrong in ({"ago": "-1"}, {"ago": "1e3"}, {"key": "x"}):
        sent = yard.send(PATH, line="lights", answer="ok", **wrong)
        assert faults_of(sent.text) == ["the form was not sent by a page of ours"]
    with clock.standing_at(dt.datetime(2026, 8, 1, 0, 10, tzinfo=dt.UTC)):
        yard = Browser(morning, "yard", name="Night Shift")
        assert yard.send(PATH, **before, ago="1200").status_code == 303
        walk = walks.Walk("prepared", "V01", "H1", dt.date(2026, 7, 31))
        (row,) = walks.begun(morning, walk).answers.values()
        assert (row.line, row.at[:16]) == ("lights", "2026-07-31T23:50")
        again = yard.send(PATH, **{**before, "answer": "minor: cracked"}, ago="1200")
        assert again.status_code == 303
        assert walks.begun(morning, walk).answers["lights"].answer == "ok"


def test_a_release_said_to_be_given_without_a_signal_is_no_way_round(morning: str) -> None:
    """Made by hand it is refused like any other, or heads the report as left without release."""
    yard = Browser(morning, "yard", name="W. Yard")
    form = {"odometer": "42300mi", "key": "0f8fad5b-d9cb-469f-a165-70867728950e"}
    size = str(fleet.size(morning))
    assert yard.send("/hire/H1/left", odometer="42300mi", ago="60", rests_on="x").status_code == 422
    sent = yard.send("/hire/H1/left", **form, ago="60", rests_on="999999")
    assert sent.status_code == 200
    assert (
        'V01 LEFT WITHOUT RELEASE as H1, Sat 1 Aug 2026 08:59: "released at 08:59 with no signal, '
        'on no answer of this book"' in words(sent.text)
    )
    assert due(morning, None, None).items[0].group == "unreleased"
    again = yard.send("/hire/H1/left", **form, ago="60", rests_on=size)
    assert "It was sent before, and is in the book." in words(again.text)
