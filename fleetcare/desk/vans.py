"""Vans: what is said of them from a day on, laid up, back, and gone."""

from __future__ import annotations

import datetime as dt
from typing import Any, NamedTuple

from fleetcare.desk.session import Writing, recording
from fleetcare.desk.write import others_of, put
from fleetcare.errors import Problem, Refused
from fleetcare.faults import faults_of
from fleetcare.faults.common import fleet_number
from fleetcare.faults.context import Context
from fleetcare.intake import words
from fleetcare.records.facts import Facts
from fleetcare.records.kinds import VanFacts
from fleetcare.records.yard import Gone, LayUp
from fleetcare.rules.book import Book
from fleetcare.rules.outcome import Judgement
from fleetcare.store import facts as stored
from fleetcare.trade.vin import read_vin
from fleetcare.words.days import day_words
from fleetcare.words.reasons import facts_words


class Said(NamedTuple):
    """What is said of a van: its facts, the places of its components, facts of the firm's own."""

    facts: dict[str, Any]
    places: list[tuple[str, str]]
    has: dict[str, bool]


# What is each van's own, however alike two are: papers of one, figures read off one.
_OF_ONE_VAN = frozenset({
    "number", "van", "on", "plate", "vin", "first_registered_on", "in_service_from",
    "out_of_service_from", "running_order_mass", "notice_height", "electrical_certificate",
    "even_so", "places", "has",
})  # fmt: skip


def van_add(
    place: str, by: str, van: str, said: Said, like: str | None = None, *, dry_run: bool = False
) -> list[str]:
    """Add a van with what is said of it, and what is said of one `like` it. Returns what to
    print."""
    with recording(place, by, dry_run=dry_run) as book:
        taken: list[str] = []
        if like is not None:
            said, taken = _as_another(book.asked.judged(like), said)
        elif not said.facts.get("jurisdiction"):
            words = "say whose rules it is under, like gb; or --like VAN"
            raise Refused([Problem("", words, "jurisdiction")])
        problems = fleet_number(van)
        if van in stored.vans_of(book.connection):
            problems.append(
                Problem(
                    "",
                    f'"{van}" is in the fleet already. Say more '
                    f"of it with: fleetcare van change {van}",
                    "van",
                )
            )
        record = _statement(van, None, said)
        found = faults_of(
            Context(book.book, book.today, Facts(van), others_of(book.connection)), record
        )
        book.refuse([*problems, *found])
        made = book.add(record)
        book.tell(f"#{made.number} added {van}{_bears(made.plate)}.")
        if like is not None:
            book.tell(
                f"Taken over from {like}: {', '.join(taken) or 'nothing'}. Hold each to this "
                "van's own plate and to a walk round it; no part and no check was taken over."
            )
        _tell_vin(book, made.vin)
        after = book.after(van)
        open_facts = _unsaid(book.book, after)
        if open_facts:
            book.tell(
                f"Not said yet: {', '.join(open_facts)}. What rests on these cannot be "
                f"judged. Say them with: fleetcare van change {van}"
            )
        book.begins(van)
    return book.said


def _as_another(judged: Judgement, said: Said) -> tuple[Said, list[str]]:
    """What is said, and of another van what is not; with the titles of what was taken over."""
    other = judged.known.fit_outs[-1][1]
    facts = {
        name: value
        for name in VanFacts._fields
        if name not in _OF_ONE_VAN and said.facts.get(name) is None
        and (value := getattr(other.facts, name)) is not None
    }  # fmt: skip
    kinds = {kind for kind, _ in said.places}
    places = {k: ",".join(listed) or "none" for k, listed in other.places.items() if k not in kinds}
    has = {name: yes for name, yes in other.own.items() if name not in said.has}
    names = [*facts, *(f"places of {kind}" for kind in places), *has]
    titles = [facts_words(judged, (name,)) for name in names]
    made = Said({**said.facts, **facts}, [*said.places, *places.items()], {**has, **said.has})
    return made, titles


def van_change(
    place: str, by: str, van: str, on: dt.date | None, said: Said, *, dry_run: bool = False
) -> list[str]:
    """State facts of a van from a day on; without a day, from the van's beginning."""
    with recording(place, by, dry_run=dry_run) as book:
        book.facts(van)
        made = put(book, _statement(van, on, said))
        since = f"from {day_words(on)}" if on else "from the beginning"
        names = [_title(book.book, n) for n in VanFacts._fields[3:] if getattr(made, n) is not None]
        book.tell(f"#{made.number} {van}: {', '.join(names)} said {since}.")
        _tell_vin(book, made.vin)
    return book.said


def lay_up(
    place: str,
    by: str,
    van: str,
    days: tuple[dt.date | None, dt.date | None],
    text: str,
    *,
    dry_run: bool = False,
) -> list[str]:
    """Lay a van up from a day on (the first of `days`), or say when one that is laid up is wanted
    back (the second)."""
    from_on, back_on = days
    with recording(place, by, dry_run=dry_run) as book:
        facts = book.facts(van)
        open_one = next((u for u in reversed(facts.lay_ups) if not u.back_on), None)
        latest = open_one or (facts.lay_ups[-1] if facts.lay_ups else None)
        over = latest is not None and latest.back_on and latest.back_on <= book.today
        if from_on is None and (latest is None or over):
            raise Refused([Problem("--from", f"say from which day {van} is laid up")])
        first = from_on or (latest.from_on if latest else book.today)
        made = put(book, LayUp(0, van, first, text, back_on))
        until = f", back {day_words(back_on)}" if back_on else ", with no day to be back"
        book.tell(f'#{made.number} {van} laid up from {day_words(first)}{until}: "{text}".')
        _tell_left_over(book, van)
    return book.said


def gone(
    place: str, by: str, van: str, on: dt.date, text: str, *, dry_run: bool = False
) -> list[str]:
    """A van leaves the fleet for good; its records stay."""
    with recording(place, by, dry_run=dry_run) as book:
        made = put(book, Gone(0, van, on, text))
        book.tell(f'#{made.number} {van} is gone from {day_words(on)}: "{text}". Its records stay.')
        _tell_left_over(book, van)
    return book.said


def _tell_left_over(book: Writing, van: str) -> None:
    """The hires that are left on days on which the van is not on fleet."""
    judged = book.after(van)
    left = [
        f"{hire.ref} from {day_words(hire.from_on)} through {day_words(hire.through_on)}"
        for hire in judged.hires
        if hire.through_on >= book.today
        and judged.service is not None
        and not judged.service.covers(max(hire.from_on, book.today), hire.through_on)
    ]
    if left:
        book.tell(
            f"Left on {van}: {'; '.join(left)}. Move each with: fleetcare hire change REF "
            "--van VAN, or cancel it."
        )


def _statement(van: str, on: dt.date | None, said: Said) -> VanFacts:
    own = tuple(f"{name}:{'yes' if yes else 'no'}" for name, yes in said.has.items()) or None
    places = words.places(said.places) or None
    return VanFacts(0, van, on, **said.facts, places=places, has=own)


def _bears(plate: str | None) -> str:
    return f" ({plate})" if plate else ""


def _tell_vin(book: Writing, vin: str | None) -> None:
    if vin:
        for caution in read_vin(vin).cautions:
            book.tell(f"Caution: VIN {vin}: {caution}.")


def _title(book: Book, name: str) -> str:
    return book.facts[name].title if name in book.facts else name.replace("_", " ")


def _unsaid(book: Book, judged: Judgement) -> list[str]:
    """The facts that some rule rests on and nobody stated, by their titles."""
    view = judged.known
    fit_out = view.fit_outs[-1][1]
    wanted = dict.fromkeys(
        name
        for rule in book.under(fit_out.home).rules
        for name in rule.rests_on
        if fit_out.get(name) is None
    )
    open_steps = [o.timeline.steps[-1] for o in judged.outcomes]
    wanted |= dict.fromkeys(n for s in open_steps if s.code == "unsaid" for n in s.detail)
    return [facts_words(judged, (name,)) for name in wanted]
