"""From a step to a sentence. No sentence about a rule is made before this folder."""

from __future__ import annotations

from collections.abc import Callable

from fleetcare.records.kinds import Check, Fit
from fleetcare.rules.kinds.defect import repeats
from fleetcare.rules.outcome import Judgement, Outcome
from fleetcare.timeline import Step, Verdict
from fleetcare.windows import EVER, FOREVER
from fleetcare.words.days import day_words
from fleetcare.words.driven import DRIVEN
from fleetcare.words.marks import said
from fleetcare.words.party import PARTY

NOTHING = "nothing recorded"
EMPTY = "must be filled, and is empty"  # a place


def titled(outcome: Outcome) -> str:
    """A rule with its place: "tyre age front-left"."""
    return f"{outcome.rule.title} {outcome.place}" if outcome.place else outcome.rule.title


def stands_words(outcome: Outcome, step: Step) -> str:
    """A rule with its place, and how it stands: "tyre age front-left: overdue"."""
    return f"{titled(outcome)}: {outcome.standing(step)}"


def plain_reason(judgement: Judgement, outcome: Outcome, step: Step) -> str:
    """Why a rule stands as it does from a step on, without what does not count."""
    named = _OF_KIND.get((outcome.kind.name, step.code)) or _SENTENCES[step.code]
    return named(judgement, outcome, step)


def reason(judgement: Judgement, outcome: Outcome, step: Step) -> str:
    """Why a rule stands as it does from a step on: the record or the fact that made it, and the
    records that might have but do not count."""
    sentence = plain_reason(judgement, outcome, step)
    if outcome.standing(step) in ("no record", "overdue", "cannot say") and outcome.uncounted:
        kept = "; ".join(
            f"#{number} is kept and does not count: {why}" for number, why in outcome.uncounted[-2:]
        )
        sentence = f"{sentence}; {kept}"
    return sentence


def facts_words(judgement: Judgement, names: tuple[str, ...]) -> str:
    """Facts by their titles: "axles, spare"."""
    book = judgement.book
    titles = []
    for name in names:
        kind = book.components.get(name.removeprefix("places of "))
        if name in book.facts:
            titles.append(book.facts[name].title)
        elif name in book.readings:
            titles.append(book.readings[name].title)
        else:
            titles.append(f"where each {kind.title} is" if kind else name.replace("_", " "))
    return ", ".join(titles)


def unsaid_words(judgement: Judgement, names: tuple[str, ...]) -> str:
    """Facts that nobody said: "axles, spare not said"."""
    return f"{facts_words(judgement, names)} not said"


def _check_words(judgement: Judgement, check: Check) -> str:
    words = f"{day_words(check.on)} (#{check.number}"
    if check.certificate:
        words += f", certificate {check.certificate}"
    name = who(judgement, check.inspector, check.by)
    return f"{words}, {name})" if name else f"{words})"


def who(judgement: Judgement, inspector: int | None, by: str | None) -> str:
    """The name of an inspector of the book, or as typed."""
    known = judgement.known.facts.shared.inspectors.get(inspector or 0)
    return said(known.name if known else by)


def _record_of(judgement: Judgement, step: Step) -> Check | None:
    return judgement.known.check_numbered(step.record)


def _counted(judgement: Judgement, outcome: Outcome, step: Step) -> str:
    """A recurring check that stands, and to when it counts."""
    check = _record_of(judgement, step)
    last, counts_on = step.detail
    if check is None:
        return f"last day {day_words(last)}"
    done = "stamp seen of" if check.outcome == "seen" else "passed"
    words = f"{done} {_check_words(judgement, check)}, last day {day_words(last)}"
    if counts_on != check.on:
        words += f"; counts as done on {day_words(counts_on)}"
    if check.last_day and check.last_day > last:
        words += (
            f"; the paper says {day_words(check.last_day)}, "
            f"the rule gives no longer than {day_words(last)}"
        )
    return words


def _read_on(judgement: Judgement, step: Step) -> str:
    check = _record_of(judgement, step)
    return _check_words(judgement, check) if check else f"#{step.record}"


def _fit(judgement: Judgement, outcome: Outcome, step: Step) -> Fit | None:
    """The component a step speaks of; one that names no record speaks of the only one there was."""
    stays = judgement.known.stays(outcome.rule.over or "").get(outcome.place or "", [])
    fits = [stay.fit for stay in stays if stay.fit]
    if step.record is None:
        return fits[0] if len(fits) == 1 else None
    return next((fit for fit in fits if fit.number == step.record), None)


def _number(judgement: Judgement, outcome: Outcome, step: Step) -> str:
    fit = _fit(judgement, outcome, step)
    number = fit.number if fit else step.record
    return f" (#{number})" if number else ""


def _age_words(judgement: Judgement, outcome: Outcome, step: Step) -> str:
    fit = _fit(judgement, outcome, step)
    if fit is None:
        return f"fitted (#{step.record})"
    marks = [f"made {fit.made}"] if fit.made else []
    marks += [f"commissioned {fit.commissioned}"] if fit.commissioned else []
    marks += [f"marked {fit.replace_by}"] if fit.replace_by else []
    return f"{', '.join([*marks, f'fitted {day_words(fit.on)}'])} (#{fit.number})"


def _sum_words(outcome: Outcome, step: Step) -> str:
    terms = outcome.rule.versions[-1].terms
    if terms["sum"] == "notice":
        return f"notice says {step.detail[0]}, the van is {step.detail[1]} high"
    if terms["sum"] == "tyres":
        return f"tyres carry {step.detail[0]} kg, the weight plate says {step.detail[1]} kg"
    return f"bikes weigh {step.detail[0]} kg, the rack is rated {step.detail[1]} kg"


def _lapsed(judgement: Judgement, outcome: Outcome, step: Step) -> str:
    check = _record_of(judgement, step)
    if check is None:
        return f"ended {day_words(step.detail[0])} (#{step.record})"
    return f"last passed {_check_words(judgement, check)}"


def _paper_ended(judgement: Judgement, outcome: Outcome, step: Step) -> str:
    check = _record_of(judgement, step)
    if check is None:
        return _lapsed(judgement, outcome, step)
    begun = day_words(check.from_on) if check.from_on else "a day not said"
    return f"last in force from {begun} (#{check.number})"


def _late(judgement: Judgement, outcome: Outcome, step: Step) -> str:
    check = _record_of(judgement, step)
    done = f"last passed {_check_words(judgement, check)}" if check else "never recorded"
    return f"{done}, stop day {day_words(step.detail[1])}"


def _no_record(judgement: Judgement, outcome: Outcome, step: Step) -> str:
    if step.detail:
        return f"nothing recorded; needed from the day after {day_words(step.detail[0])}"
    return NOTHING


def _unsaid(judgement: Judgement, outcome: Outcome, step: Step) -> str:
    return unsaid_words(judgement, step.detail)


def _not_said(judgement: Judgement, outcome: Outcome, step: Step) -> str:
    name = str(step.detail[0]).replace("_", " ") if step.detail else "mark"
    name = {"variety": "type", "made": "date of making or mark"}.get(name, name)
    place = f" at {step.detail[1]}" if len(step.detail) > 1 else ""
    return f"{name} not said{place}{_number(judgement, outcome, step)}"


def _needed(judgement: Judgement, outcome: Outcome, step: Step) -> str:
    return f"{facts_words(judgement, step.detail)} not said; {_read_on(judgement, step)}"


def _out_of_limits(judgement: Judgement, outcome: Outcome, step: Step) -> str:
    name, figure, words = step.detail
    title = judgement.book.readings[name].title if name in judgement.book.readings else name
    read = f"{title} read {figure}, {words}; {_read_on(judgement, step)}"
    by = outcome.rule.closed_by
    if by is None or not outcome.rule.version_at(step.start).terms.get("cleared_by_card"):
        return read
    return f'{read}; only somebody with a card for "{by.scope}" clears it'


def _failed(judgement: Judgement, outcome: Outcome, step: Step) -> str:
    check = _record_of(judgement, step)
    return f"failed {_check_words(judgement, check)}" if check else f"failed (#{step.record})"


def _open_defect(judgement: Judgement, outcome: Outcome, step: Step) -> str:
    facts = judgement.known.facts
    defect = next(d for d in facts.defects if d.number == step.record)
    repaired = next((r for r in facts.repairs if r.defect == step.record), None)
    done = f", rectified {day_words(repaired.on)} but not signed off" if repaired else ""
    again = repeats(facts.defects, defect)
    if again:
        done += f"; again within a year: {', '.join(f'#{d.number}' for d in again)}"
    return f"{defect.grade}: {said(defect.words)} ({day_words(defect.on)}, #{defect.number}){done}"


def _mended(judgement: Judgement, outcome: Outcome, step: Step) -> str:
    grade, number, _ = step.detail
    repair = next(r for r in judgement.known.facts.repairs if r.number == number)
    defect = next(d for d in judgement.known.facts.defects if d.number == step.record)
    return (
        f"{grade}: {said(defect.words)} (#{defect.number}), mended for this hire only by "
        f"{said(repair.by)} (#{number})"
    )


def _asked_for(judgement: Judgement, outcome: Outcome, step: Step) -> str:
    """What happened, and what it asks for."""
    if not step.detail:
        return "not recorded for this handover"
    what, day = step.detail
    return (
        f"{_happened(judgement, what)} {day_words(day)} (#{step.record}), and none recorded since"
    )


def _happened(judgement: Judgement, what: str) -> str:
    book = judgement.book
    if what in book.events:
        return book.events[what].title
    if what in book.checks:
        return f"{book.checks[what].title} failed"
    return f"{book.components[what].title} changed" if what in book.components else what


def _stood(judgement: Judgement, outcome: Outcome, step: Step) -> str:
    since, most = step.detail
    started = f"since {day_words(since)}" if since > EVER else "for longer than the book knows"
    return f"stood {started}, over {most} days, and none recorded since"


def _done(judgement: Judgement, outcome: Outcome, step: Step) -> str:
    check = _record_of(judgement, step)
    done = f"done {_check_words(judgement, check)}" if check else f"fitted (#{step.record})"
    if not step.detail:
        return done
    what, day = step.detail
    return f"{done} after {_happened(judgement, what)} {day_words(day)}"


def _recalled(judgement: Judgement, outcome: Outcome, step: Step) -> str:
    recall = next(r for r in judgement.known.facts.recalls if r.number == step.record)
    when = f", to be done by {day_words(recall.do_by)}" if recall.do_by else ", not to be used"
    return f"recall {recall.maker_number}: {said(recall.words)} (#{recall.number}){when}"


def _paper(judgement: Judgement, outcome: Outcome, step: Step) -> str:
    record, last = step.detail
    return f"the paper of #{record} is awaited (#{step.record}), by {day_words(last)}"


def _season(judgement: Judgement, outcome: Outcome, step: Step) -> str:
    types = " or ".join(outcome.rule.versions[-1].terms["types"])
    return f"tyre of type {step.detail[0]} (#{step.record}); asked for: {types}"


def _recheck(judgement: Judgement, outcome: Outcome, step: Step) -> str:
    defect = next(d for d in judgement.known.facts.defects if d.number == step.record)
    return (
        f"{defect.grade}: {said(defect.words)} (#{defect.number}), "
        f"recheck by {day_words(step.detail[1])}"
    )


def _recheck_late(judgement: Judgement, outcome: Outcome, step: Step) -> str:
    words, last = _recheck(judgement, outcome, step), outcome.last_good(step.start, Verdict.LATE)
    return words if last in (None, FOREVER) else f"{words}, stop day {day_words(last)}"


def _held(judgement: Judgement, outcome: Outcome, step: Step) -> str:
    hold = next(h for h in judgement.known.facts.holds if h.number == step.record)
    through = f" through {day_words(hold.through_on)}" if hold.through_on else ""
    return f"held from {day_words(hold.from_on)}{through}: {said(hold.words)} (#{hold.number})"


def _noted(judgement: Judgement, outcome: Outcome, step: Step) -> str:
    name, figure, words = step.detail
    return f"{name} read {figure}: {words}; {_read_on(judgement, step)}"


def _in_workshop(judgement: Judgement, outcome: Outcome, step: Step) -> str:
    visit = next(v for v in judgement.known.facts.visits if v.number == step.record)
    days = f"from {day_words(visit.from_on)} through {day_words(visit.through_on)}"
    return f"booked in with a workshop {days}: {said(visit.where)} (#{visit.number})"


Sentence = Callable[[Judgement, Outcome, Step], str]


_SENTENCES: dict[str, Sentence] = {
    "not applicable": lambda j, o, s: "does not apply",
    "in date": lambda j, o, s: f"read on {_read_on(j, s)}",
    "not yet due": lambda j, o, s: f"first due by {day_words(s.detail[0])}",
    "ageing": _age_words,
    "noted": _noted,
    "to recheck": _recheck,
    "late": _late,
    "overdue": _lapsed,
    "over age": lambda j, o, s: f"over age: {_age_words(j, o, s)}",
    "unfit": lambda j, o, s: (
        f"{s.detail[0] or 'a type nobody said'} does not do here: {_age_words(j, o, s)}"
    ),
    "past its mark": lambda j, o, s: f"past its mark: {_age_words(j, o, s)}",
    "recheck late": _recheck_late,
    "recheck overdue": _recheck,
    "no record": _no_record,
    "untested": lambda j, o, s: f"{s.detail[0]} was fitted after the last check (#{s.record})",
    "not read": lambda j, o, s: "not read at this handover",
    "no rack": lambda j, o, s: (
        "the van was said to have no rack" if s.detail else "no rack is recorded"
    ),
    "failed": _failed,
    "out of limits": _out_of_limits,
    "read again": lambda j, o, s: f"{_out_of_limits(j, o, s)}; put it right and read it again",
    "no test": lambda j, o, s: f"no test as it is asked for: {_out_of_limits(j, o, s)}",
    "against its pass": lambda j, o, s: f"passed although {_out_of_limits(j, o, s)}",
    "overloaded": lambda j, o, s: _sum_words(o, s),
    "rack overloaded": lambda j, o, s: _sum_words(o, s),
    "too many bikes": lambda j, o, s: (
        f"the rack takes {s.detail[0]} bikes or {s.detail[1]} e-bikes (#{s.record})"
    ),
    "notice too low": lambda j, o, s: _sum_words(o, s),
    "notice too high": lambda j, o, s: _sum_words(o, s) + ", more than 150 mm over",
    "held": _held,
    "in the workshop": _in_workshop,
    "done": _done,
    "done standing": lambda j, o, s: (
        f"{_done(j, o, s)}, no return recorded since: have them looked at after 25 to 50 miles"
    ),
    "not done": _asked_for,
    "stood": _stood,
    "mended for this hire": _mended,
    "recalled": _recalled,
    "recall open": _recalled,
    "recall overdue": _recalled,
    "paper awaited": _paper,
    "paper overdue": _paper,
    "winter tyre": _season,
    "summer tyre": _season,
    "tread too low": lambda j, o, s: (
        f"tread read {s.detail[0]}, asked for: {s.detail[1]}; {_read_on(j, s)}"
    ),
    "unsaid": _unsaid,
    "not said": _not_said,
    "illegible": lambda j, o, s: f"date illegible{_number(j, o, s)}",
} | PARTY


# Where kinds mean something of their own by a code.
_OF_KIND: dict[tuple[str, str], Sentence] = {
    ("recurring", "in date"): _counted,
    ("dated", "in date"): lambda j, o, s: f"in force from {day_words(s.detail[1])} (#{s.record})",
    ("dated", "overdue"): _paper_ended,
    ("aged", "in date"): _age_words,
    ("rated", "in date"): lambda j, o, s: _sum_words(o, s),
    ("rated", "no record"): lambda j, o, s: (
        f"nothing recorded at {', '.join(s.detail)}" if s.detail else NOTHING
    ),
    ("defect", "failed"): _open_defect,
    ("measured", "not said"): _needed,
    ("after", "not said"): lambda j, o, s: (
        f"neither how long it stood nor both odometers said; {_read_on(j, s)}"
    ),
} | DRIVEN
