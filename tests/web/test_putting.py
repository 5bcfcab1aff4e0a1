"""Putting right on pages: records corrected, moved and taken back, an item waived, a name erased."""

from __future__ import annotations

import re

import pytest

from fleetcare.desk import record as desk
from fleetcare.desk.fleet import size
from tests.typed import typed
from tests.web.conftest import Browser, Opened, faults_of, records, words


def _fields(page: str, address: str) -> dict[str, str]:
    """The fields of a form as a browser would send it untouched."""
    form = page.partition(f'action="{address}"')[2].partition("</form>")[0]
    found = dict(re.findall(r'name="([^"]+)"(?: type="[a-z]+")? value="([^"]*)"', form))
    for name, options in re.findall(r'<select [^>]*name="([^"]+)">(.*?)</select>', form, re.DOTALL):
        chosen = re.findall(r"<option[^>]* selected[^>]*>([^<]*)<", options)
        found[name] = chosen[0] if chosen else ""
    found |= dict(re.findall(r'<textarea [^>]*name="([^"]+)"[^>]*>([^<]*)</textarea>', form))
    return found


def _number(said: str) -> int:
    return int(re.findall(r"#(\d+)", said)[0])


@pytest.fixture
def lead(opened: Opened) -> Browser:
    """The workshop's lead."""
    return opened("workshop")


def _sent(lead: Browser, number: int, what: str, **typed: str) -> object:
    page = lead.get(f"/record/{number}").text
    address = f"/record/{number}/{what}"
    return lead.client.post(address, data={**_fields(page, address), **typed})


def test_every_record_of_the_sample_is_shown_whole(opened: Opened) -> None:
    """Each number of the book has its page, and every form on it sent untouched corrects
    nothing."""
    owner = opened("owner")
    before = records(owner.place)
    kinds: dict[str, int] = {}
    for number in range(1, size(owner.place) + 1):
        kinds.setdefault(desk.shown(owner.place, number).kind, number)
    assert len(kinds) > 20
    for kind, number in kinds.items():
        page = owner.get(f"/record/{number}")
        assert page.status_code == 200, (kind, number)
        if f"{number}/correct" in page.text:
            answer = _sent(owner, number, "correct", why="nothing")
            assert answer.status_code == 422, kind
            assert faults_of(answer.text) == ['say what to correct, like "Day" 2026-03-02'], kind
    for number in ("0", "999999", "x", "1.5"):
        assert owner.get(f"/record/{number}").status_code == 404
    assert records(owner.place) == before


def test_a_check_put_right(lead: Browser) -> None:
    """What is changed is changed and the rest stays; before and after are both told whole."""
    said = typed(lead.place, "odometer V01 68000mi --on 2026-11-23 --even-so known")
    number = _number(said)
    sent = _sent(lead, number, "correct", its_shown="68001mi", why="misread")
    assert sent.status_code == 200, faults_of(sent.text)
    told = words(sent.text)
    assert f'corrects #{number} (odometer): shown. #{number + 2} says why: "misread".' in told
    assert "It said: Mon 23 Nov 2026, odometer: 68000mi" in told
    assert "It says: Mon 23 Nov 2026, odometer: 68001mi" in told
    seen = desk.shown(lead.place, number)
    assert seen.number == number + 1
    assert {one.name: one.text for one in seen.fields if one.text} == {
        "on": "2026-11-23", "shown": "68001mi", "even_so": "known",
    }  # fmt: skip


def test_a_slip_loses_nothing_typed(lead: Browser) -> None:
    """Every fault is told at its field, and what was typed stays in the form."""
    number = _number(typed(lead.place, "odometer V01 68000mi --on 2026-11-23 --even-so known"))
    sent = _sent(lead, number, "correct", its_on="soon", its_shown="", why="")
    assert sent.status_code == 422
    assert faults_of(sent.text) == [
        "Why: is not filled in", 'Day: "soon" is not a day: type it like 2026-03-02',
        "shown: is not filled in",
    ]  # fmt: skip
    assert 'value="soon"' in sent.text
    assert "<details open><summary>Put it right" in sent.text


def test_a_field_left_empty_and_a_reading_put_right(lead: Browser) -> None:
    """What may be empty is emptied; of readings those named change and the others stay."""
    said = typed(
        lead.place,
        "record V01 tyres --on 2026-11-23 --pass --by 'A. Lead' --words 'seen in the rain' "
        "--reading tread:front-left=6mm --reading tread:front-right=6mm --even-so known",
    )
    number = _number(said)
    sent = _sent(lead, number, "correct", its_words="", readings="tread:front-left=5mm", why="typo")
    assert sent.status_code == 200, faults_of(sent.text)
    seen = desk.shown(lead.place, number)
    assert sorted(seen.readings) == ["tread:front-left=5mm", "tread:front-right=6mm"]
    assert {one.name: one.text for one in seen.fields}["words"] == ""
    assert {one.name: one.text for one in seen.fields}["by"] == "A. Lead"


def test_two_who_put_one_record_right(opened: Opened) -> None:
    """The second is shown what the first did before anything is written, of a van and of none."""
    first, second = opened("workshop", name="First"), opened("workshop", name="Second")
    of_van = _number(typed(first.place, "odometer V01 68000mi --on 2026-11-23 --even-so known"))
    of_none = next(n for n in range(1, 200) if desk.shown(first.place, n).kind == "inspector")
    for number, field, one, other in (
        (of_van, "its_shown", "68001mi", "68002mi"), (of_none, "its_name", "P. One", "P. Other"),
    ):  # fmt: skip
        address = f"/record/{number}/correct"
        page = second.get(f"/record/{number}").text
        assert _sent(first, number, "correct", **{field: one, "why": "slip"}).status_code == 200
        stands = desk.shown(first.place, number).number
        before = size(first.place)
        for what in (address, f"/record/{number}/withdraw"):
            sent = second.client.post(
                what,
                data={**_fields(page, what), field: other, "why": "x"}
                if what == address
                else {**_fields(page, what), "why": "x"},
            )
            assert sent.status_code == 409, (number, what, words(sent.text))
        assert size(first.place) == before
        assert desk.shown(first.place, number).number == stands
    assert "was put right since you were shown it" in words(sent.text)
    assert f"#{stands}" in words(sent.text)


def test_a_record_taken_back_and_one_moved(lead: Browser) -> None:
    """It counts no more and says so; the other stands under its own van."""
    number = _number(typed(lead.place, "odometer V01 68000mi --on 2026-11-23 --even-so known"))
    sent = _sent(lead, number, "withdraw", why="wrong van")
    assert f'withdrew #{number} (odometer of V01): "wrong van".' in words(sent.text)
    assert "It was taken back, and counts no more." in lead.text(f"/record/{number}")
    assert faults_of(lead.send(f"/record/{number}/withdraw", why="again").text) == [
        f"#{number} was withdrawn already"
    ]
    number = _number(typed(lead.place, "defect report V01 --grade minor 'blind torn'"))
    sent = _sent(lead, number, "move", van="V02", why="wrong van")
    assert sent.status_code == 200, faults_of(sent.text)
    assert f"#{number + 1} is of V02 what #{number} said of V01" in words(sent.text)


def test_what_was_said_then_is_not_put_right(opened: Opened) -> None:
    """An answer and the taking in of rules have no form; sent all the same they are refused."""
    owner = opened("owner")
    page = owner.get("/record/1").text
    assert "Put it right" not in page
    assert "Take it back" not in page
    assert faults_of(owner.send("/record/1/withdraw", why="x").text) == [
        "#1 is an adoption: it is not taken back. Record what is true instead"
    ]


def test_an_item_waived_for_one_hire(opened: Opened) -> None:
    """Of what stands in its way only practice is waived, by who the firm names; law is not."""
    owner = opened("owner", name="O. Owner")
    page = owner.get("/hire/H143/waive").text
    items = {words: item for item, words in re.findall(r'<option value="([^"]+)">([^<]+)', page)}
    sent = owner.send("/hire/H143/waive", item="", by="", why="")
    assert faults_of(sent.text) == [
        "What is waived: is not filled in", "Who did it: is not filled in", "Why: is not filled in",
    ]  # fmt: skip
    waived = items["inspection after standing: no record"]
    sent = owner.send("/hire/H143/waive", item=waived, by="A. Clerk", why="short of staff")
    assert sent.status_code == 422
    why = "looked over, sheet lost"
    sent = owner.send("/hire/H143/waive", item=waived, by="Odo Thackwray", why=why)
    assert (
        f'inspection after standing waived for H143 of V02 by Odo Thackwray: "{why}". It holds for '
        "this hire alone." in words(sent.text)
    )
    assert "inspection after standing: no record" not in owner.get("/hire/H143/waive").text
    law = owner.send("/hire/H143/waive", item="roadworthiness-test", by="Odo Thackwray", why=why)
    assert faults_of(law.text) == [
        "rule: MOT is not waived by anybody: Road Traffic Act 1988, ss.47(1)–(3), 48(2) (law)"
    ]
    assert opened("clerk").send("/hire/H143/waive", item=waived).status_code == 403


def test_a_name_is_erased_by_hand_alone(opened: Opened) -> None:
    """One of name and number, ticked that it is to be done; refused as on the terminal."""
    owner = opened("owner")
    before = records(owner.place)
    sent = owner.send("/erase", name="A. Fitter", number="5", why="asked")
    assert faults_of(sent.text) == [
        "Name: type a name or the number of a record, one of them",
        "It cannot be undone, and is to be done: is not ticked: it cannot be undone",
    ]
    assert 'value="A. Fitter"' in sent.text
    sent = owner.send("/erase", number="x", why="asked", sure="yes")
    assert faults_of(sent.text) == ['Number: "x" is not the number of a record']
    sent = owner.send("/erase", name="Nobody Known", why="asked", sure="yes")
    assert faults_of(sent.text) == ['nobody of the name "Nobody Known" is in the book']
    assert records(owner.place) == before
