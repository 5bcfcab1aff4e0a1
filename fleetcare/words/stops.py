"""What stands in the way of a hire and is no rule, in words: the sentence and where it is from."""

from __future__ import annotations

from fleetcare.hire.stops import Blocking
from fleetcare.rules.outcome import Judgement
from fleetcare.words.days import day_words

_OWN = "the firm's own book"


def stop_words(judged: Judgement, stop: Blocking) -> tuple[str, str]:
    """Why a stop stands in the way, and its source."""
    trip = stop.trip
    if trip and stop.late:
        ref, due = trip.hire.ref, day_words(trip.planned.through_on)
        words = (
            f"still out as {ref}: due back {due}, no return recorded. Record it with: "
            f"fleetcare hire back {ref} --odometer …"
        )
        return words, _OWN
    if trip:
        hire = trip.hire
        days = f"{day_words(hire.from_on)} to {day_words(hire.through_on)}"
        words = f"{'out' if trip.out else 'booked'} {days} as {hire.ref} (#{hire.number})"
        return words, _OWN
    if stop.rule == "home":
        return _no_home(judged), _OWN
    if stop.rule == "abroad":
        words = f"the rulebook has no file of what binds a visiting van in {stop.place}"
        return words, "the rulebook"
    if judged.service is None:
        return "nobody said from when the van is on fleet", _OWN
    runs = "; ".join(f"{day_words(a)} to {day_words(b)}" for a, b in judged.service.runs())
    return f"on fleet {runs or 'never'}", _OWN


def _no_home(judged: Judgement) -> str:
    known = ", ".join(judged.book.homes)
    if judged.home is not None and judged.home not in judged.book.homes:
        words = f'the rules in use know no home "{judged.home}"; they know: {known}'
    else:
        words = "nobody said whose rules the van is under on these days"
    return f"{words}. Say it with: fleetcare van change {judged.van} --jurisdiction …"
