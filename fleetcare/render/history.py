"""Text of what was in force on a day, and of answers kept."""

from __future__ import annotations

import datetime as dt

from fleetcare.render.text import day, table
from fleetcare.reports.answered import Answered, Said
from fleetcare.reports.history import Differs, History, InForce


def _numbers(records: tuple[int, ...]) -> str:
    return " ".join(f"#{number}" for number in records)


def history(found: History) -> str:
    """The sheet an insurer is shown."""
    named = f"{found.van} ({found.plate})" if found.plate else found.van
    as_hire = f", as {found.hire}" if found.hire else ""
    begins = day(dt.date.fromisoformat(found.begins))
    lines = [
        f"{named} on {day(found.on)}{as_hire}: hireable {found.hireable}; by the first "
        f"{found.known_at:,} records, rules {found.rulebook[:8]}",
        f"This book begins on {begins}: what lies before was typed from paper then or later; "
        "before that this book knew nothing.",
        "",
        *table(
            ("What", "Standing", "Last day", "Records", "Why", "Terms", "Source"),
            [
                (
                    row.title, row.standing, day(row.last_good_day), _numbers(row.records),
                    row.reason, row.terms, row.source,
                )
                for row in found.rules
            ],
        ),
    ]  # fmt: skip
    if found.known_now == found.known_at:
        return "\n".join(lines)
    lines += ["", f"Known now, with {found.known_now:,} records: hireable {found.hireable_now}."]
    lines += [f"  {difference(one)}" for one in found.differs]
    if not found.differs:
        lines.append("Nothing of that day stands otherwise by what is known now.")
    return "\n".join(lines)


def difference(one: Differs) -> str:
    """A rule that stood otherwise by what was known then."""
    title = (one.then or one.now).title  # type: ignore[union-attr]
    return f"{title}: then {_stood(one.then)}; now {_stood(one.now)}"


def _stood(row: InForce | None) -> str:
    if row is None:
        return "did not apply"
    until = f" to {day(row.last_good_day)}" if row.last_good_day else ""
    return f"{row.standing}{until} ({_numbers(row.records) or 'no record'})"


def answers(rows: list[Answered], van: str) -> str:
    """Every answer kept of a van, and what changed it since."""
    if not rows:
        return f"No answer is kept for {van}."
    lines: list[str] = []
    for row in rows:
        kept = row.answer
        moment = dt.datetime.fromisoformat(row.at)
        lines += [
            f"#{row.number} {day(moment.date())} {moment:%H:%M} UTC, {row.by}: {kept.asked}"
            f"{f' {kept.ref}' if kept.ref else ''}, {day(kept.from_on)} to {day(kept.through_on)}",
            f"    answered {_answer(row.said)}; by {kept.known_at:,} records, "
            f"rules {kept.rulebook[:8]}",
        ]
        lines += [f"    since {turn.what}: {_answer(turn.said)}" for turn in row.since]
        if row.now == row.said:
            lines.append("    answered alike now")
    return "\n".join(lines)


def _answer(said: Said) -> str:
    items = f" ({', '.join(said.blocking)})" if said.blocking else ""
    released = said.bookable in ("released", "left without release")
    how = said.bookable.upper() if said.bookable.startswith("left") else said.bookable
    return f"hireable {said.hireable}, {how if released else f'bookable {how}'}{items}"
