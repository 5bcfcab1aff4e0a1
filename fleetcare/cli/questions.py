"""due, hireable, why."""

from __future__ import annotations

import datetime as dt
from typing import Any

import click

from fleetcare.cli.app import Settings
from fleetcare.cli.party import takes_party
from fleetcare.cli.words import DAY, as_file, as_known, as_known_aside, asks, settings, van_argument
from fleetcare.errors import ExitCode

_DUE_KEYS = (
    "van",
    "rule",
    "place",
    "standing",
    "last_good_day",
    "days_over",
    "do_from",
    "do_by",
    "blocks",
    "reason",
    "source",
    "booked_in",
)


@click.command()
@click.option(
    "--weeks",
    type=click.IntRange(min=0, max=5200),
    help="How far ahead; each rule's own lead (8 weeks for most) if not given.",
)
@click.option("--wide", is_flag=True, help="All that is known of each item on its line.")
@click.option(
    "--by",
    type=click.Choice(["week", "van", "trade"]),
    help="How a PDF groups the jobs to tick; week if not said.",
)
@click.option(
    "--for",
    "trade",
    metavar="SCOPE",
    help="The work of one trade alone, like lpg-leisure-vehicle; -o work.xlsx: a sheet to fill.",
)
@as_known
@asks()
@settings
def due(
    s: Settings,
    /,
    on: dt.date | None,
    weeks: int | None,
    wide: bool,
    by: str | None,
    trade: str | None,
    known_at: Any,
    form: str | None,
) -> tuple[str | bytes, int]:
    """What falls due over the whole fleet; on paper to tick with -o monday.pdf.

    Example: fleetcare --db fleet.db due --weeks 8
    """
    from fleetcare.desk import questions
    from fleetcare.render import due as render
    from fleetcare.render import plain

    if by and not as_file(".pdf"):
        raise click.UsageError("--by groups the jobs on paper: add -o monday.pdf")
    if as_file(".xlsx") and trade is None:
        raise click.UsageError("a workbook is filled by one trade: say which with --for SCOPE")
    report = questions.due(s.db, on, weeks, known_at, trade)
    if as_file(".pdf"):
        from fleetcare.desk import papers

        return papers.monday(report, by or "week"), ExitCode.DONE
    if as_file(".xlsx"):
        from fleetcare.desk import filling
        from fleetcare.reports.due import sheet_rows

        return filling.asked_for(s.db, sheet_rows(report.items)), ExitCode.DONE
    items = [{key: getattr(item, key) for key in _DUE_KEYS} for item in report.items]
    if form == "csv":
        return plain.as_csv(items, _DUE_KEYS).rstrip("\r\n"), ExitCode.DONE
    if form == "json":
        return plain.as_json(
            {
                "on": report.on,
                "known_at": report.known_at,
                "rulebook": report.rulebook,
                "items": items,
            }
        ), ExitCode.DONE
    return (render.due_wide(report) if wide else render.due(report)), ExitCode.DONE


@click.command()
@van_argument
@click.option("--from", "start", type=DAY, help="Collection day.")
@click.option("--through", type=DAY, help="Return day.")
@takes_party()
@click.option("--ref", help="A booking: its days and party, and not in its own way.")
@click.option("--keep", is_flag=True, help="Write the answer down, to be shown later.")
@click.option("--long", is_flag=True, help="Every place on a line of its own, with its source.")
@as_known
@asks("The first day work can be done; today if not given.")
@settings
def hireable(
    s: Settings,
    /,
    van: str,
    start: dt.date | None,
    through: dt.date | None,
    ref: str | None,
    keep: bool,
    long: bool,
    on: dt.date | None,
    known_at: Any,
    form: str | None,
    **typed: Any,
) -> tuple[str, int]:
    """May a van go out, from collection to return, with these bikes?

    Example: fleetcare --db fleet.db hireable V01 --from 2027-08-01 --through 2027-08-14
    """
    from fleetcare.cli.party import party_of
    from fleetcare.desk import questions
    from fleetcare.desk.calls import Question
    from fleetcare.render import plain, text
    from fleetcare.reports.hire import as_json

    question = Question(start, through, party_of(typed), on, ref)
    if keep and known_at is not None:
        raise click.UsageError("an answer is kept by what is known now: leave --known-at out")
    if keep:
        from fleetcare.desk import answers

        said, report = answers.keep(s.db, s.by, van, question)
        for line in said:
            click.echo(line, err=True)
    else:
        report = questions.hireable(s.db, van, question, known_at)
    code = ExitCode.DONE if report.hireable == "yes" else ExitCode.NO
    if form == "json":
        return plain.as_json(as_json(report)), code
    if form == "csv":
        found: Any = as_json(report)
        keys = ("rule", "place", "standing", "last_good_day", "reason", "source")
        return plain.as_csv(found["blocking"], keys).rstrip("\r\n"), code
    return text.hire(report, long=long), code


@click.command()
@van_argument
@click.argument("rule")
@as_known_aside
@asks()
@settings
def why(
    s: Settings, /, van: str, rule: str, on: dt.date | None, known_at: Any, form: str | None
) -> tuple[str, int]:
    """Why a rule, or all that a kind of check feeds, stands as it does.

    Example: fleetcare --db fleet.db why V01 gas-safety-check
    """
    from fleetcare.desk import questions
    from fleetcare.desk.handbook import meanings
    from fleetcare.render import plain, text

    found = questions.why_rule(s.db, van, rule, on, known_at)
    rows = [one._asdict() | {"stretches": [st._asdict() for st in one.stretches]} for one in found]
    if form == "json":
        return plain.as_json(rows), ExitCode.DONE
    if form == "csv":
        keys = ("van", "rule", "place", "standing", "last_good_day", "blocks", "reason", "source")
        return plain.as_csv(rows, keys).rstrip("\r\n"), ExitCode.DONE
    shown = text.why(found)
    return "\n".join([shown, *(f"  {line}" for line in meanings(shown))]), ExitCode.DONE


COMMANDS = {"due": due, "hireable": hireable, "why": why}
