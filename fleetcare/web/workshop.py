"""The workshop: Monday, the fleet, one van, a check recorded, a defect reported."""

from __future__ import annotations

from starlette.responses import Response

from fleetcare import clock
from fleetcare.desk import checks, defects, questions, scans
from fleetcare.desk import fleet as desk
from fleetcare.desk import missing as missing_desk
from fleetcare.records.kinds import GRADES, Defect, Repair, SignOff
from fleetcare.render import due, glance
from fleetcare.render.missing import missing as words
from fleetcare.render.plan import plan
from fleetcare.reports.fleet import VanShown
from fleetcare.web.kept import FILES
from fleetcare.web.visit import Visit

RECORDED = (
    "what", "outcome", "on", "at", "by", "place", "certificate", "from_on", "last_day",
    "odometer", "readings", "results", "words", "even_so",
)  # fmt: skip
_OUTCOMES = ("pass", "fail", "seen")


def monday(visit: Visit) -> Response:
    """What falls due, to be read out and ticked."""
    by = visit.form.chosen("by", ("week", "van", "trade")) or "week"
    report = questions.due(visit.place, None, None)
    return visit.page("monday.html", "Monday's list", paper=due.paper(report, by), by=by)


def fleet(visit: Visit) -> Response:
    """Every van at a glance."""
    return visit.page("vans.html", "The fleet", rows=desk.fleet(visit.place, None))


def _shown(visit: Visit) -> tuple[VanShown, int]:
    """The van of the address, and the size of the book it was looked at in."""
    shown = desk.van(visit.place, visit.named["van"], None)
    return shown, shown.known_at


def van(visit: Visit) -> Response:
    """One van: may it go, how every rule stands, what is fitted where, and its records."""
    found = desk.van_page(visit.place, visit.named["van"])
    seen = found.shown
    return visit.page(
        "van.html", f"{seen.van} {seen.plate or ''}", seen=seen, writers=found.writers,
        answer_now=glance.answer(found.glance), glance=glance.beside(found.glance),
        size=seen.known_at, kept=found.kept, parts=found.parts,
        drawing=plan(f"{seen.van} from above", found.parts),
    )  # fmt: skip


def check(visit: Visit) -> Response:
    """The form of a check; what it is of may be said in the address."""
    shown, size = _shown(visit)
    kinds = questions.check_kinds(visit.place)
    return visit.page(
        "record.html", f"Record a check of {shown.van}", van=shown.van, kinds=kinds,
        results=desk.given_results(visit.place, shown.van), outcomes=_OUTCOMES, size=size,
    )  # fmt: skip


def record(visit: Visit) -> Response:
    """Write a check down."""
    form = visit.form
    on, at = form.day("on"), form.word("at")
    if at is None and on in (None, clock.today()):
        at = clock.hour()[1]  # it orders what was read today; the label says so
    done = checks.Done(
        form.needed("what"), by=form.word("by"), on=on, at=at,
        outcome=form.chosen("outcome", _OUTCOMES), place=form.word("place"),
        certificate=form.word("certificate"), from_on=form.day("from_on"),
        last_day=form.day("last_day"), odometer=form.word("odometer"),
        readings=form.lines("readings"), results=form.lines("results"),
        words=form.word("words"), even_so=form.word("even_so"), papers=form.files(*FILES),
    )  # fmt: skip
    form.done()
    name = visit.named["van"]
    lines = checks.record(visit.place, visit.by, name, done)
    return visit.wrote(f"Written down of {name}", lines, "", f"/van/{name}")


def defect(visit: Visit) -> Response:
    """The form of a defect."""
    shown, size = _shown(visit)
    title = f"Report a defect of {shown.van}"
    return visit.page(
        "defect.html", title, van=shown.van, grades=GRADES, size=size,
        topics=questions.topics(visit.place),
    )  # fmt: skip


def report(visit: Visit) -> Response:
    """Write a defect down; a serious one stops the van at once."""
    form, name = visit.form, visit.named["van"]
    grade, text = form.chosen("grade", GRADES), form.needed("words")
    form.needed("grade")
    form.done()
    today, at = clock.hour()
    found = Defect(0, name, today, str(grade), text, at, visit.by, None, None, form.word("about"))
    lines = defects.report(visit.place, visit.by, found, None, form.files(*FILES))
    return visit.wrote(f"Written down of {name}", lines, "", f"/van/{name}")


def open_defects(visit: Visit) -> Response:
    """The defects of a van that stand open, each to be repaired and signed off."""
    size = desk.size(visit.place)
    name = visit.named["van"]
    listed = desk.open_defects(visit.place, name)
    kept = scans.kept_of_van(visit.place, name)
    return visit.page(
        "defects.html", f"Defects of {name}", van=name, listed=listed, photos=kept, size=size
    )


def repair(visit: Visit) -> Response:
    """A defect was rectified; that alone releases nothing."""
    number, by = _of_defect(visit)
    said, temporary = visit.form.word("words"), visit.form.word("temporary")
    done = Repair(0, "", number, clock.today(), by, said, bool(temporary) or None)
    lines = defects.repair(visit.place, visit.by, done, visit.form.files(*FILES))
    return _of_defects(visit, f"Defect #{number} rectified", lines)


def sign_off(visit: Visit) -> Response:
    """A defect is released, by whoever's word counts for it."""
    number, by = _of_defect(visit)
    today, at = clock.hour()
    done = SignOff(0, "", number, today, at, None, by, visit.form.word("words"))
    lines = defects.sign_off(visit.place, visit.by, done)
    return _of_defects(visit, f"Defect #{number} signed off", lines)


def _of_defects(visit: Visit, title: str, lines: list[str]) -> Response:
    return visit.wrote(title, lines, "", f"/van/{visit.named['van']}/defects")


def _of_defect(visit: Visit) -> tuple[int, str]:
    """The number of an open defect of the van, and whose word it is."""
    form, name = visit.form, visit.named["van"]
    listed = [str(number) for number, _ in desk.open_defects(visit.place, name)]
    form.needed("number")
    number, by = form.chosen("number", listed), form.needed("by")
    form.done()
    return int(number or 0), by


def missing(visit: Visit) -> Response:
    """What must be written down before a van may go, each with what to type."""
    found = missing_desk.missing(visit.place, visit.named["van"], None)
    return visit.page("text.html", f"What is missing of {visit.named['van']}", says=words(found))
