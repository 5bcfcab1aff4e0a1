"""The owner: who may come in, and what for."""

from __future__ import annotations

from starlette.responses import Response

from fleetcare.desk import gate, passkeys, tablet
from fleetcare.web.visit import Visit, log


def people(visit: Visit) -> Response:
    """Everybody who may come in, and the tablets of the yard."""
    place = visit.place
    return visit.page(
        "people.html", "People", people=gate.people(place), roles=gate.ROLES,
        pins=tablet.pins(place), tablets=tablet.listed(place),
        here=tablet.called(place, visit.tablet), keys=passkeys.counted(place),
    )  # fmt: skip


def _roles(visit: Visit) -> list[str]:
    return [role for role in gate.ROLES if visit.form.word(role)]


def _name(visit: Visit) -> str:
    name = visit.form.needed("name")
    visit.form.done()
    return name


def _link(visit: Visit, name: str, made: str) -> Response:
    log("link made", who=visit.by, whose=name)
    return visit.page("linked.html", f"A link for {name}", name=name, link=made)


def add(visit: Visit) -> Response:
    """Let somebody in: they get a link, and choose a password by it."""
    name = _name(visit)
    return _link(visit, name, gate.person_add(visit.place, name, _roles(visit)))


def link(visit: Visit) -> Response:
    """Another link for somebody whose password is lost."""
    name = _name(visit)
    return _link(visit, name, gate.person_link(visit.place, name))


def roles(visit: Visit) -> Response:
    """Other roles for somebody; they sign in anew."""
    name = _name(visit)
    gate.person_roles(visit.place, name, _roles(visit))
    log("roles changed", who=visit.by, whose=name)
    return visit.go("/people")


def remove(visit: Visit) -> Response:
    """Somebody may come in no more."""
    name = _name(visit)
    gate.person_remove(visit.place, name)
    log("person removed", who=visit.by, whose=name)
    return visit.go("/people")
