"""What the owner looks up: what is missing, the rules, the answers given, and the book's tally."""

from __future__ import annotations

from starlette.responses import Response

from fleetcare.desk import answers as kept
from fleetcare.desk import fleet, questions, rulebook, trust
from fleetcare.desk import missing as missing_desk
from fleetcare.desk import witness as witnesses
from fleetcare.errors import UsageFault
from fleetcare.render import history, text
from fleetcare.reports.missing import GROUPS
from fleetcare.web.visit import Visit

_GROUPED = ("van", "who")


def missing(visit: Visit) -> Response:
    """What must be written down before each van may go: by van, or by who can do it."""
    by = visit.form.chosen("grouped", _GROUPED) or "van"
    found = missing_desk.missing(visit.place, None, None)
    return visit.page(
        "missing.html", "What is missing", found=found, groups=GROUPS, by=by, grouped=_GROUPED
    )


def rules(visit: Visit) -> Response:
    """Every rule in use, in words."""
    return visit.page("rules.html", "The rules in use", rows=rulebook.listed(visit.place, None))


def rule(visit: Visit) -> Response:
    """One rule with its versions and sources; with a van, why it stands there as it does."""
    name, van = visit.named["rule"], visit.form.word("van")
    found = rulebook.shown(visit.place, name)
    why = text.why(questions.why_rule(visit.place, van, name, None)) if van else ""
    title = " and ".join(dict.fromkeys(one.title for one in found))
    vans = fleet.names(visit.place, "")
    return visit.page("rule.html", title, found=found, why=why, vans=vans)


def answers(visit: Visit) -> Response:
    """The answers kept of a van, each with what the book says now."""
    van, says = visit.form.word("van"), ""
    if van:
        says = history.answers(kept.answers(visit.place, van), van)
    title = f"Answers given for {van}" if van else "Answers given"
    return visit.page("answers.html", title, says=says, vans=fleet.names(visit.place, ""))


def tally(visit: Visit) -> Response:
    """How the book stands, when it was copied last, and which file bears it out."""
    status = trust.status(visit.place)
    cautions = [*trust.copy_wanted(visit.place, status), *witnesses.wanted(visit.place)]
    try:
        file = witnesses.name_of(visit.place, None)
    except UsageFault:  # none was told yet
        file = ""
    return visit.page(
        "tally.html", "Is the book as it was?", rows=status._asdict(), cautions=cautions, file=file
    )


def hold(visit: Visit) -> Response:
    """Check every record, and hold the book to a tally from paper where one is typed."""
    typed = visit.form.word("tally")
    if typed is None and visit.form.word("read") is None:
        visit.form.needed("tally")
    visit.form.done()
    found = trust.verify(visit.place, (typed,) if typed else ())
    visit.status = 200 if found.found.sound else 409
    return visit.page("held.html", "The book, read through", found=found)


def witness(visit: Visit) -> Response:
    """Tell the witness how the book stands: the file that was told last, and no other."""
    lines = witnesses.add(visit.place, None)
    return visit.wrote("The witness was told", lines, "", "/tally")
