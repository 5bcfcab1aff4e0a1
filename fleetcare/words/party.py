"""What is said of a party: its licences, its people."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from decimal import Decimal

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


def _kg(figure: str) -> str:
    return f"{Decimal(figure):,} kg"


def _carried(judgement: Judgement, outcome: Outcome, step: Step) -> str:
    least, most, limit = step.detail
    words = _kg(most) if least == most else f"{_kg(most)} at most"
    return f"{words} of {_kg(limit)}{_by_ticket(step)}"


def _overladen(judgement: Judgement, outcome: Outcome, step: Step) -> str:
    least, most, limit = step.detail
    words = _kg(least) if least == most else f"{_kg(least)} at least"
    over = _kg(str(Decimal(least) - Decimal(limit)))
    return f"{words}, {over} more than the {_kg(limit)} it may weigh{_by_ticket(step)}"


def _by_ticket(step: Step) -> str:
    by = f"weighed, #{step.record}" if step.record else "by the plated mass in running order"
    return f" ({by})"


def _unweighed(judgement: Judgement, outcome: Outcome, step: Step) -> str:
    return (
        "what stands on each axle is not known: weigh the van axle by axle and write it down: "
        f"fleetcare weighed {judgement.van} --front KG --rear KG --by NAME "
        '--as "driver, full fuel, no water, full gas"'
    )


def _fuel(judgement: Judgement, outcome: Outcome, step: Step) -> str:
    return (
        f"it was not weighed with a full tank (#{step.record}): say what fuel goes aboard with "
        "--fuel-l, or weigh it full"
    )


def _tail(judgement: Judgement, outcome: Outcome, step: Step) -> str:
    length, _, limit = step.detail
    return f"{Decimal(length):,} mm behind the rear axle, {Decimal(limit):,} mm at most"


def _share(judgement: Judgement, outcome: Outcome, step: Step) -> str:
    least, most, limit = step.detail
    return (
        f"one of the two rear axles bears {_kg(least)} and with all that is added {_kg(most)} of "
        f"{_kg(limit)}; how they share is not known: weigh it loaded"
    )


def _placeless(what: str, how: str, step: Step) -> str:
    _, most, limit = step.detail
    return (
        f"up to {_kg(most)} of {_kg(limit)}, as its {what} sits nobody knows where: weigh it {how}"
    )


LADEN: dict[str, Callable[[Judgement, Outcome, Step], str]] = {
    "carried": _carried,
    "overladen": _overladen,
    "unweighed": _unweighed,
    "people not said": lambda j, o, s: "how many ride is not said; say it with: --people",
    "luggage not said": lambda j, o, s: "what luggage goes is not said: --luggage-kg, 0 for none",
    "water not said": lambda j, o, s: "what water goes is not said: --water-l, 0 for none",
    "name not said": lambda j, o, s: f"who had it weighed is not said (#{s.record}): correct it",
    "tag not said": lambda j, o, s: (
        f"a tag axle was weighed (#{s.record}) and the van is said to have none: put one right"
    ),
    "share not known": _share,
    "front lifted": lambda j, o, s: (
        f"{_kg(s.detail[0])} on the front axle: it would stand on its tail{_by_ticket(s)}"
    ),
    "fuel not said": _fuel,
    "rack not said": lambda j, o, s: (
        f"the rack came or went after the weighing (#{s.record}) and what it weighs is not said: "
        "weigh the van anew"
    ),
    "rack place not said": lambda j, o, s: (
        "how far behind the rear axle the rack sits is not said: correct its record with "
        "--behind-rear-axle"
    ),
    "gas place not known": lambda j, o, s: _placeless("gas", "with its gas full", s),
    "fuel place not known": lambda j, o, s: _placeless("fuel", "with a full tank", s),
    "tail in limits": _tail,
    "tail too long": _tail,
}
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
} | LADEN
