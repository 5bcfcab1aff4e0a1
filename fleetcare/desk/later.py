"""What happened in the yard while there was no signal, written down when there is one again.

A van that left on the last answer the phone had is out, whatever the book says by now: it is judged
again at the hour it left, and where it may not go it stands as left without release, which heads
every report until it is back.
"""

from __future__ import annotations

import datetime as dt

from fleetcare.desk import questions
from fleetcare.desk.asking import KnownAt
from fleetcare.desk.calls import Question
from fleetcare.desk.diary import booking
from fleetcare.desk.once import LONGEST, TAKEN, Sent, once
from fleetcare.desk.yard import Handing, hire_back, hire_out
from fleetcare.errors import Declined, Refused
from fleetcare.rules.party import NO_BIKES


def left(place: str, by: str, done: Handing, sent: Sent, rests_on: int | None) -> list[str]:
    """A van released with no signal, on an answer of the book at a size; judged again now.

    Refused where it can't have been, as any release; what it was released on is in its words where
    it may not go, or where that was too long ago.
    """
    with once(place, sent) as connection:
        if connection is None:
            return [TAKEN]
        on, at = sent.hour
        done = done._replace(on=on, at=at)
        how = _how(place, done.ref, sent, rests_on)
        if dt.timedelta(seconds=sent.ago) > LONGEST:
            return hire_out(place, by, done._replace(unreleased=f"{how}, sent much later"))
        try:
            return hire_out(place, by, done)
        except Declined:
            return hire_out(place, by, done._replace(unreleased=how))


def _how(place: str, ref: str, sent: Sent, rests_on: int | None) -> str:
    """On what it was released: what the book answered at the size that the phone named."""
    at = sent.hour[1]
    try:
        (one, _) = booking(place, ref)
        question = Question(None, None, NO_BIKES, None, ref)
        said = questions.hireable(place, one.van, question, KnownAt(rests_on or 0)).hireable
    except Refused:
        return f"released at {at} with no signal, on no answer of this book"
    return f'released at {at} with no signal, on the answer "{said}" of {rests_on:,} records'


def back(place: str, by: str, done: Handing, sent: Sent) -> list[str]:
    """A van came back, now or while there was no signal."""
    with once(place, sent) as connection:
        if connection is None:
            return [TAKEN]
        on, at = sent.hour
        return hire_back(place, by, done._replace(on=on, at=at))
