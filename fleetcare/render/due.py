"""The Monday report: for the screen and a letter no wider than a sheet of paper, with all that is
known of each item as a table, and as jobs to tick on paper."""

from __future__ import annotations

import datetime as dt
import textwrap
from collections.abc import Iterable
from typing import Any, NamedTuple

from fleetcare.render.text import day, table
from fleetcare.reports.due import GROUPS, merged_unsaid
from fleetcare.reports.due_item import NOTHING, DueItem

WIDE = 100
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


def _title(on: dt.date, group: str) -> str:
    if group != "week":
        return _HEADS[group]
    monday = on - dt.timedelta(days=on.weekday())
    return f"THIS WEEK, w/c {monday:%a} {monday.day} {monday:%b}"


def due_groups(report: Any) -> list[Group]:
    """The groups of the due report that hold anything, in the order of the Monday meeting."""
    items = merged_unsaid(report.items)
    found = []
    for group in GROUPS:
        listed = [item for item in items if item.group == group]
        if listed:
            found.append(
                Group(_title(report.on, group), _DUE, list(map(_due_row, listed)), _hirers(listed))
            )
    return found


def due_wide(report: Any) -> str:
    """The Monday report with all that is known of each item on its line, however wide."""
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
        _by(i),
        i.spoils or "",
        f"{i.reason}; {i.booked_in}" if i.booked_in else i.reason,
    )


def _over(item: DueItem) -> str:
    if item.days_over:
        days = "day" if item.days_over == 1 else "days"
        return f"{item.standing}, {item.days_over} {days} over"
    return item.standing


def _hirers(items: list[DueItem]) -> list[str]:
    return [f"  {i.van}, tell the hirer: {i.if_out}" for i in items if i.if_out]


# The groups in which something is wrong: the reason stands on a second line.
_WRONG = frozenset({"unreleased", "late", "out", "changed", "spoils", "overdue"})
_NARROW = ("Van", "What", "Last day", "Do by", "Next hire it spoils")


# What is said of a fact that nobody stated: no check closes that.
_UNSAID = " not said: "


class Job(NamedTuple):
    """Items of one van that are one line, being of the same days: the same rule at several places,
    or several rules for which there is nothing at all."""

    item: DueItem
    titles: dict[str, tuple[str, ...]]  # each rule's places
    checks: dict[str, str]  # of each rule that a check closes, the kind of it

    @property
    def what(self) -> str:
        """What it is, and where."""
        named = (f"{title} {', '.join(places)}".rstrip() for title, places in self.titles.items())
        return ", ".join(named)


def jobs(items: Iterable[DueItem]) -> list[Job]:
    """The lines to print, in order; what stands alike shares one."""
    found: dict[tuple[Any, ...], Job] = {}
    for item in merged_unsaid(list(items)):
        last, by = item.last_good_day, item.do_by
        what = "" if item.reason == NOTHING else item.title
        alike = (
            item.group, item.van, what, item.standing, last, by, item.spoils, item.booked_in,
            item.trade,
        )  # fmt: skip
        job = found.setdefault(alike, Job(item, {}, {}))
        places = job.titles.get(item.title, ())
        job.titles[item.title] = (*places, item.place) if item.place else places
        if item.check and _UNSAID not in item.reason:
            job.checks[item.title] = item.check
    return list(found.values())


def due(report: Any) -> str:
    """The Monday report, at most a hundred columns wide."""
    lines = [due_head(report)]
    listed = jobs(report.items)
    van = max([3, *(len(job.item.van) for job in listed)])
    hire = max([len(_NARROW[-1]), *(len(_spoiled(job.item)) for job in listed)])
    widths = (van, WIDE - van - hire - 2 * 15 - 4 * 2, 15, 15, hire)
    for group in GROUPS:
        ours = [job for job in listed if job.item.group == group]
        if ours:
            lines += ["", _title(report.on, group), _columns(_NARROW, widths)]
            lines += [line for job in ours for line in _job(job, widths)]
            lines += [one for line in _hirers([j.item for j in ours]) for one in _folded(line, "")]
    if not listed:
        lines += ["", "Nothing is due."]
    notes = [one for line in due_notes(report) for one in _folded(line, "")]
    return "\n".join([*lines, "", *notes])


def _job(job: Job, widths: tuple[int, ...]) -> list[str]:
    item = job.item
    first, *rest = _in(job.what, widths[1]) or [""]
    cells = (item.van, first, day(item.last_good_day), _by(item), _spoiled(item))
    lines = [_columns(cells, widths)]
    lines += [" " * (widths[0] + 2) + one for one in rest]
    if item.group in _WRONG:
        lines += _folded(f"{_over(item)}: {item.reason}", " " * (widths[0] + 4))
    if item.booked_in:
        lines += _folded(item.booked_in, " " * (widths[0] + 4))
    return lines


def _in(words: str, width: int) -> list[str]:
    return textwrap.wrap(words, width, break_long_words=False, break_on_hyphens=False)


def _columns(cells: Iterable[str], widths: tuple[int, ...]) -> str:
    return "  ".join(cell.ljust(width) for cell, width in zip(cells, widths, strict=True)).rstrip()


def _folded(words: str, indent: str) -> list[str]:
    deeper = indent or " " * (len(words) - len(words.lstrip()) + 2)
    return textwrap.wrap(
        words, WIDE, initial_indent=indent, subsequent_indent=deeper,
        break_long_words=False, break_on_hyphens=False,
    )  # fmt: skip


def _by(item: DueItem) -> str:
    return day(item.do_by) or ("no day left" if item.spoils else "")


def _spoiled(item: DueItem) -> str:
    """The next hire in short: "H147, Sat 17 Jul 2027"."""
    return (item.spoils or "").replace(" from ", ", ")


def paper(report: Any, by: str) -> dict[str, Any]:
    """The jobs for a sheet of paper, a box to tick before each: `by` week, in the order of the
    meeting, by van, or by whose work it is."""
    listed = jobs(report.items)
    if by == "van":
        heads = {job.item.van: f"{job.item.van} {job.item.plate or ''}".rstrip() for job in listed}
        parts = [(heads[v], [j for j in listed if j.item.van == v]) for v in sorted(heads)]
    elif by == "trade":
        trades = dict.fromkeys(job.item.trade for job in listed)
        parts = [(trade, [j for j in listed if j.item.trade == trade]) for trade in sorted(trades)]
    else:
        parts = [(_title(report.on, g), [j for j in listed if j.item.group == g]) for g in GROUPS]
    return {
        "title": f"Due on {day(report.on)}",
        "head": due_head(report),
        "headings": ["", "Van", "What", "Last day, do by", "Next hire it spoils"],
        "parts": [
            {
                "title": title,
                "rows": [_paper_row(job) for job in ours],
                "tell": _told(ours),
                "checks": [_checks(job) for job in ours],
            }
            for title, ours in parts
            if ours
        ],
        "notes": due_notes(report),
    }


def _checks(job: Job) -> list[tuple[str, str, str]]:
    """The checks that close a job: what each closes, its kind, and its place where it is one."""
    return [
        (title, check, places[0] if len(places) == 1 else "")
        for title, check in job.checks.items()
        for places in [job.titles[title]]
    ]


def _paper_row(job: Job) -> list[str]:
    item = job.item
    why = ""
    if item.group in _WRONG:
        fact, unsaid, _ = item.reason.partition(_UNSAID)
        why = f"{fact} not said" if unsaid else f"{_over(item)}: {item.reason}"
    why = "; ".join(words for words in (why, item.booked_in) if words)
    last, by = day(item.last_good_day), day(item.do_by)
    until = f"by {by}" if by and by != last else _by(item) if not by else ""
    days = ", ".join(words for words in (last, until) if words)
    return [item.van, job.what, days, _spoiled(item), why]


def _told(ours: list[Job]) -> list[str]:
    return [line.strip() for line in _hirers([job.item for job in ours])]
