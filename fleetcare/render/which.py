"""Which van, for the screen: no wider than a sheet of paper is."""

from __future__ import annotations

import textwrap

from fleetcare.render.text import day
from fleetcare.reports.hire import Work
from fleetcare.reports.which import Can, Which

WIDE = 100
_ORDER = (
    "Best first: can go as it stands, then fewest jobs to do first; then fewest days left too few "
    "to let; then by fleet number."
)


def which(report: Which) -> str:
    """The clerk's answer to a caller."""
    asked = f", {report.asked}" if report.asked else ""
    days = ""
    if report.start and report.through:
        days = f"{day(report.start)} to {day(report.through)}"
    able = len(report.can) + report.more
    head = f"{days or 'The first days within those asked for'}{asked}: "
    lines = [*wrapped(head + _counted(able), ""), *(wrapped(_ORDER, "") if able > 1 else [])]
    for number, row in enumerate(report.can, 1):
        lines += _can(number, row, dated=not days)
    if report.more:
        lines.append(f"  and {report.more} more: --most {able} shows them all")
    if report.but_for:
        lines.append("But for one thing:")
    for one in report.but_for:
        by = f", by {day(one.do_by)}" if one.do_by else ""
        lines += wrapped(f"{named(one.van, one.plate)}: {one.do}{by}", "  ")
    if report.others:
        lines.append("Not then:")
    for other in report.others:
        could = f"nearest {day(other.could[0])} to {day(other.could[1])}" if other.could else ""
        words = f"{named(other.van, other.plate)}: {could or 'no days known'}; {other.why}"
        lines += wrapped(words, "  ")
    if report.unsuited:
        listed = "; ".join(f"{van} ({what})" for van, what in report.unsuited)
        lines += wrapped(f"Not as asked for: {listed}.", "")
    lines += [line for one in report.cautions for line in wrapped(f"Caution: {one}", "")]
    lines.append(f"As of {report.known_at:,} records. Nothing is booked by asking.")
    return "\n".join(lines)


def _counted(able: int) -> str:
    if not able:
        return "no van can go"
    return f"{able} {'van' if able == 1 else 'vans'} can go"


def _can(number: int, row: Can, *, dated: bool) -> list[str]:
    when = f", {day(row.start)} to {day(row.through)}" if dated else ""
    how = "as it stands" if row.bookable == "yes" else "if done first"
    now = f"; sleeps {row.sleeps}" if row.sleeps is not None else ""
    now += f"; now {row.where}" if row.where else ""
    lines = wrapped(f"{number}. {named(row.van, row.plate)}{when}: {how}{now}", "  ")
    return [*lines, *(line for words in _jobs(row.to_do) for line in wrapped(words, "     "))]


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
