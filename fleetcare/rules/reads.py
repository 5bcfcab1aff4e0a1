"""Which checks count for a rule, and whose word does."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable
from typing import NamedTuple

from fleetcare.records.facts import Shared
from fleetcare.records.kinds import Check, Competence
from fleetcare.rules.rule import By, Rule
from fleetcare.van.checks import failed, stands_after
from fleetcare.van.places import key_of
from fleetcare.van.van import SUPPOSED, Van
from fleetcare.windows import FOREVER


class Counted(NamedTuple):
    """The passes of a rule that count, in order, and those that do not, each with why."""

    passes: list[Check]
    others: tuple[tuple[int, str], ...] = ()


NOTHING = Counted([])


def counted(van: Van, rule: Rule) -> Counted:
    """Sort the passes a rule reads into those that count and those that do not."""
    passes, others = [], []
    for check in checks_for(van, rule):
        outcome = check.outcome
        if outcome not in ("pass", "seen") and not (rule.recorded and outcome is None):
            continue
        why = not_counted(van.facts.shared, rule, check)
        if why is not None:
            others.append((check.number, why))
        elif not check.readings or not failed(check):
            passes.append(check)
    return Counted(passes, tuple(others))


def checks_for(van: Van, rule: Rule) -> list[Check]:
    """Every check of the kinds that feed a rule, in order."""
    if len(rule.checks) == 1:
        return van.checks.get(rule.checks[0], [])
    found = [check for what in rule.checks for check in van.checks.get(what, ())]
    return sorted(found, key=key_of) if len(found) > 1 else found


def not_counted(shared: Shared, rule: Rule, check: Check) -> str | None:
    """Why a check does not count for a rule; None when it does."""
    by = rule.by
    who = by.who
    if who == "certificate" and check.certificate and check.outcome == "pass":
        return None
    if who == "named" and check.outcome == "pass" and (check.inspector or check.by):
        return None
    if check.number >= SUPPOSED:
        return None
    if check.outcome == "seen":
        return None if rule.stamps else "a stamp seen does not count here"
    lacking = not_competent(shared, by, check.inspector, check.by, check.on)
    asks_number = who == "certificate" or (who == "registered" and by.certificate)
    if lacking is None and asks_number and not check.certificate:
        return "no certificate number"
    return lacking


def not_competent(
    shared: Shared, by: By, inspector: int | None, name: str | None, on: dt.date
) -> str | None:
    """Why somebody's word does not count where `by` is asked for; None when it does."""
    if by.who in ("nobody", "paper", "certificate"):
        return None
    held = _cards(shared, inspector, by)
    if by.who in ("named", "skilled"):
        if not (inspector or name):
            return "nobody is named"
        # A skilled person's name is enough, unless the book holds a card of theirs.
        if by.who == "named" or not held:
            return None
    lacking = _no_card(shared, held, inspector, by, on)
    if lacking is None and by.who == "registered":
        in_force = [c for c in held if c.from_on <= on <= (c.through_on or FOREVER)]
        return None if any(c.register_no for c in in_force) else "no register number"
    return lacking


def _cards(shared: Shared, inspector: int | None, by: By) -> list[Competence]:
    held = shared.competences.get(inspector or 0, ())
    return [c for c in held if c.scope in by.scopes]


def _no_card(
    shared: Shared, held: list[Competence], inspector: int | None, by: By, day: dt.date
) -> str | None:
    """Why an inspector's competence does not stand on a day; None when it does."""
    if inspector is None:
        return "no inspector of the book is named"
    if inspector not in shared.inspectors:
        return "the checker was taken out of the book"
    if any(c.from_on <= day <= (c.through_on or FOREVER) for c in held):
        return None
    if held:
        return f'the checker\'s card for "{held[-1].scope}" was not in force that day'
    return f'the checker has no competence "{by.scope}"'


def passed_after(
    van: Van, readers: Iterable[Rule], found_by: Check, found_on: dt.date, closed_by: By | None
) -> Check | None:
    """The first pass of the same kind that counts for one of its readers and stands after a check,
    and after what it is said to have found: one before that never saw it. Where not everybody's
    word closes it (`closed_by`), a pass that any name makes does not either: it is of somebody with
    that card, or of a rule that asks for a certificate or a card itself."""
    for check in van.checks.get(found_by.what, ()):
        if not stands_after(check, found_by):
            continue
        if check.on <= found_on and found_on > found_by.on:
            continue
        if check.outcome == "pass" and not failed(check):
            for rule in readers:
                if not_counted(van.facts.shared, rule, check) is None and (
                    closed_by is None
                    or rule.by.who in ("certificate", "registered", "competent")
                    or not_competent(
                        van.facts.shared, closed_by, check.inspector, check.by, check.on
                    )
                    is None
                ):
                    return check
    return None
