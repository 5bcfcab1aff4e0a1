"""The page of one booking: what it is filled in with, other vans, a swap on the road."""

from __future__ import annotations

import re

from fleetcare.desk import booked, diary
from tests.typed import typed
from tests.web.conftest import Opened, faults_of, words

SWAP = {
    "to_van": "V01", "words": "clutch gone", "where": "services, M6 north",
    "odometer": "69200mi", "told": "wait behind the barrier", "came": "Fell Motors",
}  # fmt: skip


def _filled(page: str) -> dict[str, str]:
    found = re.findall(r'<input id="change-(\w+)" [^>]*value="([^"]*)"', page)
    return {name: value for name, value in found if value}


def test_the_form_is_filled_in_as_it_is_booked(opened: Opened) -> None:
    """Days, party and hours, with the van they are of; one that is out is asked for its last day
    alone. What is sent as it stood changes nothing."""
    clerk = opened("clerk")
    form = {
        "from_on": "2027-05-01", "through_on": "2027-05-08", "people": "4", "children": "1",
        "bikes": "2", "electric_bikes": "0", "licence": "C1", "abroad": "FR,ES",
        "collect_at": "10:30",
    }  # fmt: skip
    clerk.send("/counter", **form, van="V02", ref="W1", even_so="known")
    page = clerk.get("/hire/W1").text
    shown = {name: value for name, value in form.items() if name != "licence"}
    assert _filled(page) == shown
    assert '<option value="C1" selected>' in page
    assert "W1 is booked on V02 IQ21 QII." in words(page)
    same = clerk.send("/hire/W1/change", **form)
    assert faults_of(same.text) == ["W1 stands so already: say what changes"]
    said = words(clerk.send("/hire/W1/change", **form | {"people": "3"}, even_so="yes").text)
    assert "W1 of V02: people 3, was 4." in said
    wrong = clerk.send("/hire/W1/change", **form | {"people": "x"})
    assert 'href="#change-people"' in wrong.text
    assert _filled(wrong.text)["people"] == "x"

    page = clerk.get("/hire/H136").text
    assert _filled(page) == {"through_on": "2026-11-27"}
    assert "H136 is out with V06 IQ18 QIQ." in words(page)


def test_another_van_before_it_goes(opened: Opened) -> None:
    """The booking moves; its page is that of the new van."""
    clerk = opened("clerk")
    said = words(clerk.send("/hire/H141/change", to_van="V08").text)
    assert "H141 moved from V01 to V08, from Fri 4 Dec 2026 through Fri 11 Dec 2026." in said
    assert clerk.text("/hire/H141").startswith("H141, V08")


def test_two_bookings_change_vans(opened: Opened) -> None:
    """By the reference of the other, each held to what is left on the van it comes to; a van chosen
    beside it, days changed with it and a booking that there is none of are refused."""
    clerk = opened("clerk")
    for given, says in (
        ({"swap": "H148", "to_van": "V08"}, '"Or the booking to change vans with": says by itself '
         'which van: leave "Van" out'),
        ({"swap": "H148", "people": "1"}, '"Or the booking to change vans with": swaps two bookings '
         "of two vans, and changes no more"),
        ({"swap": "H999"}, 'there is no hire "H999"'),
    ):  # fmt: skip
        sent = clerk.send("/hire/H141/change", **given)
        assert sent.status_code == 422
        assert faults_of(sent.text)[0].startswith(says)
    other = clerk.text("/hire/H148").split(",")[1].strip()[:3]
    said = words(clerk.send("/hire/H141/change", swap="H148").text)
    assert f"H141 moved from V01 to {other}" in said
    assert f"H148 moved from {other} to V01" in said
    assert clerk.text("/hire/H141").startswith(f"H141, {other}")
    assert clerk.text("/hire/H148").startswith("H148, V01")


def test_one_that_is_out_stays_longer_only_where_it_may(opened: Opened) -> None:
    """Another hire has the van from that day on; a day less is written down."""
    clerk = opened("clerk")
    longer = clerk.send("/hire/H136/change", through_on="2026-11-29")
    assert longer.status_code == 422
    assert "H137" in faults_of(longer.text)[0]
    no = clerk.send("/hire/H135/change", through_on="2026-11-30")
    assert no.status_code == 409
    assert "H135 is out and may not stay out so long." in words(no.text)
    said = words(clerk.send("/hire/H136/change", through_on="2026-11-26").text)
    assert "H136 of V06: through Thu 26 Nov 2026, was Fri 27 Nov 2026." in said


def test_they_go_on_with_another_van(opened: Opened) -> None:
    """The van left is back and stopped, the other is to be released; all faults are told at once,
    and the yard swaps nobody."""
    clerk, yard = opened("clerk", name="A. Clerk"), opened("yard")
    early = clerk.send("/hire/H136/swap", to_van="V01")
    assert faults_of(early.text) == [
        "Where it was left, if not in the yard: is not filled in", "In words: is not filled in",
        "Odometer with its unit, like 42310mi: is not filled in",
    ]  # fmt: skip
    assert yard.send("/hire/H136/swap", **SWAP).status_code == 403
    assert clerk.send("/hire/H141/swap", **SWAP | {"to_van": "V02"}).status_code == 422
    said = words(clerk.send("/hire/H136/swap", **SWAP).text)
    assert said.startswith(
        'H136 goes on with V01 #803 V06 back from H136, Mon 23 Nov 2026, left at "services, M6 '
        'north".'
    )
    assert 'Release V01 with: "The key goes out" for H136' in said
    shown = typed(clerk.place, "van show V06")
    assert "told: wait behind the barrier; came: Fell Motors" in shown
    assert clerk.text("/hire/H136").startswith("H136, V01")


def test_what_the_hirer_is_told(opened: Opened) -> None:
    """Of a van that is out with something wrong; of one in order nothing."""
    clerk = opened("clerk")
    said = clerk.text("/hire/H135").partition("To tell the hirer ")[2].partition(" At the counter")
    assert said[0] == (
        "out as H135 until Sat 28 Nov 2026. Ring the hirer: say what was not in order, what not to "
        "use, and where to stop. out as H135 until Sat 28 Nov 2026. The gas check ends while the "
        "van is out. Tell the hirer to shut the bottles and use no gas until a registered engineer "
        "has checked it."
    )
    assert "To tell the hirer" not in clerk.text("/hire/H136")
    assert booked.as_booked(clerk.place, "H0") is None
    assert diary.booking(clerk.place, "H136")[0].away == "out"
