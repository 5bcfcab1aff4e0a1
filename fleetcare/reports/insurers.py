"""The workbook for insurers as rows: what each sheet holds, before anything is drawn."""

from __future__ import annotations

import datetime as dt
from collections import Counter
from collections.abc import Iterator
from typing import Any, NamedTuple

from fleetcare.records.kept import Answer
from fleetcare.records.kinds import Fit
from fleetcare.reports.check_rows import check_rows, fleet_paper_rows
from fleetcare.reports.fleet import earliest_made, fitted_on, fleet_row, is_gone
from fleetcare.reports.hires_out import HEADINGS, hire_rows
from fleetcare.reports.history import in_force
from fleetcare.reports.summary import summary, why_not
from fleetcare.reports.trouble_rows import defect_rows, hold_rows, recall_rows
from fleetcare.reports.weeks import last_days, mondays, overdue, week_words
from fleetcare.rules.book import Book
from fleetcare.rules.outcome import Judgement
from fleetcare.timeline import Verdict
from fleetcare.windows import FOREVER
from fleetcare.words.marks import said
from fleetcare.words.reasons import reason
from fleetcare.words.terms import terms_words

Kept = tuple[Answer, str, str]  # an answer, when it was given (UTC), and to whom


class Sheet(NamedTuple):
    """One table: its name, headings and rows. Cells are text, whole numbers, days or empty."""

    name: str
    headings: tuple[str, ...]
    rows: list[tuple[Any, ...]]


_FLEET = (
    "Van",
    "Reg",
    "VIN",
    "First registered",
    "On fleet from",
    "Max mass",
    "Test class",
    "Seats",
    "Berths",
    "Hireable",
    "Hireable through",
    "First to lapse",
    "Open defects",
    "Out as",
)
_STANDINGS = ("Van", "Reg", "Rule", "Place", "Standing", "Last day", "Blocks", "Why", "Source")
_CHECKS = (
    "Van",
    "Reg",
    "Check",
    "On",
    "Ended",
    "Place",
    "By",
    "Register number",
    "Certificate",
    "First day",
    "Last day as printed",
    "Odometer",
    "Readings",
    "Counts",
    "Paper",
    "Record",
)
FITTED_AS = (  # what fitted_cells gives
    "Made as marked",
    "Made at earliest",
    "Replace by as marked",
    "Type",
    "Load index",
    "Speed symbol",
    "Cold pressure",
    "Rating",
    "Record",
)
_COMPONENTS = ("Van", "Reg", "Component", "Place", "Fitted", *FITTED_AS)
_DEFECTS = (
    "Van",
    "Reg",
    "What",
    "Grade",
    "Found or from",
    "Words",
    "Rectified",
    "Rectified by",
    "Signed off or lifted",
    "By",
    "Recheck by",
    "Open",
    "Record",
)
_ANSWERS = (
    "Van",
    "Record",
    "When (UTC)",
    "By",
    "Asked",
    "Hire",
    "From",
    "Through",
    "Hireable",
    "Bookable",
    "Stood against it",
    "Records known",
    "Rules",
)
_EVIDENCE = ("Rule", "Place", "Standing", "Last day", "Records", "Why", "Terms", "Source")
_RULES = ("Rule", "Title", "In force from", "Terms", "Blocks", "Grade", "Source", "How it was seen")


class Workbook(NamedTuple):
    """Every sheet, and what the About sheet says first."""

    about: list[tuple[str, Any]]
    sheets: list[Sheet]
    on: dt.date


class Sheets:
    """Gathers the sheets one van at a time, so that a large fleet is never held whole."""

    def __init__(self, on: dt.date) -> None:
        self._on = on
        self.fleet = Sheet("Fleet", _FLEET, [])
        self.standings = Sheet("Standings", _STANDINGS, [])
        self.checks = Sheet("Checks", _CHECKS, [])
        self.components = Sheet("Components", _COMPONENTS, [])
        self.defects = Sheet("Defects and holds", _DEFECTS, [])
        self.hires = Sheet("Hires", HEADINGS, [])
        weeks = tuple(f"w/c {monday}" for monday in mondays(on))
        self.calendar = Sheet("Calendar", ("Van", "Reg", *weeks), [])
        self.answers = Sheet("Answers", _ANSWERS, [])
        self.evidence: list[Sheet] = []  # of the vans it was asked for
        self._due: Counter[dt.date] = Counter()
        self._overdue = 0
        self.unreleased: list[str] = []  # what heads the About sheet
        self._not_to_go: list[tuple[str, str]] = []  # each van and why

    def add(self, judged: Judgement) -> None:
        """Add one van to every sheet."""
        on, plate = self._on, judged.plate_on(self._on)
        self.checks.rows.extend([*check_rows(judged, plate), *fleet_paper_rows(judged, on, plate)])
        self.hires.rows.extend(hire_rows(judged, on, plate))
        self.unreleased += [
            f"{judged.van} as {trip.hire.ref} since {trip.out.on}"
            for trip in judged.known.trips
            if trip.out and trip.out.unreleased and trip.out.on <= on and trip.back is None
        ]
        for rows in (defect_rows, hold_rows, recall_rows):
            self.defects.rows.extend(rows(judged, on, plate))
        if not is_gone(judged, on):  # its history stays, and it is on no list any more
            self._on_fleet(judged, on, plate)

    def _on_fleet(self, judged: Judgement, on: dt.date, plate: str | None) -> None:
        facts = judged.known.fit_outs[-1][1].facts
        row = fleet_row(judged, on)
        self.fleet.rows.append(
            (
                judged.van,
                plate,
                facts.vin,
                facts.first_registered_on,
                facts.in_service_from,
                facts.max_mass,
                facts.test_class,
                facts.seats,
                facts.berths,
                row.hireable,
                row.hireable_through,
                row.first_to_lapse,
                row.open_defects,
                row.out_as,
            )
        )
        if row.hireable != "yes":
            name = f"{judged.van} ({plate})" if plate else judged.van
            self._not_to_go.append((f"{name}: {row.hireable}", why_not(judged, on)))
        self.standings.rows.extend(_standings(judged, on, plate))
        late, due = overdue(judged, on), Counter(last_days(judged, on))
        self.calendar.rows.append((judged.van, plate, *week_words(judged, on, late, due)))
        self._overdue += late
        self._due.update(day - dt.timedelta(days=day.weekday()) for day in due.elements())
        self.components.rows.extend(
            (
                judged.van,
                plate,
                judged.book.components[what].title,
                place,
                fit.on,
                *fitted_cells(judged, fit),
            )
            for what, place, fit in fitted_on(judged, on)
        )

    def add_answers(self, kept: list[Kept]) -> None:
        """Add the answers that were given, in the order of vans."""
        self.answers.rows.extend(
            (
                answer.van, answer.number, at[:19].replace("T", " "), said(by), answer.asked,
                answer.ref, answer.from_on, answer.through_on, answer.hireable, answer.bookable,
                ", ".join(answer.blocking or ()), answer.known_at, answer.rulebook[:8],
            )
            for answer, at, by in kept
        )  # fmt: skip

    def add_evidence(self, judged: Judgement) -> None:
        """Add a sheet of what was in force for a van, and on which records."""
        rows = [
            (
                row.title, row.place, row.standing, row.last_good_day,
                " ".join(f"#{number}" for number in row.records), row.reason, row.terms, row.source,
            )
            for row in in_force(judged, self._on)
        ]  # fmt: skip
        self.evidence.append(Sheet(f"Evidence {judged.van}"[:31], _EVIDENCE, rows))

    def workbook(self, book: Book, about: list[tuple[str, Any]]) -> Workbook:
        """All sheets with the rules and the counts that an insurer can check them by."""
        rules = Sheet(
            "Rules",
            _RULES,
            [
                (
                    rule.name,
                    rule.title,
                    v.from_on,
                    terms_words(rule._replace(versions=(v,)), v.from_on).partition(": ")[2],
                    rule.blocks,
                    v.source.grade,
                    f"{v.source.title} {v.source.clause}".strip(),
                    v.source.seen,
                )
                for rule in book.rules.values()
                for v in rule.versions
            ],
        )
        due = Sheet(
            "Due per week",
            ("Week from", "Items due", "Overdue already"),
            [
                (m, self._due[m], None if week else self._overdue)
                for week, m in enumerate(mondays(self._on))
            ],
        )
        sheets = [self.fleet, self.calendar, due, self.standings, self.checks, self.components]
        sheets += [self.defects, self.hires, self.answers, *self.evidence, rules]
        place = next((n for n, (name, _) in enumerate(about, 1) if name == "As of"), 0)
        about = [*about[:place], *summary(len(self.fleet.rows), self._not_to_go), *about[place:]]
        counts = [(f"Rows on {sheet.name}", len(sheet.rows)) for sheet in sheets]
        heads = [("LEFT WITHOUT RELEASE, NOT BACK", "; ".join(self.unreleased))]
        if not self.unreleased:
            heads = []
        return Workbook([*heads, *about, *counts], sheets, self._on)


def fitted_cells(judged: Judgement, fit: Fit) -> tuple[Any, ...]:
    """What is marked on a component, under FITTED_AS."""
    return (
        fit.made, earliest_made(judged, fit), fit.replace_by, fit.variety, fit.load_index,
        fit.speed_symbol, fit.cold_pressure, fit.rating, fit.number,
    )  # fmt: skip


def _standings(judged: Judgement, on: dt.date, plate: str | None) -> Iterator[tuple[Any, ...]]:
    for outcome in judged.outcomes:
        step = outcome.at(on)
        if outcome.standing(step) == "not applicable":
            continue
        last = outcome.last_good(on) if step.verdict is Verdict.GOOD else None
        yield (
            judged.van,
            plate,
            outcome.rule.title,
            outcome.place,
            outcome.standing(step),
            None if last == FOREVER else last,
            outcome.rule.blocks,
            reason(judged, outcome, step),
            str(outcome.rule.version_at(on).source),
        )
