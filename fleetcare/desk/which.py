"""Which van can go: every van asked, and the best told."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable
from typing import Any, NamedTuple

from fleetcare import clock
from fleetcare.desk.asking import Asked, asking
from fleetcare.desk.calls import Question, asked_hire, plain_ask
from fleetcare.errors import Problem, Refused, near
from fleetcare.hire.ask import Ask
from fleetcare.hire.which import Choice, Wish, choice, first_choice, fit_out_on
from fleetcare.reports.heard import DEFER
from fleetcare.reports.hire import party_words
from fleetcare.reports.which import Which, but_for_row, can_row, else_row
from fleetcare.rules.book import Book
from fleetcare.rules.outcome import Judgement
from fleetcare.store import facts as stored
from fleetcare.windows import nights_after

_SHOWN = 5  # how many of each sort are told; dates of work cost, and a caller hears no more
_MOST_DAYS = 92  # how many days a hire of open days may lie in


class Open(NamedTuple):
    """A hire whose days are open: so many nights within some days."""

    nights: int
    first: dt.date
    last: dt.date


class Call(NamedTuple):
    """What the caller wants: the hire, or how long within which days; what the van is to be; how
    many vans are told of each sort."""

    question: Question
    open: Open | None = None
    wish: Wish = Wish()
    most: int = _SHOWN


def wished(berths: int | None, has: tuple[str, ...], has_not: tuple[str, ...]) -> Wish:
    """What a caller asks of the van itself."""
    return Wish(berths, has, has_not)


def which(place: str, call: Call) -> Which:
    """The vans that can go, best first; those that could but for one thing; the others."""
    with asking(place) as asked:
        _known_facts(asked.book, call.wish)
        base = _asked_of_all(asked, call)
        found, unsuited = _choices(asked, call, base)
        can = sorted((one for one in found if one.can), key=lambda one: one.place)
        shown = _dated(asked, can[: call.most])
        deferred = (DEFER,) if any(o.decision.hireable == "yes" for _, o in shown) else ()
        stopped = [one for one in found if not one.can]
        near_ones = [one for one in stopped if one.but_for][: call.most]
        rest = [one for one in stopped if one not in near_ones]
        report = Which(
            None if call.open else base.start, None if call.open else base.through,
            _wanted(call, base),
            tuple(can_row(judged, one) for judged, one in shown), len(can) - len(shown),
            tuple(
                row for one in near_ones if (row := but_for_row(asked.judged(one.van), one))
            ),
            tuple(else_row(asked.judged(one.van), one) for one in _nearest_first(rest, call.most)),
            tuple(unsuited), asked.as_of.known_at,
            (*asked.cautions, *deferred),
        )  # fmt: skip
        filled: Which = asked.filled(report)
        return filled


def best(asked: Asked, call: Call, fits: Callable[[str], bool]) -> str | None:
    """The fleet number of the best van that can go and whose other hires leave the hours (`fits`);
    None where none can."""
    _known_facts(asked.book, call.wish)
    found, _ = _choices(asked, call, _asked_of_all(asked, call))
    able = [one for one in sorted(found, key=lambda o: o.place) if one.can and fits(one.van)]
    can = _dated(asked, able[:_SHOWN])
    return can[0][1].van if can else None


def _known_facts(book: Book, wish: Wish) -> None:
    """Refused where a fact wished for is none of the firm's own."""
    own = [name for name, kind in book.facts.items() if kind.own]
    for name in (*wish.has, *wish.has_not):
        if name not in own:
            words = f'"{name}" is no fact of the firm\'s own; they are: {", ".join(own) or "none"}.'
            raise Refused([Problem("--with", words + near(name, own))])


def _asked_of_all(asked: Asked, call: Call) -> Ask:
    """The hire as asked of every van; of a booking its days and party."""
    question = call.question
    if question.ref is not None:
        refs = stored.hire_refs(asked.connection)
        if question.ref not in refs:
            words = f'there is no hire "{question.ref}".{near(question.ref, refs)}'
            raise Refused([Problem("--ref", words)])
        return asked_hire(asked.judged(refs[question.ref]), question)
    if call.open is not None:
        _held(call.open)
        return Ask(
            call.open.first, call.open.last, question.on or clock.today(), question.party, None
        )
    return _ahead(plain_ask(question))


def _ahead(ask: Ask) -> Ask:
    """Refused for days that are over: what could have gone is no help to a caller."""
    if ask.through < clock.today():
        words = f"{ask.through} is over: today is {clock.today()}"
        raise Refused([Problem("--through", words)])
    return ask


def _held(open_: Open) -> None:
    if open_.last < nights_after(open_.first, open_.nights):
        words = f"{open_.first} to {open_.last} is shorter than {open_.nights} nights"
        raise Refused([Problem("--within", words)])
    if open_.first < clock.today():
        raise Refused([Problem("--within", f"{open_.first} is over: today is {clock.today()}")])
    if (open_.last - open_.first).days > _MOST_DAYS:
        raise Refused([Problem("--within", f"is looked through for at most {_MOST_DAYS} days")])


def _choices(asked: Asked, call: Call, base: Ask) -> tuple[list[Choice], list[tuple[str, str]]]:
    found, unsuited = [], []
    for judged in asked.fleet():
        unmet = call.wish.unmet(fit_out_on(judged, base.start))
        if unmet:
            unsuited.append((judged.van, _unmet_words(judged, base.start, unmet)))
        elif call.open is not None:
            found.append(first_choice(judged, base, call.open.nights))
        else:
            found.append(choice(judged, base))
    return found, unsuited


def _unmet_words(judged: Judgement, day: dt.date, unmet: list[str]) -> str:
    """In what a van is not as wished: "automatic not said, 2 berths"."""
    fit_out = fit_out_on(judged, day)
    words = []
    for name in unmet:
        value: Any = fit_out.get(name)
        if value is None:
            words.append(f"{judged.book.facts[name].title} not said")
        elif name == "berths":
            words.append(f"{value} berths")
        else:
            words.append(f"{judged.book.facts[name].title}: {'yes' if value else 'no'}")
    return ", ".join(words)


def _dated(asked: Asked, can: list[Choice]) -> list[tuple[Judgement, Choice]]:
    """The ones to be shown with their work dated, in their order anew: a plan that is dated leaves
    out what its other work does as well."""
    judged = [(asked.judged(one.van), one.ask) for one in can]
    dated = [(van, choice(van, ask, dated=True)) for van, ask in judged]
    return sorted((pair for pair in dated if pair[1].can), key=lambda pair: pair[1].place)


def _nearest_first(rest: list[Choice], most: int) -> list[Choice]:
    """Those with days near the ones asked about first."""

    def away(one: Choice) -> tuple[bool, int, str]:
        days = abs((one.nearest[0] - one.ask.start).days) if one.nearest else 0
        return (one.nearest is None, days, one.van)

    return sorted(rest, key=away)[:most]


def _wanted(call: Call, base: Ask) -> str:
    """What was asked for, in words."""
    wish = call.wish
    words = [party_words(base.party)]
    words += [f"{wish.berths} berths"] if wish.berths else []
    words += [f"with {name}" for name in wish.has] + [f"without {name}" for name in wish.has_not]
    return ", ".join(word for word in words if word)
