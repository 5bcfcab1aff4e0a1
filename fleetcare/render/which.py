"""Which van, for the screen: no wider than a sheet of paper is."""

from __future__ import annotations

import textwrap
from typing import NamedTuple

from fleetcare.render.text import day
from fleetcare.reports.hire import Work
from fleetcare.reports.which import ButFor, Can, Else, Which

WIDE = 100
_ORDER = (
    "Best first: can go as it stands, then fewest jobs to do first; then fewest days left too few "
    "to let; then by fleet number."
)


class Told(NamedTuple):
    """The answer in words, as every rim prints it; the vans that can go beside their rows."""

    head: str
    order: str  # how they are ordered, where there are several
    can: list[tuple[Can, str, list[str]]]  # each with its line, and the jobs by last day
    but_for: list[str]
    others: list[str]
    notes: list[str]


def told(report: Which) -> Told:
    """The clerk's answer to a caller, in words."""
    asked = f", {report.asked}" if report.asked else ""
    days = ""
    if report.start and report.through:
        days = f"{day(report.start)} to {day(report.through)}"
    able = len(report.can) + report.more
    notes = []
    if report.unsuited:
        listed = "; ".join(f"{van} ({what})" for van, what in report.unsuited)
        notes.append(f"Not as asked for: {listed}.")
    notes += [f"Caution: {one}" for one in report.cautions]
    return Told(
        f"{days or 'The first days within those asked for'}{asked}: {_counted(able)}",
        _ORDER if able > 1 else "",
        [(row, _can(row, dated=not days), _jobs(row.to_do)) for row in report.can],
        [_but_for(one) for one in report.but_for],
        [_other(one) for one in report.others],
        [*notes, f"As of {report.known_at:,} records. Nothing is booked by asking."],
    )


def which(report: Which) -> str:
    """The same for the screen."""
    said = told(report)
    lines = [*wrapped(said.head, ""), *(wrapped(said.order, "") if said.order else [])]
    for number, (_, line, jobs) in enumerate(said.can, 1):
        lines += wrapped(f"{number}. {line}", "  ")
        lines += [one for words in jobs for one in wrapped(words, "     ")]
    if report.more:
        able = len(report.can) + report.more
        lines.append(f"  and {report.more} more: --most {able} shows them all")
    if said.but_for:
        lines.append("But for one thing:")
    lines += [one for words in said.but_for for one in wrapped(words, "  ")]
    if said.others:
        lines.append("Not then:")
    lines += [one for words in said.others for one in wrapped(words, "  ")]
    lines += [one for words in said.notes[:-1] for one in wrapped(words, "")]
    return "\n".join([*lines, said.notes[-1]])


def _but_for(one: ButFor) -> str:
    by = f", by {day(one.do_by)}" if one.do_by else ""
    return f"{named(one.van, one.plate)}: {one.do}{by}"


def _other(other: Else) -> str:
    could = f"nearest {day(other.could[0])} to {day(other.could[1])}" if other.could else ""
    return f"{named(other.van, other.plate)}: {could or 'no days known'}; {other.why}"


def _counted(able: int) -> str:
    if not able:
        return "no van can go"
    return f"{able} {'van' if able == 1 else 'vans'} can go"


def _can(row: Can, *, dated: bool) -> str:
    when = f", {day(row.start)} to {day(row.through)}" if dated else ""
    how = "as it stands" if row.bookable == "yes" else "if done first"
    now = f"; sleeps {row.sleeps}" if row.sleeps is not None else ""
    now += f"; now {row.where}" if row.where else ""
    return f"{named(row.van, row.plate)}{when}: {how}{now}"


def _jobs(works: tuple[Work, ...]) -> list[str]:
    """The jobs of each last day, on a line of their own."""
    days = dict.fromkeys(sorted(work.do_by for work in works))
    return [f"by {day(by)}: {'; '.join(w.do for w in works if w.do_by == by)}" for by in days]


def named(van: str, plate: str | None) -> str:
    """A van by its number and plate."""
    return f"{van} ({plate})" if plate else van


def wrapped(words: str, indent: str) -> list[str]:
    """Words in lines no wider than a sheet, those after the first set in."""
    return textwrap.wrap(
        words, WIDE, initial_indent=indent, subsequent_indent=f"{indent}    ",
        break_long_words=False, break_on_hyphens=False,
    )  # fmt: skip
