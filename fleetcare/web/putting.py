"""Putting right: a record corrected, moved or taken back; an item waived; a name erased."""

from __future__ import annotations

from typing import Any

from starlette.responses import Response

from fleetcare.desk import correct as desk
from fleetcare.desk import erase as erasing
from fleetcare.desk import fleet, questions, yard
from fleetcare.desk import record as records
from fleetcare.desk.calls import Question
from fleetcare.desk.diary import booking
from fleetcare.errors import Problem
from fleetcare.records.fields import Is, spoken
from fleetcare.render import text
from fleetcare.reports.answered import item_name
from fleetcare.rules.party import NO_BIKES
from fleetcare.web.forms import SIZE, Form, record_number
from fleetcare.web.visit import Visit, part

_ITS = "its_"  # before a field of a record: one is called as a field that every form has
_YES_NO = ("yes", "no")
CORRECTED = (
    *(f"{_ITS}{name}" for name, field in desk.correctable().items() if field.holds is not Is.PART),
    "readings", "why", "stood",
)  # fmt: skip


def _number(visit: Visit) -> int:
    named = visit.named["number"]
    return record_number(named, f"#{named}")


def record(visit: Visit) -> Response:
    """One record whole, with the forms that put it right or take it back."""
    seen = records.shown(visit.place, _number(visit))
    vans = fleet.names(visit.place, "")
    title = f"#{seen.number}: {seen.kind}{f' of {seen.van}' if seen.van else ''}"
    return visit.page(
        "one_record.html", title, seen=seen, size=seen.known_at, vans=vans, spoken=spoken,
        yes_no=_YES_NO,
    )  # fmt: skip


def correct(visit: Visit) -> Response:
    """Put a record right: what was typed otherwise than it stands is changed, and nothing else."""
    form, number = visit.form, _number(visit)
    why, stood = form.needed("why"), _stood(visit)
    changes: dict[str, Any] = {}
    cleared = []
    for field in records.shown(visit.place, number).fields:
        typed = visit.values.get(f"{_ITS}{field.name}")
        if typed is None or _plain(typed) == _plain(field.text):
            continue
        if not typed.strip() and field.optional:
            cleared.append(field.name)
        else:
            changes[field.name] = _value(form, field, typed)
    form.done()
    said = desk.Correction(changes, form.lines("readings"), tuple(cleared), stood)
    lines = desk.correct(visit.place, visit.by, number, why, said)
    return visit.wrote(f"#{number} is put right", lines, "", _after(visit, number))


def _plain(typed: str) -> list[str]:
    return [line.strip() for line in typed.splitlines() if line.strip()]


def _value(form: Form, field: records.FieldShown, typed: str) -> Any:
    """What was typed, as the field holds it; its faults are those of the form."""
    read = Form({field.name: typed})
    found: Any = None
    if field.holds is Is.NAMES:
        found = read.lines(field.name)
    elif field.holds is Is.DAY:
        found = read.day(field.name)
    elif field.holds is Is.COUNT:
        found = read.count(field.name)
    elif field.holds is Is.FLAG:
        found = read.chosen(field.name, _YES_NO) == "yes"
    else:
        found = read.needed(field.name)
    form.faults += read.faults
    return found


def _stood(visit: Visit) -> int | None:
    """The number of the record that was looked at, corrections being records too."""
    stood = visit.values.get("stood", "")
    return int(stood) if SIZE.fullmatch(stood) else None


def _after(visit: Visit, number: int) -> str:
    """Where to go on: to the van, if it is one still."""
    van = records.shown(visit.place, number).van
    if van is None:
        return f"/record/{number}"
    return f"/van/{part(van)}" if van in fleet.names(visit.place, van) else "/vans"


def move(visit: Visit) -> Response:
    """A record that was typed on another van than it is of."""
    form, number = visit.form, _number(visit)
    why, van = form.needed("why"), form.needed("van")
    form.done()
    lines = desk.to_van(visit.place, visit.by, number, why, van)
    return visit.wrote(f"#{number} is of {van}", lines, "", f"/van/{part(van)}")


def withdraw(visit: Visit) -> Response:
    """Take a record back; it stays to be seen, and is no longer counted."""
    number, why = _number(visit), visit.form.needed("why")
    visit.form.done()
    lines = desk.withdraw(visit.place, visit.by, number, why, shown=_stood(visit))
    return visit.wrote(f"#{number} is taken back", lines, "", _after(visit, number))


def waiving(visit: Visit) -> Response:
    """What stands in the way of one hire, each to be waived where anybody may."""
    ref = visit.named["ref"]
    (one, size), question = booking(visit.place, ref), Question(None, None, NO_BIKES, None, ref)
    report = questions.hireable(visit.place, one.van, question)
    items = {
        item_name(line.rule, line.place): f"{line.title}: {line.standing}"
        for line in [*report.blocking, *report.at_handover]
    }
    return visit.page(
        "waive.html", f"Waive for {ref}, {one.van}", items=items.items(), says=text.hire(report),
        size=size,
    )  # fmt: skip


def waive(visit: Visit) -> Response:
    """Let one hire go without one item of practice; whoever is named answers for it."""
    form, ref = visit.form, visit.named["ref"]
    rule, _, place = form.needed("item").partition(":")
    said = yard.Waived(rule, place or None, form.needed("by"), form.needed("why"))
    form.done()
    lines = yard.waive(visit.place, visit.by, ref, said)
    return visit.wrote(f"Waived for {ref}", lines, "", f"/hire/{part(ref)}")


def erasure(visit: Visit) -> Response:
    """The form to erase by."""
    return visit.page("erase.html", "Erase a name or words")


def erase(visit: Visit) -> Response:
    """Empty a name everywhere it stands alone, or the words of one record, for good."""
    form = visit.form
    name, number, why = form.word("name"), form.word("number"), form.needed("why")
    if (name is None) is (number is None):
        form.faults.append(
            Problem("", "type a name or the number of a record, one of them", "name")
        )
    if number is not None and not SIZE.fullmatch(number):
        form.faults.append(Problem("", f'"{number}" is not the number of a record', "number"))
    if form.word("sure") is None:
        form.faults.append(Problem("", "is not ticked: it cannot be undone", "sure"))
    form.done()
    if name is not None:
        lines = erasing.erase_name(visit.place, visit.by, name, why)
    else:
        lines = erasing.erase_record(visit.place, visit.by, int(number or 0), why)
    return visit.wrote("Erased", lines, "", "/erase")
