"""A day of each person, by forms alone, and the book looked at afterwards; what happens where two
write at once, twice, or after what they were shown."""

from __future__ import annotations

import datetime as dt
import html
import re
from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path
from typing import Any

import pytest

from fleetcare import clock
from fleetcare.desk import diary, fleet, walks
from tests.desk.test_sheets import GOOD_ANSWERS
from tests.typed import typed, typed_all
from tests.vans import GOOD
from tests.web.conftest import Browser, Opened, faults_of, words

ON = dt.date(2026, 8, 1)
ASKED = {"from_on": "2027-05-01", "through_on": "2027-05-08", "people": "4", "bikes": "2"}


@pytest.fixture
def morning(good: str) -> Iterator[str]:
    """A van in good order on the day it is collected."""
    typed(good, "hire add V01 --from 2026-08-01 --through 2026-08-05 --ref H1", ON)
    with clock.standing_at(dt.datetime.combine(ON, dt.time(12, 30), dt.UTC)):
        yield good


def _shown(page: str) -> str:
    """The size of the book that a form was shown at."""
    found = re.search(r'name="shown" value="(\d+)"', page)
    assert found
    return found[1]


def test_the_clerk(opened: Opened) -> None:
    """A caller's question, the booking, other days, and the cancellation, each on its page."""
    clerk = opened("clerk")
    asked = "/counter?" + "&".join(f"{name}={value}" for name, value in ASKED.items())
    page = clerk.get(asked).text
    assert "Sat 1 May 2027 to Sat 8 May 2027, 4 people, 2 bikes: 3 vans can go" in words(page)
    van = re.findall(r'name="van" value="([^"]+)"', page)[0]

    sent = clerk.send("/counter", **ASKED, shown=_shown(page), van=van, ref="W1", pencilled="yes")
    assert sent.status_code == 303
    assert sent.headers["location"] == "/hire/W1?since=802"
    said = clerk.text("/hire/W1?since=802")
    assert "#803 hire W1, Sat 1 May 2027, through 2027-05-08" in said
    assert f"{van} (IQ21 QII): hireable through Wed 3 Mar 2027, unchanged." in said
    assert "Book it? If done first:" in said

    page = clerk.get("/hire/W1").text
    assert "#803" not in words(page)
    assert "pencilled until Wed 25 Nov 2026 09:30" in words(page)
    sent = clerk.send("/hire/W1/firm", shown=_shown(page))
    assert "W1 of V02: firm from now on." in words(sent.text)
    page = clerk.get("/hire/W1").text
    sent = clerk.send("/hire/W1/change", shown=_shown(page), through_on="2027-05-09")
    assert "through Sun 9 May 2027, was Sat 8 May 2027" in words(sent.text)
    page = clerk.get("/hire/W1").text
    assert faults_of(clerk.send("/hire/W1/cancel", shown=_shown(page)).text) == [
        "Why: is not filled in"
    ]
    sent = clerk.send("/hire/W1/cancel", shown=_shown(page), why="not coming")
    assert "cancelled" in words(sent.text)
    assert "cancelled Mon 23 Nov 2026" in clerk.text("/hire/W1")
    assert "W1" in typed(clerk.place, "hire list")


def test_faults_of_a_booking_are_told_at_once_and_what_was_typed_stays(opened: Opened) -> None:
    """Each leads to its field."""
    clerk = opened("clerk")
    page = clerk.send(
        "/counter", from_on="2027-05-08", through_on="soon", people="x", children="3", abroad="D",
    )  # fmt: skip

    assert page.status_code == 422
    assert faults_of(page.text) == [
        'People, the driver among them: "x" is not a number from 0 to 99',
        "Of them children under 135 cm: 3 of 0 people",
        'Countries abroad, like DE,AT: "D" is not a country: type its two letters, like DE',
        'Last day: "soon" is not a day: type it like 2026-03-02',
        "Van: is not filled in",
        "Reference of the booking, no names: is not filled in",
    ]
    assert 'href="#through_on"' in page.text
    assert 'name="through_on" type="text" value="soon"' in page.text  # no field for days shows it
    assert 'name="from_on" type="date" value="2027-05-08"' in page.text


def test_what_cannot_go_is_booked_only_with_a_why(opened: Opened) -> None:
    """A no is answered as the terminal answers it, and the field that writes it down appears."""
    clerk = opened("clerk")
    form = {"from_on": "2026-12-01", "through_on": "2026-12-05", "van": "V09", "ref": "W2"}
    page = clerk.send("/counter", **form)

    assert page.status_code == 409
    assert "Nothing was written: W2 cannot go as booked, whatever is done first." in words(
        page.text
    )
    assert "--even-so" not in page.text
    assert clerk.get("/hire/W2").status_code == 404


def test_the_same_form_twice_is_one_booking(opened: Opened) -> None:
    """A double tap, or the back button: the second says that it is there, whatever it was shown;
    another booking of that reference, or the same from somebody else, is refused."""
    clerk, other = opened("clerk"), opened("clerk", name="Other Clerk")
    for pencilled in ({}, {"pencilled": "yes"}):
        ref = f"W{len(pencilled) + 1}"
        form = {**ASKED, **pencilled, "van": f"V0{len(pencilled) + 1}", "ref": ref}
        size = str(fleet.size(clerk.place))
        sent = clerk.send("/counter", **form, shown=size)
        assert sent.headers["location"] == f"/hire/{ref}?since={size}"
        for shown in ({}, {"shown": size}):
            again = clerk.send("/counter", **form, **shown)
            assert again.headers["location"] == f"/hire/{ref}?again=yes"
            assert clerk.send("/counter", **form | {"people": "5"}, **shown).status_code >= 409
            assert other.send("/counter", **form, **shown).status_code >= 409
    assert clerk.text("/hire/W1?again=yes").startswith(
        "W1, V01 This is written down already, by you: your form came twice, and is one record."
    )
    assert [one.ref for one in diary.listed(clerk.place, None, None, None)].count("W1") == 1


def test_what_was_written_since_is_shown_first(opened: Opened) -> None:
    """Two clerks look at one van; the second is told what the first wrote, and may then go on. A
    booking of another van is nobody's business, an answer kept neither."""
    first, second = opened("clerk", name="First"), opened("clerk", name="Second")
    size = _shown(second.get("/counter?" + "&".join(f"{k}={v}" for k, v in ASKED.items())).text)
    later = {"from_on": "2027-09-01", "through_on": "2027-09-05"}
    first.send("/counter", **ASKED, van="V01", ref="W1")
    typed(first.place, "hireable V02 --from 2027-06-01 --through 2027-06-02 --keep")

    sent = second.send("/counter", **later, shown=size, van="V01", ref="W2")
    assert sent.status_code == 409
    assert (
        "V01 was written to since you were shown it: #803 hire W1, Sat 1 May 2027, through "
        "2027-05-08" in words(sent.text)
    )
    assert second.send("/counter", **later, shown=size, van="V02", ref="W3").status_code == 303
    size = str(fleet.size(second.place))
    sent = second.send("/counter", **later, shown=size, van="V01", ref="W2")
    assert sent.status_code == 303, faults_of(sent.text)


def test_who_wrote_meanwhile_is_told(opened: Opened) -> None:
    """Where it was oneself, by a form sent twice or a page gone back to, the refusal says so."""
    clerk, other = opened("clerk", name="First"), opened("clerk", name="Second")
    clerk.send("/counter", **ASKED, van="V02", ref="W1")
    page = clerk.get("/hire/W1").text
    change = {"through_on": "2027-05-09", "shown": _shown(page)}
    assert clerk.send("/hire/W1/change", **change).status_code == 200
    own = "You wrote all of it yourself: if you sent this form before, it is written down."
    assert own in words(clerk.send("/hire/W1/change", **change).text)
    assert own not in words(other.send("/hire/W1/change", **change).text)


def _state(browser: Browser, what: str) -> str:
    """What a page that is to be signed stands for."""
    walk = walks.Walk(what, "V01", "H1", clock.today())
    return walks.begun(browser.place, walk).state


def _signed(browser: Browser, what: str, **files: Any) -> Any:
    """Sign a walk as it stands."""
    typed = {"token": browser.token, "state": _state(browser, what)}
    typed["shown"] = str(fleet.size(browser.place))
    return browser.client.post(f"/walk/{what}/V01/H1/sign", data=typed, files=files or None)


def _walked(browser: Browser, what: str, **special: str) -> str:
    """Walk round line by line as the pages ask; gives the last page."""
    path = f"/walk/{what}/V01/H1"
    for _ in range(80):
        page = browser.get(path).text
        page = page.partition('<section class="line"')[2] or page
        named = re.search(r'name="line" value="([^"]+)"', page)
        if named is None:
            return page
        name = named[1]
        quick = re.findall(r'name="quick" value="([^"]+)"', page)
        typed_in = special.get(name, GOOD_ANSWERS.get(name.partition(":")[0]))
        if name == "odometer":
            typed_in = "42300" if what != "return" else "42600"
        answer = (
            {"quick": quick[0]} if quick and name not in special else {"answer": typed_in or ""}
        )
        if answer.get("quick") in ("red", "amber"):
            answer = {"quick": "green"}
        if name == "odometer":
            answer["unit"] = "mi"
        sent = browser.send(path, line=name, **answer)
        assert sent.status_code == 303, (name, faults_of(sent.text))
    raise AssertionError("the walk has no end")


def test_the_yard(morning: str) -> None:
    """Prepared, handed over, released, and taken back; refused before it is all recorded."""
    yard = Browser(morning, "yard", name="W. Yard")
    assert "V01 QI24 QIQ: H1" in yard.text("/yard")
    early = yard.send("/hire/H1/out", odometer="42300mi")
    assert early.status_code == 409
    assert "Not released: record these first" in words(early.text)

    _walked(yard, "prepared")
    signed = words(_signed(yard, "prepared").text)
    assert "V01: walkaround check passed Sat 1 Aug 2026, 34 lines, 11 readings." in signed
    assert 'name="odometer" type="text" value="42300mi"' in yard.get("/hire/H1").text
    _walked(yard, "handover")
    signed = words(_signed(yard, "handover").text)
    assert "handover sheet of H1 kept, signed by W. Yard." in signed
    out = words(yard.send("/hire/H1/out", odometer="42300mi").text)
    assert "V01 released to H1 by W. Yard, Sat 1 Aug 2026 12:30" in out
    assert "may it: yes" in yard.text("/yard").partition("Out ")[2]
    assert yard.send("/hire/H1/out", odometer="42300mi").status_code == 422

    with clock.standing_at(dt.datetime(2026, 8, 5, 10, tzinfo=dt.UTC)):
        yard = Browser(morning, "yard", name="Next Shift")
        _walked(yard, "return")
        back = words(_signed(yard, "return").text)
        assert "V01 back from H1, Wed 5 Aug 2026." in back
    shown = typed(morning, "van show V01", dt.date(2026, 8, 5))
    assert "return sheet of H1             22 lines, signed by Next Shift" in shown


def test_a_walk_broken_off_is_gone_on_with(morning: str) -> None:
    """Each answer is kept at once, on any phone; one that can't be read is refused and nothing else
    is lost; something wrong keeps its grade; what is signed is what was answered."""
    yard = Browser(morning, "yard", name="W. Yard")
    path = "/walk/prepared/V01/H1"
    assert yard.send(path, line="odometer", answer="42300", unit="mi").status_code == 303
    sent = yard.send(path, line="odometer", answer="lots")
    assert sent.status_code == 422
    assert faults_of(sent.text) == [
        'Odometer, with its unit (mi or km): "lots" does not begin with a figure: type it as in '
        "48000km or 30000mi"
    ]
    assert yard.send(path, line="nothing", answer="x").status_code == 422
    other = Browser(morning, "yard", name="Other Phone")
    assert "1 of 34 lines answered" in other.text(path)
    line = re.findall(r'name="line" value="([^"]+)"', other.get(path).text)[0]
    sent = other.send(path, line=line, grade="dangerous", words="cracked through")
    assert sent.status_code == 303
    assert "dangerous: cracked through" in other.text(path)
    early = _signed(other, "prepared")
    assert early.status_code == 422
    assert len(faults_of(early.text)) == 32
    title = re.escape(html.escape(faults_of(early.text)[0].partition(":")[0]))
    assert re.search(rf'<li><a href="{path}\?line=[a-z-]+">{title}', early.text)
    assert (
        "Begun and not signed Prepared: V01, H1 2 of 34 lines answered, Sat 1 Aug 2026, the last "
        "by "
    ) in yard.text("/yard")
    _walked(other, "prepared")
    signed = words(_signed(other, "prepared").text)
    assert 'V01: dangerous defect "cracked through"' in signed
    assert "walkaround check failed" in signed
    assert "This sheet was signed today by Other Phone." in yard.text(path)
    assert "Begun and not signed" not in yard.text("/yard")


def test_an_answer_to_a_line_that_fell_away_is_not_dropped(morning: str) -> None:
    """Where the van's facts changed meanwhile, the answer is shown and let go of by hand."""
    yard = Browser(morning, "yard")
    path = "/walk/prepared/V01/H1"
    name = next(one for one in _lines(yard, path) if one.startswith("gas"))
    yard.send(path, line=name, grade="major", words="smells of gas")
    typed(morning, "van change V01 --no-lpg --on 2026-08-01", ON)
    said = yard.text(path)
    assert f'{name} says "major: smells of gas" (Yard Person) and is no line of this van' in said
    _walked(yard, "prepared")
    refused = faults_of(_signed(yard, "prepared").text)
    assert refused == [
        f'{name}: says "major: smells of gas" and is no line of this van now: report it, or leave '
        "it out"
    ]
    assert yard.send(f"{path}/leave-out", line=name).status_code == 303
    assert _signed(yard, "prepared").status_code == 200


def _lines(browser: Browser, path: str) -> list[str]:
    from fleetcare.desk import sheets

    _, _, what, van, ref = path.split("/")
    form, _ = sheets.form(browser.place, van, ref, what)
    return [line.name for line in form.lines]


def test_the_workshop(opened: Opened) -> None:
    """Monday is read, a check is recorded with its readings, a defect stops the van at once."""
    lead = opened("workshop", name="Jory Pellwick")
    assert "Due on Mon 23 Nov 2026: 12 vans" in lead.text("/monday")
    assert "by trade" in lead.text("/monday?by=trade")
    page = lead.get("/van/V01/record").text
    sent = lead.send(
        "/van/V01/record", shown=_shown(page), what="chassis", outcome="pass", on="2026-11-20",
        by="Jory Pellwick", odometer="99000mi", even_so="new instrument",
    )  # fmt: skip
    assert sent.status_code == 200, sent.text
    assert "V01: chassis service passed Fri 20 Nov 2026" in words(sent.text)
    sent = lead.send(
        "/van/V01/record", what="nothing", on="tomorrow", readings="tread=x", outcome="pass"
    )
    assert faults_of(sent.text) == ['Day: "tomorrow" is not a day: type it like 2026-03-02']
    sent = lead.send("/van/V01/defect", grade="dangerous", words="brake pipe weeps", about="brakes")
    assert 'V01: dangerous defect "brake pipe weeps"' in words(sent.text)
    assert "not hireable today" in words(sent.text)
    assert "brake pipe weeps" in lead.text("/van/V01")
    assert lead.send("/van/NO/defect", grade="minor", words="x").status_code == 404


def test_a_defect_is_put_right_and_signed_off(opened: Opened) -> None:
    """A repair releases nothing, a sign-off does; one that is not open is refused, and a yard hand
    may do neither."""
    lead, yard = opened("workshop", name="Jory Pellwick"), opened("yard")
    lead.send("/van/V01/defect", grade="major", words="blind torn off")
    (number, _), *_ = fleet.open_defects(lead.place, "V01")[-1:]
    assert "blind torn off" in yard.text("/van/V01/defects")
    assert yard.send("/van/V01/sign-off", number=str(number), by="X").status_code == 403
    page = lead.get("/van/V01/defects").text
    form = {"number": str(number), "by": "Jory Pellwick"}
    said = words(lead.send("/van/V01/repair", **form, shown=_shown(page)).text)
    assert f"defect #{number} rectified by Jory Pellwick" in said
    assert "not hireable today" in said
    page = lead.get("/van/V01/defects").text
    alone = lead.send("/van/V01/sign-off", **form, shown=_shown(page))
    assert "whoever mends it does not sign it alone" in faults_of(alone.text)[0]
    form["by"] = "Odo Thackwray"
    said = words(lead.send("/van/V01/sign-off", **form, shown=_shown(page)).text)
    assert f"defect #{number} signed off by Odo Thackwray" in said
    assert "hireable through" in said
    refused = lead.send("/van/V01/sign-off", **form)
    assert refused.status_code == 422
    assert faults_of(refused.text)[0].startswith(f'Number: "{number}" is not one of')


def test_what_is_missing_is_told(opened: Opened) -> None:
    """As the terminal tells it."""
    said = opened("owner").text("/van/V12/missing")
    assert "to write down before it may go" in said


def test_what_is_written_bears_the_name_of_who_wrote_it(opened: Opened, tmp_path: Path) -> None:
    """The name of who signed in is who recorded it, whatever a form says."""
    import json

    lead = opened("workshop", name="Wanda Lead")
    lead.send("/van/V01/defect", grade="minor", words="blind torn")
    file = tmp_path / "book.jsonl"
    typed(lead.place, f"dump -o {file}")
    last = json.loads(file.read_text("utf-8").splitlines()[-1])
    assert last["recorded_by"]["text"] == "Wanda Lead"


def test_every_write_is_seen_by_the_next_request(opened: Opened) -> None:
    """Nothing is kept between two requests: what another process wrote is on the next page."""
    clerk = opened("clerk")
    before = clerk.text("/vans")
    typed(clerk.place, 'defect report V02 --grade dangerous --about wheels "wheel loose"')
    assert clerk.text("/vans") != before


def test_many_at_once_book_a_van_once(place: str) -> None:
    """Sixteen clerks send four days' bookings of one van at the same moment, on each engine: one of
    each is kept, every other refused, and none is lost."""
    typed(place, "init", ON)
    typed_all(place, GOOD, ON)
    days = [("2026-09-01", "2026-09-05"), ("2026-09-08", "2026-09-12"),
            ("2026-09-15", "2026-09-19"), ("2026-09-22", "2026-09-26")]  # fmt: skip

    with clock.standing_at(dt.datetime.combine(ON, dt.time(12), dt.UTC)):
        clerks = [Browser(place, "clerk", name=f"Clerk {n}") for n in range(4)]
        tokens = [clerk.token for clerk in clerks]

        def send(number: int) -> int:
            clerk, day = clerks[number % 4], days[number // 4]
            form = {"from_on": day[0], "through_on": day[1], "van": "V01", "ref": f"R{number}",
                    "even_so": "known"}  # fmt: skip
            data = {"token": tokens[number % 4], **form}
            return int(clerk.client.post("/counter", data=data).status_code)

        with ThreadPoolExecutor(4) as pool:
            codes = list(pool.map(send, range(16)))
        booked = [one.start.isoformat() for one in diary.listed(place, None, None, None)]
    assert sorted(booked) == [first for first, _ in days]
    assert sorted(codes) == [303] * 4 + [422] * 12
