"""What a defect, its repair, signature or recheck, and a hold lifted can't be written down with."""

from __future__ import annotations

import datetime as dt

from fleetcare.errors import Problem, near, not_one_of
from fleetcare.faults.context import Context, fault
from fleetcare.records.kinds import GRADES, SERIOUS, Defect, Lift, Recheck, Repair, SignOff


def defect(within: Context, new: Defect) -> list[Problem]:
    """Its grade, its recheck day, the line of a sheet it is about; of a file, its check too."""
    found = []
    if new.grade not in GRADES:
        found += fault("grade", not_one_of(new.grade, GRADES))
    if new.recheck_by and new.recheck_by < new.on:
        found += fault("recheck_by", f"{new.recheck_by} is before it was found ({new.on})")
    topics = within.rules.topics
    known = [*(topic.name for topic in topics), OTHER, *within.rules.lines]
    if new.about and new.about not in known:
        listed = f"{', '.join(known)}.{near(new.about, known)}"
        found += fault("about", f'"{new.about}" is neither a topic nor a line of a sheet: {listed}')
    named = new.about == OTHER or any(topic.of(new.about, new.on) for topic in topics)
    if not named and new.check is None:
        found += _points_to(within, new)
    found += _signed_as_it_was(within, new)
    if new.check and within.others.checks is not None:
        # What a check found is written with the check: said later it could close an old fail.
        of_file = within.others.checks.get(new.check)
        if of_file is None:
            found += fault("check", "must be a check of this file: a defect is loaded with it")
        elif of_file.on != new.on:
            found += fault("on", f"{new.on} is not the day of the check ({of_file.on})")
    return found


OTHER = "other"  # of none of the topics, whatever its words name


def _signed_as_it_was(within: Context, new: Defect) -> list[Problem]:
    """A defect put right to be of another topic, where somebody signed it as it was: a signature
    that did not count would count by the correction alone."""
    was = within.before.defects if within.before else []
    kept = {d.number for d in within.facts.defects}
    old = next((d for d in was if d.number not in kept), None)
    topic = within.rules.topic_of(old) if old else None
    if old is None or topic is None or within.rules.topic_of(new) == topic:
        return []
    signed = [s.number for s in within.facts.sign_offs if s.defect == old.number]
    if not signed:
        return []
    how = f"withdraw that signature first (#{signed[-1]})"
    return fault("about", f"#{old.number} was signed off as being of {topic.name}: {how}")


def _points_to(within: Context, new: Defect) -> list[Problem]:
    """Words that name a topic nobody said it is about: whose signature closes it hangs on that."""
    found = within.rules.topic_in(new.words, new.on)
    if found is None:
        return []
    word, topic = found
    how = f"say so with about {topic.name}; of something else, with about {OTHER}"
    return fault("about", f'"{word}" sounds like {topic.title}: {how}')


def _found(within: Context, number: int) -> Defect | None:
    return next((d for d in within.facts.defects if d.number == number), None)


def _not_before(found: Defect | None, day: dt.date) -> list[Problem]:
    if found is None or day >= found.on:
        return []
    return fault("on", f"{day} is before the defect was found ({found.on})")


def repair(within: Context, new: Repair) -> list[Problem]:
    """Not before the defect; a temporary one lasts to the end of the hire the van is out on."""
    found = _not_before(_found(within, new.defect), new.on)
    if new.temporary and not any(t.out and t.out_on(new.on) for t in within.van.trips):
        words = (
            f"{new.van} is not out on a hire: a temporary repair lasts to the end of one. "
            "Repair it, and have it signed off"
        )
        found += fault("temporary", words)
    of = _found(within, new.defect)
    if of and of.grade in SERIOUS:
        signed = [s for s in within.facts.sign_offs if s.defect == of.number and s.on >= new.on]
        if any(_same_person(within, one, new) for one in signed):
            found += _own_work(within, of, new)
    return found


def sign_off(within: Context, new: SignOff) -> list[Problem]:
    """Not before the defect, and by somebody; what stops hire only once it was mended, or with
    words that there was no fault, and not by whoever mended it alone."""
    of = _found(within, new.defect)
    found = _not_before(of, new.on)
    if not (new.by or new.inspector):
        found += fault("by", "say who signs it off: by, or inspector")
    if of is None or of.grade not in SERIOUS:
        return found
    mended = [r for r in within.facts.repairs if r.defect == of.number and r.on <= new.on]
    if not mended and not new.words:
        found += fault(
            "words",
            f"#{of.number} is {of.grade} and no repair of it is recorded. Record it with: "
            f"fleetcare defect repair {of.number} --by NAME. Where there was no fault, say so in "
            "words",
        )
    own = next((one for one in reversed(mended) if _same_person(within, new, one)), None)
    return found + (_own_work(within, of, own) if own else [])


def _own_work(within: Context, of: Defect, repair: Repair) -> list[Problem]:
    """Of what somebody mended and signs too: a dangerous defect is another's to sign; a major one
    asks for a paper or photo kept after the work, for there are firms of one mechanic (common
    practice, no source): one of the damage shows no work."""
    if of.grade == "dangerous":
        words = "of a dangerous defect somebody else signs"
    elif any(
        scan.digest and scan.record in (of.number, repair.number) and scan.number > repair.number
        for scan in within.facts.scans
    ):
        return []
    else:
        words = (
            "let somebody else sign, or keep a paper or photo of it first with: fleetcare attach "
            f"{of.number} FILE"
        )
    return fault("by", f"whoever mends it does not sign it alone: {words}")


def _same_person(within: Context, signed: SignOff, repair: Repair) -> bool:
    """Whether one name stands under a repair and its signature; an erased one is nobody's."""
    by = signed.by
    if signed.inspector:
        known = within.facts.shared.inspectors.get(signed.inspector)
        by = known.name if known else None
    name = within.others.name_of
    signer, mender = name(by) if by else None, name(repair.by)
    return bool(signer and mender) and _spelled(signer) == _spelled(mender)


def _spelled(name: str | None) -> list[str]:
    """A name as it is heard: capitals and spaces make no other person."""
    return (name or "").casefold().split()


def recheck(within: Context, new: Recheck) -> list[Problem]:
    """Not before the defect, looking ahead, and never of one that stops hire."""
    of = _found(within, new.defect)
    found = _not_before(of, new.on)
    if new.next_on < new.on:
        found += fault("next_on", f"{new.next_on} is before the day it was looked at ({new.on})")
    if of and of.grade in SERIOUS:
        words = f"#{of.number} is {of.grade}: it stops hire until signed off"
        found += fault("", f"{words}, however often it is looked at")
    return found


def lift(within: Context, new: Lift) -> list[Problem]:
    """Not before the hold began, where it has."""
    hold = next((h for h in within.facts.holds if h.number == new.hold), None)
    if hold is not None and new.on < hold.from_on <= within.today:
        return fault("on", f"{new.on} is before the hold began ({hold.from_on})")
    return []
