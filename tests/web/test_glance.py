"""What people missed at a glance: a van's answer first, Monday's checks at hand, today in the yard."""

from __future__ import annotations

import re

from fleetcare.desk import questions
from tests.web.conftest import Opened, words


def test_a_van_begins_with_its_answer(opened: Opened) -> None:
    """May it go, until when, what comes first and where it is; then the rest, folded."""
    clerk = opened("clerk")
    for van, said in (
        ("V01", "May go until Sun 28 Feb 2027. First to lapse: vehicle tax. Where it is: in the "
                "yard. No defect stands open."),
        ("V07", "May not go. In the way: defect #762: failed. Where it is: in the yard. 3 defects "
                "stand open."),
        ("V05", "Out as H135 (without release); by its records it may go until Wed 25 Nov 2026. "
                "First to lapse: gas safety check. Where it is: out as H135 until Sat 28 Nov 2026. "
                "No defect stands open."),
    ):  # fmt: skip
        page = clerk.get(f"/van/{van}").text
        assert f"{said} As of 802 records, on Mon 23 Nov 2026." in words(page)
        assert page.count("<details><summary><h2>") == 4


def test_what_is_fitted_and_who_wrote_it(opened: Opened) -> None:
    """In words and columns; a record bears the name of who wrote it down."""
    lead = opened("workshop", name="Wanda Lead")
    lead.send("/van/V01/defect", grade="minor", words="blind torn")
    said = lead.text("/van/V01")
    heads = "Mark What Where Not in order Fitted Made Replace by Record"
    assert f"{heads} 1 tyre front-left Tue 4 Aug 2026" in said
    assert re.search(r" 803 Mon 23 Nov 2026 minor defect blind torn Wanda Lead ", said)
    assert "11 facts what is said of the van Anstice Marrable" in said


def test_monday_leads_to_the_form_of_each_check(opened: Opened) -> None:
    """Filled in with what and where, for who may record; each is a check that there is."""
    lead, clerk = opened("workshop"), opened("clerk")
    kinds = {name for name, _ in questions.check_kinds(lead.place)}
    for by in ("week", "van", "trade"):
        page = lead.get(f"/monday?by={by}").text
        found = re.findall(
            r'href="/van/(V\d\d)/record\?what=([a-z-]+)(?:&amp;place=([a-z-]+))?"', page
        )
        assert len(found) == 23
        assert {what for _, what, _ in found} <= kinds
        assert ("V06", "extinguisher-basic", "door") in found
        assert ("V12", "tax", "") not in found
        assert "/record" not in clerk.get(f"/monday?by={by}").text
    form = lead.get("/van/V02/record?what=damp&place=rooflight").text
    assert '<option value="damp" selected>' in form
    assert 'name="place" type="text" value="rooflight"' in form


def test_today_stands_apart_in_the_yard(opened: Opened) -> None:
    """What goes out and comes back today, then the rest of the week, then what is out."""
    clerk = opened("clerk")
    form = {"from_on": "2026-11-23", "through_on": "2026-12-05", "van": "V08", "ref": "T1"}
    assert clerk.send("/counter", **form, even_so="known").status_code == 303
    clerk.send("/hire/H136/change", through_on="2026-11-23")
    said = clerk.text("/yard")
    today, back, week, out = (
        part.partition(" V")[2]
        for part in re.split(r"To go out today|To come back today, or late|To go out in the "
                             r"coming week|Out(?= V)", said)[1:]
    )  # fmt: skip
    assert today.startswith("08 II72 QIQ: T1")
    assert back.startswith("06 IQ18 QIQ: H136")
    assert week.startswith("06 IQ18 QIQ: H137")
    assert out.startswith("05 II23 QQI: H135")
