"""Plain aligned text for a screen or a pipe: nothing is boxed, coloured or cut."""

from __future__ import annotations

import datetime as dt
import unicodedata
from collections.abc import Iterable, Sequence
from typing import Any, NamedTuple

from fleetcare.reports.due import GROUPS, merged_unsaid
from fleetcare.reports.due_item import DueItem
from fleetcare.reports.hire import HireReport, Line
from fleetcare.reports.why import Why


def day(value: dt.date | None) -> str:
    """Tue 1 Sep 2026, or nothing."""
    return f"{value:%a} {value.day} {value:%b %Y}" if value else ""


def _width(text: str) -> int:
    return sum(
        2 if unicodedata.east_asian_width(c) in "WF" else 0 if unicodedata.combining(c) else 1
        for c in text
    )


def table(headings: Sequence[str], rows: Iterable[Sequence[str]], indent: str = "") -> list[str]:
    """Columns as wide as their longest cell; the last one is left ragged."""
    listed = [list(headings), *[list(row) for row in rows]]
    widths = [max(_width(row[place]) for row in listed) for place in range(len(headings))]
    return [
        (
            indent
            + "  ".join(
                cell + " " * (width - _width(cell)) for cell, width in zip(row, widths, strict=True)
            )
        ).rstrip()
        for row in listed
    ]


_HEADS = {
    "unreleased": "LEFT WITHOUT RELEASE",
    "late": "STILL OUT PAST THE LAST DAY",
    "changed": "HIRES STOPPED SINCE LAST WEEK",
    "laid up": "LAID UP, AGAINST THE DAY IT IS WANTED BACK",
    "out": "OUT ON HIRE WITH SOMETHING LAPSED",
    "spoils": "SPOILS A HIRE, AND NO FREE WORKING DAY IS LEFT BEFORE IT",
    "overdue": "OVERDUE",
    "coming": "THE COMING WEEKS",
}


class Group(NamedTuple):
    """One group of the due report as it is printed: its lines, and what to tell hirers."""

    title: str
    headings: tuple[str, ...]
    rows: list[tuple[str, ...]]
    tell: list[str]


_DUE = (
    "Van", "Reg", "What", "Standing", "Last day", "Do from", "Do by", "Next hire it spoils", "Why",
)  # fmt: skip


def due_head(report: Any) -> str:
    """The first line of the due report."""
    vans = "van" if report.vans == 1 else "vans"
    return (
        f"Due on {day(report.on)}: {report.vans} {vans}, {report.known_at:,} records, "
        f"rules {report.rulebook[:8]}"
    )


def due_notes(report: Any) -> list[str]:
    """The last lines of the due report: cautions, and the tally."""
    return [*(f"Note: {caution}" for caution in report.cautions), report.tally]


def due_groups(report: Any) -> list[Group]:
    """The groups of the due report that hold anything, in the order of the Monday meeting."""
    on: dt.date = report.on
    items = merged_unsaid(report.items)
    monday = on - dt.timedelta(days=on.weekday())
    heads = _HEADS | {"week": f"THIS WEEK, w/c {monday:%a} {monday.day} {monday:%b}"}
    found = []
    for group in GROUPS:
        listed = [item for item in items if item.group == group]
        if listed:
            found.append(Group(heads[group], _DUE, list(map(_due_row, listed)), _hirers(listed)))
    return found


def due(report: Any) -> str:
    """The Monday report."""
    lines = [due_head(report)]
    groups = due_groups(report)
    for group in groups:
        lines += ["", group.title, *table(group.headings, group.rows), *group.tell]
    if not groups:
        lines += ["", "Nothing is due."]
    return "\n".join([*lines, "", *due_notes(report)])


def _due_row(i: DueItem) -> tuple[str, ...]:
    return (
        i.van,
        i.plate or "",
        f"{i.title} {i.place}" if i.place else i.title,
        _over(i),
        day(i.last_good_day),
        day(i.do_from),
        day(i.do_by) or ("no day left" if i.spoils else ""),
        i.spoils or "",
        i.reason,
    )


def _over(item: DueItem) -> str:
    if item.days_over:
        days = "day" if item.days_over == 1 else "days"
        return f"{item.standing}, {item.days_over} {days} over"
    return item.standing


def _hirers(items: list[DueItem]) -> list[str]:
    return [f"  {i.van}, tell the hirer: {i.if_out}" for i in items if i.if_out]


def hire(report: HireReport) -> str:
    """The clerk's screen."""
    named = f"{report.van} ({report.plate})" if report.plate else report.van
    days = f"{day(report.start)} to {day(report.through)}"
    lines = [f"{named}, {days}, judged for {report.judged_for}"]
    lines += _book_it(report) if report.start > report.on else _hand_over(report)
    for line in report.blocking:
        if not line.unsaid:
            lines += [f"  {_blocked(line)}", f"      {line.source}"]
    lines += _unsaid(report)
    if report.at_handover and report.hireable != "yes":
        lines.append(f"At handover, to be recorded as well: {_handover(report)}.")
    if report.would_go:
        lines.append(f"What would go: {', or '.join(report.would_go)}.")
    lines += [f"Caution: {caution}" for caution in report.cautions]
    if report.could:
        runs = "; ".join(f"{day(a)} to {_end(b)}" for a, b in report.could[:6])
        lines.append(f"As the records stand it could go: {runs}.")
    elif report.bookable == "no":
        lines.append("As the records stand there are no days it could go.")
    return "\n".join(lines)


def _unsaid(report: HireReport) -> list[str]:
    """One line for each set of facts nobody said, whatever number of rules rest on it."""
    found: dict[tuple[str, ...], list[Line]] = {}
    for line in report.blocking:
        if line.unsaid:
            found.setdefault(line.unsaid, []).append(line)
    return [
        f"  {', '.join(facts)} not said: {', '.join(dict.fromkeys(one.title for one in lines))} "
        f"cannot be judged. Say it with: {lines[0].saying}"
        for facts, lines in found.items()
    ]


def _end(last: dt.date) -> str:
    return "no end known" if last == dt.date.max else day(last)


def _blocked(line: Line) -> str:
    if line.rule in ("hire", "service", "hold", "abroad"):
        return f"{line.title}: {line.reason}"
    last = f", last day {day(line.last_good_day)}" if line.last_good_day else ""
    return f"{line.title}: {line.standing}{last}. {line.reason[:1].upper()}{line.reason[1:]}"


def _handover(report: HireReport) -> str:
    return ", ".join(line.title for line in report.at_handover)


def _hand_over(report: HireReport) -> list[str]:
    question = "It is out. May it stay out?" if report.out else "Hand it over now?"
    if report.hireable == "yes" and report.at_handover:
        return [f"Hand it over now? Only once these are recorded: {_handover(report)}."]
    words = {"yes": "Yes.", "no": "NO.", "cannot say": "CANNOT SAY, so no."}[report.hireable]
    return [f"{question} {words}"]


def _book_it(report: HireReport) -> list[str]:
    if report.bookable == "if done":
        lines = ["Book it? If done first:"]
        for number, work in enumerate(report.to_do, 1):
            after = " and ".join(map(str, work.after))
            order = f" (after {after}, or the same day)" if after else ""
            days = f"do from {day(work.do_from)}, by {day(work.do_by)}"
            lines.append(f"  {number}. {work.do}: {days}{order}")
        return [*lines, f"As the records stand: {_stands(report)}."]
    if report.bookable == "yes" and report.at_handover:
        return [f"Book it? Yes; hand it over only once these are recorded: {_handover(report)}."]
    return ["Book it? Yes." if report.bookable == "yes" else "Book it? NO."]


def _stands(report: HireReport) -> str:
    words = {"no": "no", "cannot say": "cannot say", "yes": "yes"}[report.hireable]
    if report.hireable_through:
        return f"{words}, hireable through {day(report.hireable_through)}"
    return words


def why(found: list[Why]) -> str:
    """A rule explained, place by place."""
    lines: list[str] = []
    for one in found:
        named = f"{one.van} ({one.plate})" if one.plate else one.van
        last = f", last day {day(one.last_good_day)}" if one.last_good_day else ""
        lines += [
            f"{named}, {one.title} on {day(one.on)}: {one.standing}{last}.",
            f"  why     {one.reason}",
            f"  blocks  {one.blocks}",
            f"  terms   {one.terms}",
            f"  source  {one.source}",
        ]
        lines += [
            f"  #{number} is kept and does not count: {words}" for number, words in one.uncounted
        ]
        lines += [f'  #{number} was recorded even so: "{words}"' for number, words in one.even_so]
        if len(one.stretches) > 1:
            lines += table(
                ("from", "through", "standing", "why"),
                [
                    (day(s.start) or "the beginning", day(s.through) or "on", s.standing, s.reason)
                    for s in one.stretches
                ],
                indent="  ",
            )
        if one.caution:
            lines.append(f"  caution {one.caution}")
        lines.append("")
    return "\n".join(lines).rstrip()


def _shown(value: Any) -> str:
    if value is None:
        return ""
    if isinstance(value, dt.date):
        return day(value)
    if isinstance(value, bool):
        return "yes" if value else "no"
    return ", ".join(map(str, value)) if isinstance(value, (tuple, list)) else str(value)


def rows_table(rows: Sequence[dict[str, Any]], indent: str = "") -> list[str]:
    """Rows as a table headed by their keys."""
    if not rows:
        return [f"{indent}none"]
    return table(
        [name.replace("_", " ") for name in rows[0]],
        [[_shown(value) for value in row.values()] for row in rows],
        indent,
    )


def van(shown: Any) -> str:
    """One van whole."""
    named = f"{shown.van} ({shown.plate})" if shown.plate else shown.van
    lines = [f"{named} on {day(shown.on)}"]
    for head, rows in (
        ("Said of it", shown.facts),
        ("Fitted", shown.fitted),
        ("How it stands", shown.standings),
        ("Records", shown.records),
    ):
        lines += ["", head, *rows_table(rows, "  ")]
    return "\n".join(lines)


def rules(found: Sequence[Any]) -> str:
    """Rules with every version."""
    lines: list[str] = []
    for one in found:
        lines += [
            f"{one.rule}: {one.title} ({one.kind})",
            f"  also called  {', '.join(one.aliases) or '–'}",
            f"  fed by       {', '.join(one.checks) or '–'}",
            f"  looks at     {one.over or 'the van'}",
            f"  blocks       {one.blocks}",
            f"  counts from  {one.starts}",
            f"  needs van    {'yes' if one.needs_van else 'no'}",
            f"  by           {one.by}",
            f"  due soon     {one.due_soon_weeks} weeks ahead",
        ]
        for terms, source, old in one.versions:
            lines += [f"  {terms}", f"      {source}; {old}"]
        lines += [f"  if out       {one.if_out}"]
        lines += [f"  caution      {one.caution}"] if one.caution else []
        lines.append("")
    return "\n".join(lines).rstrip()
