"""What is said of a party: its licences, its people."""

from __future__ import annotations

from collections.abc import Callable, Iterable

from fleetcare.rules.outcome import Judgement, Outcome
from fleetcare.timeline import Step
from fleetcare.words.days import day_words


def _licence(judgement: Judgement, outcome: Outcome, step: Step) -> str:
    licence, mass, most, driver = step.detail
    if licence is None:
        return f"the van is plated {mass}, more than any class of licence here covers"
    if most:
        words = f"licence {licence}{_of(driver)} covers up to {most}, the van is plated {mass}"
    else:
        seats = _or(outcome.rule.versions[-1].terms["over_8_seats"])
        asked = f"for more than 8 passenger seats {seats} is asked for"
        words = f"licence {licence}{_of(driver)}; {asked}"
    if step.code == "licence enough":
        return words
    return f"{words}: take a van it covers, or drivers whose licences all cover this one"


def _over(judgement: Judgement, outcome: Outcome, step: Step) -> str:
    licence, last, driver = step.detail
    stands = f"licence {licence}{_of(driver)} stands to {day_words(last)}, before the return"
    return f"{stands}: see a renewed one, or take drivers whose licences all last"


def _of(driver: int | None) -> str:
    return f" of driver {driver}" if driver else ""


def _not_said(judgement: Judgement, outcome: Outcome, step: Step) -> str:
    return (
        f"the van is plated {step.detail[0]} and nobody said which class of licence the hirer "
        f"showed; say it with: --licence {_or(outcome.rule.versions[-1].terms['licences'])}"
    )


def _or(words: Iterable[str]) -> str:
    """ "B, C1 or B-pre-1997"."""
    *most, last = words
    return f"{', '.join(most)} or {last}" if most else last


def _people(judgement: Judgement, outcome: Outcome, step: Step) -> str:
    people, belts, children = step.detail
    words = f"{people} {'person' if people == 1 else 'people'}, {belts} seats with belts"
    return f"{words}; {children} of them under 135 cm" if children else words


PARTY: dict[str, Callable[[Judgement, Outcome, Step], str]] = {
    "licence enough": _licence,
    "licence too small": _licence,
    "licence not said": _not_said,
    "licence over": _over,
    "seen": lambda j, o, s: f"seen {day_words(s.detail[0])}",
    "not seen": lambda j, o, s: "no driver's licence was seen for this hire",
    "sheet kept": lambda j, o, s: f"filled {day_words(s.detail[0])} for this hire",
    "no sheet": lambda j, o, s: "none is kept for this hire",
    "belts enough": _people,
    "children go": _people,
    "too many people": _people,
    "too many for seats": lambda j, o, s: f"{s.detail[0]} people, {s.detail[1]} seats",
}
