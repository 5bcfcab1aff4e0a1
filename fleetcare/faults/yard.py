"""What an event or a recall can't be written down with."""

from __future__ import annotations

from fleetcare.errors import Problem, not_one_of
from fleetcare.faults.context import Context, fault
from fleetcare.records.yard import Event, Expectation, Recall, RecallDone, Visit, Waiver


def event(within: Context, new: Event) -> list[Problem]:
    """An event the rules know."""
    if new.what in within.rules.events:
        return []
    return fault("what", not_one_of(new.what, within.rules.events))


def visit(within: Context, new: Visit) -> list[Problem]:
    """Jobs that are rules of the book."""
    known = sorted({rule.name for rule in within.rules.rules.values()})
    unknown = [job for job in new.jobs or () if job not in known]
    return [problem for job in unknown for problem in fault("jobs", not_one_of(job, known))]


def expectation(within: Context, new: Expectation) -> list[Problem]:
    """A kind of check the rules know."""
    if new.what in within.rules.checks:
        return []
    return fault("what", not_one_of(new.what, within.rules.checks))


def waiver(within: Context, new: Waiver) -> list[Problem]:
    """Given by somebody whom the firm's file names for it."""
    allowed = within.rules.may_waive
    if within.others.name_of(new.by) in allowed:
        return []
    named = f"the firm's file names {', '.join(allowed)}" if allowed else "the firm names nobody"
    how = 'may_waive = ["NAME"] under [settings], taken in with: fleetcare rules adopt FILE'
    return fault("by", f"may not waive: {named}. Name who answers for it there: {how}")


def recall(within: Context, new: Recall) -> list[Problem]:
    """It stops use, or has a last day."""
    if bool(new.stop_use) == (new.do_by is not None):
        return fault("", "say --stop-use, or the last day with --do-by")
    if new.do_by and new.do_by < new.on:
        return fault("do_by", f"{new.do_by} is before the recall ({new.on})")
    return []


def recall_done(within: Context, new: RecallDone) -> list[Problem]:
    """Not before the recall."""
    of = next((r for r in within.facts.recalls if r.number == new.recall), None)
    if of and new.on < of.on:
        return fault("on", f"{new.on} is before the recall ({of.on})")
    return []
